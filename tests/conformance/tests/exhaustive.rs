//! Small domains, every value of them, core against the oracle or against arithmetic by hand.
#![allow(clippy::unwrap_used, reason = "test code")]

use glowsill_conformance::translate;
use glowsill_core::calibration::Calibration;
use glowsill_core::health::HealthPlan;
use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::{
    Band, BandPlan, Ceiling, ColourPlan, Fill, Overlay, Profile, ProfileSpec, RampEnd,
};
use glowsill_core::units::Temperature;
use glowsill_oracle::number::round_half_up;
use glowsill_oracle::{Oracle, bands, overlay, panel};

/// Every code from 0 to 65535 as one picture of 256 by 256.
fn every_code() -> Vec<u16> {
    (0..=u16::MAX).collect()
}

/// Runs frames of 256 by 256 counts through core, identity calibration, and gives the last one's
/// temperature codes, grey and bands.
fn trace(spec: &ProfileSpec, frames: &[Vec<u16>]) -> (Vec<u16>, Vec<u16>, Vec<u8>) {
    let geometry = Geometry::new(256, 256).unwrap();
    let identity = Calibration::identity();
    let sensor = SensorConfig {
        high: Some(&identity),
        health: HealthPlan::OFF,
        ..SensorConfig::default()
    };
    let profile = Profile::new(spec.clone()).unwrap();
    let mut memory = vec![0; 65_536];
    let mut scratch = vec![0; Pipeline::scratch_len(geometry)];
    let mut pipeline =
        Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
    let mut picture = vec![Rgb888::default(); 65_536];
    let (mut temperature, mut grey_q8, mut band) =
        (vec![0; 65_536], vec![0; 65_536], vec![0; 65_536]);
    for frame in frames {
        let trace = Trace {
            temperature: &mut temperature,
            grey_q8: &mut grey_q8,
            band: &mut band,
        };
        pipeline
            .frame_traced::<PanelRgb888>(Some(frame), None, &mut picture, trace)
            .unwrap();
    }
    (temperature, grey_q8, band)
}

fn banded(hysteresis_k32: u16) -> ProfileSpec {
    let band = |code, r, g| Band {
        start: Temperature::from_bits(code),
        colour: Rgb888::new(r, g, 0),
        fill: Fill::Flat,
    };
    let plan = BandPlan {
        bands: [
            band(13_541, 200, 180),
            band(16_000, 230, 90),
            band(19_200, 255, 0),
        ]
        .into_iter()
        .collect(),
        hysteresis_k32,
        ramp_end: None,
        ceiling: Some(Ceiling {
            start: Temperature::from_bits(29_000),
            colour: Rgb888::new(255, 255, 255),
        }),
    };
    ProfileSpec {
        colour: ColourPlan::Bands(plan),
        overlay: Overlay::Opaque,
        ..ProfileSpec::grey_example()
    }
}

#[test]
fn identity_calibration_gives_every_code_back() {
    // Source: docs/pipeline.md sections 1 and 2: knots 256 counts apart, counts are 1/32 K codes.
    // The last knot can only be 65535, so the last interval climbs 255 codes in 256 counts: from
    // 65280 + 129 the nearest code is one less. Count 0 is dead; count 65535 is saturated.
    let (temperature, _, _) = trace(&ProfileSpec::grey_example(), &[every_code()]);
    let oracle = translate::calibration(&Calibration::identity());
    for counts in 0..=u16::MAX {
        let code = temperature[usize::from(counts)];
        assert_eq!(
            code,
            if counts < 65_409 { counts } else { counts - 1 },
            "count {counts}"
        );
        let error = (oracle.temperature(counts) - translate::kelvin(code)).abs();
        assert!(error <= 1.0 / 64.0, "{counts}: {error}");
    }
}

#[test]
fn every_code_lands_in_the_oracle_s_band_from_every_band() {
    let spec = banded(320);
    let ColourPlan::Bands(plan) = &spec.colour else {
        unreachable!()
    };
    let plan = translate::bands(plan);
    // One frame to put every pixel into a band, one with every code.
    for (previous, before) in [
        (0u8, 9000),
        (1, 13_541),
        (2, 16_000),
        (3, 19_200),
        (4, 29_000),
    ] {
        let (_, _, band) = trace(&spec, &[vec![before; 65_536], every_code()]);
        for code in 1..=u16::MAX {
            let expected = bands::band(&plan, previous, translate::kelvin(code));
            assert_eq!(
                band[usize::from(code)],
                expected,
                "code {code} after band {previous}"
            );
        }
        assert_eq!(band[0], 0, "an invalid pixel falls back to grey");
    }
}

#[test]
fn every_code_has_the_oracle_s_linear_grey() {
    let spec = ProfileSpec::grey_example();
    let (_, grey_q8, _) = trace(&spec, &[every_code()]);
    let scale = glowsill_oracle::scale::Scale::new(&translate::scale(&spec.scale));
    for code in 1..=u16::MAX {
        let expected = scale.linear(translate::kelvin(code));
        let core = f64::from(grey_q8[usize::from(code)]) / 256.0;
        // Core keeps 8 fractional bits: half a step of them, and the reciprocal's rounding.
        assert!(
            (core - expected).abs() <= 1.0 / 128.0,
            "code {code}: {core}, {expected}"
        );
    }
}

