//! The only file with shifts, divisions, narrowing and rounding.
//!
//! Rounding is half up and spelled in the name (`_round`); `_floor` drops the fraction. A suffix
//! `_qN` states N fractional bits. Left shifts widen first, because overflow checks do not see the
//! bits that `<<` drops.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::cast_lossless,
    reason = "this file owns every narrowing; each one is clamped or masked beside the cast"
)]

/// Widens to `i64`.
pub(crate) const fn widen_i32(x: i32) -> i64 {
    x as i64
}

/// Widens to `i64`.
pub(crate) const fn widen_u16(x: u16) -> i64 {
    x as i64
}

/// Divides by a positive divisor, rounding half up.
pub(crate) const fn div_round_i64(x: i64, divisor: i64) -> i64 {
    (x + divisor / 2).div_euclid(divisor)
}

/// `x * num / den` rounded half up, if it fits 16 bits.
pub(crate) const fn ratio_to_u16_round(x: i64, num: i64, den: i64) -> Option<u16> {
    let Some(scaled) = x.checked_mul(num) else {
        return None;
    };
    let Some(biased) = scaled.checked_add(den / 2) else {
        return None;
    };
    let y = biased.div_euclid(den);
    if y < 0 || y > u16::MAX as i64 {
        None
    } else {
        Some(y as u16)
    }
}

/// Exact `round(x / 255)` for `x` up to 255 * 255, without a division.
#[inline]
pub(crate) const fn div255_round(x: u16) -> u8 {
    let y = x as u32 + 128;
    ((y + (y >> 8)) >> 8) as u8
}

/// `(weight * a + (255 - weight) * b) / 255`, rounded: weight 255 is `a`, weight 0 is `b`.
#[inline]
pub(crate) const fn mix255_round(a: u8, b: u8, weight: u8) -> u8 {
    div255_round(weight as u16 * a as u16 + (255 - weight) as u16 * b as u16)
}

/// Rounds an 8.8 grey to 8 bits. The argument is at most 255.0 (65,280).
#[inline]
pub(crate) const fn grey_q8_to_u8_round(grey_q8: u16) -> u8 {
    ((grey_q8 as u32 + 128) >> 8) as u8
}

/// Clamps into `u16` from a wide unsigned number.
#[inline]
pub(crate) const fn clamp_u64_to_u16(x: u64) -> u16 {
    if x > u16::MAX as u64 {
        u16::MAX
    } else {
        x as u16
    }
}

/// Clamps into `u32` from a wide signed number.
#[inline]
pub(crate) const fn clamp_i64_to_u32(x: i64) -> u32 {
    if x < 0 {
        0
    } else if x > u32::MAX as i64 {
        u32::MAX
    } else {
        x as u32
    }
}

/// Narrows a length or position that the geometry limits keep below 65,536.
#[inline]
pub(crate) const fn index_u16(x: usize) -> u16 {
    if x > u16::MAX as usize {
        u16::MAX
    } else {
        x as u16
    }
}

/// Narrows a count that the geometry limits keep below 2^32.
#[inline]
pub(crate) const fn count_u32(x: usize) -> u32 {
    if x > u32::MAX as usize {
        u32::MAX
    } else {
        x as u32
    }
}

/// Narrows a band number, at most 7, to the byte kept per pixel.
#[inline]
pub(crate) const fn band_u8(x: usize) -> u8 {
    (x & 7) as u8
}

/// Linear interpolation between two neighbours, `fraction` of `1 << shift`, rounded.
#[inline]
pub(crate) const fn lerp_shift_round(a: u16, b: u16, fraction: u32, shift: u32) -> u16 {
    let half = (1i64 << shift) >> 1;
    let delta = (b as i64 - a as i64) * fraction as i64 + half;
    (a as i64 + (delta >> shift)) as u16
}

