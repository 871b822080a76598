//! Plateau-limited equalisation.

use crate::number::{count, round_half_up};
use crate::statistics::edges;

/// The histogram with every bin from `lo_bin` to `hi_bin` held at `plateau`, the others empty.
#[must_use]
pub fn capped(histogram: &[usize], lo_bin: usize, hi_bin: usize, plateau: usize) -> Vec<usize> {
    let inside = |k: usize| (lo_bin..=hi_bin).contains(&k);
    let cap = |(k, &n): (usize, &usize)| if inside(k) { n.min(plateau) } else { 0 };
    histogram.iter().enumerate().map(cap).collect()
}

/// Level of each bin by the textbook formula 255·C(k)/C(last), unrounded, C inclusive of bin k.
///
/// Bins below `lo_bin` give 0, bins above `hi_bin` 255. All zero if the range is empty.
///
/// ```
/// use glowsill_oracle::scale::plateau_lut;
/// assert_eq!(plateau_lut(&[5, 1, 0, 9], 0, 3, 2), [102.0, 153.0, 153.0, 255.0]);
/// ```
#[must_use]
pub fn plateau_lut(histogram: &[usize], lo_bin: usize, hi_bin: usize, plateau: usize) -> Vec<f64> {
    let capped = capped(histogram, lo_bin, hi_bin, plateau);
    let total: usize = capped.iter().sum();
    let mut cumulative = 0;
    capped
        .iter()
        .map(|n| {
            cumulative += n;
            if total == 0 {
                0.0
            } else {
                255.0 * count(cumulative) / count(total)
            }
        })
        .collect()
}

/// The target curve: grey at every bin edge (one more than there are bins).
///
/// None if no pixel lies in the bins in use.
///
/// step(k) = min(255·h'(k)/Σh', slope·width(k)); the curve stands in the middle of 0 to 255.
#[must_use]
pub fn curve_target(
    histogram: &[usize],
    (lo_bin, hi_bin): (usize, usize),
    plateau_permille: u16,
    max_grey_per_kelvin: f64,
) -> Option<Vec<f64>> {
    let edges = edges();
    let valid: usize = histogram.iter().sum();
    let plateau = round_half_up(count(valid) * f64::from(plateau_permille) / 1000.0).max(1.0);
    let held: Vec<f64> = capped(histogram, lo_bin, hi_bin, usize::MAX)
        .into_iter()
        .map(|n| count(n).min(plateau))
        .collect();
    let total: f64 = held.iter().sum();
    if total == 0.0 {
        return None;
    }
    let steps: Vec<f64> = held
        .iter()
        .zip(edges.windows(2))
        .map(|(n, edge)| (255.0 * n / total).min(max_grey_per_kelvin * (edge[1] - edge[0])))
        .collect();
    let mut level = (255.0 - steps.iter().sum::<f64>()) / 2.0;
    let mut curve = vec![level];
    for step in steps {
        level += step;
        curve.push(level);
    }
    Some(curve)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cap_and_the_range_hold() {
        assert_eq!(capped(&[9, 9, 1, 9, 9], 1, 3, 4), [0, 4, 1, 4, 0]);
        let lut = plateau_lut(&[9, 9, 1, 9, 9], 1, 3, 4);
        // 255·4/9, 255·5/9, 255
        assert_eq!(lut[0], 0.0);
        assert!((lut[1] - 113.333).abs() < 1e-3);
        assert!((lut[2] - 141.667).abs() < 1e-3);
        assert_eq!(lut[3..], [255.0, 255.0]);
        assert_eq!(plateau_lut(&[0, 0], 0, 1, 5), [0.0, 0.0]);
    }

    #[test]
    fn the_slope_limit_leaves_the_curve_in_the_middle() {
        // Bins 30 and 31 (0.25 K each) with 3 and 1 pixels; plateau 500 permille of 4 is 2.
        let mut histogram = vec![0; 1168];
        histogram[30] = 3;
        histogram[31] = 1;
        // h' = 2, 1: 170 and 85; a slope of 400 codes/K allows 100 a bin.
        let curve = curve_target(&histogram, (30, 31), 500, 400.0).unwrap();
        assert_eq!(curve.len(), 1169);
        assert_eq!((curve[0], curve[30]), (35.0, 35.0)); // (255 - 185) / 2
        assert_eq!((curve[31], curve[32], curve[1168]), (135.0, 220.0, 220.0));
        assert_eq!(curve_target(&histogram, (32, 40), 500, 400.0), None);
    }
}
