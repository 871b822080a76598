//! Bench targets: simulated test objects of known apparent temperature.
//!
//! Pixels that a border crosses hold the mean by area of the temperatures on both sides.

mod shape;
mod workshop;

pub use workshop::Workshop;

use super::image::Image;
use super::rounding::count_f64;
use super::scene::{Scene, View};

/// Where a local target stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// Middle of the picture.
    Centre,
    /// Touching the top and the left edge.
    TopLeft,
    /// Touching the top and the right edge.
    TopRight,
    /// Touching the bottom and the left edge.
    BottomLeft,
    /// Touching the bottom and the right edge.
    BottomRight,
}

impl Place {
    /// Every place.
    pub const ALL: [Self; 5] = [
        Self::Centre,
        Self::TopLeft,
        Self::TopRight,
        Self::BottomLeft,
        Self::BottomRight,
    ];

    /// Name for conditions and reports.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Centre => "centre",
            Self::TopLeft => "top left",
            Self::TopRight => "top right",
            Self::BottomLeft => "bottom left",
            Self::BottomRight => "bottom right",
        }
    }

    /// Left column and top row of a `side` by `side` square here in a picture of this size.
    #[must_use]
    pub fn corner(self, side: usize, width: usize, height: usize) -> (usize, usize) {
        let (right, bottom) = (width.saturating_sub(side), height.saturating_sub(side));
        match self {
            Self::Centre => (right / 2, bottom / 2),
            Self::TopLeft => (0, 0),
            Self::TopRight => (right, 0),
            Self::BottomLeft => (0, bottom),
            Self::BottomRight => (right, bottom),
        }
    }
}

/// Which way the bars of a group run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BarDirection {
    /// Upright bars side by side.
    Upright,
    /// Level bars, one over the other.
    Level,
}

/// What a bench target shows. Temperatures are apparent, in kelvin.
#[derive(Clone, Debug, PartialEq)]
pub enum Pattern {
    /// One temperature everywhere.
    Uniform {
        /// The temperature.
        kelvin: f64,
    },
    /// A uniform field that jumps.
    Step {
        /// Temperature before.
        before_k: f64,
        /// Temperature from `at_frame` on.
        after_k: f64,
        /// First frame of the new temperature.
        at_frame: u32,
    },
    /// A linear ramp from the middle of the first column to the middle of the last.
    Ramp {
        /// Temperature at the left.
        from_k: f64,
        /// Temperature at the right.
        to_k: f64,
    },
    /// A uniform field that changes linearly in time, then stays.
    SlowRamp {
        /// Temperature of frame 0.
        from_k: f64,
        /// Temperature from frame `frames` on.
        to_k: f64,
        /// How many frames the change takes; 0 is at once.
        frames: u32,
    },
    /// Four bars, each 1:7, with spaces as wide as the bars: a square group.
    Bars {
        /// Temperature of field and spaces.
        base_k: f64,
        /// How much warmer (or, if negative, colder) the bars are, in kelvin.
        delta_k: f64,
        /// Spatial frequency, cycles a pixel, above 0 to 0.5.
        cycles_per_pixel: f64,
        /// Middle of the group in pixels from the left and top edges of the picture.
        centre_px: (f64, f64),
        /// Which way the bars run.
        direction: BarDirection,
    },
    /// A straight edge through the middle of the picture.
    Edge {
        /// Temperature at the left.
        left_k: f64,
        /// Temperature at the right.
        right_k: f64,
        /// Angle to the columns, degrees, 0 to 45; 5 is usual.
        degrees: f64,
    },
    /// A square on a uniform background.
    Square {
        /// Temperature of the background.
        background_k: f64,
        /// Temperature of the square.
        target_k: f64,
        /// Its side, pixels.
        side_px: usize,
        /// Where it stands.
        place: Place,
    },
}

