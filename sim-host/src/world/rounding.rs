//! Conversions between floats and whole numbers, clamped and rounded half up.

/// A length or count as a float; exact below 2^32.
pub(crate) fn count_f64(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// Rounds half up and clamps into `low..=high`; not-a-number gives `low`.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is clamped into the u16 range beside the cast"
)]
pub(crate) fn to_u16(value: f64, low: u16, high: u16) -> u16 {
    if value.is_nan() {
        return low;
    }
    (value + 0.5).floor().clamp(f64::from(low), f64::from(high)) as u16
}

/// Rounds half up and clamps into the `i16` range; not-a-number gives 0.
#[allow(
    clippy::cast_possible_truncation,
    reason = "the value is clamped into the i16 range beside the cast"
)]
pub(crate) fn to_i16(value: f64) -> i16 {
    (value + 0.5)
        .floor()
        .clamp(f64::from(i16::MIN), f64::from(i16::MAX)) as i16
}

/// The whole part of a value, clamped into `0..=high`; not-a-number gives 0.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is clamped into 0..=high beside the cast"
)]
pub(crate) fn floor_index(value: f64, high: usize) -> usize {
    // From 0 up the cast cuts off as `floor` does, which is a call on processors without rounding.
    value.clamp(0.0, count_f64(high)) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    // Arithmetic, checked by hand.
    #[test]
    fn values_round_half_up_and_clamp() {
        assert_eq!(to_u16(2.5, 0, 100), 3);
        assert_eq!(to_u16(2.49, 0, 100), 2);
        assert_eq!(to_u16(-7.0, 1, 100), 1);
        assert_eq!(to_u16(1e9, 1, 100), 100);
        assert_eq!(to_u16(f64::NAN, 1, 100), 1);
        assert_eq!(to_i16(-2.5), -2);
        assert_eq!(to_i16(1e9), i16::MAX);
        assert_eq!(floor_index(3.99, 10), 3);
        assert_eq!(floor_index(-1.0, 10), 0);
        assert_eq!(floor_index(-0.3, 10), 0);
        assert_eq!(floor_index(f64::NAN, 10), 0);
        assert_eq!(floor_index(99.0, 10), 10);
    }
}
