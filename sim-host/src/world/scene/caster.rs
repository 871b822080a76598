//! Casts pictures, and keeps from picture to picture what does not change.

use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use rayon::prelude::*;

use super::along::Scratch;
use super::bvh::{Hit, Ray};
use super::camera::Camera;
use super::cast::{Cast, World};
use super::geometry::Geometry;
use super::pose::{Pose, Rays, middle_weight};
use super::tracer::{Seen, Tracer};
use crate::world::image::Image;
use crate::world::radiometry::{Band, RadianceTable};

static LONG_WAVE: LazyLock<RadianceTable> = LazyLock::new(|| RadianceTable::new(Band::LONG_WAVE));

/// Bend of the surfaces' radiance over three pixels from which the middle one is split, as a share:
/// 0.3 %, about 0.2 K at room temperature. A steady slope has no bend: its middle is its mean.
const EDGE: f64 = 0.003;
/// The same of the radiance with smoke and flames, which have no hard edges: the mean over a pixel of what
/// bends evenly by a tenth both ways lies less than a hundredth off its middle.
const SOFT: f64 = 0.1;

/// Looks at worlds, and keeps what a picture has in common with the one before: while shapes, places
/// and surfaces stay, where the rays of the gathered reflection go; while the camera stays as well,
/// what every ray of the picture meets.
///
/// A picture does not depend on what was kept: it is, bit for bit, that of
/// [`cast`](super::cast::cast).
///
/// ```
/// use glam::DVec3;
/// use glowsill::world::scene::body::{Body, Placement, Skin, Surface};
/// use glowsill::world::scene::camera::Camera;
/// use glowsill::world::scene::cast::{World, cast};
/// use glowsill::world::scene::caster::Caster;
/// use glowsill::world::scene::shape::Shape;
/// let mut world = World::new(293.15);
/// let ball = Shape::Sphere { radius_m: 0.3 };
/// let at = Placement::at(0.0, 4.0, 1.0);
/// world.bodies.push(Body::new("ball", ball, at, Surface::BLACK, 373.15));
/// let mut camera = Camera::new(DVec3::new(0.0, 0.0, 1.0), DVec3::new(0.0, 4.0, 1.0));
/// (camera.width, camera.height) = (32, 24);
/// let caster = Caster::new();
/// let hot = *caster.cast(&world, &camera).apparent.get(16, 12).unwrap();
/// world.bodies[0].temperature = Skin::Uniform(350.0);
/// let cooler = *caster.cast(&world, &camera).apparent.get(16, 12).unwrap();
/// assert!((hot - 373.15).abs() < 0.1 && (cooler - 350.0).abs() < 0.1);
/// assert_eq!(caster.cast(&world, &camera), cast(&world, &camera));
/// ```
#[derive(Default)]
pub struct Caster {
    kept: Mutex<Option<Arc<Pose>>>,
}

#[derive(Clone, Copy)]
struct Pixel {
    seen: Seen,
    whole: bool,
}

impl Caster {
    /// A caster that has seen nothing yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The pose of a camera in a world. Nothing is computed while the lock is held.
    fn pose(&self, world: &World, camera: &Camera) -> Arc<Pose> {
        let lock = || self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = lock().clone().filter(|pose| pose.geometry.is_of(world));
        let geometry = match &kept {
            Some(pose) => Arc::clone(&pose.geometry),
            None => Arc::new(Geometry::new(world)),
        };
        if let Some(pose) = kept
            && pose.is_of(&geometry, camera)
        {
            return pose;
        }
        let pose = Arc::new(Pose::new(geometry, camera));
        *lock() = Some(Arc::clone(&pose));
        pose
    }

    /// Looks at a world in the band of 8 to 14 µm.
    ///
    /// The result is the same, bit for bit, on any number of threads.
    #[must_use]
    pub fn cast(&self, world: &World, camera: &Camera) -> Cast {
        let table = &*LONG_WAVE;
        let pose = self.pose(world, camera);
        let tracer = Tracer::new(&pose.geometry, world, table);
        let (width, height) = pose.size();
        let unseen = Pixel {
            seen: Seen::NOTHING,
            whole: true,
        };
        let mut pixels = vec![unseen; width * height];
        rows(&mut pixels, width, |x, y, pixel, scratch| {
            let (ray, hit) = pose.middle(x, y);
            pixel.seen = tracer.look(&ray, hit, scratch);
        });
        if pose.samples() > 1 {
            let middles = pixels.clone();
            let kept = pose.keeping();
            let soft_middle = middle_weight(pose.samples());
            rows(&mut pixels, width, |x, y, pixel, scratch| {
                let unevenness = if pose.is_everywhere() {
                    Unevenness::Detail
                } else if pose.is_thin(y * width + x) {
                    match unevenness(&middles, (width, height), (x, y)) {
                        Unevenness::None | Unevenness::Outline => Unevenness::Outline,
                        Unevenness::Soft | Unevenness::Detail => Unevenness::Detail,
                    }
                } else {
                    unevenness(&middles, (width, height), (x, y))
                };
                if unevenness == Unevenness::None {
                    return;
                }
                let is_soft = unevenness == Unevenness::Soft;
                let mut split = Split::new(&tracer, unevenness != Unevenness::Outline, scratch);
                split.remember(pose.middle(x, y).1, pixel.seen);
                let rays = if is_soft { Rays::Outer } else { Rays::All };
                pose.split(kept, (x, y), rays, |ray, hit| split.add(ray, hit));
                let middle = if is_soft { soft_middle } else { 0.0 };
                split.give(middle, pixel);
            });
        }
        let apparent = pixels
            .par_iter()
            .with_min_len(1024)
            .map(|pixel| table.temperature(pixel.seen.radiance).unwrap_or(f64::NAN))
            .collect();
        let bodies = pixels.iter().map(|pixel| pixel.seen.body).collect();
        let whole = pixels.iter().map(|pixel| pixel.whole).collect();
        let numbers = |value: &dyn Fn(&Pixel) -> f64| pixels.iter().map(value).collect();
        Cast {
            apparent: image(width, height, apparent),
            true_k: image(width, height, numbers(&|pixel| pixel.seen.true_k)),
            distance_m: image(width, height, numbers(&|pixel| pixel.seen.distance_m)),
            body: image(width, height, bodies),
            whole: image(width, height, whole),
        }
    }
}

