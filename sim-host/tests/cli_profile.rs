//! `glowsill profile` as a person runs it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use assert_cmd::Command;
use glowsill_core::profile::Profile;
use predicates::prelude::*;

const SEARCH: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../demo-data/profiles/search.toml"
);

fn glowsill() -> Command {
    Command::cargo_bin("glowsill").unwrap()
}

fn changed(from: &str, to: &str) -> (tempfile::TempDir, std::path::PathBuf) {
    let text = std::fs::read_to_string(SEARCH).unwrap();
    assert!(text.contains(from));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.toml");
    std::fs::write(&file, text.replace(from, to)).unwrap();
    (folder, file)
}

#[test]
fn check_says_what_the_profile_does() {
    glowsill()
        .args(["profile", "check", SEARCH])
        .assert()
        .success()
        .stdout(predicate::str::contains(
            "band 1 from 260.0 °C (500.0 °F) apparent",
        ))
        .stdout(predicate::str::contains("plateau-limited equalisation"))
        .stdout(predicate::str::contains("The profile is valid"));
}

#[test]
fn check_points_to_the_line_of_a_value_out_of_its_limits() {
    let (_folder, file) = changed("min_span = \"15 K\"", "min_span = \"1 K\"");
    let text = std::fs::read_to_string(&file).unwrap();
    let line = text
        .lines()
        .position(|l| l.starts_with("min_span"))
        .unwrap()
        + 1;
    glowsill()
        .args(["profile", "check"])
        .arg(&file)
        .assert()
        .code(2)
        .stderr(predicate::str::contains(format!(
            "mine.toml:{line}: scale.min_span = \"1 K\""
        )))
        .stderr(predicate::str::contains("2 K (3.6 °F) to 500 K (900.0 °F)"));
}

#[test]
fn check_refuses_what_is_not_toml_and_what_is_not_there() {
    let (_folder, file) = changed("[overlay]", "[overlay");
    glowsill()
        .args(["profile", "check"])
        .arg(&file)
        .assert()
        .code(2)
        .stderr(predicate::str::contains("not valid TOML"));
    glowsill()
        .args(["profile", "check", "missing.toml"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains(
            "cannot read profile 'missing.toml'",
        ));
}

#[test]
fn pack_writes_the_form_that_core_reads_and_refuses_when_damaged() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("search.bin");
    glowsill()
        .args(["profile", "pack", SEARCH, "--out"])
        .arg(&out)
        .assert()
        .success()
        .stdout(predicate::str::contains("bytes written"));
    let mut bytes = std::fs::read(&out).unwrap();
    let expected = glowsill::profile_file::load(SEARCH.as_ref())
        .unwrap()
        .profile;
    assert_eq!(Profile::from_bytes(&bytes).unwrap(), expected);
    bytes[20] ^= 1;
    assert!(Profile::from_bytes(&bytes).is_err());
}

#[test]
fn pack_says_where_it_cannot_write() {
    glowsill()
        .args([
            "profile",
            "pack",
            SEARCH,
            "--out",
            "/no/such/folder/search.bin",
        ])
        .assert()
        .code(2)
        .stderr(predicate::str::contains(
            "cannot write '/no/such/folder/search.bin'",
        ));
}

#[test]
fn check_says_one_frame_and_several_frames() {
    let (_folder, file) = changed("frames_to_hotter = 24", "frames_to_hotter = 1");
    glowsill()
        .args(["profile", "check"])
        .arg(&file)
        .assert()
        .success()
        .stdout(predicate::str::contains(
            "1 frame toward hotter, 48 frames toward colder",
        ));
}

#[test]
fn a_misspelt_field_is_named_with_the_one_that_was_meant() {
    let (_folder, file) = changed("lift = 140", "lfit = 140");
    glowsill()
        .args(["profile", "check"])
        .arg(&file)
        .assert()
        .code(2)
        .stderr(predicate::str::contains(
            "overlay.lfit is not a field here; did you mean overlay.lift?",
        ));
}

#[test]
fn check_reads_what_pack_wrote() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("search.bin");
    glowsill()
        .args(["profile", "pack", SEARCH, "--out"])
        .arg(&out)
        .assert()
        .success();
    glowsill()
        .args(["profile", "check"])
        .arg(&out)
        .assert()
        .success()
        .stdout(predicate::str::contains(
            "band 1 from 260.0 °C (500.0 °F) apparent",
        ))
        .stdout(predicate::str::contains("packed form"));
}
