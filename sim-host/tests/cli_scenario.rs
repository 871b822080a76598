//! Scenarios as a person meets them: listed, shown, checked, rendered and compared; and what `render`
//! leaves behind when a recording is damaged.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;
use tempfile::tempdir;

const PROFILE: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../demo-data/profiles/interior-attack.toml"
);

/// A bare room of 4 s with a warm box: computed and shown in no time.
const ROOM: &str = include_str!("data/store.toml");

fn glowsill() -> Command {
    Command::cargo_bin("glowsill").unwrap()
}

fn recording() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/recordings/workshop-bin")
}

fn records(folder: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(folder.join("records.json")).unwrap()).unwrap()
}

fn seconds(records: &Value) -> Vec<f64> {
    let pictures = records["pictures"].as_array().unwrap();
    pictures
        .iter()
        .map(|picture| picture["seconds"].as_f64().unwrap())
        .collect()
}

fn pictures(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = names
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".png") && name != "animation.png")
        .collect();
    names.sort();
    names
}

#[test]
fn the_list_names_all_six() {
    let mut found = predicate::str::contains("paint-store-door").boxed();
    for name in [
        "timber-rack",
        "loft",
        "three-partitions",
        "ticket-screen",
        "sawdust-bins",
    ] {
        found = found.and(predicate::str::contains(name)).boxed();
    }
    glowsill()
        .args(["scenario", "list"])
        .assert()
        .success()
        .stdout(found);
}

// Facts of the paint store, read from its file by hand: 240 s, 18 °C (64.4 °F), 700 kW, two rooms.
#[test]
fn what_show_writes_check_accepts() {
    let folder = tempdir().unwrap();
    let file = folder.path().join("mine.toml");
    let shown = glowsill()
        .args(["scenario", "show", "paint-store-door"])
        .assert()
        .success();
    fs::write(&file, &shown.get_output().stdout).unwrap();
    glowsill()
        .args(["scenario", "check"])
        .arg(&file)
        .assert()
        .success()
        .stdout(
            predicate::str::contains("240 s, 320x240")
                .and(predicate::str::contains("18.0 °C (64.4 °F)"))
                .and(predicate::str::contains("700 kW"))
                .and(predicate::str::contains("Room 'store': 3.60 m wide")),
        );
    glowsill()
        .args(["scenario", "show", "paint-stor-door"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("Did you mean 'paint-store-door'"));
}

#[test]
fn pictures_of_a_scenario_are_named_by_time_and_stale_ones_go() {
    let folder = tempdir().unwrap();
    let (file, out) = (folder.path().join("room.toml"), folder.path().join("out"));
    fs::write(&file, ROOM).unwrap();
    let render = |more: &[&str]| {
        let mut command = glowsill();
        command.arg("render").arg(&file);
        command.args(["--profile", PROFILE, "--out"]).arg(&out);
        command.args(more).assert().success()
    };
    let told = render(&["--every", "1s"]);
    let text = String::from_utf8(told.get_output().stdout.clone()).unwrap();
    assert!(text.contains("last 3 s before each instant"), "{text}");
    assert!(text.contains("cannot see") && text.contains("not a certification"));
    let json = records(&out);
    assert_eq!(seconds(&json), [0.0, 1.0, 2.0, 3.0, 4.0]);
    assert_eq!(json["records"].as_array().unwrap().len(), 5);
    assert_eq!(json["complete"], true);
    assert!(
        json["feeding"]
            .as_str()
            .unwrap()
            .contains("one frame of each second")
    );
    assert!(!json["unseen"].as_array().unwrap().is_empty());
    let image = image::open(out.join("at-0004.00s.png")).unwrap();
    assert_eq!((image.width(), image.height()), (32, 24));

    // A shorter run later; a picture that no run wrote stays.
    fs::write(out.join("at-mine.png"), "mine").unwrap();
    render(&["--at", "3s,1.5s", "--size", "16x12"]);
    assert_eq!(
        pictures(&out),
        ["at-0001.50s.png", "at-0003.00s.png", "at-mine.png"]
    );
    assert_eq!(seconds(&records(&out)), [1.5, 3.0]);
    let image = image::open(out.join("at-0003.00s.png")).unwrap();
    assert_eq!((image.width(), image.height()), (16, 12));

    // Seven instants over the span, when none are asked for: 4 s / 6 = 20 frames of 1/30 s.
    render(&[]);
    let all = seconds(&records(&out));
    assert_eq!(all.len(), 7);
    for (step, found) in (0_u32..).zip(all) {
        assert!(
            (found - f64::from(step) * 4.0 / 6.0).abs() < 1e-9,
            "{found}"
        );
    }
    glowsill()
        .arg("render")
        .arg(&file)
        .args(["--profile", PROFILE, "--at", "9s", "--out"])
        .arg(folder.path().join("none"))
        .assert()
        .code(2)
        .stderr(predicate::str::contains("--at 9s").and(predicate::str::contains("4.00 s")));
    assert!(!folder.path().join("none").exists());
}

#[test]
fn a_bad_file_is_refused_with_line_and_field_and_nothing_is_written() {
    let folder = tempdir().unwrap();
    let (file, out) = (folder.path().join("bad.toml"), folder.path().join("out"));
    let bad = ROOM.replace("\"60 C\"", "\"1900 C\"");
    fs::write(&file, &bad).unwrap();
    let line = 1 + bad.lines().position(|l| l.contains("1900 C")).unwrap();
    let says = || {
        predicate::str::contains("temperature")
            .and(predicate::str::contains("1900 C"))
            .and(predicate::str::contains(format!("bad.toml:{line}")))
            .and(predicate::str::contains("800 C"))
    };
    glowsill()
        .args(["scenario", "check"])
        .arg(&file)
        .assert()
        .code(2)
        .stderr(says());
    glowsill()
        .arg("render")
        .arg(&file)
        .args(["--profile", PROFILE, "--out"])
        .arg(&out)
        .assert()
        .code(2)
        .stderr(says());
    assert!(!out.exists());
}

// By hand: 4 s at 30 frames a second is frame 120.
#[test]
fn compare_and_explain_open_scenarios() {
    let folder = tempdir().unwrap();
    let (file, out) = (folder.path().join("room.toml"), folder.path().join("out"));
    fs::write(&file, ROOM).unwrap();
    glowsill()
        .arg("compare")
        .arg(&file)
        .args(["--profile", PROFILE, "--at", "1s,4s", "--out"])
        .arg(&out)
        .assert()
        .success();
    let text = fs::read_to_string(out.join("compare.json")).unwrap();
    let json: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["instants"][1]["seconds"], 4.0);
    assert_eq!(json["instants"][1]["frame"], 120);
    assert_eq!(json["instants"][0]["views"][0]["marks"][0]["name"], "box");
    assert!(json["feeding"].as_str().unwrap().contains("last 3 s"));
    glowsill()
        .arg("explain")
        .arg(&file)
        .args(["--profile", PROFILE, "--between", "1s,4s", "--out"])
        .arg(&out)
        .assert()
        .success();
    let page = fs::read_to_string(out.join("explain.html")).unwrap();
    let page = page.replace('\u{a0}', " ");
    assert!(page.contains("last 3 s before each instant"));
    assert!(!page.contains("every frame from the first on"));
}

