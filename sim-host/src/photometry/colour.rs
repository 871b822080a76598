//! sRGB, CIE 1976 L*a*b* under D65, CIEDE2000 and the CIE 1976 u'v' diagram.
//!
//! **Input**: sRGB codes or linear sRGB, 0 to 1. **Output**: named per function. Matrices, L*a*b*
//! and CIEDE2000 come from the `palette` crate; the tests check it against Sharma's 34 pairs.
//! **Source**: IEC 61966-2-1; CIE 15; Sharma, Wu, Dalal 2005.

use std::sync::LazyLock;

use palette::color_difference::Ciede2000;
use palette::white_point::D65;
use palette::{IntoColor, LinSrgb, Xyz};

use super::panel_model;

/// A colour in CIE 1976 L*a*b* under D65.
pub type Lab = palette::Lab<D65, f64>;

static DECODE: LazyLock<[f64; 256]> = LazyLock::new(|| {
    let mut table = [0.0; 256];
    for (entry, code) in table.iter_mut().zip(0..=255u8) {
        let v = f64::from(code) / 255.0;
        *entry = if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        };
    }
    table
});

/// Linear light of an sRGB code, 0 to 1.
///
/// ```
/// let linear = glowsill::photometry::colour::srgb_decode(128);
/// assert!((linear - 0.215_860_50).abs() < 1e-8);
/// ```
#[must_use]
pub fn srgb_decode(code: u8) -> f64 {
    DECODE[usize::from(code)]
}

/// sRGB signal (0 to 1) of linear light; the input is clamped to 0 to 1.
#[must_use]
pub fn srgb_encode(linear: f64) -> f64 {
    let x = linear.clamp(0.0, 1.0);
    if x <= 0.003_130_8 {
        12.92 * x
    } else {
        1.055 * x.powf(1.0 / 2.4) - 0.055
    }
}

/// Linear sRGB of codes.
#[must_use]
pub fn linear(rgb: [u8; 3]) -> [f64; 3] {
    rgb.map(srgb_decode)
}

/// Codes of linear sRGB, clamped and rounded to the nearest.
#[must_use]
pub fn codes(linear: [f64; 3]) -> [u8; 3] {
    linear.map(|value| nearest_code(255.0 * srgb_encode(value)))
}

/// Rounds to the nearest code; below 0 and not-a-number give 0, above 255 gives 255.
#[must_use]
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to 0 to 255 first; the cast of not-a-number is 0 by definition"
)]
pub fn nearest_code(value: f64) -> u8 {
    value.round().clamp(0.0, 255.0) as u8
}

/// Relative luminance of sRGB codes, 0 to 1.
#[must_use]
pub fn relative_luminance(rgb: [u8; 3]) -> f64 {
    panel_model::relative(linear(rgb))
}

fn xyz(linear: [f64; 3]) -> Xyz<D65, f64> {
    LinSrgb::<f64>::new(linear[0], linear[1], linear[2]).into_color()
}

/// L*a*b* of sRGB codes.
#[must_use]
pub fn lab(rgb: [u8; 3]) -> Lab {
    lab_of_linear(linear(rgb))
}

/// L*a*b* of linear sRGB.
#[must_use]
pub fn lab_of_linear(linear: [f64; 3]) -> Lab {
    xyz(linear).into_color()
}

/// CIEDE2000 difference; 1 is about a just-noticeable difference of large neighbouring patches.
///
/// ```
/// use glowsill::photometry::colour::{ciede2000, lab};
/// let difference = ciede2000(lab([255, 255, 0]), lab([255, 165, 0]));
/// assert!((difference - 29.25).abs() < 0.01);
/// ```
#[must_use]
pub fn ciede2000(first: Lab, second: Lab) -> f64 {
    first.difference(second)
}

/// CIEDE2000 difference of two colours in sRGB codes.
#[must_use]
pub fn delta_e(first: [u8; 3], second: [u8; 3]) -> f64 {
    ciede2000(lab(first), lab(second))
}

/// CIE 1976 lightness L* (0 to 100) of a relative luminance (0 to 1).
#[must_use]
pub fn lightness(relative_luminance: f64) -> f64 {
    if relative_luminance > 216.0 / 24_389.0 {
        116.0 * relative_luminance.cbrt() - 16.0
    } else {
        24_389.0 / 27.0 * relative_luminance
    }
}

/// CIE 1976 chromaticity (u', v') of linear sRGB; black takes that of the white point.
#[must_use]
pub fn chromaticity(linear: [f64; 3]) -> (f64, f64) {
    let sum = |c: Xyz<D65, f64>| c.x + 15.0 * c.y + 3.0 * c.z;
    let mut colour = xyz(linear);
    if sum(colour) <= 1e-9 {
        colour = xyz([1.0; 3]);
    }
    (4.0 * colour.x / sum(colour), 9.0 * colour.y / sum(colour))
}
