//! Radiance along a ray: what the surface that it meets emits and reflects, seen through the media.

use std::sync::OnceLock;

use glam::DVec3;

use super::along::{Media, Scratch};
use super::body::Skin;
use super::bvh::{Hit, Ray, Solid};
use super::cast::{NO_BODY, World};
use super::geometry::{CLEAR_M, Geometry};
use super::lattice::{Gathered, Sight, Sites};
use crate::world::radiometry::RadianceTable;

/// Mirror reflections that are followed one after another.
const BOUNCES: u32 = 2;

/// Radiance of a black body over a surface.
enum Emission<'a> {
    Uniform { kelvin: f64, radiance: f64 },
    Field(&'a Skin),
}

/// A world at one instant, made ready for rays.
pub(super) struct Tracer<'a> {
    geometry: &'a Geometry,
    /// One a slot of the geometry.
    emissions: Vec<Emission<'a>>,
    media: Media,
    /// What arrives at the points of the lattice, gathered where it is asked for.
    gathered: Vec<Vec<OnceLock<Gathered>>>,
    surroundings_k: f64,
    surroundings: f64,
    table: &'a RadianceTable,
}

/// What a ray brings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    pub(super) radiance: f64,
    /// The part of it that the surface sends, weakened by the media.
    pub(super) surface: f64,
    pub(super) true_k: f64,
    pub(super) distance_m: f64,
    pub(super) body: u16,
}

impl Seen {
    pub(super) const NOTHING: Self = Self {
        radiance: 0.0,
        surface: 0.0,
        true_k: 0.0,
        distance_m: f64::INFINITY,
        body: NO_BODY,
    };
}

impl<'a> Tracer<'a> {
    pub(super) fn new(geometry: &'a Geometry, world: &'a World, table: &'a RadianceTable) -> Self {
        let emission = |skin: &'a Skin| match skin {
            Skin::Uniform(kelvin) => Emission::Uniform {
                kelvin: *kelvin,
                radiance: table.radiance(*kelvin),
            },
            Skin::Field(_) => Emission::Field(skin),
        };
        let skins = geometry.slots.iter().map(|slot| {
            let body = &world.bodies[slot.body];
            let detail = slot.detail.map(|detail| &body.details[detail].temperature);
            emission(detail.unwrap_or(&body.temperature))
        });
        let points = geometry.sites.iter().map(Sites::len);
        Self {
            geometry,
            emissions: skins.collect(),
            media: Media::new(&world.media, table),
            gathered: points
                .map(|points| (0..points).map(|_| OnceLock::new()).collect())
                .collect(),
            surroundings_k: world.surroundings_k,
            surroundings: table.radiance(world.surroundings_k),
            table,
        }
    }

    /// Kelvin and black-body radiance at a point of a solid.
    fn emitted(&self, solid: &Solid, point: DVec3) -> (f64, f64) {
        match self.emissions[solid.material] {
            Emission::Uniform { kelvin, radiance } => (kelvin, radiance),
            Emission::Field(skin) => {
                let slot = &self.geometry.slots[solid.material];
                let kelvin = skin.kelvin(slot.to_body.transform_point3(point));
                (kelvin, self.table.radiance(kelvin))
            }
        }
    }

    /// Own radiance and reflected share along a ray, for the lattice.
    fn sight(&self, ray: &Ray, hit: Hit, scratch: &mut Scratch) -> Sight {
        let veil = self.media.along(ray, hit.distance, scratch);
        let Some(index) = hit.solid() else {
            return Sight {
                own: veil.glow + veil.transmission * self.surroundings,
                share: 0.0,
            };
        };
        let solid = &self.geometry.all.solids[index];
        let surface = self.geometry.slots[solid.material].surface;
        let emissivity = surface.emissivity.clamp(0.0, 1.0);
        let black = self.emitted(solid, ray.at(hit.distance)).1;
        Sight {
            own: veil.glow + veil.transmission * emissivity * black,
            share: veil.transmission * (1.0 - emissivity),
        }
    }

    /// Radiance that reaches a point of a matt surface on average.
    fn spread(&self, point: DVec3, normal: DVec3) -> f64 {
        let number = self.geometry.gathering(point, normal);
        let Some(sites) = self.geometry.sites.get(number) else {
            return self.surroundings;
        };
        let gathered = &self.gathered[number];
        sites.mean(point, normal, |index| {
            gathered[index].get_or_init(|| {
                let mut scratch = Scratch::default();
                sites.gather(index, |from, along, hit| {
                    self.sight(&Ray::new(from, along), hit, &mut scratch)
                })
            })
        })
    }

    /// Looks along a ray that meets `hit` first.
    pub(super) fn look(&self, ray: &Ray, hit: Hit, scratch: &mut Scratch) -> Seen {
        self.follow(ray, hit, BOUNCES, scratch)
    }

    fn follow(&self, ray: &Ray, hit: Hit, bounces: u32, scratch: &mut Scratch) -> Seen {
        let mut seen = Seen {
            radiance: 0.0,
            surface: self.surroundings,
            true_k: self.surroundings_k,
            distance_m: hit.distance,
            body: NO_BODY,
        };
        if let Some(index) = hit.solid() {
            let solid = &self.geometry.all.solids[index];
            let point = ray.at(hit.distance);
            (seen.true_k, seen.surface) = self.shade(ray, point, solid, bounces, scratch);
            seen.body = solid.body;
        }
        let veil = self.media.along(ray, hit.distance, scratch);
        seen.surface *= veil.transmission;
        seen.radiance = veil.glow + seen.surface;
        seen
    }

    /// Kelvin, and radiance that leaves a point against the ray.
    fn shade(
        &self,
        ray: &Ray,
        point: DVec3,
        solid: &Solid,
        bounces: u32,
        scratch: &mut Scratch,
    ) -> (f64, f64) {
        let surface = self.geometry.slots[solid.material].surface;
        let (kelvin, black) = self.emitted(solid, point);
        let emissivity = surface.emissivity.clamp(0.0, 1.0);
        if emissivity >= 1.0 {
            return (kelvin, black);
        }
        let outward = solid.normal(point);
        let normal = if outward.dot(ray.along) > 0.0 {
            -outward
        } else {
            outward
        };
        let mirror = surface.mirror.clamp(0.0, 1.0);
        let mut arriving = 0.0;
        if mirror > 0.0 {
            let mirrored = if bounces == 0 {
                self.spread(point, normal)
            } else {
                let along = ray.along - normal * (2.0 * ray.along.dot(normal));
                let back = Ray::new(point + normal * CLEAR_M, along);
                let hit = self.geometry.nearest(&back);
                self.follow(&back, hit, bounces - 1, scratch).radiance
            };
            arriving += mirror * mirrored;
        }
        if mirror < 1.0 {
            arriving += (1.0 - mirror) * self.spread(point, normal);
        }
        (kelvin, emissivity * black + (1.0 - emissivity) * arriving)
    }
}
