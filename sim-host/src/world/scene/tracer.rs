//! Radiance along a ray: what the surface that it meets emits and reflects, seen through the media.

use glam::{DAffine3, DVec3};

use super::along::Media;
use super::body::{Body, Skin, Surface};
use super::bvh::{Hierarchy, Ray, Solid};
use super::cast::{Diffuse, World};
use super::lattice::{Lattice, Sight};
use super::parts;
use crate::world::radiometry::RadianceTable;

/// Mirror reflections that are followed one after another.
const BOUNCES: u32 = 2;
/// Steps away from a surface before a reflected ray starts, m.
const CLEAR_M: f64 = 1e-6;

/// Radiance of a black body over a surface.
enum Emission<'a> {
    Uniform { kelvin: f64, radiance: f64 },
    Field(&'a Skin),
}

struct Material<'a> {
    surface: Surface,
    emission: Emission<'a>,
    to_body: DAffine3,
}

impl Material<'_> {
    /// Kelvin and black-body radiance at a point of the world.
    fn at(&self, point: DVec3, table: &RadianceTable) -> (f64, f64) {
        match self.emission {
            Emission::Uniform { kelvin, radiance } => (kelvin, radiance),
            Emission::Field(skin) => {
                let kelvin = skin.kelvin(self.to_body.transform_point3(point));
                (kelvin, table.radiance(kelvin))
            }
        }
    }
}

/// A world made ready for rays.
pub(super) struct Tracer<'a> {
    all: Hierarchy,
    materials: Vec<Material<'a>>,
    media: Media,
    lattice: Option<Lattice>,
    surroundings_k: f64,
    surroundings: f64,
    table: &'a RadianceTable,
}

/// What a ray brings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    pub(super) radiance: f64,
    pub(super) true_k: f64,
    pub(super) distance_m: f64,
    pub(super) body: u16,
}

impl<'a> Tracer<'a> {
    pub(super) fn new(world: &'a World, table: &'a RadianceTable) -> Self {
        let mut solids = Vec::new();
        let mut materials = Vec::new();
        for (index, body) in world.bodies.iter().enumerate() {
            let Ok(index) = u16::try_from(index) else {
                break;
            };
            add(body, index, &mut solids, &mut materials, table);
        }
        let mut tracer = Self {
            all: Hierarchy::new(solids),
            materials,
            media: Media::new(&world.media, table),
            lattice: None,
            surroundings_k: world.surroundings_k,
            surroundings: table.radiance(world.surroundings_k),
            table,
        };
        if world.diffuse == Diffuse::Gathered
            && let Some((low, high)) = tracer.all.bounds()
        {
            let lattice = Lattice::gather(low, high, |from, along| tracer.sight(from, along));
            tracer.lattice = Some(lattice);
        }
        tracer
    }

    /// Solids in the order that [`Self::solid`] counts.
    pub(super) fn solids(&self) -> &[Solid] {
        &self.all.solids
    }

    /// Own radiance and reflected share along a ray, for the lattice.
    fn sight(&self, from: DVec3, along: DVec3) -> Sight {
        let ray = Ray::new(from, along);
        let met = self.all.nearest(&ray, CLEAR_M);
        let veil = self
            .media
            .along(&ray, met.map_or(f64::INFINITY, |(distance, _)| distance));
        let Some((distance, index)) = met else {
            return Sight {
                own: veil.glow + veil.transmission * self.surroundings,
                share: 0.0,
                inside: false,
            };
        };
        let solid = &self.all.solids[index];
        let material = &self.materials[solid.material];
        let point = ray.at(distance);
        let emissivity = material.surface.emissivity.clamp(0.0, 1.0);
        Sight {
            own: veil.glow + veil.transmission * emissivity * material.at(point, self.table).1,
            share: veil.transmission * (1.0 - emissivity),
            inside: solid.primitive.solid() && solid.normal(point).dot(along) > 0.0,
        }
    }

    /// Looks along a ray.
    pub(super) fn look(&self, ray: &Ray) -> Seen {
        self.follow(ray, BOUNCES)
    }

    fn follow(&self, ray: &Ray, bounces: u32) -> Seen {
        let met = self.all.nearest(ray, CLEAR_M);
        let distance_m = met.map_or(f64::INFINITY, |(distance, _)| distance);
        let mut seen = Seen {
            radiance: self.surroundings,
            true_k: self.surroundings_k,
            distance_m,
            body: super::cast::NO_BODY,
        };
        if let Some((distance, index)) = met {
            let solid = &self.all.solids[index];
            let point = ray.at(distance);
            (seen.true_k, seen.radiance) = self.shade(ray, point, solid, bounces);
            seen.body = solid.body;
        }
        let veil = self.media.along(ray, distance_m);
        seen.radiance = veil.glow + veil.transmission * seen.radiance;
        seen
    }

    /// Kelvin, and radiance that leaves a point against the ray.
    fn shade(&self, ray: &Ray, point: DVec3, solid: &Solid, bounces: u32) -> (f64, f64) {
        let material = &self.materials[solid.material];
        let (kelvin, black) = material.at(point, self.table);
        let emissivity = material.surface.emissivity.clamp(0.0, 1.0);
        if emissivity >= 1.0 {
            return (kelvin, black);
        }
        let outward = solid.normal(point);
        let normal = if outward.dot(ray.along) > 0.0 {
            -outward
        } else {
            outward
        };
        let spread = || {
            let lattice = self.lattice.as_ref();
            lattice.map_or(self.surroundings, |lattice| lattice.mean(point, normal))
        };
        let mirror = material.surface.mirror.clamp(0.0, 1.0);
        let mut arriving = 0.0;
        if mirror > 0.0 {
            let mirrored = if bounces == 0 {
                spread()
            } else {
                let along = ray.along - normal * (2.0 * ray.along.dot(normal));
                let back = Ray::new(point + normal * CLEAR_M, along);
                self.follow(&back, bounces - 1).radiance
            };
            arriving += mirror * mirrored;
        }
        if mirror < 1.0 {
            arriving += (1.0 - mirror) * spread();
        }
        (kelvin, emissivity * black + (1.0 - emissivity) * arriving)
    }
}

fn add<'a>(
    body: &'a Body,
    index: u16,
    solids: &mut Vec<Solid>,
    materials: &mut Vec<Material<'a>>,
    table: &RadianceTable,
) {
    let to_world = body.placement.to_world();
    let mut material = |surface: Surface, skin: &'a Skin| {
        materials.push(Material {
            surface,
            emission: match skin {
                Skin::Uniform(kelvin) => Emission::Uniform {
                    kelvin: *kelvin,
                    radiance: table.radiance(*kelvin),
                },
                Skin::Field(_) => Emission::Field(skin),
            },
            to_body: to_world.inverse(),
        });
        materials.len() - 1
    };
    let own = material(body.surface, &body.temperature);
    let details: Vec<_> = body
        .details
        .iter()
        .map(|detail| (detail.region, material(detail.surface, &detail.temperature)))
        .collect();
    for part in parts::take_apart(&body.shape) {
        let detail = details
            .iter()
            .rev()
            .find(|(region, _)| *region == part.region);
        solids.push(Solid::new(
            part.primitive,
            to_world * part.to_body,
            index,
            detail.map_or(own, |(_, material)| *material),
        ));
    }
}
