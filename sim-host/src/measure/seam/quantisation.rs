//! How far rounding alone can move what the seam measure reads.
//!
//! Formulas: `docs/measures/seam.md`, uncertainty. The readings are made without noise and take the
//! greatest of many columns, so that these are bounds of rounding and not spreads of repeats.

use super::real;
use crate::world::sensor::CalibrationTable;

/// Step of a temperature code, kelvin.
const CODE_K: f64 = 1.0 / 32.0;

/// Kelvin that one count stands for near a temperature, from the two knots around it; the first or
/// last interval outside the table.
pub(super) fn count_step_k(table: &CalibrationTable, kelvin: f64) -> f64 {
    let code = |knot: u16| f64::from(knot) * CODE_K;
    let interval = table
        .knots
        .windows(2)
        .find(|pair| pair.last().is_some_and(|upper| code(*upper) > kelvin))
        .or_else(|| table.knots.windows(2).last());
    match interval {
        Some([lower, upper]) => (code(*upper) - code(*lower)) / real(1 << table.shift),
        _ => 0.0,
    }
}

/// Greatest error of one temperature, kelvin: half a count and half a temperature code.
pub(super) fn rounding_k(count_k: f64) -> f64 {
    (count_k + CODE_K) / 2.0
}

/// Half-width of a step of the deviation, per cent: four temperatures (two columns, in the picture
/// and in the reference), each wrong by `rounding_k`, where luminance changes by `slope` of itself
/// in a kelvin.
pub(super) fn step_percent(slope: f64, rounding_k: f64) -> f64 {
    100.0 * slope * 4.0 * rounding_k
}

/// Half-width of a ratio of two slopes over `span_k`, less 1: the same four temperatures.
pub(super) fn slope_ratio(rounding_k: f64, span_k: f64) -> f64 {
    4.0 * rounding_k / span_k
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A hand-made table: 8 K over each of its intervals of 64 counts, then 16 K.
    fn table() -> CalibrationTable {
        CalibrationTable {
            shift: 6,
            knots: vec![9600, 9856, 10_112, 10_624],
            saturation: 190,
        }
    }

    // Source: by hand, 8 K / 64 = 0.125 K and 16 K / 64 = 0.25 K.
    #[test]
    fn a_count_is_the_distance_of_the_knots_over_the_counts_between() {
        for (kelvin, step) in [(200.0, 0.125), (301.0, 0.125), (317.0, 0.25), (900.0, 0.25)] {
            assert!(
                (count_step_k(&table(), kelvin) - step).abs() < 1e-12,
                "{kelvin}"
            );
        }
    }

    // Source: by hand. 0.125 K a count and 0.03125 K a code: 0.078125 K each; 4 · 0.078125 K · 3 %/K.
    #[test]
    fn half_widths_are_those_calculated_by_hand() {
        let rounding = rounding_k(0.125);
        assert!((rounding - 0.078_125).abs() < 1e-12);
        assert!((step_percent(0.03, rounding) - 0.9375).abs() < 1e-12);
        assert!((slope_ratio(rounding, 5.0) - 0.0625).abs() < 1e-12);
    }
}
