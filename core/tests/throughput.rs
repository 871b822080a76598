//! `examples/throughput` reads two raw planes, prints a time a frame, and says what is wrong.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use glowsill_core::packed;
use glowsill_core::profile::{Profile, ProfileSpec};

/// The example, built if it is not there or older than the core.
fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        let output = Command::new(env!("CARGO"))
            .args(["build", "--example", "throughput", "--message-format=json"])
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
        let text = String::from_utf8(output.stdout).unwrap();
        let (_, rest) = text.rsplit_once("\"executable\":\"").unwrap();
        PathBuf::from(rest.split('"').next().unwrap())
    })
}

fn run(arguments: &[&str]) -> Output {
    let program = program();
    Command::new(program)
        .args(arguments)
        .output()
        .unwrap_or_else(|error| panic!("{}: {error}", program.display()))
}

/// A file of the test's folder with the given bytes.
fn file(name: &str, bytes: &[u8]) -> String {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, bytes).unwrap();
    path.to_str().unwrap().to_owned()
}

fn plane(counts: u16, pixels: usize) -> Vec<u8> {
    counts.to_le_bytes().repeat(pixels)
}

/// What a call that must fail says.
fn refused(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert!(!output.status.success(), "{arguments:?} must be refused");
    assert!(output.stdout.is_empty(), "no time is printed");
    String::from_utf8(output.stderr).unwrap()
}

#[test]
fn a_line_a_frame_with_the_seconds_it_took() {
    let (high, low) = (
        file("throughput_high.u16", &plane(5200, 160 * 120)),
        file("throughput_low.u16", &plane(1300, 160 * 120)),
    );
    let spec = ProfileSpec::grey_example();
    let mut bytes = [0; packed::MAX_LEN];
    let len = Profile::new(spec).unwrap().to_bytes(&mut bytes).unwrap();
    let profile = file("throughput_profile.bin", &bytes[..len]);
    for arguments in [
        vec!["160", "120", &high, &low, "5"],
        vec!["160", "120", &high, &low, "5", &profile],
    ] {
        let output = run(&arguments);
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        let text = String::from_utf8(output.stdout).unwrap();
        let seconds: Vec<f64> = text.lines().map(|line| line.parse().unwrap()).collect();
        assert_eq!(seconds.len(), 5);
        // A frame of 19,200 pixels takes no nothing, and no ten seconds even without optimisation.
        assert!(seconds.iter().all(|s| (1e-7..10.0).contains(s)), "{text}");
    }
}

#[test]
fn wrong_input_is_named_with_the_next_step() {
    let (good, short) = (
        file("throughput_good.u16", &plane(5200, 16 * 8)),
        file("throughput_short.u16", &plane(5200, 16 * 8 - 1)),
    );
    let (odd, text) = (
        file("throughput_odd.u16", &[1; 255]),
        file(
            "throughput_text.bin",
            b"name = \"a profile that was not packed\"",
        ),
    );
    let gone = "no-such-plane.u16";
    let cases: [(&[&str], &[&str]); 11] = [
        (
            &["16", "8", gone, &good, "1"],
            &["HIGH", gone, "check the path"],
        ),
        (
            &["16", "8", &good, gone, "1"],
            &["LOW", gone, "check the path"],
        ),
        (
            &["16", "8", &short, &good, "1"],
            &["HIGH", "254 bytes", "256", "check W and H"],
        ),
        (
            &["16", "8", &good, &odd, "1"],
            &["LOW", "255 bytes", "256", "check W and H"],
        ),
        (
            &["16", "8", &good, &good, "0"],
            &["REPEATS", "0", "1 to 1000000"],
        ),
        (
            &["16", "8", &good, &good, "many"],
            &["REPEATS", "many", "1 to 1000000"],
        ),
        (&["7", "8", &good, &good, "1"], &["width", "7", "8 to 1280"]),
        (
            &["wide", "8", &good, &good, "1"],
            &["W", "wide", "8 to 1280"],
        ),
        (
            &["16", "8", &good, &good],
            &["4 arguments", "throughput W H"],
        ),
        (
            &["16", "8", &good, &good, "1", gone],
            &["PROFILE", gone, "check the path"],
        ),
        (
            &["16", "8", &good, &good, "1", &text],
            &["PROFILE", "gsil", "profile pack"],
        ),
    ];
    for (arguments, words) in cases {
        let said = refused(arguments);
        for word in words {
            assert!(said.contains(word), "{arguments:?}: {said}");
        }
    }
}
