//! What can be looked at, opened by what a person writes: the name of a simulated target or of a
//! scenario, a scenario file, or the folder of a recording. Every command that shows something obtains its frames here.
//!
//! [`Source::frame`] gives what stands before the display at a frame, [`Lens`] turns it into counts
//! (simulated scenes go through the simulated sensor, stored counts pass as they are), and
//! [`Counts::show`] puts the counts on a display.

mod error;
mod lens;
mod meant;

use std::path::Path;

pub use error::SourceError;
pub use lens::{Counts, Lens};

use crate::measure::reading::real;
use crate::run::{RunError, SensorTables};
use crate::world::image::Image;
use crate::world::recording::{RecordedFrame, Recording};
use crate::world::rounding::floor_index;
use crate::world::scenario::{self, Scenario, ScenarioError, Staged};
use crate::world::scene::{Mark, Scene};
use crate::world::sensor::{Sensor, SensorModel};
use crate::world::target::scene_from_name;

/// Size of a simulated scene when none is asked for.
pub const USUAL_SIZE: (usize, usize) = (320, 240);
/// Frames shown of a target when none are asked for.
const TARGET_FRAMES: usize = 30;
/// Last frame of the usual instants of a target: in five seconds the workshop's source has grown and
/// the scale has followed.
const TARGET_SHEET_FRAMES: usize = 150;
/// Frames a scene without an end can be shown for.
pub const MOST_FRAMES: usize = 9999;

/// Frames a second that a display shows of a scenario.
const SCENARIO_RATE: usize = 30;
/// Frames before an instant of a scenario that are shown one by one: 3 s.
const SCENARIO_RUN_UP: usize = 90;
/// Instants that are shown of a scenario when none are asked for, both ends included.
const SCENARIO_INSTANTS: usize = 7;

/// Something that can be looked at, frame after frame.
pub struct Source {
    text: String,
    size: (usize, usize),
    what: What,
}

#[allow(clippy::large_enum_variant, reason = "one a run")]
enum What {
    Scene(Box<dyn Scene>),
    Scenario(Box<Staged>),
    Recording(Recording),
}

/// What stands before the display at one frame.
#[derive(Clone, Debug, PartialEq)]
pub enum Frame {
    /// Raw counts, to be shown as they are.
    Counts(Counts),
    /// Apparent temperature of every pixel in kelvin, for the simulated sensor, with the marks in view.
    Apparent {
        /// The picture.
        image: Image<f64>,
        /// Marks whose visibility is followed; none in a recording.
        marks: Vec<Mark>,
    },
}

impl Source {
    /// Opens a folder of a recording, a simulated target or a scenario by its name, or a scenario file
    /// ending in `.toml`.
    ///
    /// `size` (columns, rows) is for simulated scenes; when `None`, [`USUAL_SIZE`] for a target, and
    /// what its file says for a scenario.
    ///
    /// # Errors
    /// [`SourceError`] for an unknown name, a recording that cannot be used, or a size for a recording.
    ///
    /// ```
    /// use glowsill::source::Source;
    /// let source = Source::open("workshop", Some((32, 24))).unwrap();
    /// assert_eq!(source.size(), (32, 24));
    /// assert_eq!(source.marks(0).unwrap().len(), 3); // person, ladder, lantern
    /// ```
    pub fn open(text: &str, size: Option<(usize, usize)>) -> Result<Self, SourceError> {
        Self::open_telling(text, size, &|_| ())
    }

