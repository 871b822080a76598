//! What smoke and flames do to the radiance along a ray.

use std::f64::consts::TAU;

use glam::DVec3;

use super::body::smooth;
use super::bvh::Ray;
use super::medium::{Bounds, Flame, Medium};
use super::noise::{draw, noise};
use crate::world::radiometry::RadianceTable;
use crate::world::rounding::count_f64;

/// Transmission, and the radiance that the media add, along a stretch of a ray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Veil {
    pub(super) transmission: f64,
    pub(super) glow: f64,
}

impl Veil {
    pub(super) const CLEAR: Self = Self {
        transmission: 1.0,
        glow: 0.0,
    };

    fn pass(&mut self, optical_depth: f64, radiance: f64) {
        let through = (-optical_depth).exp();
        self.glow += self.transmission * (1.0 - through) * radiance;
        self.transmission *= through;
    }
}

/// Smoke between two heights in effect: full above (or below) a soft edge.
struct Stratum {
    edge: f64,
    transition: f64,
    above: bool,
    extinction: f64,
    radiance: f64,
    bounds: Option<Bounds>,
}

/// Integral over height of a step that rises smoothly over `width` around 0.
fn risen(height: f64, width: f64) -> f64 {
    if width <= 0.0 {
        return height.max(0.0);
    }
    let t = (height / width + 0.5).clamp(0.0, 1.0);
    width * t * t * t * (1.0 - t / 2.0) + (height - width / 2.0).max(0.0)
}

impl Stratum {
    fn integral(&self, z: f64) -> f64 {
        let risen = risen(z - self.edge, self.transition);
        if self.above { risen } else { z - risen }
    }

    /// Optical depth between two distances along the ray.
    fn depth(&self, ray: &Ray, from: f64, to: f64) -> f64 {
        let (a, b) = (ray.at(from).z, ray.at(to).z);
        let run = if (b - a).abs() > 1e-9 {
            (self.integral(b) - self.integral(a)) / (b - a)
        } else {
            let half = 1e-6;
            let z = (a + b) / 2.0;
            (self.integral(z + half) - self.integral(z - half)) / (2.0 * half)
        };
        self.extinction * run * (to - from)
    }

    fn within(&self, ray: &Ray, far: f64) -> (f64, f64) {
        let Some(bounds) = self.bounds else {
            return (0.0, far);
        };
        let (enter, leave) = ray.through(
            bounds.low.extend(f64::NEG_INFINITY),
            bounds.high.extend(f64::INFINITY),
        );
        (enter.max(0.0), leave.min(far))
    }
}

/// A flame made ready for one instant.
struct Fire {
    flame: Flame,
    radiance: f64,
    low: DVec3,
    high: DVec3,
    tip: f64,
    rise: f64,
}

impl Fire {
    fn new(flame: &Flame, table: &RadianceTable) -> Self {
        let width = flame.width_m.max(0.01);
        let phase = TAU * flame.puffing_hz() * flame.seconds + draw([1, 2, 3], flame.seed) * TAU;
        let gust = noise(
            DVec3::new(0.7 * flame.puffing_hz() * flame.seconds, 0.5, 0.5),
            flame.seed ^ 0x51,
        );
        let tip = flame.height_m.max(0.01) * (1.0 + 0.1 * phase.sin() + 0.12 * gust);
        let reach = 0.95 * width;
        Self {
            flame: *flame,
            radiance: table.radiance(flame.flame_k),
            low: flame.base - DVec3::new(reach, reach, 0.0),
            high: flame.base + DVec3::new(reach, reach, 1.15 * tip),
            tip,
            rise: 2.0 * (0.5 * flame.height_m.max(0.01)).sqrt(),
        }
    }

