//! A flame at one instant: where it is along a ray, and how dense.

use std::f64::consts::TAU;

use glam::DVec3;

use super::body::smooth;
use super::bvh::Ray;
use super::medium::Flame;
use super::noise::{NoiseBox, draw, noise};
use crate::world::radiometry::RadianceTable;
use crate::world::rounding::{count_f64, floor_index};

/// Heights at which what depends on height alone is computed; between them it is straight.
const HEIGHTS: usize = 128;
/// The flame ends at this multiple of its tip.
const END: f64 = 1.15;
/// Half of the widest that a flame reaches, in widths of its base.
const REACH: f64 = 0.95;
/// Step through a flame, in widths of its base: half of the smallest grain.
const STEP: f64 = 0.1;
/// What rounding may add to a bound of the outline, m.
const SPARE_M: f64 = 1e-9;
/// Most steps along a ray.
const MOST_STEPS: usize = 40;

/// What a height has for all points of it.
#[derive(Clone, Copy)]
struct Level {
    sway: [f64; 2],
    profile: f64,
    foot: f64,
    ragged: f64,
}

/// A flame made ready for one instant.
pub(super) struct Fire {
    pub(super) radiance: f64,
    base: DVec3,
    width: f64,
    end: f64,
    climb: f64,
    extinction: f64,
    levels: Vec<Level>,
    coarse: NoiseBox,
    fine: NoiseBox,
}

/// Sizes of the grain, in widths of the base, and how much it is drawn out upwards.
const COARSE: f64 = 0.45;
const FINE: f64 = 0.2;
const DRAWN_OUT: DVec3 = DVec3::new(1.0, 1.0, 0.6);

impl Fire {
    pub(super) fn new(flame: &Flame, table: &RadianceTable) -> Self {
        let width = flame.width_m.max(0.01);
        let phase = TAU * flame.puffing_hz() * flame.seconds + draw([1, 2, 3], flame.seed) * TAU;
        let gust = noise(
            DVec3::new(0.7 * flame.puffing_hz() * flame.seconds, 0.5, 0.5),
            flame.seed ^ 0x51,
        );
        let tip = flame.height_m.max(0.01) * (1.0 + 0.1 * phase.sin() + 0.12 * gust);
        let rise = 2.0 * (0.5 * flame.height_m.max(0.01)).sqrt();
        let climb = rise * flame.seconds;
        let end = END * tip;
        let radius = width / 2.0;
        let level = |i: usize| {
            let u = END * count_f64(i) / count_f64(HEIGHTS);
            // The axis sways more the higher it is.
            let slow = |seed: u64| {
                let place = (u * tip - climb) / (1.6 * width);
                let sway = noise(DVec3::new(0.5, 0.5, place), flame.seed ^ seed);
                sway * 1.1 * radius * u.min(1.0)
            };
            let belly = smooth(u / 0.2) * smooth((0.75 - u) / 0.5);
            Level {
                sway: [slow(0xa1), slow(0xb2)],
                profile: radius * (0.8 + 0.3 * belly) * (1.0 - u / END).max(0.0).powf(0.65),
                foot: smooth(u / 0.04),
                ragged: 0.3 + 1.1 * u,
            }
        };
        let grain = |size: f64, seed: u64| {
            let place = |p: DVec3| (p - DVec3::Z * climb) / (size * width) * DRAWN_OUT;
            let side = REACH * width;
            NoiseBox::new(
                place(DVec3::new(-side, -side, 0.0)),
                place(DVec3::new(side, side, end)),
                flame.seed ^ seed,
            )
        };
        Self {
            radiance: table.radiance(flame.flame_k),
            base: flame.base,
            width,
            end,
            climb,
            extinction: flame.extinction_per_m,
            levels: (0..=HEIGHTS).map(level).collect(),
            coarse: grain(COARSE, 0xc3),
            fine: grain(FINE, 0xd4),
        }
    }