    /// As [`Self::open`]; while the heat of a scenario is computed, `progress` is told the share done,
    /// 0 to 1.
    ///
    /// # Errors
    /// As [`Self::open`].
    pub fn open_telling(
        text: &str,
        size: Option<(usize, usize)>,
        progress: &(dyn Fn(f64) + Sync),
    ) -> Result<Self, SourceError> {
        let folder = Path::new(text);
        let (what, size) = if folder.is_dir() {
            if size.is_some() {
                return Err(SourceError::RecordingSize);
            }
            let recording = Recording::open(folder)?;
            let size = recording.size();
            (What::Recording(recording), size)
        } else if scenario::names().contains(&text) || text.ends_with(".toml") {
            let mut scenario = Scenario::open(text).map_err(|cause| match cause {
                ScenarioError::Read { .. } => SourceError::NoFile {
                    cause,
                    meant: meant::sentence(text),
                },
                other => other.into(),
            })?;
            if let Some(size) = size {
                scenario = scenario.with_size(size);
            }
            let staged = scenario.stage(progress)?;
            let size = staged.size();
            (What::Scenario(Box::new(staged)), size)
        } else {
            let (width, height) = size.unwrap_or(USUAL_SIZE);
            let scene =
                scene_from_name(text, width, height).map_err(|target| SourceError::Unknown {
                    target,
                    meant: meant::sentence(text),
                })?;
            (What::Scene(scene), (width, height))
        };
        Ok(Self {
            text: text.to_owned(),
            size,
            what,
        })
    }

    /// Its name for people: that of the target, or the one the recording gives itself.
    #[must_use]
    pub fn name(&self) -> &str {
        match &self.what {
            What::Scene(_) | What::Scenario(_) => &self.text,
            What::Recording(recording) => recording.name(),
        }
    }

