use glowsill_core::profile::{ColourPlan, GainPlan, Overlay, ScaleLaw, WholeFramePlan};
use glowsill_core::units::Temperature;

use super::*;

const SIZE_UP: &str = include_str!("../../../demo-data/profiles/size-up.toml");

fn message(text: &str) -> String {
    parse(text, "p.toml").unwrap_err().to_string()
}

fn line_of(text: &str, needle: &str) -> usize {
    text.lines().position(|line| line.contains(needle)).unwrap() + 1
}

#[test]
fn every_demo_profile_is_valid_and_survives_writing_and_reading() {
    let demo = demo().unwrap();
    assert_eq!(demo.iter().filter(|d| !d.there_to_fail).count(), 4);
    assert_eq!(demo.iter().filter(|d| d.there_to_fail).count(), 2);
    for profile in demo {
        let text = to_toml(&profile.loaded.spec, &profile.loaded.purpose);
        let again = parse(&text, "again.toml").unwrap();
        assert_eq!(again.spec, profile.loaded.spec, "{text}");
        assert_eq!(again.purpose, profile.loaded.purpose);
        assert!(!profile.loaded.purpose.is_empty());
    }
}

// Common practice, no published source: 302 °F and 150 °F are trade onsets; the demonstration takes
// values of its own.
#[test]
fn demo_onsets_are_not_the_trade_values() {
    for profile in demo().unwrap() {
        if let Some(onset) = profile.loaded.profile.onset() {
            let celsius = Temperature::to_millicelsius(onset);
            assert!((celsius - 150_000).abs() > 1000 && (celsius - 65_556).abs() > 1000);
        }
    }
}

// Source: NIST TN 1474 and TN 1477 (thermal classes I to III: 100, 160, 260 °C); NIST SP 1102
// (skin: 55 °C second-degree burn, 72 °C destroyed at once).
#[test]
fn demo_onsets_are_the_published_figures_they_name() {
    let onset = |name: &str| {
        let demo = demo().unwrap();
        let found = demo.iter().find(|d| d.loaded.name() == name).unwrap();
        found.loaded.profile.onset().unwrap()
    };
    let c = |celsius| Temperature::from_millicelsius(celsius).unwrap();
    assert_eq!(onset("Interior attack"), c(160_000));
    assert_eq!(onset("Search"), c(260_000));
    assert_eq!(onset("Size-up"), c(72_000));
    assert_eq!(onset("Overhaul"), c(55_000));
}

#[test]
fn extreme_values_survive_writing_and_reading() {
    let mut spec = ProfileSpec::grey_example();
    spec.gain = GainPlan::WholeFrame(WholeFramePlan {
        enter_above: Temperature::from_bits(12_801),
        enter_permille: 1,
        enter_frames: 255,
        leave_above: Temperature::MIN,
        leave_permille: 1000,
        leave_frames: 1,
        blank_frames: 60,
    });
    spec.overlay = Overlay::Veil { opacity: 77 };
    for bits in (1..=63_000).step_by(13) {
        spec.scale.start_low = Temperature::from_bits(bits);
        spec.scale.start_high = Temperature::from_bits(bits + 64);
        spec.scale.min_span_k32 = 64 + bits % 15_000;
        spec.scale.law = ScaleLaw::Plateau {
            low_permille: bits % 999,
            high_permille: 1000,
            plateau_permille: 1 + bits % 1000,
            weight_q8: bits % 257,
        };
        let text = to_toml(&spec, "says \"so\"\nand more");
        let again = parse(&text, "again.toml").unwrap();
        assert_eq!(again.spec, spec, "{text}");
        assert_eq!(again.purpose, "says \"so\"\nand more");
    }
}

#[test]
fn fahrenheit_and_celsius_give_one_profile() {
    let in_fahrenheit = SIZE_UP
        .replace("\"100 C\"", "\"212 °F\"")
        .replace("\"160 C\"", "\"320F\"");
    assert_ne!(in_fahrenheit, SIZE_UP);
    assert_eq!(
        parse(&in_fahrenheit, "f").unwrap().spec,
        parse(SIZE_UP, "c").unwrap().spec
    );
}

#[test]
fn a_limit_is_told_with_line_value_and_human_units() {
    let text = SIZE_UP.replace("hysteresis = \"2 K\"", "hysteresis = \"60 K\"");
    let line = line_of(&text, "60 K");
    let message = message(&text);
    assert!(
        message.starts_with(&format!("p.toml:{line}: colour.hysteresis = \"60 K\"")),
        "{message}"
    );
    assert!(
        message.contains("0 K (0.0 °F) to 50 K (90.0 °F)"),
        "{message}"
    );
}

#[test]
fn a_temperature_limit_is_told_in_both_scales() {
    let text = SIZE_UP.replace("leave_above = \"95 C\"", "leave_above = \"130 C\"");
    let message = message(&text);
    assert!(
        message.contains("gain.leave_above = \"130 C\""),
        "{message}"
    );
    assert!(message.contains("125.0 °C (257.0 °F)"), "{message}");
    assert!(message.contains("at or below enter_above"), "{message}");
}

