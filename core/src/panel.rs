//! Panel formats: what one pixel of the glass takes.
//!
//! **Purpose.** Packs an 8-bit RGB triple into the panel's word. **Input**: red, green, blue codes
//! 0 to 255 and the pixel's position. **Output**: [`Rgb888`] (three bytes) or a `u16` in 5-6-5 bits.
//! **Latency**: none. **Memory**: none. The dither is the 4x4 ordered matrix of Bayer (1973).

use serde::{Deserialize, Serialize};

use crate::fixedpoint;

/// A colour in display codes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Rgb888 {
    /// Red code.
    pub r: u8,
    /// Green code.
    pub g: u8,
    /// Blue code.
    pub b: u8,
}

impl Rgb888 {
    /// Makes a colour from its codes.
    #[must_use]
    pub const fn new(r: u8, g: u8, b: u8) -> Self {
        Self { r, g, b }
    }

    /// Makes a grey.
    #[must_use]
    pub const fn grey(code: u8) -> Self {
        Self {
            r: code,
            g: code,
            b: code,
        }
    }
}

impl Rgb888 {
    /// Gives the colour that a 5-6-5 panel shows for a word.
    ///
    /// ```
    /// use glowsill_core::panel::Rgb888;
    /// assert_eq!(Rgb888::from_565(0x8410), Rgb888::new(132, 130, 132));
    /// ```
    #[must_use]
    pub const fn from_565(word: u16) -> Self {
        let (r, g, b) = fixedpoint::unpack_565(word);
        Self { r, g, b }
    }
}

/// A panel format: the word one pixel takes and how a colour becomes it.
pub trait PanelFormat {
    /// The word of one pixel.
    type Pixel: Copy + Default;
    /// Packs a colour for the pixel at column `x`, row `y`.
    fn pack(colour: Rgb888, x: u16, y: u16) -> Self::Pixel;
    /// The pixel of a place of the tables, the same as packing its colour.
    #[doc(hidden)]
    #[inline]
    fn shade(tables: &ShadeTables, place: usize, x: u16, y: u16) -> Self::Pixel {
        Self::pack(tables.colours[place & (SHADES - 1)], x, y)
    }
}

/// Eight bands (grey is the first) of 256 greys.
const SHADES: usize = 2048;

/// Colours and panel words by band and grey, made once a session: one load in place of a blend and
/// a packing.
#[doc(hidden)]
#[derive(Clone, Debug)]
pub struct ShadeTables {
    colours: [Rgb888; SHADES],
    rgb565: [u16; SHADES],
}

impl ShadeTables {
    /// Tabulates a colour by band and grey.
    pub(crate) fn new(colour: impl Fn(u8, u8) -> Rgb888) -> Self {
        let mut tables = Self {
            colours: [Rgb888::default(); SHADES],
            rgb565: [0; SHADES],
        };
        for band in 0..8 {
            for grey in 0..=u8::MAX {
                let (place, colour) = (fixedpoint::word_place(band, grey), colour(band, grey));
                tables.colours[place & (SHADES - 1)] = colour;
                tables.rgb565[place & (SHADES - 1)] = PanelRgb565::pack(colour, 0, 0);
            }
        }
        tables
    }
}

/// 24 bits a pixel.
#[derive(Clone, Copy, Debug)]
pub struct PanelRgb888;

/// 16 bits a pixel, 5-6-5, each channel rounded to the nearest code.
///
/// ```
/// use glowsill_core::panel::{PanelFormat, PanelRgb565, Rgb888};
/// assert_eq!(PanelRgb565::pack(Rgb888::new(255, 0, 0), 0, 0), 0xF800);
/// assert_eq!(PanelRgb565::pack(Rgb888::new(128, 128, 128), 0, 0), 0x8410);
/// ```
#[derive(Clone, Copy, Debug)]
pub struct PanelRgb565;

/// 16 bits a pixel, 5-6-5, with 4x4 ordered dither.
#[derive(Clone, Copy, Debug)]
pub struct PanelRgb565Dithered;

impl PanelFormat for PanelRgb888 {
    type Pixel = Rgb888;
    #[inline]
    fn pack(colour: Rgb888, _x: u16, _y: u16) -> Rgb888 {
        colour
    }
}

impl PanelFormat for PanelRgb565 {
    type Pixel = u16;
    #[inline]
    fn pack(colour: Rgb888, _x: u16, _y: u16) -> u16 {
        fixedpoint::pack_565_round(colour.r, colour.g, colour.b)
    }
    #[inline]
    fn shade(tables: &ShadeTables, place: usize, _x: u16, _y: u16) -> u16 {
        tables.rgb565[place & (SHADES - 1)]
    }
}

/// Bayer's 4x4 ordered-dither ranks. Source: Bayer, ICC Conf. Rec. 1973 (from memory).
const BAYER_4X4: [[u8; 4]; 4] = [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]];

impl PanelFormat for PanelRgb565Dithered {
    type Pixel = u16;
    #[inline]
    fn pack(colour: Rgb888, x: u16, y: u16) -> u16 {
        let rank = BAYER_4X4[usize::from(y & 3)][usize::from(x & 3)];
        fixedpoint::pack_565_dither(colour.r, colour.g, colour.b, rank)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_is_the_nearest_code_for_every_byte() {
        for v in 0..=255u8 {
            let word = PanelRgb565::pack(Rgb888::grey(v), 0, 0);
            assert_eq!(f64::from(word >> 11), (f64::from(v) * 31.0 / 255.0).round());
            assert_eq!(
                f64::from((word >> 5) & 63),
                (f64::from(v) * 63.0 / 255.0).round()
            );
        }
    }

    #[test]
    fn dither_keeps_black_and_white_and_the_mean() {
        for (x, y) in [(0, 0), (1, 2), (3, 3)] {
            assert_eq!(PanelRgb565Dithered::pack(Rgb888::grey(0), x, y), 0);
            assert_eq!(PanelRgb565Dithered::pack(Rgb888::grey(255), x, y), 0xFFFF);
        }
        for v in 0..=255u8 {
            let mut sum = 0.0;
            for y in 0..4 {
                for x in 0..4 {
                    let word = PanelRgb565Dithered::pack(Rgb888::grey(v), x, y);
                    sum += f64::from(word >> 11) * 255.0 / 31.0;
                }
            }
            let mean = sum / 16.0;
            assert!(
                (mean - f64::from(v)).abs() < 255.0 / 31.0 / 16.0 + 1e-9,
                "{v}: {mean}"
            );
        }
    }

    #[test]
    fn dither_is_the_neighbouring_code_at_most() {
        for v in 0..=255u8 {
            let plain = Rgb888::from_565(PanelRgb565::pack(Rgb888::grey(v), 0, 0));
            for (x, y) in [(0, 0), (2, 1), (0, 3)] {
                let d = Rgb888::from_565(PanelRgb565Dithered::pack(Rgb888::grey(v), x, y));
                assert!(plain.r.abs_diff(d.r) <= 9 && plain.g.abs_diff(d.g) <= 5);
            }
        }
    }
}
