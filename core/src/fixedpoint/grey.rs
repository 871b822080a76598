//! Grey: scale ends, bins and curves.

use super::clamp_u64_to_u16;

/// Rounds an 8.8 grey to 8 bits. The argument is at most 255.0 (65,280).
#[inline]
pub(crate) const fn grey_q8_to_u8_round(grey_q8: u16) -> u8 {
    ((grey_q8 as u32 + 128) >> 8) as u8
}

/// `(numerator << 24) / denominator`, rounded; the denominator must not be zero.
pub(crate) const fn ratio_q24_round(numerator: u32, denominator: u32) -> u64 {
    let d = if denominator == 0 {
        1
    } else {
        denominator as u64
    };
    (((numerator as u64) << 24) + d / 2) / d
}

/// `x * factor` with a Q24 factor, rounded, as an 8.8 grey limited to 255.0.
#[inline]
pub(crate) const fn scale_q24_to_grey_q8_round(x: u32, factor_q24: u64) -> u16 {
    let y = (x as u64 * factor_q24 + (1 << 23)) >> 24;
    if y > 65_280 { 65_280 } else { y as u16 }
}

/// Weighted mean of two 16-bit numbers with a Q8 weight (0 to 256) of the second, rounded.
#[inline]
pub(crate) const fn blend_q8_round(a: u16, b: u16, weight_q8: u16) -> u16 {
    let delta = (b as i32 - a as i32) * weight_q8 as i32 + (1 << 7);
    (a as i32 + (delta >> 8)) as u16
}

/// Temperature code to the 24-bit form that scale ends use (1/8192 K).
#[inline]
pub(crate) const fn code_to_q13(code: u16) -> u32 {
    (code as u32) << 8
}

/// Scale end (1/8192 K) to the nearest temperature code.
pub(crate) const fn q13_to_code_round(end_q13: u32) -> u16 {
    clamp_u64_to_u16((end_q13 as u64 + 128) >> 8)
}

/// Scale end (1/8192 K) to the temperature code it lies in.
pub(crate) const fn q13_to_code_floor(end_q13: u32) -> u16 {
    clamp_u64_to_u16((end_q13 >> 8) as u64)
}

/// `code / 2^shift` as an index.
#[inline]
pub(crate) const fn index_shift_floor(code: u16, shift: u32) -> usize {
    (code >> shift) as usize
}

/// `from + steps * 2^shift`: the lower edge of a bin, as a code of up to 65,536.
#[inline]
pub(crate) const fn edge_code(from: u32, steps: usize, shift: u32) -> u32 {
    from + ((steps as u32) << shift)
}

/// An edge (a code of up to 65,536) in 1/8192 K.
#[inline]
pub(crate) const fn edge_to_q13(edge: u32) -> u32 {
    edge << 8
}

/// `2^shift` codes in 1/8192 K.
pub(crate) const fn width_q13(shift: u32) -> u32 {
    1 << (shift + 8)
}

/// A Q16 grey of up to 255.0 as an 8.8 grey, rounded.
#[inline]
pub(crate) const fn grey_q16_to_q8_round(grey_q16: u32) -> u16 {
    let y = (grey_q16 as u64 + 128) >> 8;
    if y > 65_280 { 65_280 } else { y as u16 }
}

/// Steepest step over `2^shift` codes at so many grey codes per kelvin, Q16.
pub(crate) const fn slope_step_q16(grey_per_kelvin: u8, shift: u32) -> u32 {
    // 2^shift / 32 kelvin.
    (grey_per_kelvin as u32) << (16 + shift - 5)
}

/// Least span in 1/8192 K that keeps 255 grey codes below a slope, rounded up.
pub(crate) const fn span_of_slope_q13(grey_per_kelvin: u8) -> u32 {
    let g = if grey_per_kelvin == 0 {
        1
    } else {
        grey_per_kelvin as u32
    };
    (255 * 8192u32).div_ceil(g)
}
