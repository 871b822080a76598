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
        mut visit: impl FnMut(&dyn Fn() -> Ray, Hit),
    ) {
        let samples = self.samples();
        let n = f64::from(samples);
        let at = |cell: usize, part: u32| count_f64(cell) + (f64::from(part) + 0.5) / n;
        let places = (0..samples).flat_map(|j| (0..samples).map(move |i| (i, j)));
        let ray = |(i, j): (u32, u32)| self.lens.ray(at(x, i), at(y, j));
        if let Some(kept) = kept {
            let meet = |place| self.geometry.nearest(&ray(place));
            let hits =
                kept[y * self.camera.width + x].get_or_init(|| places.clone().map(meet).collect());
            for (place, hit) in places.zip(hits) {
                visit(&|| ray(place), *hit);
            }
        } else {
            for place in places {
                let ray = ray(place);
                visit(&|| ray, self.geometry.nearest(&ray));
            }
        }
    }
}
