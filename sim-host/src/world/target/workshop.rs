//! The scenery workshop of a community theatre: known marks around a hot source that grows.

use super::shape::{Point, flame, ladder, lantern, person, share, slab, stroke};
use crate::world::image::Image;
use crate::world::rounding::count_f64;
use crate::world::scene::{Mark, Scene, View};

/// A warm room with three marks and a burning waste bin on the floor.
///
/// The marks are a person (warmer than the wall), an aluminium ladder (cooler) and a stage lantern
/// under the ceiling (low contrast, 1 K warmer). The source never covers a mark. Everything
/// scales with the picture. Simulation and teaching only; not a certification.
#[derive(Clone, Debug)]
pub struct Workshop {
    width: usize,
    height: usize,
    /// Apparent temperature of the source, kelvin.
    source_k: f64,
    source_from: f64,
    source_to: f64,
    grow_frames: u32,
    background: Image<f64>,
    marks: Vec<Mark>,
}

/// Temperatures of the marks, kelvin: a person (31 °C), a ladder (16 °C), a lantern.
const PERSON_K: f64 = 304.15;
const LADDER_K: f64 = 289.15;
const LANTERN_K: f64 = 297.15;
/// Largest radius of the source, share of the picture's height.
const SOURCE_MAX: f64 = 0.18;

/// Positions: `w` is the width in heights; sizes never outgrow a narrow picture.
struct Room {
    w: f64,
    size: f64,
    pixel: f64,
}

impl Room {
    fn new(width: usize, height: usize) -> Self {
        let h = count_f64(height).max(1.0);
        let w = count_f64(width) / h;
        Self {
            w,
            size: (w * 0.75).min(1.0),
            pixel: 1.0 / h,
        }
    }

    /// At least a pixel and a fifth to each side, so that thin parts hold whole pixels.
    fn half(&self, share: f64) -> f64 {
        (share * self.size).max(1.2 * self.pixel)
    }

    fn person(&self, p: Point) -> f64 {
        let tall = 0.72 * self.size;
        tall * person(((p.0 - 0.175 * self.w) / tall, (p.1 - (0.93 - tall)) / tall))
    }

    fn ladder(&self, p: Point) -> f64 {
        let tall = 0.74 * self.size;
        let half = self.half(0.0115) / tall;
        tall * ladder(
            ((p.0 - 0.83 * self.w) / tall, (p.1 - (0.88 - tall)) / tall),
            half,
        )
    }

    fn lantern(&self, p: Point) -> f64 {
        let tall = 0.25 * self.size;
        let half = self.half(0.006) / tall;
        tall * lantern(((p.0 - 0.5 * self.w) / tall, (p.1 - 0.035) / tall), half)
    }

    fn source(&self, p: Point, radius: f64) -> f64 {
        let r = radius * self.size;
        r * flame(((p.0 - 0.5 * self.w) / r, (p.1 - (0.86 - r)) / r))
    }

