//! Stage 8, panel: codes of the glass.

use crate::config::Rgb;
use crate::number::round_half_up;

/// 4×4 ordered ranks at [y mod 4][x mod 4].
pub const RANKS: [[u8; 4]; 4] = [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]];

/// RGB565 as three codes (0 to 31, 0 to 63, 0 to 31), rounded half up.
#[must_use]
pub fn rgb565(colour: Rgb) -> [f64; 3] {
    per_channel(colour, round_half_up)
}

/// RGB565 with ordered dither at a place.
#[must_use]
pub fn rgb565_dithered(colour: Rgb, x: usize, y: usize) -> [f64; 3] {
    let threshold = (f64::from(RANKS[y % 4][x % 4]) + 0.5) / 16.0;
    per_channel(colour, |scaled| (scaled + threshold).floor())
}

fn per_channel(colour: Rgb, quantise: impl Fn(f64) -> f64) -> [f64; 3] {
    [(0, 31.0), (1, 63.0), (2, 31.0)]
        .map(|(channel, top)| quantise(f64::from(colour[channel]) * top / 255.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_stay_ends() {
        assert_eq!(rgb565([255; 3]), [31.0, 63.0, 31.0]);
        assert_eq!(rgb565([0; 3]), [0.0; 3]);
        for place in 0..16 {
            let dithered = |colour| rgb565_dithered(colour, place % 4, place / 4);
            assert_eq!(dithered([255; 3]), [31.0, 63.0, 31.0]);
            assert_eq!(dithered([0; 3]), [0.0; 3]);
        }
    }

    #[test]
    fn rounding_and_dither_follow_the_page() {
        // 100·31/255 = 12.157, 100·63/255 = 24.706
        assert_eq!(rgb565([100; 3]), [12.0, 25.0, 12.0]);
        assert_eq!(rgb565_dithered([100; 3], 0, 0), [12.0, 24.0, 12.0]); // + 1/32
        assert_eq!(rgb565_dithered([100; 3], 0, 3), [13.0, 25.0, 13.0]); // + 31/32
        // The mean over the 16 places is within half a sixteenth of the exact value.
        let sum: f64 = (0..16)
            .map(|i| rgb565_dithered([100; 3], i % 4, i / 4)[1])
            .sum();
        assert!((sum / 16.0 - 24.706).abs() <= 1.0 / 16.0);
    }
}
