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
use std::sync::LazyLock;

use glam::DVec3;
use rayon::prelude::*;

use super::bvh::Hit;
use crate::world::rounding::{count_f64, floor_index};

const DIRECTIONS: usize = 128;
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
}

/// What arrives at a point.
#[derive(Clone, Debug)]
pub(super) struct Gathered {
    /// Mean, then eight coefficients of the cosine-weighted mean.
    terms: [f64; 9],
    least: f64,
    most: f64,
}

/// A point, and what its rays meet first.
struct Site {
    hits: Vec<Hit>,
    free: bool,
}

/// The points of the lattice, which only geometry decides.
pub(super) struct Sites {
    low: DVec3,
    step: DVec3,
    counts: [usize; 3],
    sites: Vec<Site>,
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

/// A golden-angle spiral over the sphere, and the harmonics of its directions.
static SPIRAL: LazyLock<Vec<(DVec3, [f64; 8])>> = LazyLock::new(|| {
    let direction = |i: usize| {
        let i = count_f64(i);
        let z = 1.0 - (2.0 * i + 1.0) / count_f64(DIRECTIONS);
        let r = (1.0 - z * z).sqrt();
        let angle = i * PI * (3.0 - 5.0_f64.sqrt());
        DVec3::new(r * angle.cos(), r * angle.sin(), z)
    };
    (0..DIRECTIONS)
        .map(direction)
        .map(|along| (along, harmonics(along)))
        .collect()
});

impl Sites {
    /// Points in the box between two corners, with a function from a point and a direction to what is
    /// met and whether it is met from its inside.
    pub(super) fn new(
        low: DVec3,
        high: DVec3,
        meet: impl Fn(DVec3, DVec3) -> (Hit, bool) + Sync,
    ) -> Self {
        let size = high - low;
        let counts = size
            .to_array()
            .map(|s| floor_index(s / SPACING_M + 0.5, MOST - 1).max(1) + 1);
        // Half a step away from the walls.
        let cells = DVec3::from_array(counts.map(count_f64));
        let step = size / cells;
        let mut made = Self {
            low: low + step / 2.0,
            step,
            counts,
            sites: Vec::new(),
        };
        let site = |i: usize| {
            let at = made.at(i);
            let met = SPIRAL.iter().map(|(along, _)| meet(at, *along));
            let (hits, inside): (Vec<Hit>, Vec<bool>) = met.unzip();
            let inside = inside.iter().filter(|inside| **inside).count();
            Site {
                hits,
                free: count_f64(inside) < 0.25 * count_f64(DIRECTIONS),
            }
        };
        let mut sites: Vec<Site> = (0..counts.iter().product::<usize>())
            .into_par_iter()
            .map(site)
            .collect();
        if !sites.iter().any(|site| site.free) {
            for site in &mut sites {
                site.free = true;
            }
        }
        made.sites = sites;
        made
    }

    /// How many points there are.
    pub(super) fn len(&self) -> usize {
        self.sites.len()
    }

    /// Where a point is.
    fn at(&self, index: usize) -> DVec3 {
        let [columns, rows, _] = self.counts;
        let place = [
            index % columns,
            index / columns % rows,
            index / (columns * rows),
        ];
        self.low + DVec3::from_array(place.map(count_f64)) * self.step
    }

    /// Gathers at a point, with a function from the point, a direction and what is met there to what
    /// is seen.
    pub(super) fn gather(
        &self,
        index: usize,
        mut sight: impl FnMut(DVec3, DVec3, Hit) -> Sight,
    ) -> Gathered {
        let at = self.at(index);
        let hits = SPIRAL.iter().zip(&self.sites[index].hits);
        let seen: Vec<Sight> = hits
            .map(|((along, _), hit)| sight(at, *along, *hit))
            .collect();
        let count = count_f64(DIRECTIONS);
        let own: f64 = seen.iter().map(|s| s.own).sum::<f64>() / count;
        let share: f64 = seen.iter().map(|s| s.share).sum::<f64>() / count;
        let mean = own / (1.0 - share).max(1e-6);
        let mut terms = [0.0; 9];
        let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
        for ((_, shape), sight) in SPIRAL.iter().zip(&seen) {
            let arriving = sight.own + sight.share * mean;
            least = least.min(arriving);
            most = most.max(arriving);
            for (term, value) in terms[1..].iter_mut().zip(shape) {
                *term += (arriving - mean) * value / count;
            }
        }
        terms[0] = mean;
        for (term, weight) in terms[1..].iter_mut().zip(WEIGHTS) {
            *term *= weight;
        }
        Gathered { terms, least, most }
    }

    /// Cosine-weighted mean radiance over the hemisphere around `normal` at a point, with a function
    /// that gives what arrives at a point of the lattice.
    pub(super) fn mean<'g>(
        &self,
        at: DVec3,
        normal: DVec3,
        gathered: impl Fn(usize) -> &'g Gathered,
    ) -> f64 {
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
            if !self.sites[index].free {
                continue;
            }
            // A point behind the surface sees another side.
            let facing = (spot - at).normalize_or_zero().dot(normal);
            let front = (facing + 1.0) / 2.0;
            weight += share * (front * front + 0.02);
            sum += weight * gathered(index).mean(&shape);
            whole += weight;
        }
        if whole > 0.0 {
            sum / whole
        } else {
            let free = (0..self.len()).filter(|index| self.sites[*index].free);
            let (total, count) = free.fold((0.0, 0.0), |(total, count), index| {
                (total + gathered(index).mean(&shape), count + 1.0)
            });
            total / count
        }
    }
}

impl Gathered {
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

    /// The mean at a point of a box of 2 m, where a direction brings what a function says.
    fn mean(sight: impl Fn(DVec3) -> Sight, normal: DVec3) -> f64 {
        let sites = Sites::new(DVec3::ZERO, DVec3::splat(2.0), |_, _| (Hit::NONE, false));
        let gathered: Vec<Gathered> = (0..sites.len())
            .map(|index| sites.gather(index, |_, along, _| sight(along)))
            .collect();
        sites.mean(DVec3::ONE, normal, |index| &gathered[index])
    }

    fn black(own: f64) -> Sight {
        Sight { own, share: 0.0 }
    }

    // Source: ∫ L cosθ dω / π by hand. Sky 1 and ground 0: a level surface sees 1, an upright one
    // 1/2. L = 1 + d·x: a surface facing x sees 1 + 2/3.
    #[test]
    fn hemispherical_means_are_the_integrals() {
        let sky = |d: DVec3| black(if d.z > 0.0 { 1.0 } else { 0.0 });
        assert!((mean(sky, DVec3::Z) - 1.0).abs() < 0.02);
        assert!((mean(sky, DVec3::X) - 0.5).abs() < 0.02);
        assert!(mean(sky, DVec3::NEG_Z).abs() < 0.02);
        let slope = |d: DVec3| black(1.0 + d.x);
        assert!((mean(slope, DVec3::X) - 5.0 / 3.0).abs() < 0.01);
        assert!((mean(slope, DVec3::Y) - 1.0).abs() < 0.01);
    }

    // Source: an integrating sphere, by hand: own 0.3 everywhere and 0.4 reflected gives 0.3/0.6.
    #[test]
    fn reflections_of_reflections_are_summed_up() {
        let half = |_| Sight {
            own: 0.3,
            share: 0.4,
        };
        assert!((mean(half, DVec3::Y) - 0.5).abs() < 1e-12);
    }
}
