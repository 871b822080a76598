//! The only folder with shifts, divisions, narrowing and rounding.
//!
//! Rounding is half up and spelled in the name (`_round`); `_floor` drops the fraction. A suffix
//! `_qN` states N fractional bits. Left shifts widen first, because overflow checks do not see the
//! bits that `<<` drops.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::cast_lossless,
    reason = "this folder owns every narrowing; each one is clamped or masked beside the cast"
)]

mod cells;
mod colour;
#[cfg(test)]
mod corners;
mod counts;
mod grey;
mod pairs;

pub(crate) use cells::*;
pub(crate) use colour::*;
pub(crate) use counts::*;
pub(crate) use grey::*;
pub(crate) use pairs::*;

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

/// Clamps into `u16` from a wide unsigned number.
#[inline]
pub(crate) const fn clamp_u64_to_u16(x: u64) -> u16 {
    if x > u16::MAX as u64 {
        u16::MAX
    } else {
        x as u16
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

/// Adds to a count of pixels. It cannot wrap: a frame has at most 1280 * 1024 of them.
#[inline(always)]
pub(crate) const fn add_count(count: &mut u32, more: u32) {
    *count = count.wrapping_add(more);
}

/// Counts what something holds for, of at most a frame's pixels.
#[inline]
pub(crate) fn count_where<T: Copy>(all: &[T], holds: impl Fn(T) -> bool) -> u32 {
    all.iter().fold(0u32, |count, one| {
        count.wrapping_add(u32::from(holds(*one)))
    })
}

/// `x * factor` with a Q16 factor, rounded, limited to `max`.
#[inline]
pub(crate) const fn scale_q16_round(x: u32, factor_q16: u64, max: u32) -> u32 {
    let y = (x as u64).wrapping_mul(factor_q16).wrapping_add(1 << 15) >> 16;
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

/// Moves `from` toward `to` by `1 / frames` of the distance, rounded toward `from`.
#[inline]
pub(crate) const fn approach(from: u32, to: u32, frames: u8) -> u32 {
    let n = if frames == 0 { 1 } else { frames as u32 };
    // A part of the way from one to the other: neither sum leaves 32 bits.
    if to < from {
        from.wrapping_sub(from.wrapping_sub(to) / n)
    } else {
        from.wrapping_add(to.wrapping_sub(from) / n)
    }
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

/// `whole * part / total`, rounded; `total` must not be zero.
pub(crate) const fn share_round(whole: u32, part: u32, total: u32) -> u32 {
    if part == 0 {
        // Most bins of a histogram are empty, and a long division takes long.
        return 0;
    }
    let d = if total == 0 { 1 } else { total as u64 };
    let y = (whole as u64 * part as u64 + d / 2) / d;
    if y > u32::MAX as u64 {
        u32::MAX
    } else {
        y as u32
    }
}

/// Half of a number, rounded down.
#[inline]
pub(crate) const fn half_floor(x: u32) -> u32 {
    x / 2
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