    /// Extinction at a point, 1/m.
    fn extinction(&self, at: DVec3) -> f64 {
        let p = at - self.flame.base;
        let width = self.flame.width_m.max(0.01);
        let u = p.z / self.tip;
        if !(0.0..1.15).contains(&u) {
            return 0.0;
        }
        let radius = width / 2.0;
        let climb = self.rise * self.flame.seconds;
        // The axis sways more the higher it is.
        let slow = |seed: u64| {
            let place = (p.z - climb) / (1.6 * width);
            noise(DVec3::new(0.5, 0.5, place), self.flame.seed ^ seed)
        };
        let sway = DVec3::new(slow(0xa1), slow(0xb2), 0.0) * (1.1 * radius * u.min(1.0));
        let rho = (p - sway).truncate().length();
        let belly = smooth(u / 0.2) * smooth((0.75 - u) / 0.5);
        let profile = radius * (0.8 + 0.3 * belly) * (1.0 - u / 1.15).powf(0.65);
        if rho > 2.0 * profile + 0.2 * radius {
            return 0.0;
        }
        let grain = |size: f64, seed: u64| {
            let place = (p - DVec3::Z * climb) / (size * width);
            noise(place * DVec3::new(1.0, 1.0, 0.6), self.flame.seed ^ seed)
        };
        let torn = 0.65 * grain(0.45, 0xc3) + 0.35 * grain(0.2, 0xd4);
        let edge = profile * (1.0 + (0.3 + 1.1 * u) * torn);
        let soft = 0.3 * radius;
        let foot = smooth(u / 0.04);
        let body = smooth((edge - rho) / soft);
        self.flame.extinction_per_m * foot * body * (0.75 + 0.35 * torn)
    }
}

/// All media of a world at an instant.
pub(super) struct Media {
    strata: Vec<Stratum>,
    fires: Vec<Fire>,
}

/// Steps through a flame.
const STEPS: usize = 20;
/// Steps where two smokes mix.
const MIXED: usize = 8;

impl Media {
    pub(super) fn new(media: &[Medium], table: &RadianceTable) -> Self {
        let mut made = Self {
            strata: Vec::new(),
            fires: Vec::new(),
        };
        for medium in media {
            match medium {
                Medium::Hot(hot) => made.strata.push(Stratum {
                    edge: hot.interface_m,
                    transition: hot.transition_m,
                    above: true,
                    extinction: hot.extinction_per_m.max(0.0),
                    radiance: table.radiance(hot.gas_k),
                    bounds: hot.bounds,
                }),
                Medium::Floor(floor) => made.strata.push(Stratum {
                    edge: floor.top_m,
                    transition: floor.transition_m,
                    above: false,
                    extinction: floor.extinction_per_m.max(0.0),
                    radiance: table.radiance(floor.gas_k),
                    bounds: floor.bounds,
                }),
                Medium::Flame(flame) => made.fires.push(Fire::new(flame, table)),
            }
        }
        made
    }

    /// From the start of a ray to a distance, which may be infinite.
    pub(super) fn along(&self, ray: &Ray, far: f64) -> Veil {
        let far = far.min(1000.0);
        let mut veil = Veil::CLEAR;
        if self.strata.is_empty() && self.fires.is_empty() {
            return veil;
        }
        let stretches: Vec<_> = self
            .strata
            .iter()
            .map(|stratum| (stratum, stratum.within(ray, far)))
            .filter(|(stratum, (from, to))| to > from && stratum.depth(ray, *from, *to) > 0.0)
            .collect();
        let burning: Vec<_> = self
            .fires
            .iter()
            .map(|fire| {
                let (enter, leave) = ray.through(fire.low, fire.high);
                (fire, (enter.max(0.0), leave.min(far)))
            })
            .filter(|(_, (from, to))| to > from)
            .collect();
        if let ([(stratum, (from, to))], []) = (stretches.as_slice(), burning.as_slice()) {
            veil.pass(stratum.depth(ray, *from, *to), stratum.radiance);
            return veil;
        }
        let mut marks: Vec<f64> = stretches
            .iter()
            .map(|(_, stretch)| *stretch)
            .chain(burning.iter().map(|(_, stretch)| *stretch))
            .flat_map(|(from, to)| [from, to])
            .collect();
        // Where layers begin and end along the ray.
        for (stratum, _) in &stretches {
            for side in [-0.5, 0.5] {
                let z = stratum.edge + side * stratum.transition;
                let t = (z - ray.from.z) / ray.along.z;
                if t > 0.0 && t < far {
                    marks.push(t);
                }
            }
        }
        marks.sort_by(f64::total_cmp);
        for pair in marks.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            if to - from < 1e-9 {
                continue;
            }
            let middle = (from + to) / 2.0;
            let here = |stretch: &(f64, f64)| middle > stretch.0 && middle < stretch.1;
            let smokes = stretches
                .iter()
                .filter(|(s, stretch)| here(stretch) && s.depth(ray, from, to) > 0.0);
            let smokes: Vec<&Stratum> = smokes.map(|(s, _)| *s).collect();
            let fires = burning.iter().filter(|(_, stretch)| here(stretch));
            let fires: Vec<&Fire> = fires.map(|(f, _)| *f).collect();
            let steps = match (smokes.len(), fires.len()) {
                (_, 1..) => STEPS,
                (2.., _) => MIXED,
                _ => 1,
            };
            let step = (to - from) / count_f64(steps);
            for i in 0..steps {
                let a = from + step * count_f64(i);
                let b = a + step;
                let (mut depth, mut weighted) = (0.0, 0.0);
                for smoke in &smokes {
                    let own = smoke.depth(ray, a, b);
                    depth += own;
                    weighted += own * smoke.radiance;
                }
                for fire in &fires {
                    let own = fire.extinction(ray.at((a + b) / 2.0)) * step;
                    depth += own;
                    weighted += own * fire.radiance;
                }
                if depth > 0.0 {
                    veil.pass(depth, weighted / depth);
                }
            }
        }
        veil
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::world::radiometry::Band;
    use crate::world::scene::medium::{FloorLayer, HotLayer};