#[test]
fn a_band_is_named_by_its_number_and_own_line() {
    let text = SIZE_UP.replace("start = \"160 C\"", "start = \"90 C\"");
    let message = message(&text);
    let line = line_of(&text, "\"90 C\"");
    assert!(
        message.starts_with(&format!("p.toml:{line}: colour.bands[3].start")),
        "{message}"
    );
    assert!(message.contains("101.0 °C (213.8 °F)"), "{message}");
}

#[test]
fn unknown_missing_and_wrong_kinds_are_refused_by_name() {
    let cases = [
        (
            SIZE_UP.replace("min_span", "min_spam"),
            "scale.min_spam is not a field here; did you mean scale.min_span?",
        ),
        (
            SIZE_UP.replace("lift =", "lfit ="),
            "overlay.lfit is not a field here; did you mean overlay.lift?",
        ),
        (
            SIZE_UP.replace("[scale]", "[scal]"),
            "scal is not a field here; did you mean scale?",
        ),
        (
            SIZE_UP.replace("min_span = \"25 K\"\n", ""),
            "scale.min_span is missing",
        ),
        (
            format!("colour_blind = true\n{SIZE_UP}"),
            "colour_blind is not a field here",
        ),
        (
            SIZE_UP.replace("knee = 200", "knee = 200\nopacity = 3"),
            "overlay.opacity is not a field",
        ),
        (
            SIZE_UP.replace("knee = 200", "knee = \"200\""),
            "overlay.knee = \"200\" is not a whole",
        ),
        (
            SIZE_UP.replace("knee = 200", "knee = 300"),
            "overlay.knee = 300 is out of its limits",
        ),
        (
            SIZE_UP.replace("\"25 K\"", "25"),
            "scale.min_span is integer, not text",
        ),
        (
            SIZE_UP.replace("\"25 K\"", "\"25 C\""),
            "not a temperature difference",
        ),
        (
            SIZE_UP.replace("\"0.5 %\"", "\"0.05 %\""),
            "finer than the step",
        ),
        (
            SIZE_UP.replace("\"#ebd200\"", "\"#ebd20\""),
            "is not a colour",
        ),
        (
            SIZE_UP.replace("\"#ebd200\"", "\"yellow\""),
            "is not a colour",
        ),
        (
            SIZE_UP.replace("\"whole-frame\"", "\"half\""),
            "\"per-pixel\", \"whole-frame\"",
        ),
        (
            SIZE_UP.replace("\"72 C\"", "\"72\""),
            "is not a temperature",
        ),
        (
            SIZE_UP.replace("\"72 C\"", "\"5000 C\""),
            "is outside -273.11 °C to 1774.81 °C (-459.61 °F to 3226.67 °F",
        ),
        (
            SIZE_UP.replace("fill = \"flat\"", "fill = \"ramp\""),
            "colour.ramp_end.temperature is missing",
        ),
        (SIZE_UP.replace("[overlay]", "[overlay"), "not valid TOML"),
        (String::new(), "name is missing"),
        (
            SIZE_UP.replace("name = \"Size-up\"", "name = \"\""),
            "1 byte to 32 bytes",
        ),
        (
            SIZE_UP.replace(
                "\"Size-up\"",
                "\"A name that is far too long for the display\"",
            ),
            "has 43 bytes",
        ),
        (
            SIZE_UP.replace("#c80000", "#641e1e"),
            "follows the grey picture strictly",
        ),
    ];
    for (text, expected) in cases {
        let message = message(&text);
        assert!(
            message.contains(expected),
            "expected '{expected}' in: {message}"
        );
        assert!(message.starts_with("p.toml:"), "{message}");
    }
}

#[test]
fn pseudo_colour_limits_its_stops() {
    let cycle = include_str!("../../../demo-data/profiles/poor-cycle.toml");
    let loaded = parse(cycle, "cycle").unwrap();
    assert!(matches!(&loaded.spec.colour, ColourPlan::PseudoColour { stops } if stops.len() == 8));
    let many = cycle.replace(
        "stops = [",
        "stops = [\"#000000\", \"#000000\", \"#000000\", \"#000000\", \"#000000\", \"#000000\", ",
    );
    assert!(
        message(&many).contains("holds 14; allowed: 2 to 12 colours"),
        "{}",
        message(&many)
    );
}

#[test]
fn a_missing_file_names_its_path() {
    let error = load(Path::new("no/such/profile.toml"))
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("no/such/profile.toml") && error.contains("Check the path"),
        "{error}"
    );
}

