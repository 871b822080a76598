//! Frame record: what the pipeline used and saw for one frame.

use serde::Serialize;

use crate::health::Health;
use crate::units::Temperature;

/// A place in the picture with its temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Spot {
    /// Apparent temperature.
    pub temperature: Temperature,
    /// Column.
    pub x: u16,
    /// Row.
    pub y: u16,
}

/// Which gain state the frame was made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[serde(rename_all = "kebab-case")]
pub enum GainInUse {
    /// Both, pixel by pixel.
    PerPixel,
    /// The sensitive state.
    High,
    /// The wide-range state.
    Low,
    /// None: the frame is blank while the sensor switches.
    Blank,
}

/// What the pipeline used and saw for one frame.
///
/// "Used" fields come from the frame before (one frame of lag); "seen" fields are this frame's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FrameRecord {
    /// Number of the frame since construction, from 0.
    pub frame: u32,
    /// Used: gain state.
    pub gain: GainInUse,
    /// Used: temperature of black in the linear part of the scale.
    pub scale_low: Temperature,
    /// Used: temperature of white in the linear part of the scale.
    pub scale_high: Temperature,
    /// Seen: pixels of the frame.
    pub pixels: u32,
    /// Seen: pixels with a temperature.
    pub valid: u32,
    /// Seen: pixels taken mostly or wholly from low gain.
    pub from_low: u32,
    /// Seen: pixels with colour of any kind over them.
    pub coloured: u32,
    /// Seen: pixels in each band; entry 6 is the ceiling.
    pub in_band: [u32; 7],
    /// Seen: hottest valid pixel, first in row order.
    pub hottest: Option<Spot>,
    /// Seen: coldest valid pixel, first in row order.
    pub coldest: Option<Spot>,
    /// Seen: pixels at or above the top of every gain state in use.
    pub saturated: u32,
    /// Seen: pixels with no valid sample, drawn as a checker of black and white.
    pub invalid: u32,
    /// Seen: pixels whose two gain states disagree; the hotter is shown.
    pub disputed: u32,
    /// Seen: defective pixels that took their neighbours' mean.
    pub replaced: u32,
    /// Used: whether the picture is struck out, because the frame before was not good.
    pub is_struck: bool,
    /// Seen: what is wrong; the next picture is struck out if it is anything.
    pub health: Health,
}

impl FrameRecord {
    /// Share of the frame that is coloured, in thousandths.
    #[must_use]
    pub const fn coloured_permille(&self) -> u16 {
        crate::fixedpoint::permille_round(self.coloured, self.pixels)
    }
}
