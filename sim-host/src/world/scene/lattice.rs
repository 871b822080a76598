//! The radiance that arrives from all sides, gathered at a lattice of points.
//!
//! At each point rays go out in directions spread evenly over the sphere (a golden-angle spiral).
//! What they bring is kept as the first nine spherical harmonics, from which the mean over the
//! hemisphere of any surface, weighted by the cosine, follows in closed form (method: Ramamoorthi
//! and Hanrahan, "An efficient representation for irradiance environment maps", 2001, from memory,
//! not seen).
//!
//! Whatever the surfaces that these rays meet reflect on their part is taken as the mean of the
//! same point: L̄ = mean(own) / (1 − mean(reflected share)), as in an integrating sphere. In a
//! closed room of one temperature this gives that temperature for any emissivity.

use std::f64::consts::PI;

use glam::DVec3;
use rayon::prelude::*;

use crate::world::rounding::{count_f64, floor_index};

const DIRECTIONS: u32 = 128;
/// Distance of neighbouring points that is aimed at, m.
const SPACING_M: f64 = 1.0;
const MOST: usize = 7;

/// What a ray of the gathering brings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    /// What surfaces and gas emit themselves, W m⁻² sr⁻¹.
    pub(super) own: f64,
    /// Share of the room's mean that is reflected towards the point.
    pub(super) share: f64,
    /// Whether the ray met a solid from its inside.
    pub(super) inside: bool,
}

struct Point {
    /// Mean, then eight coefficients of the cosine-weighted mean.
    terms: [f64; 9],
    least: f64,
    most: f64,
    free: bool,
}

/// The lattice.
pub(super) struct Lattice {
    low: DVec3,
    step: DVec3,
    counts: [usize; 3],
    points: Vec<Point>,
}

/// Eight harmonics of orders 1 and 2 without their constants.
fn harmonics(d: DVec3) -> [f64; 8] {
    [
        d.x,
        d.y,
        d.z,
        d.x * d.y,
        d.y * d.z,
        d.x * d.z,
        3.0 * d.z * d.z - 1.0,
        d.x * d.x - d.y * d.y,
    ]
}

/// Squared constants of the harmonics (orthonormal on the sphere, times 4π), times the factor of the
/// cosine lobe: 2/3 for order 1, 1/4 for order 2.
const WEIGHTS: [f64; 8] = [
    3.0 * 2.0 / 3.0,
    3.0 * 2.0 / 3.0,
    3.0 * 2.0 / 3.0,
    15.0 / 4.0,
    15.0 / 4.0,
    15.0 / 4.0,
    5.0 / 4.0 / 4.0,
    15.0 / 4.0 / 4.0,
];

/// Direction `i` of a golden-angle spiral over the sphere.
fn direction(i: u32) -> DVec3 {
    let z = 1.0 - (2.0 * f64::from(i) + 1.0) / f64::from(DIRECTIONS);
    let r = (1.0 - z * z).sqrt();
    let angle = f64::from(i) * PI * (3.0 - 5.0_f64.sqrt());
    DVec3::new(r * angle.cos(), r * angle.sin(), z)
}

impl Lattice {
    /// Gathers in the box between two corners with a function from a point and a direction to what
    /// is seen.
    pub(super) fn gather(
        low: DVec3,
        high: DVec3,
        sight: impl Fn(DVec3, DVec3) -> Sight + Sync,
    ) -> Self {
        let size = high - low;
        let counts = size
            .to_array()
            .map(|s| floor_index(s / SPACING_M + 0.5, MOST - 1).max(1) + 1);
        // Half a step away from the walls.
        let cells = DVec3::new(
            count_f64(counts[0]),
            count_f64(counts[1]),
            count_f64(counts[2]),
        );
        let step = size / cells;
        let low = low + step / 2.0;
        let total = counts[0] * counts[1] * counts[2];
        let mut points: Vec<Point> = (0..total)
            .into_par_iter()
            .map(|i| {
                let (x, y, z) = (
                    i % counts[0],
                    i / counts[0] % counts[1],
                    i / (counts[0] * counts[1]),
                );
                let offset = DVec3::new(count_f64(x), count_f64(y), count_f64(z));
                Point::gather(low + offset * step, &sight)
            })
            .collect();
        if !points.iter().any(|point| point.free) {
            for point in &mut points {
                point.free = true;
            }
        }
        Self {
            low,
            step,
            counts,
            points,
        }
    }

