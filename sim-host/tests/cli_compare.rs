//! `glowsill compare` as a person uses it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::float_cmp,
    reason = "a failure here is the test's result"
)]

use std::path::Path;

use assert_cmd::Command;
use glowsill::world::target::Workshop;
use predicates::str::contains;
use serde_json::Value;

/// Black at 0 °C (32 °F), white at 100 °C (212 °F), colour from 150 °C.
const FIXED: &str = include_str!("data/fixed-scale.toml");

fn glowsill() -> Command {
    Command::cargo_bin("glowsill").unwrap()
}

fn profile(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.display().to_string()
}

/// The page, with plain blanks between numbers and units.
fn page(out: &Path) -> String {
    let html = std::fs::read_to_string(out.join("compare.html")).unwrap();
    html.replace('\u{a0}', " ")
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_sheet_holds_what_the_profiles_and_the_scene_are_known_to_give() {
    let folder = tempfile::tempdir().unwrap();
    let a = profile(folder.path(), "a.toml", FIXED);
    let b = profile(
        folder.path(),
        "b.toml",
        &FIXED.replace("Fixed", "Wide").replace("100 C", "600 C"),
    );
    let out = folder.path().join("out");
    glowsill()
        .args([
            "compare",
            "workshop",
            "--size",
            "160x120",
            "--at",
            "frame 150,1s",
        ])
        .args(["--profile", &a, "--profile", &b, "--out"])
        .arg(&out)
        .assert()
        .success()
        .stdout(contains("2 instants under 2 profiles"))
        .stdout(contains("not a certification"));
    assert_eq!(names(&out), ["compare.html", "compare.json", "compare.png"]);
    let json: Value =
        serde_json::from_str(&std::fs::read_to_string(out.join("compare.json")).unwrap()).unwrap();
    assert_eq!(json["format"], "glowsill-compare");
    // Thirty frames a second: 1 s is frame 30; the instants stand in the order of time.
    assert_eq!(json["instants"][0]["frame"], 30);
    assert_eq!(json["instants"][1]["seconds"], 5.0);
    let last = &json["instants"][1]["views"];
    for (view, white_c) in [(&last[0], 100.0), (&last[1], 600.0)] {
        let celsius = |end: &str| view[end]["celsius"].as_f64().unwrap();
        assert!((celsius("scale_high") - white_c).abs() < 0.05);
        assert!(celsius("scale_low").abs() < 0.05);
        assert!((view["onset"]["fahrenheit"].as_f64().unwrap() - 302.0).abs() < 0.05);
        // The scene itself says which share of the picture its source covers.
        let covered = Workshop::new(160, 120).source_share(150);
        assert!((view["coloured_share"].as_f64().unwrap() - covered).abs() < 0.01);
        assert_eq!(view["marks"].as_array().unwrap().len(), 3);
    }
    // Six times the span leaves the person less apart.
    let jnd = |view: &Value| view["marks"][0]["separation_jnd"].as_f64().unwrap();
    assert!(jnd(&last[0]) > 2.0 * jnd(&last[1]));
    let html = page(&out);
    for words in [
        "100.0 °C (212.0 °F)",
        "0.0 °C (32.0 °F)",
        "Fixed",
        "Wide",
        "glass or water",
        "authority having jurisdiction",
        "three pixels",
    ] {
        assert!(html.contains(words), "{words}");
    }
    assert!(!html.contains("<script") && !html.contains("http"));
}

// Source: the scene's own burning bin is 400 °C (752 °F) hot; FIXED takes it from low gain, which reaches further,
// and without low gain nothing above the top of high gain can be told.
#[test]
fn a_saturated_sensor_says_at_least_and_colours_are_told_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let a = profile(folder.path(), "a.toml", FIXED);
    let gain =
        "plan = \"per-pixel\"\nblend_from = \"105 C\"\nblend_to = \"135 C\"\ndispute = \"20 K\"";
    let high = FIXED
        .replace("Fixed", "High")
        .replace(gain, "plan = \"high-only\"")
        .replace("150 C", "90 C");
    assert!(high.contains("high-only"));
    let b = profile(folder.path(), "b.toml", &high);
    let poor = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../demo-data/profiles/poor-opaque.toml"
    );
    let out = folder.path().join("out");
    glowsill()
        .args(["compare", "workshop", "--size", "160x120", "--at", "5s"])
        .args(["--profile", &a, "--profile", &b, "--profile", poor, "--out"])
        .arg(&out)
        .assert()
        .success()
        .stdout(contains("The same colour means another temperature"));
    let text = std::fs::read_to_string(out.join("compare.json")).unwrap();
    let json: Value = serde_json::from_str(&text).unwrap();
    let views = &json["instants"][0]["views"];
    let hottest = |view: usize| &views[view]["hottest"];
    assert_eq!(hottest(0)["at_least"], false);
    assert!((hottest(0)["temperature"]["celsius"].as_f64().unwrap() - 400.0).abs() < 4.0);
    assert_eq!(views[0]["saturated_share"], 0.0);
    assert_eq!(hottest(1)["at_least"], true);
    assert!(hottest(1)["temperature"]["celsius"].as_f64().unwrap() < 200.0);
    assert!(views[1]["saturated_share"].as_f64().unwrap() > 0.01);
    let html = page(&out);
    assert_eq!(html.matches("at least").count(), 1);
    // Source: FIXED and the poor example as written.
    assert_eq!(json["legends"][0]["bands"][0]["colour"], "yellow");
    assert_eq!(
        json["legends"][2]["bands"][1]["from"]["celsius"]
            .as_f64()
            .unwrap()
            .round(),
        220.0
    );
    assert_eq!(json["legends"][0]["poor_example"], false);
    assert_eq!(json["legends"][2]["poor_example"], true);
    assert_eq!(json["shared_colours"][0]["colour"], "yellow");
    assert_eq!(json["shared_colours"][0]["starts"][1]["profile"], "High");
    for words in [
        "yellow: from 150 °C (302 °F) up",
        "yellow: 150 °C (302 °F) under “Fixed”; 90 °C (194 °F) under “High”.",
        "red: 110 °C (230 °F) to 220 °C (428 °F)",
        "! poor example, there to fail",
        "a straight line from the coldest pixel to the hottest",
    ] {
        assert!(html.contains(words), "{words}");
    }
    let first = |words: &str| html.find(words).unwrap();
    assert!(
        first("Read this first") < first("<img"),
        "cautions come before pictures"
    );
    assert!(first("Simulation and teaching only") < first("<img"));
}

