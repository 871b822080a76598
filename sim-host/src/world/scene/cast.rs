//! Looks at a world: apparent temperature, true temperature, body and distance of every pixel.

use glam::DVec3;

use super::body::Body;
use super::camera::Camera;
use super::caster::Caster;
use super::medium::Medium;
use crate::world::image::Image;

/// In [`Cast::body`]: nothing but the surroundings.
pub const NO_BODY: u16 = u16::MAX;

/// How the evenly spread part of the reflection is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Diffuse {
    /// From a lattice of points in the room, at each of which the radiance from all sides is
    /// gathered.
    Gathered,
    /// As if black surroundings of [`World::surroundings_k`] were all around every surface.
    Uniform,
}

/// A box room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Corner of least x, y and z, m.
    pub low: DVec3,
    /// Corner of greatest x, y and z, m.
    pub high: DVec3,
}

/// Everything that can be looked at, at one instant.
#[derive(Clone, Debug)]
pub struct World {
    /// Solid bodies, at most 65,535.
    pub bodies: Vec<Body>,
    /// Smoke and flames.
    pub media: Vec<Medium>,
    /// Rooms: what matt surfaces inside one reflect is gathered inside it. What lies in none, or in the
    /// first of several, is gathered in the box around all bodies, or in that one.
    pub rooms: Vec<Room>,
    /// Temperature in kelvin of what a ray meets that misses every body: black, infinitely far.
    pub surroundings_k: f64,
    /// How evenly spread reflection is found.
    pub diffuse: Diffuse,
}

impl World {
    /// An empty world in black surroundings of a temperature in kelvin.
    #[must_use]
    pub fn new(surroundings_k: f64) -> Self {
        Self {
            bodies: Vec::new(),
            media: Vec::new(),
            rooms: Vec::new(),
            surroundings_k,
            diffuse: Diffuse::Gathered,
        }
    }
}

/// What a camera saw, pixel by pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Cast {
    /// Apparent temperature, kelvin: of the mean radiance over the pixel.
    pub apparent: Image<f64>,
    /// True temperature in kelvin of the surface in the middle of the pixel; that of the
    /// surroundings where there is none.
    pub true_k: Image<f64>,
    /// Index into [`World::bodies`] of the body in the middle of the pixel, or [`NO_BODY`].
    pub body: Image<u16>,
    /// Distance in m along the ray to that surface; infinite where there is none.
    pub distance_m: Image<f64>,
    /// Whether every ray of the pixel met the body in its middle.
    pub whole: Image<bool>,
}

/// Looks at a world in the band of 8 to 14 µm.
///
/// The result is the same, bit for bit, on any number of threads. `docs/scenes.md` states the model.
/// What is looked at again and again is seen quicker with a [`Caster`].
///
/// ```
/// use glam::DVec3;
/// use glowsill::world::scene::body::{Body, Placement, Surface};
/// use glowsill::world::scene::camera::Camera;
/// use glowsill::world::scene::cast::{World, cast};
/// use glowsill::world::scene::shape::Shape;
///
/// let mut world = World::new(293.15);
/// let ball = Shape::Sphere { radius_m: 0.5 };
/// let place = Placement::at(0.0, 4.0, 1.0);
/// world.bodies.push(Body::new("ball", ball, place, Surface::BLACK, 350.0));
/// let seen = cast(&world, &Camera::new(DVec3::Z, DVec3::new(0.0, 4.0, 1.0)));
/// assert!((seen.apparent.get(160, 120).unwrap() - 350.0).abs() < 0.001);
/// assert!((seen.distance_m.get(160, 120).unwrap() - 3.5).abs() < 0.001);
/// ```
#[must_use]
pub fn cast(world: &World, camera: &Camera) -> Cast {
    Caster::new().cast(world, camera)
}
