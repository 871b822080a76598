//! `glowsill vectors` as a person runs it, with the C program and with programs that misbehave.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failure here is the test's result"
)]

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

fn glowsill(arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("glowsill").unwrap();
    command.arg("vectors").args(arguments);
    command
}

fn port(defect: u32, folder: &Path) -> String {
    let program: PathBuf = folder.join(format!("port-{defect}"));
    let sources = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/conformance/c");
    let status = std::process::Command::new("cc")
        .args(["-std=c99", "-O1", &format!("-DDEFECT={defect}"), "-o"])
        .arg(&program)
        .args(["main.c", "sense.c", "scale.c", "draw.c", "packed.c"])
        .current_dir(sources)
        .status();
    let status = status.unwrap_or_else(|error| {
        panic!(
            "cannot run the C compiler `cc`: {error}. Install one: `apt-get install gcc libc6-dev` \
             (Debian, Ubuntu), `dnf install gcc` (Fedora), `xcode-select --install` (macOS)"
        )
    });
    assert!(status.success());
    program.to_str().unwrap().to_owned()
}

// Source: docs/pipeline.md, by the second implementation; expected values of the vectors are not
// made by core.
#[test]
fn a_sound_program_passes_every_vector() {
    let folder = tempfile::tempdir().unwrap();
    let command = port(0, folder.path());
    glowsill(&["check", "--command", &command])
        .assert()
        .success()
        .stdout(
            contains("✓ PASS")
                .and(contains("✗").not())
                .and(contains("not a certification")),
        );
}

#[test]
fn a_forgotten_hysteresis_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let command = port(21, folder.path());
    glowsill(&[
        "check",
        "--command",
        &command,
        "--only",
        "bands",
        "--only",
        "panel",
    ])
    .assert()
    .code(1)
    .stdout(
        contains("✗ bands-002: bands[1]: 1 expected, 0 answered")
            .and(contains("without hysteresis [bands-hysteresis-forgotten]"))
            .and(contains("13 of 17 vectors passed")),
    );
    let output = glowsill(&["check", "--command", &command, "--only", "bands", "--json"])
        .assert()
        .code(1);
    let report: Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    assert_eq!(
        (report["passed"].as_u64(), report["wrong"].as_u64()),
        (Some(3), Some(4))
    );
    assert_eq!(report["vectors"][1]["outcome"], "wrong");
    assert_eq!(
        report["vectors"][1]["notes"][0]["flag"],
        "bands-hysteresis-forgotten"
    );
}

#[test]
fn a_program_that_hangs_or_ends_or_chatters_is_no_pass() {
    glowsill(&[
        "check",
        "--command",
        "sleep 60",
        "--only",
        "bins",
        "--time-limit",
        "0.2",
    ])
    .assert()
    .code(1)
    .stdout(contains("no answer within 0.2 s").and(contains("perhaps").not()));
    glowsill(&["check", "--command", "false", "--only", "bins"])
        .assert()
        .code(1)
        .stdout(contains("ended without an answer"));
    glowsill(&["check", "--command", "cat", "--only", "bins"])
        .assert()
        .code(1)
        .stdout(contains("is not whole numbers"));
    // Eleven silences are enough.
    glowsill(&["check", "--command", "false"])
        .assert()
        .code(2)
        .stderr(contains("gave no answer 11 times"));
}

#[test]
fn what_cannot_be_checked_is_said_with_a_next_step() {
    glowsill(&["check", "--command", "./not-there"])
        .assert()
        .code(2)
        .stderr(contains("cannot start './not-there'").and(contains("Give its path")));
    glowsill(&["check", "--command", " "])
        .assert()
        .code(2)
        .stderr(contains("--command is empty"));
    glowsill(&["check", "--command", "cat", "--only", "colours"])
        .assert()
        .code(2)
        .stderr(contains("no stage 'colours'").and(contains("bands")));
    glowsill(&["check", "--command", "cat", "--time-limit", "0"])
        .assert()
        .code(2)
        .stderr(contains("0.1 to 3600"));
    glowsill(&["show", "bands-999"])
        .assert()
        .code(2)
        .stderr(contains("no vector 'bands-999'"));
}

#[test]
fn stages_vectors_and_lines_are_listed() {
    glowsill(&["list"])
        .assert()
        .success()
        .stdout(contains("127 vectors.").and(contains("plateau")));
    glowsill(&["list", "--only", "bins"])
        .assert()
        .success()
        .stdout(contains("bins-001").and(contains("falls into the bin below")));
    glowsill(&["show", "overlay-003"])
        .assert()
        .success()
        .stdout(
            contains("\noverlay 2 1 77 3 100 100 100 1 100\n").and(contains("\n3 100 100 100\n")),
        );
    let output = glowsill(&["list", "--json"]).assert().success();
    let list: Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    assert_eq!(list["stages"].as_array().unwrap().len(), 18);
}
