//! Memory of core in two corners, expected values calculated by hand.
#![allow(clippy::unwrap_used, reason = "test code")]

use glowsill_core::calibration::Calibration;
use glowsill_core::health::HealthPlan;
use glowsill_core::panel::{PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::{GainPlan, Profile, ProfileSpec, ScaleLaw, WholeFramePlan};
use glowsill_core::record::GainInUse;
use glowsill_core::units::Temperature;

/// Runs 8 by 8 frames, the same counts for both states; gives gain and first grey of each frame.
fn run(spec: ProfileSpec, frames: &[[u16; 64]]) -> Vec<(GainInUse, u16)> {
    let geometry = Geometry::new(8, 8).unwrap();
    let identity = Calibration::identity();
    let sensor = SensorConfig {
        high: Some(&identity),
        low: Some(&identity),
        health: HealthPlan::OFF,
        ..SensorConfig::default()
    };
    let profile = Profile::new(spec).unwrap();
    let (mut memory, mut scratch) = ([0; 64], [0; 48]);
    let mut pipeline =
        Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
    let mut picture = [Rgb888::default(); 64];
    let mut out = Vec::new();
    for frame in frames {
        let (mut temperature, mut grey_q8, mut band) = ([0; 64], [0; 64], [0; 64]);
        let trace = Trace {
            temperature: &mut temperature,
            grey_q8: &mut grey_q8,
            band: &mut band,
        };
        let record = pipeline
            .frame_traced::<PanelRgb888>(Some(frame), Some(frame), &mut picture, trace)
            .unwrap();
        out.push((record.gain, grey_q8[0]));
    }
    out
}

#[test]
fn a_frame_without_a_valid_pixel_leaves_low_gain_in_use() {
    // Source: docs/pipeline.md section 3: "valid > 0 ... In Low the same".
    let spec = ProfileSpec {
        gain: GainPlan::WholeFrame(WholeFramePlan {
            enter_above: Temperature::from_bits(12_800),
            enter_permille: 500,
            enter_frames: 1,
            leave_above: Temperature::from_bits(12_000),
            leave_permille: 0,
            leave_frames: 1,
            blank_frames: 0,
        }),
        ..ProfileSpec::grey_example()
    };
    let (hot, dead) = ([13_000; 64], [0; 64]);
    let gains: Vec<GainInUse> = run(spec, &[hot, dead, dead, hot])
        .into_iter()
        .map(|(gain, _)| gain)
        .collect();
    assert_eq!(
        gains,
        [
            GainInUse::High,
            GainInUse::Low,
            GainInUse::Low,
            GainInUse::Low
        ]
    );
}

#[test]
fn the_first_equalisation_curve_is_taken_at_once_even_after_a_frame_without_one() {
    // Source: docs/pipeline.md section 5: "on the first statistics it jumps".
    // Frame 0: 32 pixels at 300 K, 32 at 400 K. Ranks of 500 and 501 permille are both 32, the
    // upper edge of the 300 K bin: the bin that holds it is empty, so there is no curve.
    // Frame 1: all at 300 K, both ranks inside that bin. One step, min(255, 128 codes/K · 0.25 K)
    // = 32; the curve starts at (255 - 32)/2 = 111.5.
    let mut spec = ProfileSpec::grey_example();
    spec.scale.law = ScaleLaw::Plateau {
        low_permille: 500,
        high_permille: 501,
        plateau_permille: 1000,
        weight_q8: 256,
    };
    spec.scale.max_grey_per_kelvin = 128;
    spec.scale.frames_to_hotter = 10;
    spec.scale.frames_to_colder = 10;
    let mut split = [9600; 64];
    split[32..].fill(12_800);
    let frames = run(spec, &[split, [9600; 64], [9600; 64]]);
    let grey = f64::from(frames[2].1) / 256.0;
    assert!((grey - 111.5).abs() <= 1.0 / 256.0, "{grey}");
}