    /// Wall, floor, timber rack, bench and bin, without marks and source.
    fn background(&self, p: Point) -> f64 {
        let (x, y) = (p.0 / self.w, p.1);
        let edge = |distance: f64| share(distance / self.pixel);
        let over =
            |under: f64, kelvin: f64, distance: f64| under + (kelvin - under) * edge(distance);
        // Warm air gathers under the ceiling; canvas flats lean in a row, each a little apart.
        let mut t = 293.6 + 2.6 * (1.0 - y / 0.7).max(0.0) + 0.5 * (x - 0.5);
        for i in 0..6_u32 {
            let left = self.w * (f64::from(i) / 6.0 + 0.006);
            let right = self.w * (f64::from(i + 1) / 6.0 - 0.006);
            let tone = [0.25, -0.15, 0.1, -0.25, 0.2, -0.1][usize::try_from(i).unwrap_or(0)];
            t += (tone + 0.15) * edge(slab(p, (left, 0.07), (right, 0.69), 0.004));
        }
        // Ceiling rail.
        t = over(t, 295.2, slab(p, (-1.0, 0.028), (self.w + 1.0, 0.05), 0.0));
        // Floor, cooler toward the viewer, with boards that run to a vanishing point.
        let depth = ((y - 0.7) / 0.3).clamp(0.0, 1.0);
        let board = ((p.0 - self.w / 2.0) / (0.35 + depth) * 7.0 / self.w).rem_euclid(1.0);
        let seam = 0.25 * (1.0 - (board.min(1.0 - board) / 0.04).min(1.0));
        t = over(t, 292.0 - 1.8 * depth - seam * (0.3 + 0.7 * depth), 0.7 - y);
        t = over(t, 292.3, slab(p, (-1.0, 0.685), (self.w + 1.0, 0.705), 0.0));
        let s = self.size;
        // Timber rack behind the middle: uprights and shelves with boards of many ages.
        let rack = 0.29 * self.w;
        for (shelf, drop) in [0.4, 0.52, 0.64].into_iter().enumerate() {
            for board in 0..5_u32 {
                let k = f64::from(board);
                let wobble = [0.0, 0.014, -0.01, 0.02, 0.006]
                    [(shelf + 2 * usize::try_from(board).unwrap_or(0)) % 5];
                let tone = [292.2, 291.6, 292.9, 292.0, 291.3]
                    [(2 * shelf + usize::try_from(board).unwrap_or(0)) % 5];
                let top = drop - 0.016 * (k + 1.0);
                let ends = (rack + 0.012 - wobble, rack + 0.17 * s + wobble);
                t = over(
                    t,
                    tone,
                    slab(p, (ends.0, top), (ends.1, top + 0.0125), 0.003),
                );
            }
            t = over(
                t,
                291.0,
                slab(p, (rack, drop), (rack + 0.18 * s, drop + 0.012), 0.0),
            );
        }
        for post in [rack, rack + 0.17 * s] {
            t = over(t, 290.8, slab(p, (post, 0.28), (post + 0.014, 0.76), 0.0));
        }
        // Work bench on the right with a vice and paint tins, one just stirred warm.
        let (left, right) = (0.6 * self.w, 0.74 * self.w);
        t = over(t, 291.8, slab(p, (left, 0.585), (right, 0.61), 0.004));
        for leg in [left + 0.012, right - 0.03] {
            t = over(t, 291.2, slab(p, (leg, 0.605), (leg + 0.018, 0.8), 0.0));
        }
        t = over(
            t,
            291.5,
            slab(p, (left + 0.02, 0.71), (right - 0.02, 0.725), 0.0),
        );
        for (tin, kelvin) in [(0.012, 291.0), (0.062, 295.6), (0.112, 291.4)] {
            let at = left + tin * s;
            t = over(
                t,
                kelvin,
                slab(p, (at, 0.54), (at + 0.036 * s, 0.585), 0.005),
            );
        }
        // The bin: straight sides that narrow downward, flat top and bottom.
        let (middle, rim) = (self.w / 2.0, 0.06 * s);
        let sides = stroke(p, (middle, 0.8), (middle, 0.96), (rim, 0.7 * rim));
        over(t, 296.0, sides.max(0.825 - y).max(y - 0.945))
    }

    fn paint<T>(&self, width: usize, height: usize, pixel: impl Fn(Point) -> T) -> Image<T> {
        Image::from_fn(width, height, |x, y| {
            pixel((
                (count_f64(x) + 0.5) * self.pixel,
                (count_f64(y) + 0.5) * self.pixel,
            ))
        })
    }
}