    /// Columns and rows.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        self.size
    }

    /// How many frames there are; [`MOST_FRAMES`] of a target, which has no end. A scenario has 30 a
    /// second.
    #[must_use]
    pub fn length(&self) -> usize {
        match &self.what {
            What::Scene(_) => MOST_FRAMES,
            What::Scenario(staged) => {
                floor_index(staged.seconds() * real(SCENARIO_RATE) + 1e-6, 1_000_000) + 1
            }
            What::Recording(recording) => recording.len(),
        }
    }

    /// How many frames are shown: those asked for, else 30 of a target and all of a recording.
    ///
    /// # Errors
    /// [`SourceError::TooManyFrames`] beyond [`Self::length`].
    pub fn frames(&self, asked: Option<usize>) -> Result<usize, SourceError> {
        let length = self.length();
        let frames = asked.unwrap_or(match &self.what {
            What::Scene(_) | What::Scenario(_) => TARGET_FRAMES,
            What::Recording(_) => length,
        });
        if frames > length {
            return Err(SourceError::TooManyFrames {
                asked: frames,
                length,
            });
        }
        Ok(frames)
    }

    /// Seconds from one frame to the next.
    #[must_use]
    pub fn frame_seconds(&self) -> f64 {
        match &self.what {
            What::Scene(scene) => scene.frame_seconds(),
            What::Scenario(_) => 1.0 / real(SCENARIO_RATE),
            What::Recording(recording) => 1.0 / recording.frame_rate(),
        }
    }

    /// What an imager cannot see here, one sentence each.
    #[must_use]
    pub fn unseen(&self) -> Vec<String> {
        match &self.what {
            What::Scene(scene) => scene.unseen(),
            What::Scenario(staged) => staged.unseen(),
            What::Recording(_) => Vec::new(),
        }
    }

    /// Vertical field of view in degrees, where it is known.
    #[must_use]
    pub fn view_degrees(&self) -> Option<f64> {
        match &self.what {
            What::Scene(scene) => scene.view_degrees(),
            What::Scenario(staged) => Some(staged.camera(0.0).vertical_fov_deg),
            What::Recording(_) => None,
        }
    }

    /// Frames at the start, middle and end of what there is to see, for sheets without instants of
    /// their own: all of a recording or scenario, the first five seconds of a target.
    #[must_use]
    pub fn usual_instants(&self) -> Vec<usize> {
        let last = match &self.what {
            What::Scene(_) => TARGET_SHEET_FRAMES,
            What::Recording(_) | What::Scenario(_) => self.length().saturating_sub(1),
        };
        let mut frames = vec![last / 10, last / 2, last];
        frames.dedup();
        frames
    }

    /// Frames over the whole span of a scenario, both ends included; `None` of what is shown frame by
    /// frame.
    #[must_use]
    pub fn spread(&self) -> Option<Vec<usize>> {
        let What::Scenario(_) = &self.what else {
            return None;
        };
        let last = self.length() - 1;
        let steps = SCENARIO_INSTANTS - 1;
        let mut frames: Vec<usize> = (0..=steps).map(|step| step * last / steps).collect();
        frames.dedup();
        Some(frames)
    }

    /// The frames a display is shown so that it stands at each wanted frame as it should: every frame
    /// from the first on, because scale and bands have memory. Of a scenario, which lasts minutes, one a
    /// second, and every one of the last 3 s before a wanted frame; see [`Self::feeding`].
    #[must_use]
    pub fn feed(&self, wanted: &[usize]) -> Vec<usize> {
        let last = wanted.iter().max().copied().unwrap_or(0);
        let shown = |frame: &usize| match &self.what {
            What::Scenario(_) => {
                let soon = |at: &usize| (*at).checked_sub(*frame);
                frame.is_multiple_of(SCENARIO_RATE)
                    || wanted
                        .iter()
                        .filter_map(soon)
                        .any(|ahead| ahead < SCENARIO_RUN_UP)
            }
            _ => true,
        };
        (0..=last).filter(shown).collect()
    }

    /// What [`Self::feed`] does, in a sentence.
    #[must_use]
    pub fn feeding(&self) -> &'static str {
        match &self.what {
            What::Scenario(_) => {
                "The display was shown one frame of each second of the scenario, and every frame (30 a \
                 second) of the last 3 s before each instant."
            }
            _ => "The display was shown every frame from the first on.",
        }
    }

    /// Limits of the model that a scenario left, each once with its span of time.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        match &self.what {
            What::Scenario(staged) => staged.warnings(),
            _ => &[],
        }
    }

    /// What stands before the display at a frame, counted from 0.
    ///
    /// # Errors
    /// [`SourceError::Recording`] when a file cannot be read.
    pub fn frame(&self, frame: usize) -> Result<Frame, SourceError> {
        Ok(match &self.what {
            What::Scene(scene) => {
                let view = scene.view(number(frame));
                Frame::Apparent {
                    image: view.apparent,
                    marks: view.marks,
                }
            }
            What::Scenario(staged) => {
                let view = staged.view_at(self.seconds(frame));
                Frame::Apparent {
                    image: view.apparent,
                    marks: view.marks,
                }
            }
            What::Recording(recording) => match recording.frame(frame)? {
                RecordedFrame::Counts { high, low } => Frame::Counts(Counts { high, low }),
                RecordedFrame::Kelvin(image) => Frame::Apparent {
                    image,
                    marks: Vec::new(),
                },
            },
        })
    }

    /// Seconds of a frame after the first.
    #[must_use]
    pub fn seconds(&self, frame: usize) -> f64 {
        real(frame) * self.frame_seconds()
    }

    /// The marks in view at a frame; none in a recording.
    ///
    /// # Errors
    /// As [`Self::frame`].
    pub fn marks(&self, frame: usize) -> Result<Vec<Mark>, SourceError> {
        match &self.what {
            What::Scene(scene) => Ok(scene.view(number(frame)).marks),
            What::Scenario(staged) => Ok(staged.view_at(self.seconds(frame)).marks),
            What::Recording(_) => Ok(Vec::new()),
        }
    }

    /// The simulated sensor before this source, with noise drawn from a seed.
    ///
    /// # Errors
    /// [`SourceError::Run`] when the sensor or a calibration is impossible.
    pub fn lens(&self, seed: u64) -> Result<Lens, SourceError> {
        let (width, height) = self.size;
        let sensor =
            Sensor::new(SensorModel::default(), width, height, seed).map_err(RunError::from)?;
        let tables = match &self.what {
            What::Recording(recording) if !recording.through_sensor() => {
                let (high, low) = recording.calibrations();
                SensorTables::calibrated(high.as_ref(), low.as_ref())?
            }
            _ => SensorTables::of(&sensor)?,
        };
        Ok(Lens { sensor, tables })
    }
}

/// Scenes count frames in 32 bits; no source is that long.
fn number(frame: usize) -> u32 {
    u32::try_from(frame).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests;