    /// From where to where a ray is in the upright cylinder that holds the flame.
    pub(super) fn within(&self, ray: &Ray) -> (f64, f64) {
        const NOWHERE: (f64, f64) = (0.0, -1.0);
        let reach = REACH * self.width;
        let (low, high) = (
            self.base - DVec3::new(reach, reach, 0.0),
            self.base + DVec3::new(reach, reach, self.end),
        );
        let (enter, leave) = ray.through(low, high);
        if enter >= leave {
            return NOWHERE;
        }
        let (o, d) = ((ray.from - self.base).truncate(), ray.along.truncate());
        let (a, b) = (d.length_squared(), o.dot(d));
        let c = o.length_squared() - reach * reach;
        if a < 1e-12 {
            return if c < 0.0 { (enter, leave) } else { NOWHERE };
        }
        let root = b * b - a * c;
        if root <= 0.0 {
            return NOWHERE;
        }
        let root = root.sqrt();
        (enter.max((-b - root) / a), leave.min((-b + root) / a))
    }

    /// Steps for a length of ray inside the flame.
    pub(super) fn steps(&self, length_m: f64) -> usize {
        floor_index(length_m / (STEP * self.width), MOST_STEPS - 1) + 1
    }

    /// Extinction at a point, 1/m.
    pub(super) fn extinction(&self, at: DVec3) -> f64 {
        let p = at - self.base;
        let place = p.z / self.end * count_f64(HEIGHTS);
        if !(0.0..count_f64(HEIGHTS)).contains(&place) {
            return 0.0;
        }
        let i = floor_index(place, HEIGHTS - 1);
        let (a, b) = (&self.levels[i], &self.levels[i + 1]);
        let share = place - count_f64(i);
        let mix = |from: f64, to: f64| from + (to - from) * share;
        let (x, y) = (
            p.x - mix(a.sway[0], b.sway[0]),
            p.y - mix(a.sway[1], b.sway[1]),
        );
        let profile = mix(a.profile, b.profile);
        let radius = self.width / 2.0;
        let ragged = mix(a.ragged, b.ragged);
        // Noise is 1 at most: beyond this even the widest tongue has ended.
        let limit = (2.0 * profile + 0.2 * radius).min(profile * (1.0 + ragged) + SPARE_M);
        let off = x * x + y * y;
        if off > limit * limit {
            return 0.0;
        }
        let rho = off.sqrt();
        let risen = DVec3::new(p.x, p.y, p.z - self.climb);
        let grain = |size: f64, table: &NoiseBox| table.at(risen / (size * self.width) * DRAWN_OUT);
        let coarse = 0.65 * grain(COARSE, &self.coarse);
        if rho > profile * (1.0 + ragged * (coarse + 0.35)) + SPARE_M {
            return 0.0;
        }
        let torn = coarse + 0.35 * grain(FINE, &self.fine);
        let edge = profile * (1.0 + ragged * torn);
        let soft = 0.3 * radius;
        let body = smooth((edge - rho) / soft);
        self.extinction * mix(a.foot, b.foot) * body * (0.75 + 0.35 * torn)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::world::radiometry::Band;

    // Source: geometry by hand. A flame of 1 m at the origin reaches 0.95 m from its axis: a level ray
    // at y = 0 is inside from x = -0.95 to 0.95, one at y = 0.57 (3/5 of 0.95) for 4/5 of it, and one
    // at y = 0.96 nowhere.
    #[test]
    fn a_ray_is_inside_the_cylinder_of_a_flame() {
        let table = RadianceTable::new(Band::LONG_WAVE);
        let fire = Fire::new(&Flame::new(DVec3::ZERO, 1.0, 2.0), &table);
        let within = |y: f64| {
            let ray = Ray::new(DVec3::new(-5.0, y, 0.5), DVec3::X);
            let (enter, leave) = fire.within(&ray);
            leave - enter
        };
        assert!((within(0.0) - 1.9).abs() < 1e-12);
        assert!((within(0.57) - 1.52).abs() < 1e-12);
        assert!(within(0.96) < 0.0);
        let up = Ray::new(DVec3::new(0.2, 0.2, -1.0), DVec3::Z);
        let (enter, leave) = fire.within(&up);
        assert!((enter - 1.0).abs() < 1e-12 && leave > 2.0);
        assert_eq!(
            (fire.steps(0.05), fire.steps(0.95), fire.steps(99.0)),
            (1, 10, 40)
        );
    }
}