/// `base` plus `fraction` of `1 << shift` of a rise, rounded; the sum stays within 16 bits.
#[inline]
pub(crate) const fn rise_shift_round(base: u16, rise: u16, fraction: u32, shift: u8) -> u16 {
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

/// `x * factor` with a Q16 factor, rounded, limited to `max`.
#[inline]
pub(crate) const fn scale_q16_round(x: u32, factor_q16: u64, max: u32) -> u32 {
    let y = (x as u64 * factor_q16 + (1 << 15)) >> 16;
    if y > max as u64 { max } else { y as u32 }
}

/// `(numerator << 16) / denominator`, rounded; the denominator must not be zero.
pub(crate) const fn ratio_q16_round(numerator: u32, denominator: u32) -> u64 {
    let d = if denominator == 0 {
        1
    } else {
        denominator as u64
    };
    (((numerator as u64) << 16) + d / 2) / d
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

/// Weighted mean of two 16-bit numbers with a Q12 weight of the second, rounded.
#[inline]
pub(crate) const fn blend_q12_round(a: u16, b: u16, weight_q12: u32) -> u16 {
    let delta = (b as i64 - a as i64) * weight_q12 as i64 + (1 << 11);
    (a as i64 + (delta >> 12)) as u16
}

/// Weighted mean of two 16-bit numbers with a Q8 weight (0 to 256) of the second, rounded.
#[inline]
pub(crate) const fn blend_q8_round(a: u16, b: u16, weight_q8: u16) -> u16 {
    let delta = (b as i32 - a as i32) * weight_q8 as i32 + (1 << 7);
    (a as i32 + (delta >> 8)) as u16
}

/// Moves `from` toward `to` by `1 / frames` of the distance, rounded toward `from`.
#[inline]
pub(crate) const fn approach(from: u32, to: u32, frames: u8) -> u32 {
    let n = if frames == 0 { 1 } else { frames as i64 };
    clamp_i64_to_u32(from as i64 + (to as i64 - from as i64) / n)
}

/// Share of a whole in thousandths, rounded; an empty whole gives 0.
pub(crate) const fn permille_round(part: u32, whole: u32) -> u16 {
    if whole == 0 {
        return 0;
    }
    clamp_u64_to_u16((part as u64 * 1000 + whole as u64 / 2) / whole as u64)
}

/// `whole * permille / 1000`, rounded.
pub(crate) const fn permille_of_round(whole: u32, permille: u16) -> u32 {
    ((whole as u64 * permille as u64 + 500) / 1000) as u32
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
    let mask = (1u32 << shift) - 1;
    ((counts >> shift) as usize, counts as u32 & mask)
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

/// `whole * part / total`, rounded; `total` must not be zero.
pub(crate) const fn share_round(whole: u32, part: u32, total: u32) -> u32 {
    let d = if total == 0 { 1 } else { total as u64 };
    let y = (whole as u64 * part as u64 + d / 2) / d;
    if y > u32::MAX as u64 {
        u32::MAX
    } else {
        y as u32
    }
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

/// Half of a number, rounded down.
#[inline]
pub(crate) const fn half_floor(x: u32) -> u32 {
    x / 2
}

/// Position between two temperatures as Q8 (0 to 256), from a Q16 factor made for the interval.
#[inline]
pub(crate) const fn position_q8(distance: u16, factor_q16: u64) -> u16 {
    clamp_u64_to_u16(scale_q16_round(distance as u32, factor_q16, 256) as u64)
}

/// Mixes two codes at `num / den` of the way, rounded half up.
pub(crate) const fn mix_ratio_round(a: u8, b: u8, num: u32, den: u32) -> u8 {
    let d = if den == 0 { 1 } else { den as i64 };
    let y = a as i64 + div_round_i64((b as i64 - a as i64) * num as i64, d);
    (if y < 0 {
        0
    } else if y > 255 {
        255
    } else {
        y
    }) as u8
}

/// `index * steps` split into whole 255ths and the remainder.
pub(crate) const fn split_255(index: usize, steps: usize) -> (usize, u32) {
    let x = index * steps;
    (x / 255, (x % 255) as u32)
}

/// Mixes two codes with a Q8 position (0 to 256) of the second, rounded.
#[inline]
pub(crate) const fn mix_q8_round(a: u8, b: u8, position_q8: u16) -> u8 {
    let delta = (b as i32 - a as i32) * position_q8 as i32 + 128;
    (a as i32 + (delta >> 8)) as u8
}

/// Factor of the colour and amount of white (both Q16) of a tint at a grey of 0 to 255.
pub(crate) const fn tint_factors_q16(grey: usize, knee: u8, lift: u8) -> (u32, u32) {
    const ONE: u32 = 1 << 16;
    let (g, k) = (grey as u32, knee as u32);
    if g < k {
        (((g << 16) + k / 2) / k, 0)
    } else {
        let den = 255 * (255 - k);
        let white = (((lift as u64 * (g - k) as u64) << 16) + den as u64 / 2) / den as u64;
        let white = if white > ONE as u64 {
            ONE
        } else {
            white as u32
        };
        (ONE - white, white)
    }
}

/// `code * factor + 255 * white`, both Q16, rounded.
#[inline]
pub(crate) const fn tint_q16_round(code: u8, factor_q16: u32, white_q16: u32) -> u8 {
    ((code as u32 * factor_q16 + 255 * white_q16 + (1 << 15)) >> 16) as u8
}

/// Packs 5-6-5, each channel rounded to the nearest code.
#[inline]
pub(crate) const fn pack_565_round(r: u8, g: u8, b: u8) -> u16 {
    // round(v * 31 / 255) and round(v * 63 / 255) for every byte; the test enumerates them.
    let r5 = (r as u32 * 249 + 1014) >> 11;
    let g6 = (g as u32 * 253 + 505) >> 10;
    let b5 = (b as u32 * 249 + 1014) >> 11;
    ((r5 << 11) | (g6 << 5) | b5) as u16
}

/// Packs 5-6-5 with an ordered-dither rank of 0 to 15.
#[inline]
pub(crate) const fn pack_565_dither(r: u8, g: u8, b: u8, rank: u8) -> u16 {
    // floor(v * max / 255 + (rank + 1/2) / 16), in 32nds of 255.
    const fn channel(v: u8, max: u32, rank: u8) -> u16 {
        ((v as u32 * max * 32 + (2 * rank as u32 + 1) * 255) / (255 * 32)) as u16
    }
    (channel(r, 31, rank) << 11) | (channel(g, 63, rank) << 5) | channel(b, 31, rank)
}

/// Expands 5-6-5 to 8-bit codes, rounded: the codes a panel shows for the word.
#[must_use]
pub(crate) const fn unpack_565(word: u16) -> (u8, u8, u8) {
    const fn widen(v: u16, max: u32) -> u8 {
        ((v as u32 * 255 + max / 2) / max) as u8
    }
    (
        widen(word >> 11, 31),
        widen((word >> 5) & 63, 63),
        widen(word & 31, 31),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn division_by_255_is_exact_for_every_product() {
        for a in 0..=255u32 {
            for b in 0..=255u32 {
                let exact = ((a * b) as f64 / 255.0).round();
                assert_eq!(f64::from(div255_round((a * b) as u16)), exact, "{a} * {b}");
            }
        }
    }

    #[test]
    fn blend_identities_hold_for_every_pair() {
        for a in 0..=255u8 {
            for b in 0..=255u8 {
                assert_eq!(mix255_round(a, b, 255), a);
                assert_eq!(mix255_round(a, b, 0), b);
                assert_eq!(mix255_round(a, a, b), a);
            }
        }
    }

    #[test]
    fn lerp_hits_both_ends_and_rounds_half_up() {
        assert_eq!(lerp_shift_round(10, 20, 0, 6), 10);
        assert_eq!(lerp_shift_round(10, 20, 64, 6), 20);
        assert_eq!(lerp_shift_round(10, 11, 32, 6), 11);
        assert_eq!(lerp_shift_round(11, 10, 32, 6), 11);
        assert_eq!(lerp_shift_round(0, u16::MAX, 63, 6), 64_511); // 64511.02
    }

    #[test]
    fn correction_clamps_at_both_ends() {
        assert_eq!(two_point_q14_round(1000, 16_384, 0), 1000);
        assert_eq!(two_point_q14_round(1000, 16_384, -1001), 1);
        assert_eq!(two_point_q14_round(u16::MAX, u16::MAX, i16::MAX), 65_534);
        assert_eq!(two_point_q14_round(3, 8192, 0), 2); // 1.5 rounds up
    }

    #[test]
    fn approach_reaches_the_target_and_never_passes_it() {
        assert_eq!(approach(100, 200, 1), 200);
        assert_eq!(approach(100, 200, 4), 125);
        assert_eq!(approach(200, 100, 4), 175);
        assert_eq!(approach(100, 103, 4), 100);
    }

    #[test]
    fn blends_keep_equal_inputs() {
        for x in (0..=u16::MAX).step_by(7) {
            assert_eq!(blend_q12_round(x, x, 1234), x);
            assert_eq!(blend_q12_round(x, 9, 4096), 9);
            assert_eq!(blend_q8_round(x, 9, 256), 9);
            assert_eq!(blend_q8_round(x, 9, 0), x);
        }
    }
}
