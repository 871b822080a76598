//! `glowsill verify` and `glowsill render` as a person runs them: bad input, and small good runs.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use std::path::Path;

use assert_cmd::Command;
use predicates::prelude::*;

const SEARCH: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../demo-data/profiles/search.toml"
);
fn glowsill(folder: &Path) -> Command {
    let mut command = Command::cargo_bin("glowsill").unwrap();
    command.current_dir(folder);
    command
}

/// One requirement on the fastest measure: colours apart by so many ΔE00. Any two of the search profile's
/// colours (yellow, orange, red, magenta) are further apart than 2 and nearer than 100, which is the
/// distance of black and white.
fn requirements(folder: &Path, at_least: &str) -> std::path::PathBuf {
    let file = folder.join("ours.toml");
    let text = format!(
        "title = \"Ours\"\nedition = \"1\"\n[[requirement]]\nid = \"apart\"\n\
         title = \"Colours apart\"\nmeasure = \"colour-order\"\n\
         quantity = \"min_neighbour_delta_e\"\nat_least = {at_least}\nunit = \"ΔE00\"\n\
         source = \"hand-written for this test\"\n"
    );
    std::fs::write(&file, text).unwrap();
    file
}

#[test]
fn an_unknown_measure_is_answered_with_the_known_ones() {
    let folder = tempfile::tempdir().unwrap();
    glowsill(folder.path())
        .args(["verify", "--only", "sharpness"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("'sharpness' is not a measure"))
        .stderr(predicate::str::contains("colour-order"));
}

/// A misspelt requirement would never fail: it is refused, with what may stand there.
#[test]
fn a_requirement_that_no_measure_answers_is_refused() {
    for (wrong, right, said) in [
        (
            "neighbour_delta",
            "neighbour_delta_e",
            "quantity 'min_neighbour_delta'",
        ),
        (
            "unit = \"K\"",
            "unit = \"ΔE00\"",
            "unit 'K' is not known; write one of: ΔE00",
        ),
        (
            "conditions = { visoin = \"normal\" }\nunit",
            "unit",
            "condition 'visoin' is not known; write one of: vision",
        ),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let file = requirements(folder.path(), "2");
        let text = std::fs::read_to_string(&file)
            .unwrap()
            .replacen(right, wrong, 1);
        std::fs::write(&file, text).unwrap();
        glowsill(folder.path())
            .args(["verify", "--profile", SEARCH, "--only", "colour-order"])
            .args(["--requirements", "ours.toml"])
            .assert()
            .code(2)
            .stderr(predicate::str::contains(said));
        assert!(!folder.path().join("glowsill-report").exists());
    }
}

#[test]
fn a_malformed_profile_stops_before_anything_is_measured() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("bad.toml"), "name = \"x\"\n[gain\n").unwrap();
    glowsill(folder.path())
        .args(["verify", "--profile", "bad.toml"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("bad.toml:2: not valid TOML"));
    assert!(!folder.path().join("glowsill-report").exists());
}

#[test]
fn a_value_out_of_limits_is_told_with_field_value_limits_and_line() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(SEARCH).unwrap();
    let text = text.replace("hysteresis = \"4 K\"", "hysteresis = \"51 K\"");
    let line = text.lines().position(|l| l.contains("51 K")).unwrap() + 1;
    std::fs::write(folder.path().join("mine.toml"), text).unwrap();
    glowsill(folder.path())
        .args(["verify", "--profile", "mine.toml"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains(format!(
            "mine.toml:{line}: colour.hysteresis = \"51 K\" is out of its limits"
        )))
        .stderr(predicate::str::contains("0 K (0.0 °F) to 50 K (90.0 °F)"));
}

#[test]
fn a_report_folder_that_cannot_be_made_is_named() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("file"), "").unwrap();
    glowsill(folder.path())
        .args([
            "verify",
            "--only",
            "colour-order",
            "--profile",
            SEARCH,
            "--out",
            "file/report",
        ])
        .args(["--requirements"])
        .arg(requirements(folder.path(), "2"))
        .assert()
        .code(2)
        .stderr(
            predicate::str::contains("file: File exists")
                .or(predicate::str::contains("Not a directory")),
        );
}

#[test]
fn two_profiles_of_one_name_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    glowsill(folder.path())
        .args(["verify", "--profile", SEARCH, "--profile", SEARCH])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("both have the name 'Search'"));
}

#[test]
fn a_measure_that_nothing_requires_is_said() {
    let folder = tempfile::tempdir().unwrap();
    glowsill(folder.path())
        .args([
            "verify",
            "--only",
            "latency",
            "--profile",
            SEARCH,
            "--requirements",
        ])
        .arg(requirements(folder.path(), "2"))
        .assert()
        .code(2)
        .stderr(predicate::str::contains("none asks for latency"));
}

