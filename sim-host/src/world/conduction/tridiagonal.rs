//! Solves a tridiagonal system.

/// Solves in place: `lower[i]·x[i−1] + diagonal[i]·x[i] + upper[i]·x[i+1] = right[i]`; `right`
/// becomes the solution (Thomas' algorithm, stable where the diagonal dominates, as here).
pub(super) fn solve(lower: &[f64], diagonal: &mut [f64], upper: &[f64], right: &mut [f64]) {
    for i in 1..right.len() {
        let factor = lower[i] / diagonal[i - 1];
        diagonal[i] -= factor * upper[i - 1];
        right[i] -= factor * right[i - 1];
    }
    let mut below = 0.0;
    for i in (0..right.len()).rev() {
        let value = if i + 1 < right.len() {
            (right[i] - upper[i] * below) / diagonal[i]
        } else {
            right[i] / diagonal[i]
        };
        right[i] = value;
        below = value;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Arithmetic by hand: x = (1, 2, 3) in [2 1 0; 1 3 1; 0 1 4].
    #[test]
    fn a_small_system_is_solved() {
        let mut right = [4.0, 10.0, 14.0];
        solve(
            &[0.0, 1.0, 1.0],
            &mut [2.0, 3.0, 4.0],
            &[1.0, 1.0, 0.0],
            &mut right,
        );
        for (found, expected) in right.iter().zip([1.0, 2.0, 3.0]) {
            assert!((found - expected).abs() < 1e-12);
        }
    }
}
