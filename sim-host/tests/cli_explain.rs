//! `glowsill explain` as a person uses it, with numbers worked out beside it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::float_cmp,
    reason = "a failure here is the test's result"
)]

use assert_cmd::Command;
use glowsill::world::scene::Scene;
use glowsill::world::target::Workshop;
use predicates::str::contains;
use serde_json::Value;

fn glowsill() -> Command {
    Command::cargo_bin("glowsill").unwrap()
}

/// Black at 0 °C (32 °F), white at 100 °C (212 °F) at the start; colour from 150 °C (302 °F).
const FIXED: &str = include_str!("data/fixed-scale.toml");
/// The law of its scale, to be changed.
const LAW: &str = "law = \"fixed\"";

fn explain(law: &str) -> (Value, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("p.toml");
    std::fs::write(&path, FIXED.replace(LAW, &format!("law = \"{law}\""))).unwrap();
    let out = folder.path().join("out");
    glowsill()
        .args([
            "explain",
            "workshop",
            "--size",
            "160x120",
            "--between",
            "frame 0,5s",
            "--profile",
        ])
        .arg(&path)
        .arg("--out")
        .arg(&out)
        .assert()
        .success();
    assert!(out.join("explain.png").is_file());
    let read = |name: &str| std::fs::read_to_string(out.join(name)).unwrap();
    (
        serde_json::from_str(&read("explain.json")).unwrap(),
        read("explain.html"),
    )
}

/// 5th and 95th percentile of the scene below 150 °C without its marks, °C: from the scene, not from a display.
fn background_c() -> (f64, f64) {
    let room = Workshop::new(160, 120);
    let image = room.image(0);
    let mut celsius: Vec<f64> = (0..image.data.len())
        .filter(|i| room.marks().iter().all(|mark| !mark.mask[*i]))
        .map(|i| image.data[i] - 273.15)
        .filter(|celsius| *celsius < 150.0)
        .collect();
    celsius.sort_by(f64::total_cmp);
    (
        celsius[celsius.len() / 20],
        celsius[celsius.len() * 19 / 20],
    )
}

// By hand: on a fixed scale of 0 °C to 100 °C a stretch of d kelvin has d/100 of the greys, at both instants.
#[test]
fn a_fixed_scale_gives_the_background_its_span_over_the_scale() {
    let (low, high) = background_c();
    let (json, html) = explain("fixed");
    for side in json["instants"].as_array().unwrap() {
        let share = side["background_grey_share"].as_f64().unwrap();
        assert!(
            (share - (high - low) / 100.0).abs() < 0.004,
            "{share}, {low} to {high}"
        );
    }
    assert!(
        html.contains("stayed at 100.0 °C (212.0 °F)"),
        "white does not move"
    );
}

// By hand: the scale of extremes ends at the source, 400 °C (752 °F), and starts at the coldest, about 15 °C.
#[test]
fn a_scale_that_follows_leaves_the_background_little_and_the_sentences_say_so() {
    let (low, high) = background_c();
    let (json, html) = explain("extremes");
    let second = &json["instants"][1];
    let white = second["view"]["scale_high"]["celsius"].as_f64().unwrap();
    assert!((white - 400.0).abs() < 4.0, "{white}");
    let black = second["view"]["scale_low"]["celsius"].as_f64().unwrap();
    let share = second["background_grey_share"].as_f64().unwrap();
    assert!(
        (share - (high - low) / (white - black)).abs() < 0.002,
        "{share}"
    );
    let covered = Workshop::new(160, 120).source_share(150);
    assert!((second["share_above_onset"].as_f64().unwrap() - covered).abs() < 0.01);
    let sentences = json["sentences"].to_string();
    assert!(
        sentences.contains(&format!("{:.1} %", 100.0 * share)),
        "{sentences}"
    );
    for sentence in json["sentences"].as_array().unwrap() {
        assert!(html.contains(sentence.as_str().unwrap()), "{sentence}");
    }
    // The frame in which the lantern goes is the first of those that stay below the limit.
    let lantern = &json["marks"][2];
    assert_eq!(lantern["name"], "lantern");
    assert_eq!(lantern["state"][1], "lost");
    assert!(
        html.contains("What the imager cannot see here") && html.contains("not true temperature")
    );
}

// Source: the sensor model's own figures, 0.040 K in high gain and 0.300 K in low gain at 300 K (assumptions of
// the model, common practice); at thirty frames a second 0.3 s without a picture are 9 frames.
#[test]
fn the_whole_frame_plan_costs_the_noise_of_low_gain_and_blank_frames() {
    let (json, _) = explain("fixed");
    let kelvin = |value: &Value| value["kelvin"].as_f64().unwrap();
    for side in json["instants"].as_array().unwrap() {
        if side["at"]["frame"] == 0 {
            assert!(side["noise"].is_null(), "one frame has no temporal noise");
            continue;
        }
        let (own, whole) = (kelvin(&side["noise"]), kelvin(&side["whole_frame_noise"]));
        assert!((0.035..0.065).contains(&own), "{own}");
        assert!((0.27..0.37).contains(&whole), "{whole}");
    }
    let whole = &json["whole_frame"];
    assert_eq!(whole["put_in"], true);
    assert_eq!(whole["blank_frames"], 9);
    assert!((whole["blank_seconds"].as_f64().unwrap() - 0.3).abs() < 1e-9);
    // The source passes 1 % of the picture before it is fully grown at frame 120.
    let switched = whole["switched"]["frame"].as_u64().unwrap();
    assert!((10..120).contains(&switched), "{switched}");
}

#[test]
fn instants_out_of_order_or_range_leave_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("p.toml");
    std::fs::write(&path, FIXED).unwrap();
    let out = folder.path().join("out");
    for (between, words) in [
        ("5s,1s", "must come after"),
        ("1s,frame 30", "must come after"),
        ("1s,999s", "--between 999s"),
        ("1s", "two instants"),
        ("0s,0s", "both are frame 0"),
        ("-1s,2s", "instants count from 0s"),
    ] {
        glowsill()
            .args(["explain", "workshop", "--between", between, "--profile"])
            .arg(&path)
            .arg("--out")
            .arg(&out)
            .assert()
            .code(2)
            .stderr(contains(words));
        assert!(!out.exists());
    }
}
