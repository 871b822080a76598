//! Sections 11 to 13 of `docs/pipeline.md` against the core.
//! Source: the page itself, which is normative; the numbers below are written from it by hand.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use std::path::Path;

use glowsill_core::calibration::Calibration;
use glowsill_core::health::{Cause, Health, HealthPlan};
use glowsill_core::panel::{PanelRgb565, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::{ColourPlan, GainPlan, Overlay, Profile, ScaleLaw};

fn page() -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/pipeline.md");
    std::fs::read_to_string(root).unwrap()
}

#[test]
fn the_table_of_causes_has_each_bit_name_and_number_of_frames() {
    let page = page();
    for cause in Cause::ALL {
        let start = format!(
            "| {:03x} | {} |",
            Health::GOOD.with(cause).bits(),
            cause.name()
        );
        let line = page.lines().find(|line| line.starts_with(&start));
        let line = line.unwrap_or_else(|| panic!("docs/pipeline.md has no line '{start}'"));
        let frames = HealthPlan::DEFAULT
            .frames_to_detect(cause, Geometry::DEFAULT)
            .unwrap();
        let cell = line.split('|').nth(4).unwrap();
        let numbers: Vec<u16> = cell
            .split(|c: char| !c.is_ascii_digit())
            .filter_map(|word| word.parse().ok())
            .collect();
        assert_eq!(numbers.first(), Some(&frames), "{line}");
    }
}

#[test]
fn the_defaults_are_those_of_the_page() {
    let plan = HealthPlan::DEFAULT;
    let page = page();
    for (field, value) in [
        ("disagree_permille", plan.disagree_permille),
        ("saturated_permille", plan.saturated_permille),
        ("missing_permille", plan.missing_permille),
        ("outside_permille", plan.outside_permille),
        ("defect_permille", plan.defect_permille),
        ("still_frames", plan.still_frames.into()),
        ("hold_frames", plan.hold_frames.into()),
        ("table_rows", plan.table_rows.into()),
        ("disagree_k32", plan.disagree_k32),
    ] {
        let stated = page
            .split(&format!("`{field}` ("))
            .nth(1)
            .unwrap_or_else(|| panic!("docs/pipeline.md does not state {field}"));
        let digits: String = stated.chars().take_while(char::is_ascii_digit).collect();
        assert_eq!(digits, value.to_string(), "{field}");
    }
}

/// Section 12: m = (x + y) mod 32; below 4 black, below 8 white, the rest stays.
#[test]
fn the_mark_lies_where_the_page_says() {
    let table = Calibration::identity();
    let sensor = SensorConfig {
        high: Some(&table),
        health: HealthPlan::OFF,
        ..SensorConfig::default()
    };
    let profile = Profile::safe(&sensor);
    let geometry = Geometry::new(70, 50).unwrap();
    let draw = |is_struck: bool| {
        let (mut memory, mut scratch) = ([0; 3500], [0; 420]);
        let mut pipeline =
            Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
        if is_struck {
            pipeline.raise(Cause::ProfileFallback);
        }
        let mut picture = [Rgb888::default(); 3500];
        // 65 °C between 10 °C and 120 °C: a grey that is neither black nor white.
        let record = pipeline
            .frame::<PanelRgb888>(Some(&[10_821; 3500]), None, &mut picture)
            .unwrap();
        assert_eq!(record.is_struck, is_struck);
        picture
    };
    let (plain, struck) = (draw(false), draw(true));
    for (i, (plain, struck)) in plain.iter().zip(&struck).enumerate() {
        let wanted = match (i % 70 + i / 70) % 32 {
            0..4 => Rgb888::grey(0),
            4..8 => Rgb888::grey(255),
            _ => *plain,
        };
        assert_eq!(*struck, wanted, "{i}");
        assert!((1..255).contains(&plain.r));
    }
}

/// Section 11: the signature, and the ninth equal frame; a frame of another content clears it.
#[test]
fn nine_equal_frames_are_frozen_and_only_samples_looked_at_count() {
    let table = Calibration::identity();
    let sensor = SensorConfig {
        high: Some(&table),
        ..SensorConfig::default()
    };
    let profile = Profile::safe(&sensor);
    let geometry = Geometry::new(320, 240).unwrap();
    let (mut memory, mut scratch) = (vec![0; 76_800], [0; 1920]);
    let mut pipeline =
        Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
    let mut picture = vec![0; 76_800];
    let mut plane = vec![9400; 76_800];
    let mut frozen = Vec::new();
    for frame in 0..24 {
        match frame {
            // Column 37 mod 128 of row 1 is looked at; its neighbour is not.
            10 => plane[320 + 38] += 1,
            12 => plane[320 + 37] += 1,
            _ => {}
        }
        let record = pipeline
            .frame::<PanelRgb565>(Some(&plane), None, &mut picture)
            .unwrap();
        frozen.push(record.health.has(Cause::Frozen));
    }
    let wanted: Vec<bool> = (0..24).map(|i| (8..12).contains(&i) || i >= 20).collect();
    assert_eq!(frozen, wanted);
}

/// Section 11: CRC-32 over gain and offset, low bytes first.
#[test]
fn a_corrections_check_sum_is_that_of_the_page() {
    // Source: the check value of CRC-32/ISO-HDLC, CBF43926, is that of the digits 1 to 9; of "12345678"
    // it is 9AE0DAAF (zlib's crc32, from memory, not seen).
    let table = Correction {
        gain_q14: &[0x3231, 0x3635],
        offset: &[0x3433, 0x3837],
    };
    assert_eq!(table.crc32(), 0x9AE0_DAAF);
}

/// Section 13.
#[test]
fn the_built_in_profile_is_that_of_the_page() {
    let table = Calibration::identity();
    let safe = |high: bool, low: bool| {
        Profile::safe(&SensorConfig {
            high: high.then_some(&table),
            low: low.then_some(&table),
            ..SensorConfig::default()
        })
    };
    let profile = safe(true, true);
    let spec = profile.spec();
    assert_eq!(spec.name, "Built-in safe profile");
    assert!(matches!(
        spec.gain,
        GainPlan::PerPixel { blend_from, blend_to, dispute_k32: 640 }
            if blend_from.to_bits() == 12_101 && blend_to.to_bits() == 13_061
    ));
    assert!(matches!(safe(false, true).spec().gain, GainPlan::LowOnly));
    assert!(matches!(safe(true, false).spec().gain, GainPlan::HighOnly));
    assert!(matches!(safe(false, false).spec().gain, GainPlan::HighOnly));
    assert!(matches!(
        spec.scale.law,
        ScaleLaw::Percentile {
            low_permille: 20,
            high_permille: 980
        }
    ));
    let scale = &spec.scale;
    assert_eq!(
        (scale.start_low.to_bits(), scale.start_high.to_bits()),
        (9061, 12_581)
    );
    assert_eq!((scale.frames_to_hotter, scale.frames_to_colder), (24, 48));
    assert_eq!((scale.min_span_k32, scale.max_grey_per_kelvin), (1920, 4));
    let ColourPlan::Bands(bands) = &spec.colour else {
        panic!("bands");
    };
    assert_eq!((bands.bands.len(), bands.hysteresis_k32), (1, 128));
    assert_eq!(bands.bands[0].start.to_bits(), 13_861);
    assert_eq!(bands.bands[0].colour, Rgb888::new(235, 210, 0));
    assert_eq!(spec.overlay, Overlay::Veil { opacity: 64 });
}