    fn table() -> RadianceTable {
        RadianceTable::new(Band::LONG_WAVE)
    }

    // Source: ∫ of 3t² − 2t³ over a transition of 1 m is 1/2; beyond it the step is 1. By hand.
    #[test]
    fn a_soft_step_integrates_to_its_area() {
        assert_eq!(risen(-0.5, 1.0), 0.0);
        assert!((risen(0.0, 1.0) - 3.0 / 32.0).abs() < 1e-15);
        assert!((risen(0.5, 1.0) - 0.5).abs() < 1e-15);
        assert!((risen(2.5, 1.0) - 2.5).abs() < 1e-15);
        assert_eq!(risen(2.5, 0.0), 2.5);
    }

    // Source: Beer and Lambert by hand. Upward from 0 to 3 m through hot smoke above 2 m (0.5/m over
    // 1 m) and floor smoke below 1 m (0.2/m over 1 m): optical depths 0.2, then 0.5.
    #[test]
    fn two_layers_follow_one_another() {
        let table = table();
        let mut hot = HotLayer::new(2.0, 500.0, 0.5);
        hot.transition_m = 0.0;
        let floor = FloorLayer {
            top_m: 1.0,
            transition_m: 0.0,
            gas_k: 290.0,
            extinction_per_m: 0.2,
            bounds: None,
        };
        let media = Media::new(&[Medium::Hot(hot), Medium::Floor(floor)], &table);
        let veil = media.along(&Ray::new(DVec3::ZERO, DVec3::Z), 3.0);
        let (near, far) = ((-0.2_f64).exp(), (-0.5_f64).exp());
        assert!((veil.transmission - near * far).abs() < 1e-12);
        let glow =
            (1.0 - near) * table.radiance(290.0) + near * (1.0 - far) * table.radiance(500.0);
        assert!((veil.glow - glow).abs() < 1e-9);
    }

    // A flame is the same again for the same instant, another for another, and nowhere denser than
    // it is said to be (1.1 of the stated extinction where the noise is greatest).
    #[test]
    fn flames_flicker_the_same_way_twice() {
        let table = table();
        let flame = Flame::new(DVec3::ZERO, 0.5, 1.2);
        let look = |seconds: f64| {
            let media = Media::new(&[Medium::Flame(flame.at_seconds(seconds))], &table);
            (1..10)
                .map(|i| {
                    let z = 0.1 * f64::from(i);
                    media.along(&Ray::new(DVec3::new(0.0, -3.0, z), DVec3::Y), 10.0)
                })
                .collect::<Vec<_>>()
        };
        assert_eq!(look(0.4), look(0.4));
        assert_ne!(look(0.4), look(0.5));
        for veil in look(0.4) {
            assert!(veil.transmission > (-1.1_f64 * 0.95).exp() && veil.transmission < 1.0);
        }
    }
}
