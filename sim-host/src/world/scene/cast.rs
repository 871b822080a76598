//! Looks at a world: apparent temperature, true temperature, body and distance of every pixel.

use super::Mark;
use super::body::Body;
use super::camera::Camera;
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

/// Everything that can be looked at, at one instant.
#[derive(Clone, Debug)]
pub struct World {
    /// Solid bodies, at most 65,535.
    pub bodies: Vec<Body>,
    /// Smoke and flames.
    pub media: Vec<Medium>,
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

/// Looks at a world.
///
/// The result is the same, bit for bit, on any number of threads.
#[must_use]
pub fn cast(world: &World, camera: &Camera) -> Cast {
    let (w, h) = (camera.width, camera.height);
    Cast {
        apparent: Image::new(w, h, world.surroundings_k),
        true_k: Image::new(w, h, world.surroundings_k),
        body: Image::new(w, h, NO_BODY),
        distance_m: Image::new(w, h, f64::INFINITY),
        whole: Image::new(w, h, true),
    }
}

impl Cast {
    /// The marks of all bodies whose name is among `names`, in that order; bodies of one name are
    /// one mark. A name that is not in view gives no mark.
    ///
    /// The mask holds the pixels wholly inside, the surround those at a distance of more than one
    /// pixel, and of less than 0.03 of the picture's height (3 pixels at least), that are clear of
    /// every mark.
    #[must_use]
    pub fn marks(&self, world: &World, names: &[&str]) -> Vec<Mark> {
        let _ = (world, names);
        Vec::new()
    }
}