/// Keys of the table that starts above a line, as they stand in the file.
fn keys_beside(text: &str, line: usize) -> Vec<&str> {
    let lines: Vec<&str> = text.lines().collect();
    let is_header = |line: &&str| line.starts_with('[');
    let start = lines[..line].iter().rposition(is_header);
    let end = lines[line..].iter().position(is_header);
    let table = &lines[start.map_or(0, |at| at + 1)..end.map_or(lines.len(), |at| line + at)];
    let is_key = |line: &&str| !line.starts_with('#') && line.contains(" = ");
    let keys = table.iter().copied().filter(is_key);
    keys.map(|line| line.split(" = ").next().unwrap()).collect()
}

#[test]
fn a_misspelt_field_lists_every_field_that_may_stand_beside_it() {
    let mut tried = 0;
    for text in [
        include_str!("../../../demo-data/profiles/search.toml"),
        SIZE_UP,
        include_str!("../../../demo-data/profiles/poor-cycle.toml"),
    ] {
        for (number, line) in text.lines().enumerate() {
            let Some((key, _)) = line.split_once(" = ") else {
                continue;
            };
            // A misspelt choice leaves open which fields belong to it.
            if line.starts_with('#') || ["plan", "law", "style"].contains(&key) {
                continue;
            }
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            lines[number] = lines[number].replacen(" = ", "z = ", 1);
            let message = message(&lines.join("\n"));
            let start = message.find("; allowed: ").expect(&message);
            let allowed = message[start + 11..].split(". Correct").next().unwrap();
            let allowed: Vec<&str> = allowed.split(", ").collect();
            for beside in keys_beside(text, number) {
                assert!(allowed.contains(&beside), "{beside} in: {message}");
            }
            tried += 1;
        }
    }
    assert!(tried > 50, "{tried}");
}

#[test]
fn the_band_that_stands_out_is_the_one_that_is_named() {
    let search = include_str!("../../../demo-data/profiles/search.toml");
    let with = |from: &str, to: &str| {
        let text = search.replace(&format!("\"{from} C\""), &format!("\"{to} C\""));
        let line = line_of(&text, &format!("\"{to} C\""));
        (message(&text), line)
    };
    // 1600, 430, 600: only the first is out of order.
    let (text, line) = with("260", "1600");
    assert!(
        text.starts_with(&format!(
            "p.toml:{line}: colour.bands[1].start = \"1600 C\""
        )),
        "{text}"
    );
    assert!(text.contains("below colour.bands[2].start"), "{text}");
    assert!(text.contains("to 429.0 °C (804.2 °F)"), "{text}");
    // 500, 430, 600: either may be meant.
    let (text, _) = with("260", "500");
    for part in [
        "colour.bands[2].start = \"430 C\" is not at least 1 K above colour.bands[1].start = \"500 C\"",
        "501.0 °C (933.8 °F) to 599.0 °C (1110.2 °F)",
        "or correct colour.bands[1].start to",
        "429.0 °C (804.2 °F)",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
    // 260, 430, 700 and a ceiling of 640: band 3 or the ceiling.
    let (text, _) = with("600", "700");
    for part in [
        "colour.ceiling.start = \"640 C\" is not at least 1 K above colour.bands[3].start = \"700 C\"",
        "or correct colour.bands[3].start to 431.0 °C (807.8 °F) to 639.0 °C (1182.2 °F)",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
    // A ceiling below two bands stands out alone.
    let (text, _) = with("640", "300");
    assert!(text.contains("colour.ceiling.start = \"300 C\""), "{text}");
    assert!(!text.contains("or correct"), "{text}");
}

#[test]
fn a_packed_profile_is_read_and_a_damaged_one_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("size-up.bin");
    let written = parse(SIZE_UP, "size-up.toml").unwrap();
    let mut bytes = [0; glowsill_core::packed::MAX_LEN];
    let length = written.profile.to_bytes(&mut bytes).unwrap();
    std::fs::write(&file, &bytes[..length]).unwrap();
    let read = load(&file).unwrap();
    assert_eq!(read.spec, written.spec);
    assert!(read.purpose.is_empty());
    bytes[20] ^= 1;
    std::fs::write(&file, &bytes[..length]).unwrap();
    let error = load(&file).unwrap_err().to_string();
    assert!(
        error.contains("damaged") && error.contains("glowsill profile pack"),
        "{error}"
    );
    std::fs::write(&file, [0x89, b'P', b'N', b'G', 0xff, 0xfe]).unwrap();
    let error = load(&file).unwrap_err().to_string();
    assert!(error.contains("neither text nor packed"), "{error}");
}

// Source: docs/profile-format.md, whose example is the shipped file, word for word.
#[test]
fn the_documented_example_is_the_shipped_file() {
    let page = include_str!("../../../docs/profile-format.md");
    let after = page.split("```toml\n").nth(1).unwrap();
    let example = after.split("```").next().unwrap();
    assert_eq!(
        example,
        include_str!("../../../demo-data/profiles/search.toml")
    );
    assert_eq!(parse(example, "docs").unwrap().name(), "Search");
}
