//! Counts: correction, means, and the look-up of temperatures.

use super::clamp_u64_to_u16;

/// Linear interpolation between two neighbours, `fraction` of `1 << shift`, rounded.
#[inline]
pub(crate) const fn lerp_shift_round(a: u16, b: u16, fraction: u32, shift: u32) -> u16 {
    let shift = shift & 15;
    let half = (1i64 << shift) >> 1;
    let delta = (b as i64 - a as i64) * fraction as i64 + half;
    (a as i64 + (delta >> shift)) as u16
}

/// `base` plus `fraction` of `1 << shift` of a rise, rounded; the sum stays within 16 bits.
#[inline]
pub(crate) const fn rise_shift_round(base: u16, rise: u16, fraction: u32, shift: u8) -> u16 {
    let shift = shift & 15;
    let half = (1u32 << shift) >> 1;
    (base as u32 + ((rise as u32 * fraction + half) >> shift)) as u16
}

/// Two-point correction: `raw * gain + offset`, gain in Q14, clamped to 1 to 65,534: the codes at
/// both ends are marks.
#[inline]
pub(crate) fn two_point_q14_round(raw: u16, gain_q14: u16, offset: i16) -> u16 {
    let scaled = (raw as u32 * gain_q14 as u32 + (1 << 13)) >> 14;
    (scaled as i32 + offset as i32).clamp(1, 65_534) as u16
}

/// Weighted mean of two 16-bit numbers with a Q12 weight of the second, rounded.
#[inline]
pub(crate) const fn blend_q12_round(a: u16, b: u16, weight_q12: u32) -> u16 {
    let delta = (b as i64 - a as i64) * weight_q12 as i64 + (1 << 11);
    (a as i64 + (delta >> 12)) as u16
}

/// Mean of up to five 16-bit samples, rounded; `count` must not be zero.
#[inline]
pub(crate) const fn mean_round(sum: u32, count: u32) -> u16 {
    let n = if count == 0 { 1 } else { count };
    clamp_u64_to_u16(((sum + n / 2) / n) as u64)
}

/// Greatest count a table with this knot distance covers.
pub(crate) const fn count_range_max(shift: u8) -> u16 {
    let top = (1u32 << (8 + if shift > 8 { 8 } else { shift })) - 1;
    top as u16
}

/// Knot `index` of the table whose counts are temperature codes.
pub(crate) const fn identity_knot(index: usize) -> u16 {
    let code = index as u64 * 256;
    clamp_u64_to_u16(code)
}

/// Splits counts into the knot below and the distance from it.
#[inline]
pub(crate) const fn split_knot(counts: u16, shift: u8) -> (usize, u32) {
    let shift = shift & 15;
    let mask = (1u32 << shift) - 1;
    ((counts >> shift) as usize, counts as u32 & mask)
}

/// Constant of the straight line through knot `index` that gives `code << shift`, with half a code
/// for rounding. It wraps, as the product it is added to does; the sum does not.
pub(crate) const fn line_base(code: u16, rise: u16, index: usize, shift: u8) -> u32 {
    let shift = shift & 15;
    let start = (index as u32) << shift;
    ((code as u32) << shift)
        .wrapping_add((1 << shift) >> 1)
        .wrapping_sub((rise as u32).wrapping_mul(start))
}

/// Value of a line of [`line_base`] at counts that lie on it.
#[inline(always)]
pub(crate) const fn on_line(base: u32, rise: u32, counts: u32, shift: u32) -> u16 {
    (base.wrapping_add(rise.wrapping_mul(counts)) >> shift) as u16
}

/// Two-point correction, clamped to the counts that a table with this knot distance covers.
#[inline(always)]
pub(crate) fn two_point_in_table(raw: u16, gain_q14: u16, offset: i16, shift: u32) -> u32 {
    let scaled = (raw as u32 * gain_q14 as u32 + (1 << 13)) >> 14;
    let top = (256i32 << shift) - 1;
    (scaled as i32 + offset as i32).clamp(0, top) as u32
}

/// Knot that covers counts of [`two_point_in_table`].
#[inline(always)]
pub(crate) const fn knot_of(counts: u32, shift: u32) -> usize {
    ((counts >> shift) & 255) as usize
}

/// Greatest counts that a table covers, and that a correction gives.
pub(crate) const fn counts_in_table(shift: u8) -> u16 {
    let top = count_range_max(shift);
    if top > 65_534 { 65_534 } else { top }
}

/// Page of 128 codes that a code lies in, of 512.
#[inline]
pub(crate) const fn page_128(code: u16) -> usize {
    (code >> 7) as usize
}

/// First and last code of a page of 128.
pub(crate) const fn page_bounds(page: usize) -> (u16, u16) {
    let from = ((page & 511) << 7) as u16;
    (from, from | 127)
}
