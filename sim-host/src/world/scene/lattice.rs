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
    /// The cosine-weighted mean of a surface that looks along x, y, z, and against them.
    axes: [f64; 6],
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
    /// Reciprocal of the step.
    per_step: DVec3,
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
            per_step: step.recip(),
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
        let mut gathered = Gathered {
            terms,
            least,
            most,
            axes: [0.0; 6],
        };
        gathered.axes = AXES.map(|normal| {
            let mut one = Blend::default();
            one.add(&gathered, 1.0);
            one.mean(&harmonics(normal))
        });
        gathered
    }

    /// Cosine-weighted mean radiance over the hemisphere around `normal` at a point, with a function
    /// that gives what arrives at a point of the lattice.
    ///
    /// Between the points it is interpolated, and points behind the surface count little: they see
    /// another side.
    pub(super) fn mean<'g>(
        &self,
        at: DVec3,
        normal: DVec3,
        gathered: impl Fn(usize) -> &'g Gathered,
    ) -> f64 {
        let place = (at - self.low) * self.per_step;
        let mut base = [0; 3];
        let mut part = [0.0; 3];
        for axis in 0..3 {
            let last = self.counts[axis] - 1;
            let inside = place[axis].clamp(0.0, count_f64(last));
            base[axis] = floor_index(inside, last.saturating_sub(1));
            part[axis] = inside - count_f64(base[axis]);
        }
        let [columns, rows, _] = self.counts;
        let first = base[0] + columns * (base[1] + rows * base[2]);
        let strides = [1, columns, columns * rows];
        // How far before the surface the first corner lies, in depths at which a point counts in full.
        let corner = self.low + DVec3::from_array(base.map(count_f64)) * self.step;
        let before = (corner - at).dot(normal) / (2.0 * SEES_M) + 0.5;
        let on = self.step * normal / (2.0 * SEES_M);
        let axis = axis_of(normal);
        let (mut sum, mut flat, mut weights) = (Blend::default(), 0.0, 0.0);
        for far in 0..8_usize {
            let far = [far & 1, far >> 1 & 1, far >> 2 & 1];
            let (mut share, mut front, mut index) = (1.0, before, first);
            for axis in 0..3 {
                if far[axis] == 1 {
                    share *= part[axis];
                    front += on[axis];
                    index += strides[axis];
                } else {
                    share *= 1.0 - part[axis];
                }
            }
            if self.sites[index].free {
                let front = front.clamp(0.0, 1.0);
                let weight = 1e-9 + share * (front * front + 0.02);
                if let Some(axis) = axis {
                    flat += weight * gathered(index).axes[axis];
                    weights += weight;
                } else {
                    sum.add(gathered(index), weight);
                }
            }
        }
        if weights > 0.0 {
            return flat / weights;
        }
        if sum.weight <= 0.0 {
            for index in (0..self.len()).filter(|index| self.sites[*index].free) {
                sum.add(gathered(index), 1.0);
            }
        }
        sum.mean(&harmonics(normal))
    }
}

const AXES: [DVec3; 6] = [
    DVec3::X,
    DVec3::Y,
    DVec3::Z,
    DVec3::NEG_X,
    DVec3::NEG_Y,
    DVec3::NEG_Z,
];

/// Which of the axes a normal is, as most are in a building.
fn axis_of(normal: DVec3) -> Option<usize> {
    const NEARLY: f64 = 1.0 - 1e-12;
    let along = (0..3).find(|axis| normal[*axis].abs() > NEARLY)?;
    Some(if normal[along] > 0.0 {
        along
    } else {
        along + 3
    })
}

/// Distance before a surface from which a point of the lattice counts in full for it, m.
const SEES_M: f64 = 0.35;

/// A weighted sum of what arrives at points.
#[derive(Default)]
struct Blend {
    terms: [f64; 9],
    least: f64,
    most: f64,
    weight: f64,
}

impl Blend {
    fn add(&mut self, point: &Gathered, weight: f64) {
        for (sum, term) in self.terms.iter_mut().zip(&point.terms) {
            *sum += weight * term;
        }
        self.least += weight * point.least;
        self.most += weight * point.most;
        self.weight += weight;
    }

    fn mean(&self, shape: &[f64; 8]) -> f64 {
        let bent = self.terms[1..].iter().zip(shape).map(|(t, s)| t * s);
        (self.terms[0] + bent.sum::<f64>())
            .max(self.least)
            .min(self.most)
            / self.weight
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
        // Hardly turned from an axis, so that the harmonics are summed anew.
        let turned = DVec3::new(1.0, 1e-4, 0.0).normalize();
        assert!((mean(slope, turned) - mean(slope, DVec3::X)).abs() < 1e-3);
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
