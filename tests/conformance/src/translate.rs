//! Puts a profile and a calibration of core into the oracle's words, kelvin for codes.

use glowsill_core::calibration::Calibration;
use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{
    BandPlan, ColourPlan, Fill, GainPlan, Overlay, ProfileSpec, ScaleLaw, ScalePlan,
};
use glowsill_core::units::Temperature;
use glowsill_oracle::config;

/// Kelvin of a code in 1/32 K, temperature or difference.
///
/// ```
/// assert_eq!(glowsill_conformance::translate::kelvin(9600), 300.0);
/// ```
#[must_use]
pub fn kelvin(code: u16) -> f64 {
    f64::from(code) / 32.0
}

/// Temperature code as the oracle takes it: 0 is no sample.
#[must_use]
pub fn temperature(code: u16) -> Option<f64> {
    (code != 0).then(|| kelvin(code))
}

fn absolute(temperature: Temperature) -> f64 {
    kelvin(temperature.to_bits())
}

/// A colour as three codes.
#[must_use]
pub fn rgb(colour: Rgb888) -> config::Rgb {
    [colour.r, colour.g, colour.b]
}

/// A calibration.
#[must_use]
pub fn calibration(calibration: &Calibration) -> config::Calibration {
    config::Calibration {
        shift: u32::from(calibration.shift()),
        knots: calibration.knots().map(absolute).to_vec(),
        saturation: calibration.saturation(),
    }
}

/// A gain plan.
#[must_use]
pub fn gain(plan: &GainPlan) -> config::GainPlan {
    match *plan {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            dispute_k32,
        } => config::GainPlan::PerPixel {
            from: absolute(blend_from),
            to: absolute(blend_to),
            dispute: kelvin(dispute_k32),
        },
        GainPlan::WholeFrame(plan) => config::GainPlan::WholeFrame(config::WholeFrame {
            enter_above: absolute(plan.enter_above),
            enter_permille: plan.enter_permille,
            enter_frames: u32::from(plan.enter_frames),
            leave_above: absolute(plan.leave_above),
            leave_permille: plan.leave_permille,
            leave_frames: u32::from(plan.leave_frames),
            blank_frames: u32::from(plan.blank_frames),
        }),
        GainPlan::HighOnly => config::GainPlan::HighOnly,
        GainPlan::LowOnly => config::GainPlan::LowOnly,
    }
}

/// A scale plan.
#[must_use]
pub fn scale(plan: &ScalePlan) -> config::ScalePlan {
    config::ScalePlan {
        law: match plan.law {
            ScaleLaw::Fixed => config::ScaleLaw::Fixed,
            ScaleLaw::Extremes => config::ScaleLaw::Extremes,
            ScaleLaw::Percentile {
                low_permille,
                high_permille,
            } => config::ScaleLaw::Percentile {
                low: low_permille,
                high: high_permille,
            },
            ScaleLaw::Plateau {
                low_permille,
                high_permille,
                plateau_permille,
                weight_q8,
            } => config::ScaleLaw::Plateau {
                low: low_permille,
                high: high_permille,
                plateau: plateau_permille,
                weight_q8,
            },
        },
        start_low: absolute(plan.start_low),
        start_high: absolute(plan.start_high),
        frames_to_hotter: f64::from(plan.frames_to_hotter),
        frames_to_colder: f64::from(plan.frames_to_colder),
        min_span: kelvin(plan.min_span_k32),
        max_grey_per_kelvin: f64::from(plan.max_grey_per_kelvin),
    }
}

/// A band plan.
#[must_use]
pub fn bands(plan: &BandPlan) -> config::BandPlan {
    config::BandPlan {
        bands: plan
            .bands
            .iter()
            .map(|band| config::Band {
                start: absolute(band.start),
                colour: rgb(band.colour),
                ramp: band.fill == Fill::Ramp,
            })
            .collect(),
        hysteresis: kelvin(plan.hysteresis_k32),
        ramp_end: plan
            .ramp_end
            .map(|end| (absolute(end.temperature), rgb(end.colour))),
        ceiling: plan
            .ceiling
            .map(|ceiling| (absolute(ceiling.start), rgb(ceiling.colour))),
    }
}

/// A profile for a picture of this size; calibrations, corrections and defects are still to be set.
#[must_use]
pub fn profile(spec: &ProfileSpec, width: usize, height: usize) -> config::Config {
    config::Config {
        width,
        height,
        gain: gain(&spec.gain),
        high: None,
        low: None,
        high_correction: None,
        low_correction: None,
        defects: None,
        scale: scale(&spec.scale),
        colour: match &spec.colour {
            ColourPlan::GreyOnly => config::ColourPlan::Grey,
            ColourPlan::Bands(plan) => config::ColourPlan::Bands(bands(plan)),
            ColourPlan::PseudoColour { stops } => {
                config::ColourPlan::Pseudo(stops.iter().map(|&stop| rgb(stop)).collect())
            }
        },
        overlay: match spec.overlay {
            Overlay::Opaque => config::Overlay::Opaque,
            Overlay::Veil { opacity } => config::Overlay::Veil(opacity),
            Overlay::Tint { knee, lift } => config::Overlay::Tint { knee, lift },
        },
    }
}
