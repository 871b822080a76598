//! What smoke and flames do to the radiance along a ray.

use super::bvh::Ray;
use super::flame::Fire;
use super::medium::{Bounds, Medium};
use crate::world::radiometry::RadianceTable;
use crate::world::rounding::count_f64;

use glam::DVec3;

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
    low: DVec3,
    high: DVec3,
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
        let (enter, leave) = ray.through(self.low, self.high);
        (enter.max(0.0), leave.min(far))
    }
}

/// The box of a layer, open below or above.
fn around(bounds: Option<Bounds>, top: f64) -> (DVec3, DVec3) {
    let sides = |bounds: Bounds| {
        (
            bounds.low.extend(f64::NEG_INFINITY),
            bounds.high.extend(top),
        )
    };
    let everywhere = (
        DVec3::NEG_INFINITY,
        DVec3::new(f64::INFINITY, f64::INFINITY, top),
    );
    bounds.map_or(everywhere, sides)
}

/// All media of a world at an instant.
pub(super) struct Media {
    strata: Vec<Stratum>,
    fires: Vec<Fire>,
}

/// Steps where two smokes mix.
const MIXED: usize = 8;

/// A stretch of a ray that a medium of a number fills.
#[derive(Clone, Copy)]
struct Stretch {
    medium: usize,
    from: f64,
    to: f64,
}