#[test]
fn the_exit_code_follows_the_verdict_and_the_json_parses() {
    let folder = tempfile::tempdir().unwrap();
    for (limit, code, standing) in [("2", 0, "passes"), ("100", 1, "fails")] {
        let output = glowsill(folder.path())
            .args([
                "verify",
                "--only",
                "colour-order",
                "--profile",
                SEARCH,
                "--json",
                "--requirements",
            ])
            .arg(requirements(folder.path(), limit))
            .assert()
            .code(code);
        let value: serde_json::Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
        assert_eq!(value["profiles"][0]["standing"], standing, "{value}");
        assert_eq!(value["as_expected"], code == 0);
        for file in ["report.html", "report.json", "junit.xml"] {
            let written = folder.path().join("glowsill-report").join(file);
            assert!(written.metadata().unwrap().len() > 100, "{file}");
        }
        assert!(
            value["caution"]
                .as_str()
                .unwrap()
                .contains("not a certification")
        );
    }
}

#[test]
fn a_profile_there_to_fail_must_fail_and_the_terminal_says_so() {
    let folder = tempfile::tempdir().unwrap();
    glowsill(folder.path())
        .args([
            "verify",
            "--only",
            "colour-order",
            "--expect-fail",
            SEARCH,
            "--requirements",
        ])
        .arg(requirements(folder.path(), "100"))
        .assert()
        .code(0)
        .stdout(predicate::str::contains("there to fail"))
        .stdout(predicate::str::contains("✗ FAIL"))
        .stdout(predicate::str::contains("Search: fails, as it is there to"));
    glowsill(folder.path())
        .args([
            "verify",
            "--only",
            "colour-order",
            "--expect-fail",
            SEARCH,
            "--requirements",
        ])
        .arg(requirements(folder.path(), "2"))
        .assert()
        .code(1)
        .stdout(predicate::str::contains(
            "PASSES, although it is there to fail",
        ));
}

#[test]
fn what_cannot_be_measured_is_not_accepted() {
    let folder = tempfile::tempdir().unwrap();
    // A grey-only profile has no colours to tell apart.
    let text = glowsill::profile_file::to_toml(
        &glowsill_core::profile::ProfileSpec::grey_example(),
        "grey",
    );
    std::fs::write(folder.path().join("grey.toml"), text).unwrap();
    glowsill(folder.path())
        .args(["verify", "--only", "colour-order", "--profile", "grey.toml"])
        .arg("--requirements")
        .arg(requirements(folder.path(), "2"))
        .assert()
        .code(1)
        .stdout(predicate::str::contains("– NOT EVALUATED"));
}

#[test]
fn render_writes_pictures_of_the_size_asked_for_and_the_records() {
    let folder = tempfile::tempdir().unwrap();
    glowsill(folder.path())
        .args(["render", "square", "--profile", SEARCH, "--out", "pictures"])
        .args([
            "--frames",
            "3",
            "--size",
            "80x60",
            "--panel",
            "rgb565-dithered",
        ])
        .assert()
        .success()
        .stdout(predicate::str::contains(
            "3 pictures of 'square' as 'Search' shows it",
        ));
    let pictures = folder.path().join("pictures");
    for frame in 0..3 {
        let image = image::open(pictures.join(format!("frame-000{frame}.png"))).unwrap();
        assert_eq!((image.width(), image.height()), (80, 60));
    }
    let text = std::fs::read_to_string(pictures.join("records.json")).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["records"].as_array().unwrap().len(), 3);
    assert_eq!(value["records"][2]["pixels"], 4800);
}

#[test]
fn render_names_the_targets_and_the_limits_of_the_size() {
    let folder = tempfile::tempdir().unwrap();
    glowsill(folder.path())
        .args(["render", "bonfire", "--profile", SEARCH])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("'bonfire' is not a target"))
        .stderr(predicate::str::contains("workshop"));
    glowsill(folder.path())
        .args(["render", "square", "--profile", SEARCH, "--size", "4x4"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("8x8 to 1280x1024"));
}

#[test]
fn chart_writes_png_and_svg_and_refuses_other_endings() {
    let folder = tempfile::tempdir().unwrap();
    for file in ["chart.png", "chart.svg"] {
        glowsill(folder.path())
            .args(["chart", "--profile", SEARCH, "--out", file])
            .assert()
            .success();
    }
    let image = image::open(folder.path().join("chart.png")).unwrap();
    assert!(image.width() > 400 && image.height() > 200);
    let svg = std::fs::read_to_string(folder.path().join("chart.svg")).unwrap();
    assert!(svg.contains("<svg"));
    glowsill(folder.path())
        .args(["chart", "--profile", SEARCH, "--out", "chart.bmp"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains(".png nor in .svg"));
}

#[test]
fn render_refuses_a_folder_that_is_no_recording_and_frames_out_of_limits() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("empty")).unwrap();
    glowsill(folder.path())
        .args(["render", "empty", "--profile", SEARCH])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("recording.toml"));
    glowsill(folder.path())
        .args(["render", "square", "--profile", SEARCH, "--frames", "0"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("write 1 to 9999"));
}
