//! Rounding and counting in f64, spelled out once.

/// Rounds to the nearest whole number, halves upward.
///
/// ```
/// use glowsill_oracle::number::round_half_up;
/// assert_eq!(round_half_up(2.5), 3.0);
/// assert_eq!(round_half_up(-2.5), -2.0);
/// ```
#[must_use]
pub fn round_half_up(x: f64) -> f64 {
    (x + 0.5).floor()
}

/// Rounds a value to an 8-bit code, halves upward; values outside 0 to 255 take the nearer end.
///
/// ```
/// assert_eq!(glowsill_oracle::number::code8(127.5), 128);
/// assert_eq!(glowsill_oracle::number::code8(300.0), 255);
/// ```
#[must_use]
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is whole and clamped to 0 to 255"
)]
pub fn code8(x: f64) -> u8 {
    round_half_up(x).clamp(0.0, 255.0) as u8
}

/// A count as f64; exact up to 2^53.
#[must_use]
#[allow(
    clippy::cast_precision_loss,
    reason = "a frame holds fewer than 2^53 pixels"
)]
pub fn count(n: usize) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_go_upward() {
        assert_eq!(round_half_up(0.499), 0.0);
        assert_eq!(round_half_up(0.5), 1.0);
        assert_eq!(code8(0.5), 1);
        assert_eq!(code8(254.49), 254);
        assert_eq!(code8(-3.0), 0);
    }
}
