//! Small frames through everything: short enough for an interpreter that looks at every access.
//!
//! `cargo +nightly miri test -p glowsill-core --test small` runs the same; `tests/soak` calls it.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    reason = "test inputs are made from small numbers"
)]

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::health::Cause;
use glowsill_core::packed::MAX_LEN;
use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, PanelRgb888};
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::{
    ColourPlan, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw, WholeFramePlan,
};
use glowsill_core::units::Temperature;

/// Columns and rows: the least that a pipeline takes, and 40 columns, so that 32 neighbours are taken
/// together once.
const SIZES: [(u16, u16); 2] = [(8, 8), (40, 8)];
const FRAMES: usize = 3;

fn at(bits: u16) -> Temperature {
    Temperature::from_bits(bits)
}

/// Counts are twice the code above 7360 in high gain, half of it in low gain; 14 bits.
fn calibrations() -> (Calibration, Calibration) {
    let table = |per_knot: u16| {
        let knots: [Temperature; KNOTS] = core::array::from_fn(|i| at(7360 + i as u16 * per_knot));
        Calibration::new(6, knots, 16_000).unwrap()
    };
    (table(32), table(128))
}

/// A room with a hot corner; some samples dead, some saturated.
fn counts(frame: usize, pixels: usize) -> (Vec<u16>, Vec<u16>) {
    (0..pixels)
        .map(|i| match i % 13 {
            3 => (0, 0),
            5 => (16_383, 4000 + i as u16),
            7 => (16_383, 16_383),
            _ => {
                let code = 2000 + 37 * (i + frame) as u16 % 4000;
                (2 * code, code / 2)
            }
        })
        .unzip()
}

fn profiles() -> Vec<Profile> {
    let by_pixel = GainPlan::PerPixel {
        blend_from: at(9000),
        blend_to: at(10_000),
        dispute_k32: 640,
    };
    let switching = GainPlan::WholeFrame(WholeFramePlan {
        enter_above: at(9000),
        enter_permille: 1,
        enter_frames: 1,
        leave_above: at(8000),
        leave_permille: 0,
        leave_frames: 1,
        blank_frames: 1,
    });
    let plateau = ScaleLaw::Plateau {
        low_permille: 10,
        high_permille: 990,
        plateau_permille: 30,
        weight_q8: 200,
    };
    let two = Calibration::identity();
    let safe = Profile::safe(&SensorConfig {
        high: Some(&two),
        low: Some(&two),
        ..SensorConfig::default()
    });
    [
        (
            by_pixel,
            plateau,
            Overlay::Tint {
                knee: 200,
                lift: 140,
            },
        ),
        (switching, ScaleLaw::Extremes, Overlay::Opaque),
        (
            GainPlan::LowOnly,
            ScaleLaw::Fixed,
            Overlay::Veil { opacity: 90 },
        ),
    ]
    .into_iter()
    .map(|(gain, law, overlay)| {
        let mut spec = ProfileSpec::grey_example();
        (spec.gain, spec.scale.law, spec.overlay) = (gain, law, overlay);
        if gain != GainPlan::LowOnly {
            spec.colour = ColourPlan::Bands(match &safe.spec().colour {
                ColourPlan::Bands(bands) => bands.clone(),
                _ => unreachable!("the built-in profile has bands"),
            });
        }
        Profile::new(spec).unwrap()
    })
    .collect()
}

fn both_forms<P: PanelFormat>(profile: &Profile, (width, height): (u16, u16))
where
    P::Pixel: PartialEq + core::fmt::Debug,
{
    let geometry = Geometry::new(width, height).unwrap();
    let n = geometry.pixels();
    let (high, low) = calibrations();
    let (gain_q14, offset) = (vec![16_400; n], vec![-3; n]);
    let table = Correction {
        gain_q14: &gain_q14,
        offset: &offset,
    };
    let defects: Vec<u8> = (0..n).map(|i| u8::from(i % 29 == 11)).collect();
    let sensor = SensorConfig {
        high: Some(&high),
        low: Some(&low),
        high_correction: Some(table),
        high_crc: Some(table.crc32()),
        defects: Some(&defects),
        ..SensorConfig::default()
    };
    let len = Pipeline::scratch_len(geometry);
    let (mut ma, mut mb) = (vec![9; n], vec![7; n]);
    let (mut ra, mut rb) = (vec![9; len], vec![7; len]);
    let mut quick = Pipeline::new(geometry, profile, sensor, &mut ma, &mut ra).unwrap();
    let mut plain = Pipeline::new(geometry, profile, sensor, &mut mb, &mut rb).unwrap();
    for number in 0..FRAMES {
        let (high, low) = counts(number, n);
        let (mut a, mut b) = (vec![P::Pixel::default(); n], vec![P::Pixel::default(); n]);
        let (mut temperature, mut grey_q8, mut band) = (vec![1; n], vec![1; n], vec![1; n]);
        let trace = Trace {
            temperature: &mut temperature,
            grey_q8: &mut grey_q8,
            band: &mut band,
        };
        let seen = quick
            .frame_traced::<P>(Some(&high), Some(&low), &mut a, trace)
            .unwrap();
        let stated = plain
            .frame_plain::<P>(Some(&high), Some(&low), &mut b, None)
            .unwrap();
        assert_eq!((seen, &a), (stated, &b), "frame {number}");
        assert_eq!(seen.pixels as usize, n);
        // Every thirteenth sample is dead in both states and has no temperature, unless it was replaced.
        if seen.valid > 0 {
            let dead = (0..n).filter(|i| i % 13 == 3 && defects[*i] == 0).count();
            assert!(seen.invalid as usize >= dead && seen.valid + seen.invalid == seen.pixels);
        }
    }
}

#[test]
fn both_forms_agree_on_every_panel() {
    for profile in &profiles() {
        for size in SIZES {
            both_forms::<PanelRgb565>(profile, size);
        }
        both_forms::<PanelRgb565Dithered>(profile, SIZES[1]);
        both_forms::<PanelRgb888>(profile, SIZES[0]);
    }
}

#[test]
fn a_frame_cut_short_is_an_error_and_strikes_out_the_next_one() {
    let (high, _) = calibrations();
    let geometry = Geometry::new(8, 8).unwrap();
    let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
    let sensor = SensorConfig {
        high: Some(&high),
        ..SensorConfig::default()
    };
    let (mut memory, mut scratch, mut row) = ([0; 64], [0; 48], [0; 8]);
    let mut pipeline =
        Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
    for rows in [3, 8] {
        let mut frame = pipeline.begin_frame();
        for _ in 0..rows {
            frame
                .row::<PanelRgb565>(Some(&[4000; 8]), None, &mut row)
                .unwrap();
        }
        match frame.end_frame() {
            Err(_) => assert_eq!(rows, 3),
            Ok(record) => assert!(record.is_struck && record.health.has(Cause::DroppedRows)),
        }
    }
}

#[test]
fn packed_profiles_come_back_and_damaged_ones_do_not() {
    for profile in &profiles() {
        let mut bytes = [0; MAX_LEN];
        let length = profile.to_bytes(&mut bytes).unwrap();
        assert_eq!(Profile::from_bytes(&bytes[..length]).as_ref(), Ok(profile));
        for at in (0..length).step_by(7) {
            bytes[at] ^= 0x10;
            assert!(Profile::from_bytes(&bytes[..length]).is_err(), "byte {at}");
            bytes[at] ^= 0x10;
        }
    }
}