// Source: recording.toml of the demonstration: 80 x 60 pixels, 8 frames, 2 frames a second.
#[test]
fn a_recording_gives_records_with_what_its_own_file_says() {
    let folder = tempdir().unwrap();
    glowsill()
        .arg("render")
        .arg(recording())
        .args(["--profile", PROFILE, "--out"])
        .arg(folder.path())
        .assert()
        .success()
        .stdout(predicate::str::contains("8 pictures"));
    let json = records(folder.path());
    assert_eq!(seconds(&json), [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5]);
    for record in json["records"].as_array().unwrap() {
        assert_eq!(record["pixels"], 4800);
    }
    assert_eq!(pictures(folder.path()).len(), 8);
    let image = image::open(folder.path().join("frame-0007.png")).unwrap();
    assert_eq!((image.width(), image.height()), (80, 60));
}

#[test]
fn a_damaged_frame_leaves_the_pictures_before_it_with_their_records() {
    let folder = tempdir().unwrap();
    let (copy, out) = (folder.path().join("copy"), folder.path().join("out"));
    fs::create_dir(&copy).unwrap();
    for entry in fs::read_dir(recording()).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), copy.join(entry.file_name())).unwrap();
    }
    let whole = fs::read(copy.join("high-003.png")).unwrap();
    let render = || {
        let mut command = glowsill();
        command.arg("render").arg(&copy);
        command.args(["--profile", PROFILE, "--out"]).arg(&out);
        command.assert()
    };
    render().success();
    fs::write(copy.join("high-003.png"), &whole[..whole.len() / 2]).unwrap();
    render().code(2).stderr(
        predicate::str::contains("frame 3:")
            .and(predicate::str::contains("high-003.png"))
            .and(predicate::str::contains("3 pictures before it"))
            .and(predicate::str::contains("--frames 3")),
    );
    let json = records(&out);
    assert_eq!(json["complete"], false);
    assert_eq!(seconds(&json), [0.0, 0.5, 1.0]);
    assert_eq!(json["records"].as_array().unwrap().len(), 3);
    assert_eq!(
        pictures(&out),
        ["frame-0000.png", "frame-0001.png", "frame-0002.png"]
    );
}
