//! Seeded noise that is the same on every machine.

use glam::DVec3;

use super::body::smooth;
use crate::world::rounding::{count_f64, floor_index};

/// A number of −1 to 1 that is fixed for a lattice cell and a seed.
pub(super) fn draw(cell: [i64; 3], seed: u64) -> f64 {
    let mut hash = seed ^ 0x9e37_79b9_7f4a_7c15;
    for part in cell {
        hash = (hash ^ part.cast_unsigned()).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        hash ^= hash >> 29;
        hash = hash.wrapping_mul(0x94d0_49bb_1331_11eb);
        hash ^= hash >> 32;
    }
    f64::from(u32::try_from(hash >> 32).unwrap_or(0)) / f64::from(u32::MAX) * 2.0 - 1.0
}

/// Smooth noise of −1 to 1 with features of size 1.
pub(super) fn noise(at: DVec3, seed: u64) -> f64 {
    // Shifted so that whole parts are not negative within the sizes of a building.
    let shifted = at + DVec3::splat(100_000.0);
    let cell = shifted.to_array().map(|v| floor_index(v, 1 << 30));
    let base = DVec3::from_array(cell.map(count_f64));
    let part = (shifted - base).to_array().map(smooth);
    let whole = cell.map(|v| i64::try_from(v).unwrap_or(0));
    let mut sum = 0.0;
    for corner in 0..8_i64 {
        let mut weight = 1.0;
        let mut key = whole;
        for axis in 0..3 {
            let far = corner >> axis & 1;
            weight *= if far == 1 {
                part[axis]
            } else {
                1.0 - part[axis]
            };
            key[axis] += far;
        }
        sum += weight * draw(key, seed);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: the definition: continuous, of mean near 0, between -1 and 1, another for another
    // seed. The steepest smooth step rises 1.5 a cell over a range of 2: 3 a cell.
    #[test]
    fn noise_is_smooth_and_centred() {
        let along = |i: i32| DVec3::new(0.01 * f64::from(i) - 40.0, 0.3, -0.7);
        let values: Vec<f64> = (0..8000).map(|i| noise(along(i), 5)).collect();
        let steps = values.windows(2).map(|w| (w[1] - w[0]).abs());
        assert!(steps.fold(0.0, f64::max) < 0.031);
        assert!(values.iter().all(|v| v.abs() <= 1.0));
        assert!((values.iter().sum::<f64>() / 8000.0).abs() < 0.2);
        assert_ne!(values[77], noise(along(77), 6));
    }
}