/// A pattern at a size.
///
/// ```
/// use glowsill::world::scene::Scene;
/// use glowsill::world::target::{Pattern, Target};
/// let ramp = Target::new(5, 2, Pattern::Ramp { from_k: 300.0, to_k: 304.0 });
/// assert_eq!(ramp.image(0).row(1), &[300.0, 301.0, 302.0, 303.0, 304.0]);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// What it shows.
    pub pattern: Pattern,
}

/// A target name that does not exist.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{name}' is not a target: choose one of {}", target_names().join(", "))]
pub struct UnknownTarget {
    /// What was asked for.
    pub name: String,
}

/// Names and meanings of the targets that [`scene_from_name`] knows, for help texts.
pub const TARGETS: [(&str, &str); 8] = [
    ("uniform", "one temperature, 27 °C (80 °F)"),
    ("step", "27 °C (80 °F), 200 °C (392 °F) from frame 10 on"),
    (
        "ramp",
        "0 °C (32 °F) at the left to 700 °C (1292 °F) at the right",
    ),
    (
        "slow-ramp",
        "uniform, 20 °C (68 °F) to 320 °C (608 °F) in 300 frames",
    ),
    (
        "bars",
        "four bars of 2 K over 27 °C (80 °F), 0.1 cycles a pixel",
    ),
    ("edge", "edge at 5 degrees, 27 °C (80 °F) to 37 °C (98 °F)"),
    (
        "square",
        "200 °C (392 °F) square on 27 °C (80 °F), an eighth of the picture high",
    ),
    (
        "workshop",
        "scenery workshop with a person, a ladder, a lantern and a burning bin",
    ),
];

/// The names in [`TARGETS`].
#[must_use]
pub fn target_names() -> Vec<&'static str> {
    TARGETS.iter().map(|(name, _)| *name).collect()
}

/// The scene of a name in [`TARGETS`] at a size.
///
/// # Errors
/// [`UnknownTarget`], listing the names.
pub fn scene_from_name(
    name: &str,
    width: usize,
    height: usize,
) -> Result<Box<dyn Scene>, UnknownTarget> {
    if name == "workshop" {
        Ok(Box::new(Workshop::new(width, height)))
    } else {
        Ok(Box::new(Target::from_name(name, width, height)?))
    }
}

impl Target {
    /// A pattern at a size.
    #[must_use]
    pub fn new(width: usize, height: usize, pattern: Pattern) -> Self {
        Self {
            width,
            height,
            pattern,
        }
    }

    /// The bench target of a name in [`TARGETS`] other than `workshop`, with its usual numbers.
    ///
    /// # Errors
    /// [`UnknownTarget`], listing the names.
    pub fn from_name(name: &str, width: usize, height: usize) -> Result<Self, UnknownTarget> {
        let centre_px = (count_f64(width) / 2.0, count_f64(height) / 2.0);
        let pattern = match name {
            "uniform" => Pattern::Uniform { kelvin: 300.0 },
            "step" => Pattern::Step {
                before_k: 300.0,
                after_k: 473.15,
                at_frame: 10,
            },
            "ramp" => Pattern::Ramp {
                from_k: 273.15,
                to_k: 973.15,
            },
            "slow-ramp" => Pattern::SlowRamp {
                from_k: 293.15,
                to_k: 593.15,
                frames: 300,
            },
            "bars" => Pattern::Bars {
                base_k: 300.0,
                delta_k: 2.0,
                cycles_per_pixel: 0.1,
                centre_px,
                direction: BarDirection::Upright,
            },
            "edge" => Pattern::Edge {
                left_k: 300.0,
                right_k: 310.0,
                degrees: 5.0,
            },
            "square" => Pattern::Square {
                background_k: 300.0,
                target_k: 473.15,
                side_px: (height / 8).max(1),
                place: Place::Centre,
            },
            _ => {
                return Err(UnknownTarget {
                    name: name.to_owned(),
                });
            }
        };
        Ok(Self::new(width, height, pattern))
    }

