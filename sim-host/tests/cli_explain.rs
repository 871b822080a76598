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
        read("explain.html").replace('\u{a0}', " "),
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
    assert!(json["after_start"].is_null() && !html.contains("first frame is special"));
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
    // The first frame is drawn with the start values, 0 °C to 100 °C; the next one from the coldest to the hottest.
    let at_start = json["instants"][0]["background_grey_share"]
        .as_f64()
        .unwrap();
    assert!(
        (at_start - (high - low) / 100.0).abs() < 0.004,
        "{at_start}"
    );
    let after = &json["after_start"];
    assert_eq!(after["at"]["frame"], 1);
    assert!((after["background_grey_share"].as_f64().unwrap() - share).abs() < 0.004);
    let sentences = json["sentences"].to_string();
    assert!(sentences.contains("The first frame is special"));
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
            assert_eq!(side["noise_missing"], "one-frame");
            continue;
        }
        assert!(side["noise_missing"].is_null());
        let (own, whole) = (kelvin(&side["noise"]), kelvin(&side["whole_frame_noise"]));
        assert!((0.035..0.065).contains(&own), "{own}");
        assert!((0.27..0.37).contains(&whole), "{whole}");
        // On this scale a kelvin is 2.55 codes: the noise of low gain changes codes, and the eye gets more of it.
        let jnd = |value: &Value| value["jnd"].as_f64().unwrap();
        assert!(jnd(&side["whole_frame_noise"]) > 1.5 * jnd(&side["noise"]));
    }
    let sentences = json["sentences"].to_string();
    for words in [
        "not measured, because the first frame",
        "times as much in kelvin",
        "times as much in what a person sees",
    ] {
        assert!(sentences.contains(words), "{words} in {sentences}");
    }
    let whole = &json["whole_frame"];
    assert_eq!(whole["put_in"], true);
    assert_eq!(whole["blank_frames"], 9);
    assert!((whole["blank_seconds"].as_f64().unwrap() - 0.3).abs() < 1e-9);
    // The source passes 1 % of the picture before it is fully grown at frame 120.
    let switched = whole["switched"]["frame"].as_u64().unwrap();
    assert!((10..120).contains(&switched), "{switched}");
}

// By hand: a straight line between the ends would give the background (high - low) / (upper - lower) of grey.
#[test]
fn the_ends_of_an_equalised_scale_are_explained_with_what_the_background_gets() {
    let (low, high) = background_c();
    // The law goes into the quotes of `law = "…"`, and its fields after it.
    let law =
        "plateau\"\nlow_share = \"1 %\"\nhigh_share = \"99 %\"\nplateau = \"3 %\"\nweight = \"80 %";
    let (json, html) = explain(law);
    let second = &json["instants"][1];
    assert_eq!(second["view"]["grey_law"], "equalised");
    assert_eq!(json["instants"][0]["view"]["grey_law"], "start");
    let celsius = |end: &str| second["view"][end]["celsius"].as_f64().unwrap();
    let straight = (high - low) / (celsius("scale_high") - celsius("scale_low"));
    let found = second["straight_grey_share"].as_f64().unwrap();
    assert!((found - straight).abs() < 0.002, "{found}, {straight}");
    let real = second["background_grey_share"].as_f64().unwrap();
    assert!(
        real > 3.0 * straight,
        "equalisation keeps grey for the background: {real}"
    );
    for words in [
        "Upper end",
        "below which 1 % and 99 % of the picture lie",
        "80 % of each grey",
        &format!("it really gets {:.0} % of the grey range", 100.0 * real),
        &format!("alone would leave it {:.1} %", 100.0 * found),
        "yellow: from 150 °C (302 °F) up",
    ] {
        assert!(html.contains(words), "{words}");
    }
}

// By hand: a page of 1200 pixels has two figures of (1152 - 32 - 16) / 2 = 552 pixels side by side, a phone of 390 one
// of 390 - 2 x 11.2 = 367; what is seen is what is drawn times that over the width it is drawn in.
#[test]
fn no_text_of_a_figure_is_smaller_than_twelve_pixels_on_a_desk_or_a_phone() {
    let (_, html) = explain("extremes");
    let number = |text: &str| -> f64 {
        let digits = text.split('"').next().unwrap();
        digits.parse().unwrap()
    };
    let mut seen = 0;
    for (class, width_px) in [("wide", 552.0), ("narrow", 367.0)] {
        for part in html.split(&format!("<div class=\"{class}\">")).skip(1) {
            let svg = part.split("</svg>").next().unwrap();
            let drawn = number(svg.split(" width=\"").nth(1).unwrap());
            for text in svg.split("font-size=\"").skip(1) {
                let size = number(text) * width_px / drawn;
                assert!(size >= 12.0, "{class}: {size}");
                seen += 1;
            }
        }
    }
    assert!(seen > 100, "{seen}");
    assert!(html.find("Read this first").unwrap() < html.find("<svg").unwrap());
}

#[test]
fn instants_out_of_order_or_range_leave_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("p.toml");
    std::fs::write(&path, FIXED).unwrap();
    let out = folder.path().join("out");
    for (between, words) in [
        ("5s,1s", "must come after"),
        ("1s,frame 30", "both are frame 30"),
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
