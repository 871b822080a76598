//! The fields of a profile, and the error that names one.

use core::fmt;

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