    fn paint(&self, pixel: impl Fn(f64, f64) -> f64) -> Image<f64> {
        Image::from_fn(self.width, self.height, |x, y| {
            pixel(count_f64(x), count_f64(y))
        })
    }
}

/// Overlap in length of two intervals.
fn overlap(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.1.min(b.1) - a.0.max(b.0)).max(0.0)
}

/// Share of a unit pixel on the right of a straight edge at `degrees` to the columns, when the
/// pixel's middle lies `distance` to the right of it: the integral of a box seen at an angle.
fn edge_share(distance: f64, degrees: f64) -> f64 {
    let (a, b) = (
        degrees.to_radians().cos().abs(),
        degrees.to_radians().sin().abs(),
    );
    if b < 1e-9 {
        return (distance + 0.5).clamp(0.0, 1.0);
    }
    let ramp = |u: f64| u.max(0.0).powi(2) / 2.0;
    let (wide, narrow) = (f64::midpoint(a, b), (a - b) / 2.0);
    (ramp(distance + wide) - ramp(distance + narrow) - ramp(distance - narrow)
        + ramp(distance - wide))
        / (a * b)
}

impl Scene for Target {
    fn view(&self, frame: u32) -> View {
        View {
            apparent: self.image(frame),
            marks: Vec::new(),
        }
    }

    fn image(&self, frame: u32) -> Image<f64> {
        let (width, height) = (count_f64(self.width), count_f64(self.height));
        match self.pattern {
            Pattern::Uniform { kelvin } => Image::new(self.width, self.height, kelvin),
            Pattern::Step {
                before_k,
                after_k,
                at_frame,
            } => {
                let kelvin = if frame < at_frame { before_k } else { after_k };
                Image::new(self.width, self.height, kelvin)
            }
            Pattern::Ramp { from_k, to_k } => {
                let last = (width - 1.0).max(1.0);
                self.paint(|x, _| from_k + (to_k - from_k) * x / last)
            }
            Pattern::SlowRamp {
                from_k,
                to_k,
                frames,
            } => {
                let share = if frame < frames {
                    f64::from(frame) / f64::from(frames)
                } else {
                    1.0
                };
                Image::new(self.width, self.height, from_k + (to_k - from_k) * share)
            }
            Pattern::Bars {
                base_k,
                delta_k,
                cycles_per_pixel,
                centre_px,
                direction,
            } => {
                let bar = 0.5 / cycles_per_pixel;
                let side = 7.0 * bar;
                let (left, top) = (centre_px.0 - side / 2.0, centre_px.1 - side / 2.0);
                let along = |p: f64, from: f64| overlap((p, p + 1.0), (from, from + side));
                let across = |p: f64, from: f64| -> f64 {
                    (0..4_u32)
                        .map(|i| from + 2.0 * bar * f64::from(i))
                        .map(|start| overlap((p, p + 1.0), (start, start + bar)))
                        .sum()
                };
                self.paint(|x, y| {
                    base_k
                        + delta_k
                            * match direction {
                                BarDirection::Upright => across(x, left) * along(y, top),
                                BarDirection::Level => along(x, left) * across(y, top),
                            }
                })
            }
            Pattern::Edge {
                left_k,
                right_k,
                degrees,
            } => {
                let (sin, cos) = degrees.to_radians().sin_cos();
                self.paint(|x, y| {
                    let (dx, dy) = (x + 0.5 - width / 2.0, y + 0.5 - height / 2.0);
                    left_k + (right_k - left_k) * edge_share(dx * cos + dy * sin, degrees)
                })
            }
            Pattern::Square {
                background_k,
                target_k,
                side_px,
                place,
            } => {
                let (left, top) = place.corner(side_px, self.width, self.height);
                let inside = |p: usize, from: usize| p >= from && p < from + side_px;
                Image::from_fn(self.width, self.height, |x, y| {
                    if inside(x, left) && inside(y, top) {
                        target_k
                    } else {
                        background_k
                    }
                })
            }
        }
    }
}