#[test]
fn a_recording_has_no_marks_and_its_own_length() {
    let folder = tempfile::tempdir().unwrap();
    let a = profile(folder.path(), "a.toml", FIXED);
    let recording = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../demo-data/recordings/workshop-bin"
    );
    let out = folder.path().join("out");
    glowsill()
        .args(["compare", recording, "--profile", &a, "--out"])
        .arg(&out)
        .assert()
        .success()
        .stdout(contains("1 profile,"));
    let text = std::fs::read_to_string(out.join("compare.json")).unwrap();
    let json: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(
        json["instants"][0]["views"][0]["marks"]
            .as_array()
            .unwrap()
            .len(),
        0
    );
    assert!(!text.contains(env!("CARGO_MANIFEST_DIR")));
    glowsill()
        .args([
            "compare",
            recording,
            "--profile",
            &a,
            "--at",
            "99s",
            "--out",
        ])
        .arg(folder.path().join("late"))
        .assert()
        .code(2)
        .stderr(contains("--at 99s"))
        .stderr(contains("ask for instants in between"));
    assert!(!folder.path().join("late").exists());
}

#[test]
fn what_cannot_be_used_is_said_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let a = profile(folder.path(), "a.toml", FIXED);
    let out = folder.path().join("out");
    let refused = |arguments: &[&str], words: &str| {
        glowsill()
            .arg("compare")
            .args(arguments)
            .arg("--out")
            .arg(&out)
            .assert()
            .code(2)
            .stderr(contains(words));
        assert!(!out.exists());
    };
    refused(&["workshop", "--profile", "absent.toml"], "absent.toml");
    refused(&["kitchen", "--profile", &a], "workshop");
    refused(&["workshp", "--profile", &a], "Did you mean 'workshop'?");
    refused(
        &["three-partition", "--profile", &a],
        "Did you mean 'three-partitions'?",
    );
    let recording = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../demo-data/recordings/workshp-bin"
    );
    refused(&[recording, "--profile", &a], "recordings/workshop-bin'?");
    let scenario = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../demo-data/scenarios/lofd.toml"
    );
    refused(&[scenario, "--profile", &a], "scenarios/loft.toml'?");
    refused(&["workshop", "--profile", &a, "--profile", &a], "'Fixed'");
    refused(
        &["workshop", "--profile", &a, "--at", "400s"],
        "0 s to 333.27 s",
    );
    refused(
        &["workshop", "--profile", &a, "--at", "soon"],
        "not an instant",
    );
    refused(&["workshop"], "--profile");
    // A file stands where the folder should be, and a page of someone else's where ours would go.
    std::fs::write(&out, "a file").unwrap();
    let run = |out: &Path| {
        glowsill()
            .args([
                "compare",
                "uniform",
                "--size",
                "32x24",
                "--at",
                "frame 1",
                "--profile",
                &a,
                "--out",
            ])
            .arg(out)
            .assert()
    };
    run(&out).code(2).stderr(contains("is a file"));
    assert_eq!(std::fs::read_to_string(&out).unwrap(), "a file");
    let other = folder.path().join("other");
    std::fs::create_dir(&other).unwrap();
    std::fs::write(other.join("compare.html"), "my notes").unwrap();
    run(&other)
        .code(2)
        .stderr(contains("not written by this program"));
    assert_eq!(names(&other), ["compare.html"]);
    // Our own sheet is replaced.
    let own = folder.path().join("own");
    run(&own).success();
    run(&own).success();
    assert_eq!(names(&own), ["compare.html", "compare.json", "compare.png"]);
}
