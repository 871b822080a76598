//! Looks at a world: apparent temperature, true temperature, body and distance of every pixel.

use std::sync::LazyLock;

use glam::{DMat3, DVec3};
use rayon::prelude::*;

use super::body::Body;
use super::bvh::{Ray, Solid};
use super::camera::{Camera, Sampling};
use super::medium::Medium;
use super::tracer::{Seen, Tracer};
use crate::world::image::Image;
use crate::world::radiometry::{Band, RadianceTable};
use crate::world::rounding::{count_f64, floor_index};

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

static LONG_WAVE: LazyLock<RadianceTable> = LazyLock::new(|| RadianceTable::new(Band::LONG_WAVE));

/// Difference of radiance between neighbours from which a pixel is split, as a share: 0.3 %, about
/// 0.2 K at room temperature.
const CONTRAST: f64 = 0.003;
/// Parts that look thinner than this many pixels are split along their whole length.
const THIN_PX: f64 = 2.5;

/// Looks at a world in the band of 8 to 14 µm.
///
/// The result is the same, bit for bit, on any number of threads. `docs/scenes.md` states the model.
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
    let table = &*LONG_WAVE;
    let tracer = Tracer::new(world, table);
    let lens = Lens::new(camera);
    let (width, height) = (camera.width, camera.height);
    let rows = |pixel: &(dyn Fn(usize, usize) -> Pixel + Sync)| -> Vec<Pixel> {
        let row = |y: usize| (0..width).map(move |x| pixel(x, y));
        (0..height).into_par_iter().flat_map_iter(row).collect()
    };
    let samples = camera.samples.clamp(1, 16);
    let middles = rows(&|x, y| {
        let seen = tracer.look(&lens.ray(count_f64(x) + 0.5, count_f64(y) + 0.5));
        Pixel { seen, whole: true }
    });
    let pixels = if samples == 1 {
        middles
    } else {
        let thin = match camera.sampling {
            Sampling::Everywhere => vec![true; width * height],
            Sampling::Edges => lens.thin_parts(tracer.solids()),
        };
        rows(&|x, y| {
            let at = y * width + x;
            if thin[at] || differs(&middles, (width, height), x, y) {
                lens.split(&tracer, &middles[at], samples, x, y)
            } else {
                middles[at]
            }
        })
    };
    let apparent = pixels
        .par_iter()
        .map(|pixel| table.temperature(pixel.seen.radiance).unwrap_or(f64::NAN))
        .collect();
    let image = |data| Image {
        width,
        height,
        data,
    };
    let picture = |value: &dyn Fn(&Pixel) -> f64| image(pixels.iter().map(value).collect());
    Cast {
        apparent: image(apparent),
        true_k: picture(&|pixel| pixel.seen.true_k),
        distance_m: picture(&|pixel| pixel.seen.distance_m),
        body: Image {
            width,
            height,
            data: pixels.iter().map(|pixel| pixel.seen.body).collect(),
        },
        whole: Image {
            width,
            height,
            data: pixels.iter().map(|pixel| pixel.whole).collect(),
        },
    }
}

#[derive(Clone, Copy)]
struct Pixel {
    seen: Seen,
    whole: bool,
}

/// Whether one of the eight neighbours shows another body or another radiance.
fn differs(pixels: &[Pixel], size: (usize, usize), x: usize, y: usize) -> bool {
    let own = pixels[y * size.0 + x].seen;
    let rows = y.saturating_sub(1)..(y + 2).min(size.1);
    rows.flat_map(|j| (x.saturating_sub(1)..(x + 2).min(size.0)).map(move |i| (i, j)))
        .any(|(i, j)| {
            let other = pixels[j * size.0 + i].seen;
            let difference = (other.radiance - own.radiance).abs();
            other.body != own.body || difference > CONTRAST * own.radiance.min(other.radiance)
        })
}

/// A camera made ready for rays.
struct Lens {
    frame: DMat3,
    from: DVec3,
    slope: f64,
    width: usize,
    height: usize,
}

impl Lens {
    fn new(camera: &Camera) -> Self {
        Self {
            frame: camera.frame(),
            from: camera.position,
            slope: camera.pixel_slope(),
            width: camera.width,
            height: camera.height,
        }
    }

    /// Through a point of the picture, in pixels from its upper left corner.
    fn ray(&self, x: f64, y: f64) -> Ray {
        let right = (x - count_f64(self.width) / 2.0) * self.slope;
        let up = (count_f64(self.height) / 2.0 - y) * self.slope;
        let along = self.frame * DVec3::new(right, 1.0, up);
        Ray::new(self.from, along.normalize_or(DVec3::Y))
    }

    /// The pixel again from `samples` × `samples` rays; body, distance and true temperature stay
    /// those of the middle.
    fn split(
        &self,
        tracer: &Tracer<'_>,
        middle: &Pixel,
        samples: u32,
        x: usize,
        y: usize,
    ) -> Pixel {
        let n = f64::from(samples);
        let mut pixel = *middle;
        let mut sum = 0.0;
        for j in 0..samples {
            for i in 0..samples {
                let at = |cell: usize, part: u32| count_f64(cell) + (f64::from(part) + 0.5) / n;
                let seen = tracer.look(&self.ray(at(x, i), at(y, j)));
                sum += seen.radiance;
                pixel.whole &= seen.body == middle.seen.body;
            }
        }
        pixel.seen.radiance = sum / (n * n);
        pixel
    }

    /// Pixels along which parts pass that look thin, so that a ray a pixel may miss them.
    fn thin_parts(&self, solids: &[Solid]) -> Vec<bool> {
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
