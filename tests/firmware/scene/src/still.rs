//! Scenes for counting instructions, which stand still.
//!
//! Everything is invented: a
//! scenery workshop at 22 °C (72 °F), a seat of fire behind a canvas flat, two gain states whose
//! pixels differ by up to 3 % in gain. The profile has the values of
//! `demo-data/profiles/interior-attack.toml`.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::cast_lossless,
    reason = "samples are made from small whole numbers; each narrowing is clamped beside it"
)]

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{
    Band, BandPlan, Ceiling, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw,
};
use glowsill_core::units::Temperature;
use heapless::Vec;

/// What stands before the imager.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scene {
    /// A room, and a hot disc over about 11 % of the picture.
    Mixed,
    /// Every pixel above the onset and saturated in high gain: 190 °C to 650 °C (374 °F to 1202 °F).
    Coloured,
    /// The room alone.
    Cold,
}

/// Codes (1/32 K) of count 0 in both states: 230 K.
pub(crate) const ZERO: u32 = 230 * 32;
/// Codes a count, Q8: 0.0125 K in high gain, 0.05 K in low gain.
pub(crate) const HIGH_Q8: u32 = 102;
pub(crate) const LOW_Q8: u32 = 410;
/// Raw count from which a sample is saturated.
pub const SATURATION: u16 = 16_000;

fn calibration(codes_q8: u32) -> Option<Calibration> {
    let knots: [Temperature; KNOTS] = core::array::from_fn(|i| {
        Temperature::from_bits((ZERO + ((i as u32 * 64 * codes_q8) >> 8)) as u16)
    });
    Calibration::new(6, knots, SATURATION).ok()
}

/// Calibrations of the high and the low state; 14-bit counts.
#[must_use]
pub fn calibrations() -> Option<(Calibration, Calibration)> {
    Some((calibration(HIGH_Q8)?, calibration(LOW_Q8)?))
}

/// The interior-attack profile of the demonstration.
#[must_use]
pub fn profile() -> Option<Profile> {
    let celsius = |t: i32| Temperature::from_millicelsius(t * 1000).ok();
    let band = |start: i32, colour| {
        Some(Band {
            start: celsius(start)?,
            colour,
            fill: Fill::Flat,
        })
    };
    let mut spec = ProfileSpec::grey_example();
    spec.gain = GainPlan::PerPixel {
        blend_from: celsius(105)?,
        blend_to: celsius(135)?,
        dispute_k32: 20 * 32,
    };
    spec.scale.law = ScaleLaw::Percentile {
        low_permille: 10,
        high_permille: 970,
    };
    spec.scale.start_low = celsius(10)?;
    spec.scale.start_high = celsius(120)?;
    spec.scale.frames_to_hotter = 24;
    spec.scale.frames_to_colder = 48;
    spec.scale.min_span_k32 = 60 * 32;
    spec.scale.max_grey_per_kelvin = 4;
    spec.colour = ColourPlan::Bands(BandPlan {
        bands: Vec::from_slice(&[
            band(160, Rgb888::new(0xeb, 0xd2, 0x00))?,
            band(260, Rgb888::new(0xdc, 0x73, 0x00))?,
            band(430, Rgb888::new(0xc8, 0x00, 0x00))?,
        ])
        .ok()?,
        hysteresis_k32: 4 * 32,
        ramp_end: None,
        ceiling: Some(Ceiling {
            start: celsius(640)?,
            colour: Rgb888::new(0xb4, 0x5a, 0xb4),
        }),
    });
    spec.overlay = Overlay::Tint {
        knee: 200,
        lift: 140,
    };
    Profile::new(spec).ok()
}

/// A cheap sequence of even 16-bit numbers. Source: the constants are those of Numerical Recipes.
pub(crate) struct Sequence(u32);

impl Sequence {
    pub(crate) const fn new(start: u32) -> Self {
        Self(start)
    }

    /// The next number, 0 to 65,535.
    pub(crate) fn next(&mut self) -> i32 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 16) as i32
    }

    /// A number from `-reach` to `reach`.
    fn around(&mut self, reach: i32) -> i32 {
        ((self.next() * (2 * reach + 1)) >> 16) - reach
    }
}

/// Fills a correction table: gain 1 ± 3 % in Q14, offset ± `reach` counts.
pub fn correction(seed: u32, reach: i32, gain: &mut [u16], offset: &mut [i16]) {
    let mut sequence = Sequence(seed);
    for (gain, offset) in gain.iter_mut().zip(offset) {
        *gain = (16_384 + sequence.around(491)) as u16;
        *offset = sequence.around(reach) as i16;
    }
}

/// Fills the raw counts of one state; `noise` is in 1/32 K.
fn plane(
    scene: Scene,
    width: usize,
    codes_q8: u32,
    noise: i32,
    table: (&[u16], &[i16]),
    raw: &mut [u16],
) {
    let mut sequence = Sequence(12_345 + codes_q8);
    let height = raw.len() / width;
    let (cx, cy) = ((width * 5 / 8) as i32, (height / 2) as i32);
    let radius = (height as i32 * 13) / 60;
    for (i, (raw, (&gain, &offset))) in raw.iter_mut().zip(table.0.iter().zip(table.1)).enumerate()
    {
        let (x, y) = ((i % width) as i32 - cx, (i / width) as i32 - cy);
        let room = 295 * 32 + x * 320 / width as i32;
        let disc = 560 * 32 + 64 * 320 * x / width as i32;
        let wall = 463 * 32 + (460 * 32 * (x + cx)) / width as i32;
        let code = match scene {
            Scene::Mixed if x * x + y * y < radius * radius => disc,
            Scene::Mixed | Scene::Cold => room,
            Scene::Coloured => wall,
        } + sequence.around(noise);
        // Undo the calibration and the correction, so that the pipeline sees the scene again.
        let counts = ((code - ZERO as i32) << 8) / codes_q8 as i32;
        let sample = ((counts - i32::from(offset)) << 14) / i32::from(gain);
        *raw = sample.clamp(1, 16_383) as u16;
    }
}

/// Fills the raw counts of both states for a scene `width` pixels wide.
pub fn planes(
    scene: Scene,
    width: usize,
    high: (&mut [u16], &[u16], &[i16]),
    low: (&mut [u16], &[u16], &[i16]),
) {
    plane(scene, width, HIGH_Q8, 4, (high.1, high.2), high.0);
    plane(scene, width, LOW_Q8, 16, (low.1, low.2), low.0);
}

/// Fills row `y` of `height` of a wall that grows hotter downward, 293 K to 893 K, without a correction.
pub fn wall(y: u32, height: u32, high: &mut [u16], low: &mut [u16]) {
    let mut sequence = Sequence::new(y);
    let code = 293 * 32 + (600 * 32 * y / height.max(1)) as i32;
    for (high, low) in high.iter_mut().zip(low) {
        let code = code + sequence.around(8);
        let counts = |codes_q8: u32| ((code - ZERO as i32) << 8) / codes_q8 as i32;
        *high = counts(HIGH_Q8).clamp(1, 16_383) as u16;
        *low = counts(LOW_Q8).clamp(1, 16_383) as u16;
    }
}
