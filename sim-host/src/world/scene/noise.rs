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

/// Shifted so that whole parts are not negative within the sizes of a building.
const SHIFT: f64 = 100_000.0;

/// Cell of a place, and its part of the way to the next, smoothed.
fn split(at: DVec3) -> ([usize; 3], [f64; 3]) {
    let shifted = at + DVec3::splat(SHIFT);
    let cell = shifted.to_array().map(|v| floor_index(v, 1 << 30));
    let base = DVec3::from_array(cell.map(count_f64));
    (cell, (shifted - base).to_array().map(smooth))
}

/// The mean of eight corners, weighted by how near they are; corner bits are x, y, z.
fn blend(part: [f64; 3], corner: impl Fn(usize) -> f64) -> f64 {
    let [x, y, z] = part.map(|far| [1.0 - far, far]);
    let level = [x[0] * y[0], x[1] * y[0], x[0] * y[1], x[1] * y[1]];
    let mut sum = 0.0;
    for i in 0..8 {
        sum += level[i & 3] * z[i >> 2] * corner(i);
    }
    sum
}

fn draw_at(cell: [usize; 3], seed: u64) -> f64 {
    draw(cell.map(|v| i64::try_from(v).unwrap_or(0)), seed)
}

/// Smooth noise of −1 to 1 with features of size 1.
pub(super) fn noise(at: DVec3, seed: u64) -> f64 {
    let (cell, part) = split(at);
    blend(part, |i| {
        draw_at(
            [
                cell[0] + (i & 1),
                cell[1] + (i >> 1 & 1),
                cell[2] + (i >> 2 & 1),
            ],
            seed,
        )
    })
}

/// The noise of a box, its numbers drawn once: the same bits as [`noise`].
pub(super) struct NoiseBox {
    seed: u64,
    low: [usize; 3],
    counts: [usize; 3],
    drawn: Vec<f64>,
}

/// Numbers kept at most; what lies outside is drawn when it is asked for.
const MOST_DRAWN: usize = 1 << 16;

impl NoiseBox {
    /// Of everything between two corners.
    pub(super) fn new(low: DVec3, high: DVec3, seed: u64) -> Self {
        let (from, to) = (split(low).0, split(high).0);
        let mut counts = [0, 1, 2].map(|axis| to[axis].saturating_sub(from[axis]) + 2);
        while counts[0] * counts[1] * counts[2] > MOST_DRAWN {
            counts = counts.map(|count| count / 2);
        }
        let mut drawn = Vec::with_capacity(counts[0] * counts[1] * counts[2]);
        for z in 0..counts[2] {
            for y in 0..counts[1] {
                for x in 0..counts[0] {
                    drawn.push(draw_at([from[0] + x, from[1] + y, from[2] + z], seed));
                }
            }
        }
        Self {
            seed,
            low: from,
            counts,
            drawn,
        }
    }

    pub(super) fn at(&self, at: DVec3) -> f64 {
        let (cell, part) = split(at);
        let place = [0, 1, 2].map(|axis| cell[axis].wrapping_sub(self.low[axis]));
        let inside = (0..3).all(|axis| place[axis] < self.counts[axis].saturating_sub(1));
        if !inside {
            return noise(at, self.seed);
        }
        let row = self.counts[0];
        let layer = row * self.counts[1];
        let base = place[0] + place[1] * row + place[2] * layer;
        let drawn = &self.drawn[base..];
        blend(part, |i| {
            drawn[(i & 1) + (i >> 1 & 1) * row + (i >> 2 & 1) * layer]
        })
    }
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

    // Source: the definition: a table gives what it was made from, and so does what lies outside it.
    #[test]
    fn a_box_of_noise_is_the_noise() {
        let table = NoiseBox::new(DVec3::splat(-1.3), DVec3::new(2.0, 3.1, 4.2), 9);
        for i in 0..4000 {
            let t = f64::from(i) * 0.002;
            let at = DVec3::new(3.0 * t - 2.0, t * t - 1.5, 5.0 * t - 2.5);
            assert_eq!(table.at(at).to_bits(), noise(at, 9).to_bits(), "{at}");
        }
        let huge = NoiseBox::new(DVec3::splat(-500.0), DVec3::splat(500.0), 9);
        assert!(huge.drawn.len() <= MOST_DRAWN);
        let at = DVec3::splat(499.3);
        assert_eq!(huge.at(at).to_bits(), noise(at, 9).to_bits());
    }
}
