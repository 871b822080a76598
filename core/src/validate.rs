//! Limits of every profile field, and the error that names the one that was left.

mod field;

pub use field::{Field, ProfileError, Unit};

use crate::fixedpoint;
use crate::profile::{
    BandPlan, ColourPlan, Fill, GainPlan, MAX_BANDS, Overlay, ProfileSpec, ScaleLaw, ScalePlan,
    WholeFramePlan,
};
use crate::stage::overlay;

fn within(field: Field, value: i32, min: i32, max: i32) -> Result<(), ProfileError> {
    if value < min || value > max {
        Err(ProfileError {
            field,
            value,
            min,
            max,
        })
    } else {
        Ok(())
    }
}

const TOP: i32 = 65_535;
const KELVIN: i32 = 32;

/// Checks every field of a profile against its limits.
pub(crate) fn check(spec: &ProfileSpec) -> Result<(), ProfileError> {
    within(
        Field::Name,
        i32::from(fixedpoint::index_u16(spec.name.len())),
        1,
        32,
    )?;
    check_gain(&spec.gain)?;
    check_scale(&spec.scale)?;
    match &spec.colour {
        ColourPlan::GreyOnly => {}
        ColourPlan::Bands(plan) => check_bands(plan)?,
        ColourPlan::PseudoColour { stops } => {
            within(
                Field::StopCount,
                i32::from(fixedpoint::index_u16(stops.len())),
                2,
                12,
            )?;
        }
    }
    check_overlay(spec)
}

fn check_gain(plan: &GainPlan) -> Result<(), ProfileError> {
    match *plan {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            dispute_k32,
        } => {
            let from = i32::from(blend_from.to_bits());
            within(Field::BlendFrom, from, 1, TOP - KELVIN)?;
            within(
                Field::BlendTo,
                i32::from(blend_to.to_bits()),
                from + KELVIN,
                TOP,
            )?;
            within(Field::Dispute, i32::from(dispute_k32), KELVIN, 200 * KELVIN)
        }
        GainPlan::WholeFrame(plan) => check_whole_frame(&plan),
        GainPlan::HighOnly | GainPlan::LowOnly => Ok(()),
    }
}

fn check_whole_frame(plan: &WholeFramePlan) -> Result<(), ProfileError> {
    let enter = i32::from(plan.enter_above.to_bits());
    within(Field::EnterAbove, enter, 1, TOP)?;
    within(Field::EnterShare, i32::from(plan.enter_permille), 1, 1000)?;
    within(Field::EnterFrames, i32::from(plan.enter_frames), 1, 255)?;
    within(
        Field::LeaveAbove,
        i32::from(plan.leave_above.to_bits()),
        1,
        enter,
    )?;
    within(Field::LeaveShare, i32::from(plan.leave_permille), 0, 1000)?;
    within(Field::LeaveFrames, i32::from(plan.leave_frames), 1, 255)?;
    within(Field::BlankFrames, i32::from(plan.blank_frames), 0, 60)
}

fn check_scale(plan: &ScalePlan) -> Result<(), ProfileError> {
    let low = i32::from(plan.start_low.to_bits());
    within(Field::StartLow, low, 1, TOP - 2 * KELVIN)?;
    within(
        Field::StartHigh,
        i32::from(plan.start_high.to_bits()),
        low + 2 * KELVIN,
        TOP,
    )?;
    within(
        Field::FramesToHotter,
        i32::from(plan.frames_to_hotter),
        1,
        255,
    )?;
    within(
        Field::FramesToColder,
        i32::from(plan.frames_to_colder),
        1,
        255,
    )?;
    within(
        Field::MinSpan,
        i32::from(plan.min_span_k32),
        2 * KELVIN,
        500 * KELVIN,
    )?;
    within(
        Field::MaxGreyPerKelvin,
        i32::from(plan.max_grey_per_kelvin),
        1,
        128,
    )?;
    match plan.law {
        ScaleLaw::Fixed | ScaleLaw::Extremes => Ok(()),
        ScaleLaw::Percentile {
            low_permille,
            high_permille,
        } => check_shares(low_permille, high_permille),
        ScaleLaw::Plateau {
            low_permille,
            high_permille,
            plateau_permille,
            weight_q8,
        } => {
            check_shares(low_permille, high_permille)?;
            within(Field::Plateau, i32::from(plateau_permille), 1, 1000)?;
            within(Field::Weight, i32::from(weight_q8), 0, 256)
        }
    }
}

fn check_shares(low: u16, high: u16) -> Result<(), ProfileError> {
    within(Field::LowShare, i32::from(low), 0, 999)?;
    within(Field::HighShare, i32::from(high), i32::from(low) + 1, 1000)
}

fn check_bands(plan: &BandPlan) -> Result<(), ProfileError> {
    within(
        Field::BandCount,
        i32::from(fixedpoint::index_u16(plan.bands.len())),
        1,
        6,
    )?;
    let mut least = 1;
    for (number, band) in (1..=u8::MAX).zip(&plan.bands) {
        let start = i32::from(band.start.to_bits());
        within(Field::BandStart(number), start, least, TOP)?;
        least = start + KELVIN;
    }
    within(
        Field::Hysteresis,
        i32::from(plan.hysteresis_k32),
        0,
        50 * KELVIN,
    )?;
    // A hysteresis below 0 K would never be left.
    let onset = plan
        .bands
        .first()
        .map_or(1, |band| i32::from(band.start.to_bits()));
    within(
        Field::Hysteresis,
        i32::from(plan.hysteresis_k32),
        0,
        onset - 1,
    )?;
    let last_is_ramp = plan
        .bands
        .last()
        .is_some_and(|band| band.fill == Fill::Ramp);
    match plan.ramp_end {
        Some(end) if last_is_ramp => {
            within(
                Field::RampEnd,
                i32::from(end.temperature.to_bits()),
                least,
                TOP,
            )?;
        }
        None if !last_is_ramp => {}
        _ => {
            return Err(ProfileError {
                field: Field::RampEnd,
                value: -1,
                min: least,
                max: TOP,
            });
        }
    }
    if let Some(ceiling) = plan.ceiling {
        within(
            Field::CeilingStart,
            i32::from(ceiling.start.to_bits()),
            least,
            TOP,
        )?;
    }
    Ok(())
}

fn check_overlay(spec: &ProfileSpec) -> Result<(), ProfileError> {
    let Overlay::Tint { knee, lift } = spec.overlay else {
        return Ok(());
    };
    within(Field::Knee, i32::from(knee), 1, 254)?;
    within(Field::Lift, i32::from(lift), 1, 255)?;
    let ColourPlan::Bands(plan) = &spec.colour else {
        return Ok(());
    };
    let tint = overlay::TintCurve::new(knee, lift);
    for (index, band) in (0..MAX_BANDS).zip(&plan.bands) {
        let number = fixedpoint::band_u8(index + 1);
        let end = plan.end_colour(index);
        for position in 0..=256u16 {
            let colour = overlay::mix_colour(band.colour, end, position);
            let strict = tint.strict_steps(colour);
            within(Field::BandColour(number), i32::from(strict), 255, 255)?;
            if band.fill == Fill::Flat {
                break;
            }
        }
    }
    Ok(())
}
