//! `glowsill barrier` as a person runs it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;

fn barrier(arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("glowsill").unwrap();
    command.arg("barrier").args(arguments);
    command
}

fn json_of(arguments: &[&str]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet");
    let output = barrier(arguments)
        .args(["--json", "--out"])
        .arg(&out)
        .assert()
        .success();
    serde_json::from_slice(&output.get_output().stdout).unwrap()
}

// Common practice, no published source: steel shows soon, plaster on lath does not for a long time; a
// later onset never shows before an earlier one.
#[test]
fn every_wall_and_every_demonstration_profile_are_answered() {
    let found = json_of(&["--minutes", "30"]);
    let walls = found["walls"].as_array().unwrap();
    assert_eq!(walls.len(), 12);
    for wall in walls {
        let profiles = wall["profiles"].as_array().unwrap();
        assert_eq!(profiles.len(), 6);
        assert!(wall["energy_imbalance"].as_f64().unwrap() < 1e-3);
        let mut times: Vec<(f64, f64)> = profiles
            .iter()
            .filter_map(|profile| {
                let onset = profile["onset"]["kelvin"].as_f64()?;
                let first = profile["first_colour_s"].as_f64();
                Some((onset, first.unwrap_or(f64::INFINITY)))
            })
            .collect();
        assert_eq!(times.len(), 5, "the hue cycle has no fixed onset");
        times.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(times.is_sorted_by(|a, b| a.1 <= b.1));
        match wall["assembly"].as_str().unwrap() {
            "steel-sheet" => assert!(times.iter().all(|(_, first)| *first < 180.0)),
            "plaster-lath" => assert!(times.iter().all(|(_, first)| first.is_infinite())),
            _ => {}
        }
    }
    assert!(
        found["caution"]
            .as_str()
            .unwrap()
            .contains("not a certification")
    );
}

#[test]
fn the_sheet_is_written_and_stands_alone() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet");
    barrier(&["--assembly", "steel-double", "--exposure", "constant:356F"])
        .args(["--minutes", "10", "--out"])
        .arg(&out)
        .assert()
        .success()
        .stdout(predicate::str::contains("steel-double"))
        .stdout(predicate::str::contains("onset"))
        .stdout(predicate::str::contains("constant 180.0 °C (356.0 °F)"))
        .stdout(predicate::str::contains("not within"))
        .stdout(predicate::str::contains(
            "does not show until it has warmed the face",
        ))
        .stdout(predicate::str::contains("not a certification"));
    let page = std::fs::read_to_string(out.join("barrier.html")).unwrap();
    for part in [
        "onset 72 °C (162 °F): Size-up",
        "<svg",
        "40.0 mm",
        "authority",
    ] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("src=\"http") && !page.contains("href=\"http"));
    let picture = image::open(out.join("barrier.png")).unwrap();
    assert_eq!(picture.width(), 1100);
    assert!(picture.height() > 700);
}

#[test]
fn wrong_inputs_give_one_clear_error() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet");
    for (arguments, part) in [
        (["--assembly", "straw"], "write one of: steel-sheet"),
        (["--exposure", "iso"], "constant:600C"),
        (["--exposure", "constant:9000C"], "2000 K"),
        (["--minutes", "0"], "1 to 480 minutes"),
        (["--minutes", "soon"], "1 to 480 minutes"),
        (["--profile", "no-such-file.toml"], "Check the path"),
    ] {
        barrier(&arguments)
            .arg("--out")
            .arg(&out)
            .assert()
            .code(2)
            .stdout("")
            .stderr(predicate::str::contains("error:").count(1))
            .stderr(predicate::str::contains(part));
    }
    assert!(!out.exists());
}