/// Room to work in, kept from ray to ray.
#[derive(Default)]
pub(super) struct Scratch {
    smokes: Vec<Stretch>,
    fires: Vec<Stretch>,
    marks: Vec<f64>,
}

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
                    low: around(hot.bounds, hot.top_m).0,
                    high: around(hot.bounds, hot.top_m).1,
                }),
                Medium::Floor(floor) => made.strata.push(Stratum {
                    edge: floor.top_m,
                    transition: floor.transition_m,
                    above: false,
                    extinction: floor.extinction_per_m.max(0.0),
                    radiance: table.radiance(floor.gas_k),
                    low: around(floor.bounds, f64::INFINITY).0,
                    high: around(floor.bounds, f64::INFINITY).1,
                }),
                Medium::Flame(flame) => made.fires.push(Fire::new(flame, table)),
            }
        }
        made
    }

    /// From the start of a ray to a distance, which may be infinite.
    pub(super) fn along(&self, ray: &Ray, far: f64, scratch: &mut Scratch) -> Veil {
        let far = far.min(1000.0);
        let mut veil = Veil::CLEAR;
        let Scratch {
            smokes,
            fires,
            marks,
        } = scratch;
        fires.clear();
        for (medium, fire) in self.fires.iter().enumerate() {
            let (enter, leave) = fire.within(ray);
            let (from, to) = (enter.max(0.0), leave.min(far));
            if to > from {
                fires.push(Stretch { medium, from, to });
            }
        }
        smokes.clear();
        for (medium, stratum) in self.strata.iter().enumerate() {
            let (from, to) = stratum.within(ray, far);
            if to <= from {
                continue;
            }
            let depth = stratum.depth(ray, from, to);
            if depth <= 0.0 {
                continue;
            }
            if self.strata.len() == 1 && fires.is_empty() {
                veil.pass(depth, stratum.radiance);
                return veil;
            }
            smokes.push(Stretch { medium, from, to });
        }
        if fires.is_empty()
            && let [smoke] = smokes.as_slice()
        {
            let stratum = &self.strata[smoke.medium];
            veil.pass(stratum.depth(ray, smoke.from, smoke.to), stratum.radiance);
            return veil;
        }
        marks.clear();
        for stretch in smokes.iter().chain(&*fires) {
            marks.extend([stretch.from, stretch.to]);
        }
        // Where layers begin and end along the ray.
        for smoke in &*smokes {
            let stratum = &self.strata[smoke.medium];
            for side in [-0.5, 0.5] {
                let z = stratum.edge + side * stratum.transition;
                let t = (z - ray.from.z) / ray.along.z;
                if t > smoke.from && t < smoke.to {
                    marks.push(t);
                }
            }
        }
        marks.sort_unstable_by(f64::total_cmp);
        for pair in marks.windows(2) {
            if pair[1] - pair[0] >= 1e-9 {
                self.pass(ray, (pair[0], pair[1]), (smokes, fires), &mut veil);
            }
        }
        veil
    }

    /// A piece of a ray in which no medium begins or ends.
    fn pass(
        &self,
        ray: &Ray,
        (from, to): (f64, f64),
        (smokes, fires): (&[Stretch], &[Stretch]),
        veil: &mut Veil,
    ) {
        let middle = (from + to) / 2.0;
        let here = |stretch: &&Stretch| middle > stretch.from && middle < stretch.to;
        let glowing = smokes
            .iter()
            .filter(here)
            .filter(|smoke| self.strata[smoke.medium].depth(ray, from, to) > 0.0)
            .count();
        let burning = fires.iter().filter(here);
        let steps = burning
            .map(|fire| self.fires[fire.medium].steps(to - from))
            .max()
            .unwrap_or(if glowing > 1 { MIXED } else { 1 });
        let step = (to - from) / count_f64(steps);
        // Steps without flame are taken together, because smoke is integrated in closed form.
        let mut done = from;
        for i in 0..steps {
            let (a, b) = (from + step * count_f64(i), from + step * count_f64(i + 1));
            let (mut burnt, mut shone) = (0.0, 0.0);
            for fire in fires.iter().filter(here) {
                let fire = &self.fires[fire.medium];
                let own = fire.extinction(ray.at((a + b) / 2.0)) * step;
                burnt += own;
                shone += own * fire.radiance;
            }
            let is_last = i + 1 == steps;
            if burnt <= 0.0 && !is_last && glowing <= 1 {
                continue;
            }
            if burnt > 0.0 && done < a {
                self.mix(ray, (done, a), (0.0, 0.0), smokes.iter().filter(here), veil);
                done = a;
            }
            self.mix(
                ray,
                (done, b),
                (burnt, shone),
                smokes.iter().filter(here),
                veil,
            );
            done = b;
        }
    }

    /// A step in which a flame of an optical depth, and of radiance times that, mixes with smokes.
    fn mix<'s>(
        &self,
        ray: &Ray,
        (from, to): (f64, f64),
        (mut depth, mut weighted): (f64, f64),
        smokes: impl Iterator<Item = &'s Stretch>,
        veil: &mut Veil,
    ) {
        for smoke in smokes {
            let stratum = &self.strata[smoke.medium];
            let own = stratum.depth(ray, from, to);
            depth += own;
            weighted += own * stratum.radiance;
        }
        if depth > 0.0 {
            veil.pass(depth, weighted / depth);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::world::radiometry::Band;
    use crate::world::scene::medium::{Flame, FloorLayer, HotLayer};

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
        let upwards = Ray::new(DVec3::ZERO, DVec3::Z);
        let veil = media.along(&upwards, 3.0, &mut Scratch::default());
        let (near, far) = ((-0.2_f64).exp(), (-0.5_f64).exp());
        assert!((veil.transmission - near * far).abs() < 1e-12);
        let glow =
            (1.0 - near) * table.radiance(290.0) + near * (1.0 - far) * table.radiance(500.0);
        assert!((veil.glow - glow).abs() < 1e-9);
    }

    // Source: Beer and Lambert by hand. A layer from 2 m up to a ceiling at 3 m, 0.5/m: upward from
    // 0 m the optical depth is 0.5, from 3.5 m it is 0, downward from 3.5 m to 2.4 m it is 0.3.
    #[test]
    fn a_layer_ends_at_its_upper_side() {
        let table = table();
        let mut hot = HotLayer::new(2.0, 500.0, 0.5);
        (hot.transition_m, hot.top_m) = (0.0, 3.0);
        let media = Media::new(&[Medium::Hot(hot)], &table);
        let through = |from: f64, along: DVec3, far: f64| {
            let ray = Ray::new(DVec3::Z * from, along);
            media.along(&ray, far, &mut Scratch::default()).transmission
        };
        assert!((through(0.0, DVec3::Z, 9.0) - (-0.5_f64).exp()).abs() < 1e-12);
        assert_eq!(through(3.5, DVec3::Z, 9.0), 1.0);
        assert!((through(3.5, DVec3::NEG_Z, 1.1) - (-0.3_f64).exp()).abs() < 1e-12);
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
                    let ray = Ray::new(DVec3::new(0.0, -3.0, z), DVec3::Y);
                    media.along(&ray, 10.0, &mut Scratch::default())
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
