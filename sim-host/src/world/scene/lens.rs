//! From a pixel to the ray through it, and back from a place to its pixels.

use glam::{DMat3, DVec3};

use super::bvh::{Ray, Solid};
use super::camera::Camera;
use crate::world::rounding::{count_f64, floor_index};

/// Parts that look thinner than this many pixels are split where they pass.
const THIN_PX: f64 = 2.5;

/// A camera made ready for rays.
pub(super) struct Lens {
    frame: DMat3,
    from: DVec3,
    slope: f64,
    width: usize,
    height: usize,
}

impl Lens {
    pub(super) fn new(camera: &Camera) -> Self {
        Self {
            frame: camera.frame(),
            from: camera.position,
            slope: camera.pixel_slope(),
            width: camera.width,
            height: camera.height,
        }
    }

    /// Through a point of the picture, in pixels from its upper left corner.
    pub(super) fn ray(&self, x: f64, y: f64) -> Ray {
        let right = (x - count_f64(self.width) / 2.0) * self.slope;
        let up = (count_f64(self.height) / 2.0 - y) * self.slope;
        let along = self.frame * DVec3::new(right, 1.0, up);
        Ray::new(self.from, along.normalize_or(DVec3::Y))
    }

    /// Through the middle of a pixel.
    pub(super) fn middle(&self, x: usize, y: usize) -> Ray {
        self.ray(count_f64(x) + 0.5, count_f64(y) + 0.5)
    }

    /// Pixels along which parts pass that look thin, so that a ray a pixel may miss them.
    pub(super) fn thin_parts(&self, solids: &[Solid]) -> Vec<bool> {
        let mut marked = vec![false; self.width * self.height];
        for solid in solids {
            let (low, high) = solid.primitive.bounds();
            let to_world = solid.to_local.inverse();
            let sides = [0, 1, 2].map(|axis| {
                let side = to_world.matrix3.col(axis) * (high - low)[axis];
                (side.length(), side)
            });
            let longest = (0..3).fold(
                0,
                |best, i| if sides[i].0 > sides[best].0 { i } else { best },
            );
            let across = (0..3).filter(|i| *i != longest).map(|i| sides[i].0);
            let narrow = across.fold(f64::INFINITY, f64::min);
            let (length, side) = sides[longest];
            let middle = to_world.transform_point3((low + high) / 2.0);
            let near = (middle.distance(self.from) - length / 2.0).max(0.3);
            if solid.primitive.solid() && narrow < THIN_PX * near * self.slope {
                let wide = (0..3)
                    .filter(|i| *i != longest)
                    .map(|i| sides[i].0)
                    .fold(0.0, f64::max);
                let reach = floor_index(wide / (2.0 * near * self.slope) + 1.5, 12);
                let steps = floor_index(length / (near * self.slope), 2000).max(1);
                for step in 0..=steps {
                    let share = count_f64(step) / count_f64(steps) - 0.5;
                    self.mark(middle + side * share, reach, &mut marked);
                }
            }
        }
        marked
    }

    /// Marks the square of pixels around the picture of a point.
    fn mark(&self, point: DVec3, reach: usize, marked: &mut [bool]) {
        let at = self.frame.transpose() * (point - self.from);
        if at.y <= 0.0 {
            return;
        }
        let x = at.x / at.y / self.slope + count_f64(self.width) / 2.0;
        let y = count_f64(self.height) / 2.0 - at.z / at.y / self.slope;
        let r = count_f64(reach);
        let inside = |v: f64, size: usize| v > -r && v < count_f64(size) + r;
        if self.width == 0 || !inside(x, self.width) || !inside(y, self.height) {
            return;
        }
        let range =
            |v: f64, size: usize| floor_index(v - r, size - 1)..=floor_index(v + r, size - 1);
        for j in range(y, self.height) {
            for i in range(x, self.width) {
                marked[j * self.width + i] = true;
            }
        }
    }
}