fn image<T>(width: usize, height: usize, data: Vec<T>) -> Image<T> {
    Image {
        width,
        height,
        data,
    }
}

/// Visits all pixels, rows in parallel.
fn rows(
    pixels: &mut [Pixel],
    width: usize,
    visit: impl Fn(usize, usize, &mut Pixel, &mut Scratch) + Sync,
) {
    let rows = pixels.par_chunks_mut(width.max(1)).enumerate();
    rows.for_each_init(Scratch::default, |scratch, (y, row)| {
        for (x, pixel) in row.iter_mut().enumerate() {
            visit(x, y, pixel, scratch);
        }
    });
}

/// What makes that one ray does not say enough of a pixel.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Unevenness {
    None,
    /// Smoke and flames bend it, and nothing else: few rays say enough.
    Soft,
    /// Another body is near: how much each covers counts.
    Outline,
    /// Radiance bends within a body, or in smoke and flames before an outline.
    Detail,
}

/// Solids of a pixel whose look is remembered.
const REMEMBERED: usize = 4;

/// A pixel from many rays.
struct Split<'t, 'w> {
    tracer: &'t Tracer<'w>,
    is_detailed: bool,
    scratch: &'t mut Scratch,
    looks: [(Hit, Seen); REMEMBERED],
    known: usize,
    sum: f64,
    count: f64,
    body: Option<u16>,
    is_whole: bool,
}

impl<'t, 'w> Split<'t, 'w> {
    fn new(tracer: &'t Tracer<'w>, is_detailed: bool, scratch: &'t mut Scratch) -> Self {
        Self {
            tracer,
            is_detailed,
            scratch,
            looks: [(Hit::NONE, Seen::NOTHING); REMEMBERED],
            known: 0,
            sum: 0.0,
            count: 0.0,
            body: None,
            is_whole: true,
        }
    }

    /// What the middle of the pixel shows stands for all of its solid at an outline.
    fn remember(&mut self, hit: Hit, seen: Seen) {
        if self.known < REMEMBERED {
            self.looks[self.known] = (hit, seen);
            self.known += 1;
        }
    }

    /// A ray and what it meets. At an outline each solid is looked at once a pixel.
    fn add(&mut self, ray: &dyn Fn() -> Ray, hit: Hit) {
        let known = self.looks[..self.known]
            .iter()
            .find(|(met, _)| met.solid() == hit.solid());
        let seen = match known {
            Some((_, seen)) if !self.is_detailed => *seen,
            _ => {
                let seen = self.tracer.look(&ray(), hit, self.scratch);
                self.remember(hit, seen);
                seen
            }
        };
        self.sum += seen.radiance;
        self.count += 1.0;
        self.is_whole &= *self.body.get_or_insert(seen.body) == seen.body;
    }

    /// Body, distance and true temperature stay those of the middle, whose radiance counts with a weight.
    fn give(self, middle: f64, pixel: &mut Pixel) {
        let rays = self.sum / self.count;
        pixel.seen.radiance = middle * pixel.seen.radiance + (1.0 - middle) * rays;
        pixel.whole = self.is_whole && self.body == Some(pixel.seen.body);
    }
}

/// How a pixel differs from its eight neighbours.
fn unevenness(
    pixels: &[Pixel],
    (width, height): (usize, usize),
    (x, y): (usize, usize),
) -> Unevenness {
    let own = &pixels[y * width + x].seen;
    let (left, right) = (x.saturating_sub(1), (x + 1).min(width - 1));
    let (up, down) = (y.saturating_sub(1), (y + 1).min(height - 1));
    // At the rim of the picture there is no pair to compare with.
    let is_rim = x == left || x == right || y == up || y == down;
    let pairs = [
        [(left, y), (right, y)],
        [(x, up), (x, down)],
        [(left, up), (right, down)],
        [(right, up), (left, down)],
    ];
    let (mut is_outline, mut is_soft) = (false, false);
    for pair in pairs {
        let [a, b] = pair.map(|(x, y)| &pixels[y * width + x].seen);
        if a.body != own.body || b.body != own.body {
            is_outline = true;
        } else if !is_rim {
            let least = own.radiance.min(a.radiance).min(b.radiance);
            let bend = |own: f64, a: f64, b: f64| (a + b - 2.0 * own).abs();
            if bend(own.surface, a.surface, b.surface) > EDGE * least {
                return Unevenness::Detail;
            }
            is_soft |= bend(own.radiance, a.radiance, b.radiance) > SOFT * least;
        }
    }
    match (is_outline, is_soft) {
        (false, false) => Unevenness::None,
        (false, true) => Unevenness::Soft,
        (true, false) => Unevenness::Outline,
        (true, true) => Unevenness::Detail,
    }
}
