//! The camera: where it stands, where it aims, what it takes in.

use glam::{DMat3, DVec3};

use crate::world::rounding::count_f64;

/// Which pixels are split into sub-pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sampling {
    /// One ray a pixel, and n × n where a neighbour differs in body or radiance or where a thin
    /// part passes.
    Edges,
    /// n × n rays in every pixel.
    Everywhere,
}

/// A pinhole camera with square pixels and the horizon level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// Where it stands, m.
    pub position: DVec3,
    /// A point in the middle of the picture.
    pub look_at: DVec3,
    /// Field of view from the lower to the upper edge, degrees.
    pub vertical_fov_deg: f64,
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Sub-pixels along each side of a pixel that is split, 1 to 16.
    pub samples: u32,
    /// Which pixels are split.
    pub sampling: Sampling,
}

impl Camera {
    /// 320 × 240 pixels, 38° high (49° wide), 3 × 3 sub-pixels at edges.
    #[must_use]
    pub fn new(position: DVec3, look_at: DVec3) -> Self {
        Self {
            position,
            look_at,
            vertical_fov_deg: 38.0,
            width: 320,
            height: 240,
            samples: 3,
            sampling: Sampling::Edges,
        }
    }

    /// Right, forward and up of the camera, in the world.
    pub(super) fn frame(&self) -> DMat3 {
        let forward = (self.look_at - self.position).normalize_or(DVec3::Y);
        let right = forward.cross(DVec3::Z).normalize_or(DVec3::X);
        DMat3::from_cols(right, forward, right.cross(forward))
    }

    /// Side of a pixel at a distance of 1 along the axis: 2·tan(fov/2)/height.
    ///
    /// ```
    /// use glam::DVec3;
    /// use glowsill::world::scene::camera::Camera;
    /// let mut camera = Camera::new(DVec3::ZERO, DVec3::Y);
    /// camera.vertical_fov_deg = 90.0;
    /// assert!((camera.pixel_slope() - 2.0 / 240.0).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn pixel_slope(&self) -> f64 {
        2.0 * (self.vertical_fov_deg.to_radians() / 2.0).tan() / count_f64(self.height.max(1))
    }

    /// Side in m of the square spot in the middle of the picture that fills one pixel at a distance
    /// in m. What is smaller is mixed with what is around it.
    #[must_use]
    pub fn spot_m(&self, distance_m: f64) -> f64 {
        distance_m * self.pixel_slope()
    }

    /// Distance to spot ratio: the distance at which one pixel covers a spot of 1 m.
    #[must_use]
    pub fn distance_to_spot(&self) -> f64 {
        1.0 / self.pixel_slope()
    }
}
