//! Temperature below which a share of the pixels lies, from the histogram.

use crate::number::{count, round_half_up};
use crate::statistics::edges;

/// Rank r = round(valid·permille/1000); walks to the first occupied bin whose cumulative count
/// reaches r and interpolates in it; r = 0 is the lower edge of the first occupied bin.
///
/// None if the histogram is empty.
#[must_use]
pub fn percentile(histogram: &[usize], permille: u16) -> Option<f64> {
    let edges = edges();
    let valid: usize = histogram.iter().sum();
    let rank = round_half_up(count(valid) * f64::from(permille) / 1000.0);
    let mut before = 0;
    for (bin, &n) in histogram.iter().enumerate().filter(|(_, n)| **n > 0) {
        if count(before + n) >= rank {
            let width = edges[bin + 1] - edges[bin];
            return Some(edges[bin] + width * (rank - count(before)) / count(n));
        }
        before += n;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn histogram(entries: &[(usize, usize)]) -> Vec<usize> {
        let mut histogram = vec![0; 1168];
        for &(bin, n) in entries {
            histogram[bin] = n;
        }
        histogram
    }

    #[test]
    fn interpolates_inside_the_bin() {
        // Bin 270 is 300.00 to 300.25 K, bin 800 is 434 to 435 K.
        let h = histogram(&[(270, 4), (800, 6)]);
        let t = |permille| percentile(&h, permille).unwrap();
        assert_eq!(t(0), 300.0);
        assert_eq!(t(200), 300.125); // rank 2 of 4
        assert_eq!(t(400), 300.25);
        assert_eq!(t(449), 300.25); // 4.49 rounds to 4
        assert_eq!(t(450), 434.0 + 1.0 / 6.0); // 4.5 rounds to 5
        assert_eq!(t(1000), 435.0);
        assert_eq!(percentile(&histogram(&[]), 500), None);
    }
}
