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

/// What [`rise_shift_round`] gives for the fractions of a block of 64, one after the other, and at
/// least 1.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rise {
    sum: u32,
    rise: u32,
}

impl Rise {
    #[inline]
    pub(crate) const fn new(base: u16, rise: u16) -> Self {
        Self {
            sum: ((base as u32) << 6) + 32,
            rise: rise as u32,
        }
    }

    /// The code here.
    #[inline(always)]
    pub(crate) fn code(self) -> u16 {
        self.ahead(0)
    }

    /// The code some counts further.
    #[inline(always)]
    pub(crate) fn ahead(self, counts: u32) -> u16 {
        let sum = self.sum.wrapping_add(self.rise.wrapping_mul(counts));
        ((sum >> 6) as u16).max(1)
    }

    /// Goes some counts further.
    #[inline(always)]
    pub(crate) const fn pass(&mut self, counts: u32) {
        self.sum = self.sum.wrapping_add(self.rise.wrapping_mul(counts));
    }
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

/// What [`two_point_place`] starts its sum from, for places among the counts from `from` on.
#[inline]
pub(crate) const fn place_start(from: u16) -> u32 {
    ((1 << 13) - ((from as i32) << 14)) as u32
}

/// Two-point correction as a place among `SIDE` counts, the first of which made `start`; counts beyond
/// them have the first place or the last.
///
/// In one sum, which is exact for raw counts of 14 bits. A greater one may wrap, but then to less than
/// its offset.
#[inline(always)]
pub(crate) fn two_point_place<const SIDE: usize>(
    raw: u16,
    gain_q14: u16,
    offset: i16,
    start: u32,
) -> u16 {
    const { assert!(SIDE.is_power_of_two() && SIDE <= super::CELLS) };
    let top = SIDE as i32 - 1;
    let base = start.wrapping_add(((offset as i32) << 14) as u32);
    let place = (raw as u32 * gain_q14 as u32).wrapping_add(base) as i32 >> 14;
    if cfg!(target_arch = "arm") {
        return place.clamp(0, top) as u16;
    }
    // In two steps, each of which is one instruction for eight neighbours.
    (place.clamp(i16::MIN as i32, i16::MAX as i32) as i16).clamp(0, top as i16) as u16
}
