//! Limits of every profile field, and the error that names the one that was left.

use core::fmt;

use crate::fixedpoint;
use crate::profile::{
    BandPlan, ColourPlan, Fill, GainPlan, MAX_BANDS, Overlay, ProfileSpec, ScaleLaw, ScalePlan,
    WholeFramePlan,
};
use crate::stage::overlay;

/// A field of a profile, by the path a person finds it under.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
#[allow(
    missing_docs,
    reason = "the path of each field is its documentation; see `path`"
)]
pub enum Field {
    Name,
    BlendFrom,
    BlendTo,
    Dispute,
    EnterAbove,
    EnterShare,
    EnterFrames,
    LeaveAbove,
    LeaveShare,
    LeaveFrames,
    BlankFrames,
    StartLow,
    StartHigh,
    FramesToHotter,
    FramesToColder,
    MinSpan,
    MaxGreyPerKelvin,
    LowShare,
    HighShare,
    Plateau,
    Weight,
    BandCount,
    BandStart(u8),
    BandColour(u8),
    Hysteresis,
    RampEnd,
    CeilingStart,
    StopCount,
    Knee,
    Lift,
}

/// What a field's value and limits are counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unit {
    /// Absolute temperature, 1/32 K.
    Temperature,
    /// Temperature difference, 1/32 K.
    Difference,
    /// Thousandths of a whole.
    Permille,
    /// Frames.
    Frames,
    /// A plain number.
    Number,
}

impl Field {
    /// The path of the field in a profile, as people write it. Bands count from 1.
    #[must_use]
    pub const fn path(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::BlendFrom => "gain.blend_from",
            Self::BlendTo => "gain.blend_to",
            Self::Dispute => "gain.dispute",
            Self::EnterAbove => "gain.enter_above",
            Self::EnterShare => "gain.enter_share",
            Self::EnterFrames => "gain.enter_frames",
            Self::LeaveAbove => "gain.leave_above",
            Self::LeaveShare => "gain.leave_share",
            Self::LeaveFrames => "gain.leave_frames",
            Self::BlankFrames => "gain.blank_frames",
            Self::StartLow => "scale.start_low",
            Self::StartHigh => "scale.start_high",
            Self::FramesToHotter => "scale.frames_to_hotter",
            Self::FramesToColder => "scale.frames_to_colder",
            Self::MinSpan => "scale.min_span",
            Self::MaxGreyPerKelvin => "scale.max_grey_per_kelvin",
            Self::LowShare => "scale.low_share",
            Self::HighShare => "scale.high_share",
            Self::Plateau => "scale.plateau",
            Self::Weight => "scale.weight",
            Self::BandCount => "colour.bands",
            Self::BandStart(_) => "colour.bands.start",
            Self::BandColour(_) => "colour.bands.colour",
            Self::Hysteresis => "colour.hysteresis",
            Self::RampEnd => "colour.ramp_end",
            Self::CeilingStart => "colour.ceiling.start",
            Self::StopCount => "colour.stops",
            Self::Knee => "overlay.knee",
            Self::Lift => "overlay.lift",
        }
    }

    /// The unit the field is counted in.
    #[must_use]
    pub const fn unit(self) -> Unit {
        match self {
            Self::BlendFrom
            | Self::BlendTo
            | Self::EnterAbove
            | Self::LeaveAbove
            | Self::StartLow
            | Self::StartHigh
            | Self::BandStart(_)
            | Self::RampEnd
            | Self::CeilingStart => Unit::Temperature,
            Self::Dispute | Self::MinSpan | Self::Hysteresis => Unit::Difference,
            Self::EnterShare
            | Self::LeaveShare
            | Self::LowShare
            | Self::HighShare
            | Self::Plateau => Unit::Permille,
            Self::EnterFrames
            | Self::LeaveFrames
            | Self::BlankFrames
            | Self::FramesToHotter
            | Self::FramesToColder => Unit::Frames,
            _ => Unit::Number,
        }
    }
}

/// A profile field out of its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ProfileError {
    /// Which field.
    pub field: Field,
    /// Its value, in the unit of [`Field::unit`].
    pub value: i32,
    /// Least allowed value.
    pub min: i32,
    /// Greatest allowed value.
    pub max: i32,
}

impl fmt::Display for ProfileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.field.path())?;
        if let Field::BandStart(n) | Field::BandColour(n) = self.field {
            write!(f, " (band {n})")?;
        }
        let unit = match self.field.unit() {
            Unit::Temperature => " (1/32 K, absolute)",
            Unit::Difference => " (1/32 K)",
            Unit::Permille => " permille",
            Unit::Frames => " frames",
            Unit::Number => "",
        };
        if let Field::BandColour(_) = self.field {
            return write!(
                f,
                ": under this tint its luminance follows the grey picture strictly for {} of {} \
                 grey steps only; lower the knee, raise the lift, or choose a purer colour",
                self.value, self.max
            );
        }
        if let Field::RampEnd = self.field
            && self.value < 0
        {
            return write!(f, ": must be given exactly when the last band is a ramp");
        }
        write!(
            f,
            ": {} is outside {} to {}{unit}",
            self.value, self.min, self.max
        )
    }
}

impl core::error::Error for ProfileError {}

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
