//! Where a camera stands before a geometry, and what its rays meet there.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use super::bvh::{Hit, Ray};
use super::camera::{Camera, Sampling};
use super::geometry::Geometry;
use super::lens::Lens;
use crate::world::rounding::count_f64;

/// Most rays along a side of a pixel.
const MOST_SAMPLES: u32 = 16;

/// Where a ray of a split pixel goes, in pixels from its upper left corner. Each column of sub-pixels is
/// turned a little, so that n × n rays stand in n² different columns and n² different rows: an edge along
/// either is measured in n² steps. The middle one of an odd number stays in the middle.
fn place((i, j): (u32, u32), samples: u32) -> (f64, f64) {
    let (i, j, n) = (f64::from(i), f64::from(j), f64::from(samples));
    let down = n - 1.0 - i;
    ((i + (j + 0.5) / n) / n, (j + (down + 0.5) / n) / n)
}

/// Weight of the middle beside the mean of the four outermost rays, so that together they give the mean over
/// a pixel of whatever is quadratic in it: the square of a place has the mean 1/12 along each axis.
pub(super) fn middle_weight(samples: u32) -> f64 {
    let (x, y) = place((0, 0), samples);
    let outer = ((x - 0.5).powi(2) + (y - 0.5).powi(2)) / 2.0;
    (1.0 - 1.0 / (12.0 * outer)).max(0.0)
}

/// Which rays of a split pixel are followed.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Rays {
    All,
    /// The outermost four.
    Outer,
}

/// What the rays of a split pixel meet, for each pixel that was ever split.
pub(super) type Splits = [OnceLock<Box<[Hit]>>];

/// A camera before a geometry. Nothing here depends on temperatures.
pub(super) struct Pose {
    pub(super) geometry: Arc<Geometry>,
    camera: Camera,
    lens: Lens,
    /// What the ray through the middle of each pixel meets.
    middles: Vec<Hit>,
    /// Pixels that are split because something thin passes.
    thin: Vec<bool>,
    splits: OnceLock<Box<Splits>>,
    is_used: AtomicBool,
}

impl Pose {
    pub(super) fn new(geometry: Arc<Geometry>, camera: &Camera) -> Self {
        let lens = Lens::new(camera);
        let (width, pixels) = (camera.width, camera.width * camera.height);
        let mut middles = vec![Hit::NONE; pixels];
        if width > 0 {
            let rows = middles.par_chunks_mut(width).enumerate();
            rows.for_each(|(y, row)| {
                for (x, hit) in row.iter_mut().enumerate() {
                    *hit = geometry.nearest(&lens.middle(x, y));
                }
            });
        }
        let thin = match camera.sampling {
            Sampling::Everywhere => Vec::new(),
            Sampling::Edges => lens.thin_parts(&geometry.all.solids),
        };
        Self {
            geometry,
            camera: *camera,
            lens,
            middles,
            thin,
            splits: OnceLock::new(),
            is_used: AtomicBool::new(false),
        }
    }

    pub(super) fn is_of(&self, geometry: &Arc<Geometry>, camera: &Camera) -> bool {
        Arc::ptr_eq(&self.geometry, geometry) && self.camera == *camera
    }

    /// Columns and rows.
    pub(super) fn size(&self) -> (usize, usize) {
        (self.camera.width, self.camera.height)
    }

    /// Rays along a side of a split pixel.
    pub(super) fn samples(&self) -> u32 {
        self.camera.samples.clamp(1, MOST_SAMPLES)
    }

    /// Whether something thin passes a pixel.
    pub(super) fn is_thin(&self, index: usize) -> bool {
        self.thin.get(index).copied().unwrap_or(false)
    }

    /// Whether every ray of every pixel is looked along.
    pub(super) fn is_everywhere(&self) -> bool {
        self.camera.sampling == Sampling::Everywhere
    }

    /// The ray through the middle of a pixel, and what it meets.
    pub(super) fn middle(&self, x: usize, y: usize) -> (Ray, Hit) {
        let ray = self.lens.middle(x, y);
        (ray, self.middles[y * self.camera.width + x])
    }

    /// Room to keep what split pixels meet; none for the first picture, because a camera that moves
    /// looks only once from a pose.
    pub(super) fn keeping(&self) -> Option<&Splits> {
        let is_used = self.is_used.swap(true, Ordering::Relaxed);
        let room = || self.middles.iter().map(|_| OnceLock::new()).collect();
        is_used.then(|| &**self.splits.get_or_init(room))
    }

    /// What the rays of a split pixel meet, one after the other, with the ray when it is asked for.
    pub(super) fn split(
        &self,
        kept: Option<&Splits>,
        (x, y): (usize, usize),
        rays: Rays,
        mut visit: impl FnMut(&dyn Fn() -> Ray, Hit),
    ) {
        let samples = self.samples();
        let places = (0..samples).flat_map(|j| (0..samples).map(move |i| (i, j)));
        let is_end = |i: u32| i == 0 || i + 1 == samples;
        let wanted = |(i, j): (u32, u32)| rays == Rays::All || is_end(i) && is_end(j);
        let ray = |cell: (u32, u32)| {
            let (right, down) = place(cell, samples);
            self.lens.ray(count_f64(x) + right, count_f64(y) + down)
        };
        if let Some(kept) = kept {
            let meet = |place| self.geometry.nearest(&ray(place));
            let hits =
                kept[y * self.camera.width + x].get_or_init(|| places.clone().map(meet).collect());
            for (place, hit) in places.zip(hits).filter(|(place, _)| wanted(*place)) {
                visit(&|| ray(place), *hit);
            }
        } else {
            for place in places.filter(|place| wanted(*place)) {
                let ray = ray(place);
                visit(&|| ray, self.geometry.nearest(&ray));
            }
        }
    }
}
