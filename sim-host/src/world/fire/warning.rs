//! Limits of the correlations that were left, and values that cannot be used.

use std::fmt;

use crate::temperature::Kelvin;

/// A stated limit of a correlation that a value has left: the value is an extrapolation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Warning {
    /// The hot layer's rise is above 600 K: a room flashes over about there, and the correlation ends.
    Flashover {
        /// Rise computed, kelvin.
        rise_k: f64,
    },
    /// The hot layer's rise is below 20 K, where the correlation has no data.
    Faint {
        /// Rise computed, kelvin.
        rise_k: f64,
    },
    /// The fire needs more air than the openings let in.
    ShortOfAir {
        /// Power of the fire, kW.
        power_kw: f64,
        /// Power that the openings' air can burn, kW.
        air_kw: f64,
    },
    /// There is no opening, which the correlation needs.
    Closed,
    /// Hardly any time has passed: the lining is not yet what takes up the heat.
    Early {
        /// Time since the fire started, seconds.
        time_s: f64,
    },
    /// A point inside the flame, where the plume relation does not hold.
    InFlame {
        /// Height of the point above the fire's base, metres.
        height_m: f64,
        /// Height of the flame, metres.
        flame_m: f64,
    },
    /// A target so near that a flame is no point.
    NearFlame {
        /// Distance, metres.
        distance_m: f64,
        /// The least distance at which the relation holds, metres.
        least_m: f64,
    },
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Flashover { rise_k } => write!(
                f,
                "the hot layer's rise of {rise_k:.0} K ({:.0} °F) is above 600 K (1080 °F): a room flashes \
                 over about there and the correlation does not hold",
                rise_k * 1.8
            ),
            Self::Faint { rise_k } => write!(
                f,
                "the hot layer's rise of {rise_k:.1} K ({:.1} °F) is below 20 K (36 °F), where the \
                 correlation has no data",
                rise_k * 1.8
            ),
            Self::ShortOfAir { power_kw, air_kw } => write!(
                f,
                "the fire of {power_kw:.0} kW needs more air than the openings let in, which is enough \
                 for some {air_kw:.0} kW"
            ),
            Self::Closed => write!(
                f,
                "the room has no opening: the correlation is made for rooms with one"
            ),
            Self::Early { time_s } => write!(
                f,
                "{time_s:.0} s after the start the hot layer is still forming: the correlation comes \
                 later"
            ),
            Self::InFlame { height_m, flame_m } => write!(
                f,
                "{height_m:.2} m above the fire is inside its flame of {flame_m:.2} m, where the plume \
                 relation does not hold"
            ),
            Self::NearFlame {
                distance_m,
                least_m,
            } => write!(
                f,
                "{distance_m:.2} m is nearer than {least_m:.2} m, from where on a flame may be taken as a \
                 point"
            ),
        }
    }
}

/// A value of a fire or its room that cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FireError {
    /// A number is outside its range.
    #[error("{field} = {value} is outside {low} to {high}; correct it")]
    Range {
        /// Which field.
        field: &'static str,
        /// Its value.
        value: f64,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// A time series that does not run forward, or is empty.
    #[error("the history needs one entry or more with rising times; entry {0} is wrong")]
    History(usize),
    /// An exposure that is not known.
    #[error(
        "exposure '{text}' is not known: write iso834, e119, hydrocarbon, external, constant: and a \
         temperature, such as constant:600C, or scenario: and a name, such as \
         scenario:paint-store-door{meant}"
    )]
    UnknownExposure {
        /// What was written.
        text: String,
        /// The nearest name, as the end of the sentence; may be empty.
        meant: String,
    },
    /// The temperature of a constant exposure.
    #[error("exposure '{text}': {cause}")]
    Temperature {
        /// What was written.
        text: String,
        /// What is wrong with it.
        cause: crate::temperature::TemperatureError,
    },
    /// A constant exposure hotter than the model of a wall bears.
    #[error(
        "exposure at {0} is above 1526.9 °C (2780.3 °F): no fire in a building reaches it; write a lower \
         temperature"
    )]
    TooHot(Kelvin),
}

/// Refuses a value outside `low..=high`, and what is no number.
pub(super) fn within(
    field: &'static str,
    value: f64,
    low: f64,
    high: f64,
) -> Result<(), FireError> {
    if value >= low && value <= high {
        Ok(())
    } else {
        Err(FireError::Range {
            field,
            value,
            low,
            high,
        })
    }
}