#[test]
fn every_byte_packs_to_the_oracle_s_panel_codes() {
    for v in 0..=255u8 {
        let colour = Rgb888::new(v, v, 255 - v);
        let parts = |word: u16| [word >> 11, (word >> 5) & 63, word & 31].map(f64::from);
        let word = parts(PanelRgb565::pack(colour, 0, 0));
        assert_eq!(word, panel::rgb565(translate::rgb(colour)), "{v}");
        for place in 0..64u16 {
            let (x, y) = (place % 8, place / 8);
            let word = parts(PanelRgb565Dithered::pack(colour, x, y));
            let (x, y) = (usize::from(x), usize::from(y));
            let expected = panel::rgb565_dithered(translate::rgb(colour), x, y);
            assert_eq!(word, expected, "{v} at ({x}, {y})");
        }
    }
}

#[test]
fn tints_are_accepted_exactly_when_the_oracle_finds_them_strict() {
    let mut accepted = 0;
    for knee in (1..=254u8).step_by(11) {
        for lift in (1..=255u8).step_by(23) {
            for [r, g] in [
                [255, 0],
                [255, 200],
                [200, 0],
                [128, 128],
                [0, 255],
                [60, 10],
            ] {
                let mut spec = banded(0);
                spec.overlay = Overlay::Tint { knee, lift };
                let ColourPlan::Bands(plan) = &mut spec.colour else {
                    unreachable!()
                };
                plan.ceiling = None;
                plan.bands.truncate(1);
                plan.bands[0].colour = Rgb888::new(r, g, 0);
                let codes = [f64::from(r), f64::from(g), 0.0];
                let strict = overlay::tint_strict_steps(codes, knee, lift) == 255;
                assert_eq!(
                    Profile::new(spec).is_ok(),
                    strict,
                    "({r}, {g}, 0), {knee}, {lift}"
                );
                accepted += u32::from(strict);
            }
        }
    }
    assert!(
        accepted > 100,
        "only {accepted} tints were strict: the comparison says little"
    );
}

/// Colours of a ramp at every kept position, q = 0/256 to 256/256, rounded half up.
fn on_the_way(from: [u8; 3], to: [u8; 3]) -> Vec<[f64; 3]> {
    let mix =
        |a: u8, b: u8, q: f64| round_half_up(f64::from(a) + q * (f64::from(b) - f64::from(a)));
    (0..=256u16)
        .map(|step| [0, 1, 2].map(|c| mix(from[c], to[c], f64::from(step) / 256.0)))
        .collect()
}

#[test]
fn tinted_ramps_are_accepted_exactly_when_every_colour_on_the_way_is_strict() {
    let (mut accepted, mut refused) = (0, 0);
    let pairs = [
        ([255, 0, 0], [255, 255, 0]),
        ([255, 0, 0], [0, 255, 0]),
        ([240, 180, 0], [220, 0, 10]),
        ([200, 0, 0], [250, 0, 90]),
    ];
    for knee in (90..=250u8).step_by(16).chain([128]) {
        for lift in (5..=255u8).step_by(25).take(10) {
            for (from, to) in pairs {
                let mut spec = banded(0);
                spec.overlay = Overlay::Tint { knee, lift };
                let ColourPlan::Bands(plan) = &mut spec.colour else {
                    unreachable!()
                };
                plan.ceiling = None;
                plan.bands.truncate(1);
                plan.bands[0].colour = Rgb888::new(from[0], from[1], from[2]);
                plan.bands[0].fill = Fill::Ramp;
                plan.ramp_end = Some(RampEnd {
                    temperature: Temperature::from_bits(20_000),
                    colour: Rgb888::new(to[0], to[1], to[2]),
                });
                let strict = on_the_way(from, to)
                    .into_iter()
                    .all(|colour| overlay::tint_strict_steps(colour, knee, lift) == 255);
                assert_eq!(
                    Profile::new(spec).is_ok(),
                    strict,
                    "{from:?} {to:?}, {knee}, {lift}"
                );
                accepted += u32::from(strict);
                refused += u32::from(!strict);
            }
        }
    }
    assert_eq!(accepted + refused, 480);
    assert!(
        accepted > 20 && refused > 20,
        "{accepted} accepted, {refused} refused"
    );
}

#[test]
fn the_oracle_draws_a_frame_from_temperatures_alone_as_from_counts() {
    let spec = banded(64);
    let mut config = translate::profile(&spec, 16, 16);
    config.high = Some(translate::calibration(&Calibration::identity()));
    let counts: Vec<u16> = (0..256).map(|i| 8000 + i * 97).collect();
    let given: Vec<Option<f64>> = counts.iter().map(|&c| translate::temperature(c)).collect();
    let from_counts = Oracle::new(config.clone()).frame(Some(&counts), None);
    let from_temperature = Oracle::new(config).frame_from_temperature(&given);
    assert_eq!(from_counts.rounded, from_temperature.rounded);
    assert_eq!(from_counts.band, from_temperature.band);
}
