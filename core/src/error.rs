//! Errors of construction and of a frame.

use core::fmt;

/// A buffer or a geometry the pipeline cannot be built from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum ConfigError {
    /// Width or height out of its limits.
    Geometry {
        /// `width` or `height`.
        field: &'static str,
        /// Value given, pixels.
        value: u16,
        /// Least allowed value.
        min: u16,
        /// Greatest allowed value.
        max: u16,
    },
    /// A lent buffer or table has the wrong length.
    Length {
        /// Which one.
        field: &'static str,
        /// Elements given.
        value: usize,
        /// Elements needed.
        needed: usize,
    },
    /// The gain plan uses a state that has no calibration.
    NoCalibration {
        /// `high` or `low`.
        gain: &'static str,
    },
}

impl fmt::Display for ConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Geometry {
                field,
                value,
                min,
                max,
            } => {
                write!(f, "{field}: {value} is outside {min} to {max} pixels")
            }
            Self::Length {
                field,
                value,
                needed,
            } => {
                write!(f, "{field}: {value} elements given, {needed} needed")
            }
            Self::NoCalibration { gain } => {
                write!(
                    f,
                    "the profile's gain plan uses {gain} gain, which has no calibration; give one, or take a \
                     gain plan of the other state alone"
                )
            }
        }
    }
}

impl core::error::Error for ConfigError {}

/// A frame that does not fit the geometry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum FrameError {
    /// A row or frame has the wrong length.
    Length {
        /// Which one.
        field: &'static str,
        /// Elements given.
        value: usize,
        /// Elements needed.
        needed: usize,
    },
    /// The frame is made from a state whose samples were not given.
    NoSamples {
        /// `high` or `low`.
        gain: &'static str,
    },
    /// More rows than the geometry has.
    TooManyRows {
        /// Rows of the geometry.
        height: u16,
    },
    /// The frame ended before its last row; its statistics are dropped.
    Incomplete {
        /// Rows given.
        rows: u16,
        /// Rows of the geometry.
        height: u16,
    },
}

impl fmt::Display for FrameError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length {
                field,
                value,
                needed,
            } => {
                write!(f, "{field}: {value} elements given, {needed} needed")
            }
            Self::NoSamples { gain } => write!(f, "{gain}-gain samples are needed for this frame"),
            Self::TooManyRows { height } => write!(f, "the frame already has its {height} rows"),
            Self::Incomplete { rows, height } => {
                write!(f, "the frame ended after {rows} of {height} rows")
            }
        }
    }
}

impl core::error::Error for FrameError {}
