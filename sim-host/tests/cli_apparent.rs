//! `glowsill apparent` and `glowsill profile` as a person runs them.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;

fn glowsill() -> Command {
    Command::cargo_bin("glowsill").unwrap()
}

fn apparent_json(arguments: &[&str]) -> Value {
    let output = glowsill()
        .arg("apparent")
        .args(arguments)
        .arg("--json")
        .assert()
        .success();
    serde_json::from_slice(&output.get_output().stdout).unwrap()
}

fn celsius(value: &Value, which: &str) -> f64 {
    value[which]["celsius"].as_f64().unwrap()
}

// Source: computed from Planck's law with the exact SI constants by numerical integration over 8 to
// 14 µm, L_app = ε·L(T) + (1 − ε)·L(293.15 K), in a calculation that shares no code with glowsill.
#[test]
fn readings_of_grey_surfaces_in_a_room_of_20_celsius() {
    let table = [
        ("0.95", "150C", 145.21),
        ("0.90", "150C", 140.33),
        ("0.70", "150C", 119.73),
        ("0.10", "150C", 39.35),
        ("0.95", "260C", 251.66),
        ("0.90", "260C", 243.18),
        ("0.70", "260C", 207.38),
        ("0.10", "260C", 61.89),
    ];
    for (emissivity, surface, reads) in table {
        let arguments = [
            "--true",
            surface,
            "--emissivity",
            emissivity,
            "--surroundings",
            "20C",
        ];
        let there = apparent_json(&arguments);
        assert!(
            (celsius(&there, "apparent") - reads).abs() < 0.006,
            "{emissivity} {surface} {there}"
        );
        let reading = format!("{reads}C");
        let back = apparent_json(&["--apparent", &reading, "--emissivity", emissivity]);
        let expected: f64 = surface.trim_end_matches('C').parse().unwrap();
        // A hundredth of a kelvin in a reading at emissivity 0.1 stands for ten in the surface.
        let tolerance = 0.006 / emissivity.parse::<f64>().unwrap().powi(2);
        assert!(
            (celsius(&back, "true") - expected).abs() < tolerance,
            "{back}"
        );
    }
}

// Source: the definition of emissivity: a black body in clear air reads its own temperature.
#[test]
fn a_black_body_reads_its_own_temperature_in_both_scales() {
    let value = apparent_json(&["--true", "-4 F", "--emissivity", "1"]);
    assert!((celsius(&value, "apparent") + 20.0).abs() < 1e-6, "{value}");
    assert!((value["apparent"]["fahrenheit"].as_f64().unwrap() + 4.0).abs() < 1e-6);
}

#[test]
fn the_sentence_names_both_scales_and_the_caution() {
    glowsill()
        .args([
            "apparent",
            "--true",
            "260C",
            "--emissivity",
            "0.9",
            "--surroundings",
            "20C",
        ])
        .assert()
        .success()
        .stdout(predicate::str::contains("243.18 °C (469.72 °F)"))
        .stdout(predicate::str::contains("16.82 K (30.28 °F) too cool"))
        .stdout(predicate::str::contains("not a certification"));
}

#[test]
fn bad_input_is_exit_code_2_with_field_value_and_limits() {
    let cases: [(&[&str], &str); 14] = [
        (
            &["--true", "260C", "--emissivity", "1.5"],
            "emissivity = 1.5 is outside 0.001 to 1: it is a share; give for example 0.95",
        ),
        (
            &["--true", "1e9C", "--emissivity", "0.9"],
            "'1e9C' is outside -273.11 °C to 1774.81 °C (-459.61 °F to 3226.67 °F",
        ),
        (
            &["--true", "1e300 C", "--emissivity", "0.9"],
            "'1e300 C' is outside -273.11 °C to 1774.81 °C",
        ),
        // Source: Planck's law: at emissivity 0.05 the surface behind 500 °F is far above 2000 °C.
        (
            &["--apparent", "500F", "--emissivity", "0.05"],
            "a reading of 260.0 °C (500.0 °F) would need a surface of 2212",
        ),
        (
            &["--apparent", "500F", "--emissivity", "0.05"],
            "outside -273.11 °C to 1774.81 °C",
        ),
        (
            &[
                "--apparent",
                "10C",
                "--emissivity",
                "0.1",
                "--surroundings",
                "100C",
            ],
            "apparent temperature 10.0 °C (50.0 °F) is not above",
        ),
        (
            &["--true", "20C", "--emissivity", "0.9", "--air", "1K"],
            "air = -272.1 °C (-457.9 °F) is outside -243.1 °C (-405.7 °F) to",
        ),
        (
            &["--true", "260", "--emissivity", "0.9"],
            "write a number and a unit",
        ),
        (&["--true", "260C", "--emissivity", "1.2"], "emissivity"),
        (&["--true", "260C", "--emissivity", "0"], "emissivity"),
        (
            &["--true", "260C", "--emissivity", "0.9", "--band", "14-8"],
            "the first must be the shorter",
        ),
        (
            &["--true", "260C", "--emissivity", "0.9", "--band", "wide"],
            "two wavelengths",
        ),
        (
            &[
                "--apparent",
                "10C",
                "--emissivity",
                "0.1",
                "--surroundings",
                "100C",
            ],
            "reflected surroundings",
        ),
        (&["--emissivity", "0.9"], "--true"),
    ];
    for (arguments, expected) in cases {
        glowsill()
            .arg("apparent")
            .args(arguments)
            .assert()
            .code(2)
            .stderr(predicate::str::contains(expected));
    }
}

#[test]
fn true_and_apparent_together_are_refused() {
    glowsill()
        .args([
            "apparent",
            "--true",
            "1C",
            "--apparent",
            "2C",
            "--emissivity",
            "1",
        ])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("cannot be used with"));
}

#[test]
fn help_teaches_with_examples_exit_codes_and_cautions() {
    glowsill()
        .arg("--help")
        .assert()
        .success()
        .stdout(predicate::str::contains("EXIT CODES"))
        .stdout(predicate::str::contains("not a certification"));
    glowsill()
        .args(["apparent", "--help"])
        .assert()
        .success()
        .stdout(predicate::str::contains("glowsill apparent --true 260C"));
}
