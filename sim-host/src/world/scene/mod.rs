//! What can be looked at: a scene gives, frame after frame, the apparent temperature of every pixel
//! and the marks whose visibility is followed.
//!
//! Scenes in three dimensions are put together from [`body::Body`] and [`medium::Medium`] in a
//! [`cast::World`], and looked at with a [`camera::Camera`] by [`cast::cast`]. The frame of
//! reference is right-handed, in metres: x to the right, y into the depth, z up, the floor at
//! z = 0. `docs/scenes.md` states the radiometric model and its limits.
//!
//! | module | takes → gives |
//! | --- | --- |
//! | [`shape`] | sizes → boxes, cylinders, walls with openings, persons, ladders, racks |
//! | [`body`] | a shape, its place, its surface and its temperature |
//! | [`medium`] | smoke layers and flames that absorb and glow along the ray |
//! | [`camera`] | position, aim, field of view, pixels, samples |
//! | [`cast`] | all of it → apparent temperature, true temperature, body and distance per pixel |
//! | [`caster`] | the same for many pictures, keeping what stays |
//!
//! Simulation and teaching only; not a certification. Apparent is not true temperature.

mod along;
pub mod body;
mod bvh;
pub mod camera;
pub mod cast;
pub mod caster;
mod flame;
mod geometry;
mod lattice;
mod lens;
mod marks;
pub mod medium;
mod noise;
mod parts;
mod person;
mod pose;
mod primitive;
pub mod shape;
mod tracer;

use super::image::Image;

/// Something in a scene whose visibility is followed.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it is, such as `person` or `ladder`.
    pub name: String,
    /// Pixels that lie wholly inside, row-major.
    pub mask: Vec<bool>,
    /// Pixels of the background in a ring around it, row-major.
    pub surround: Vec<bool>,
}

/// A scene at one frame.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Apparent temperature of every pixel, kelvin.
    pub apparent: Image<f64>,
    /// The marks that are in view.
    pub marks: Vec<Mark>,
}

/// Something that can be looked at, frame after frame.
///
/// A scene implements [`Scene::view`]; what it can give cheaper it overrides.
pub trait Scene: Send + Sync {
    /// The scene at a frame.
    fn view(&self, frame: u32) -> View;

    /// Apparent temperature of every pixel at a frame, in kelvin.
    fn image(&self, frame: u32) -> Image<f64> {
        self.view(frame).apparent
    }

    /// Seconds from one frame to the next.
    fn frame_seconds(&self) -> f64 {
        1.0 / 30.0
    }

    /// Vertical field of view in degrees, where the scene is seen through a camera.
    fn view_degrees(&self) -> Option<f64> {
        None
    }

    /// What an imager cannot see here, one sentence each, such as the room behind a pane of glass.
    fn unseen(&self) -> Vec<String> {
        Vec::new()
    }
}