impl Workshop {
    /// The workshop with a source of 400 °C (752 °F) that grows from a radius of 0.02 to 0.18 of
    /// the picture's height in 120 frames.
    #[must_use]
    pub fn new(width: usize, height: usize) -> Self {
        let room = Room::new(width, height);
        let distances: Vec<(&'static str, f64, Image<f64>)> = vec![
            (
                "person",
                PERSON_K,
                room.paint(width, height, |p| room.person(p)),
            ),
            (
                "ladder",
                LADDER_K,
                room.paint(width, height, |p| room.ladder(p)),
            ),
            (
                "lantern",
                LANTERN_K,
                room.paint(width, height, |p| room.lantern(p)),
            ),
        ];
        let source = room.paint(width, height, |p| room.source(p, SOURCE_MAX));
        let mut background = room.paint(width, height, |p| room.background(p));
        for (_, kelvin, distance) in &distances {
            for (value, d) in background.data.iter_mut().zip(&distance.data) {
                *value += (kelvin - *value) * share(d / room.pixel);
            }
        }
        let reach = (0.03 * room.size).max(3.0 * room.pixel);
        let marks = distances
            .iter()
            .map(|(name, _, distance)| Mark {
                name: (*name).to_owned(),
                mask: distance
                    .data
                    .iter()
                    .map(|d| d / room.pixel <= -0.5)
                    .collect(),
                surround: (0..distance.data.len())
                    .map(|i| {
                        let near = distance.data[i] > room.pixel && distance.data[i] < reach;
                        let clear = |other: &Image<f64>| other.data[i] > room.pixel;
                        near && distances.iter().all(|(_, _, d)| clear(d)) && clear(&source)
                    })
                    .collect(),
            })
            .collect();
        Self {
            width,
            height,
            source_k: 673.15,
            source_from: 0.02,
            source_to: SOURCE_MAX,
            grow_frames: 120,
            background,
            marks,
        }
    }

    /// With a source of another apparent temperature, in kelvin.
    #[must_use]
    pub fn with_source(mut self, kelvin: f64) -> Self {
        self.source_k = kelvin;
        self
    }

    /// With a source that grows from one radius to another in a number of frames, then stays. The
    /// radii are shares of the picture's height, cut to 0 (no source) to 0.18.
    #[must_use]
    pub fn with_growth(mut self, from: f64, to: f64, frames: u32) -> Self {
        self.source_from = from.clamp(0.0, SOURCE_MAX);
        self.source_to = to.clamp(0.0, SOURCE_MAX);
        self.grow_frames = frames;
        self
    }

    /// The marks, in the order person, ladder, lantern.
    #[must_use]
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Apparent temperature of the source, kelvin.
    #[must_use]
    pub fn source_k(&self) -> f64 {
        self.source_k
    }

    /// Radius of the source at a frame, share of the picture's height.
    #[must_use]
    pub fn source_radius(&self, frame: u32) -> f64 {
        let share = if frame < self.grow_frames {
            f64::from(frame) / f64::from(self.grow_frames)
        } else {
            1.0
        };
        self.source_from + (self.source_to - self.source_from) * share
    }

    /// Share of the picture that the source covers at a frame, 0 to about 0.15.
    #[must_use]
    pub fn source_share(&self, frame: u32) -> f64 {
        let cover = self.source_cover(frame);
        cover.data.iter().sum::<f64>() / count_f64(cover.data.len().max(1))
    }

    fn source_cover(&self, frame: u32) -> Image<f64> {
        let room = Room::new(self.width, self.height);
        let radius = self.source_radius(frame);
        room.paint(self.width, self.height, |p| {
            if radius > 0.0 {
                share(room.source(p, radius) / room.pixel)
            } else {
                0.0
            }
        })
    }
}

impl Scene for Workshop {
    fn view(&self, frame: u32) -> View {
        View {
            apparent: self.image(frame),
            marks: self.marks.clone(),
        }
    }

    fn image(&self, frame: u32) -> Image<f64> {
        let cover = self.source_cover(frame);
        let mut image = self.background.clone();
        for (value, cover) in image.data.iter_mut().zip(&cover.data) {
            *value += (self.source_k - *value) * cover;
        }
        image
    }
}