    /// Cosine-weighted mean radiance over the hemisphere around `normal` at a point.
    pub(super) fn mean(&self, at: DVec3, normal: DVec3) -> f64 {
        let place = (at - self.low) / self.step;
        let mut base = [0; 3];
        let mut part = [0.0; 3];
        for axis in 0..3 {
            let last = self.counts[axis] - 1;
            let inside = place[axis].clamp(0.0, count_f64(last));
            base[axis] = floor_index(inside, last.saturating_sub(1));
            part[axis] = inside - count_f64(base[axis]);
        }
        let shape = harmonics(normal);
        let (mut sum, mut whole) = (0.0, 0.0);
        for corner in 0..8_usize {
            let mut weight = 1e-9;
            let mut spot = DVec3::ZERO;
            let mut index = 0;
            let mut stride = 1;
            let mut share = 1.0;
            for axis in 0..3 {
                let far = (corner >> axis) & 1;
                let i = (base[axis] + far).min(self.counts[axis] - 1);
                share *= if far == 1 {
                    part[axis]
                } else {
                    1.0 - part[axis]
                };
                spot[axis] = self.low[axis] + self.step[axis] * count_f64(i);
                index += i * stride;
                stride *= self.counts[axis];
            }
            let point = &self.points[index];
            if !point.free {
                continue;
            }
            // A point behind the surface sees another side.
            let facing = (spot - at).normalize_or_zero().dot(normal);
            let front = (facing + 1.0) / 2.0;
            weight += share * (front * front + 0.02);
            sum += weight * point.mean(&shape);
            whole += weight;
        }
        if whole > 0.0 {
            sum / whole
        } else {
            let free = self.points.iter().filter(|point| point.free);
            let (total, count) = free.fold((0.0, 0.0), |(t, n), p| (t + p.mean(&shape), n + 1.0));
            total / count
        }
    }
}

impl Point {
    fn gather(at: DVec3, sight: &(impl Fn(DVec3, DVec3) -> Sight + Sync)) -> Self {
        let seen: Vec<(DVec3, Sight)> = (0..DIRECTIONS)
            .map(|i| {
                let along = direction(i);
                (along, sight(at, along))
            })
            .collect();
        let count = f64::from(DIRECTIONS);
        let own: f64 = seen.iter().map(|(_, s)| s.own).sum::<f64>() / count;
        let share: f64 = seen.iter().map(|(_, s)| s.share).sum::<f64>() / count;
        let mean = own / (1.0 - share).max(1e-6);
        let inside = seen.iter().filter(|(_, s)| s.inside).count();
        let mut terms = [0.0; 9];
        let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
        for (along, sight) in &seen {
            let arriving = sight.own + sight.share * mean;
            least = least.min(arriving);
            most = most.max(arriving);
            for (term, value) in terms[1..].iter_mut().zip(harmonics(*along)) {
                *term += (arriving - mean) * value / count;
            }
        }
        terms[0] = mean;
        for (term, weight) in terms[1..].iter_mut().zip(WEIGHTS) {
            *term *= weight;
        }
        Self {
            terms,
            least,
            most,
            free: count_f64(inside) < 0.25 * count,
        }
    }

    fn mean(&self, shape: &[f64; 8]) -> f64 {
        let sum = self.terms[1..].iter().zip(shape).map(|(t, s)| t * s);
        (self.terms[0] + sum.sum::<f64>())
            .max(self.least)
            .min(self.most)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn black(own: f64) -> Sight {
        Sight {
            own,
            share: 0.0,
            inside: false,
        }
    }

    // Source: ∫ L cosθ dω / π by hand. Sky 1 and ground 0: a level surface sees 1, an upright one
    // 1/2. L = 1 + d·x: a surface facing x sees 1 + 2/3.
    #[test]
    fn hemispherical_means_are_the_integrals() {
        let (low, high) = (DVec3::ZERO, DVec3::splat(2.0));
        let sky = Lattice::gather(low, high, |_, d| black(if d.z > 0.0 { 1.0 } else { 0.0 }));
        let at = DVec3::splat(1.0);
        assert!((sky.mean(at, DVec3::Z) - 1.0).abs() < 0.02);
        assert!((sky.mean(at, DVec3::X) - 0.5).abs() < 0.02);
        assert!(sky.mean(at, DVec3::NEG_Z).abs() < 0.02);
        let slope = Lattice::gather(low, high, |_, d| black(1.0 + d.x));
        assert!((slope.mean(at, DVec3::X) - 5.0 / 3.0).abs() < 0.01);
        assert!((slope.mean(at, DVec3::Y) - 1.0).abs() < 0.01);
    }

    // Source: an integrating sphere, by hand: own 0.3 everywhere and 0.4 reflected gives 0.3/0.6.
    #[test]
    fn reflections_of_reflections_are_summed_up() {
        let half = |_, _| Sight {
            own: 0.3,
            share: 0.4,
            inside: false,
        };
        let room = Lattice::gather(DVec3::ZERO, DVec3::ONE, half);
        assert!((room.mean(DVec3::ONE, DVec3::Y) - 0.5).abs() < 1e-12);
    }
}
