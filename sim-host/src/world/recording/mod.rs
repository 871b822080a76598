//! A stored sequence of count frames or temperature frames: a folder with a `recording.toml`.
//!
//! `docs/recordings.md` describes the folder. Nothing outside the folder is read, and no file is
//! decoded before its header agrees with the size that `recording.toml` states.

mod error;
mod read;
mod spec;

pub use error::RecordingError;
pub use spec::{Files, Kind, PlaneSpec, RecordingSpec, TableRow, Use};

use std::path::{Path, PathBuf};

use super::image::Image;
use super::radiometry::Band;
use super::rounding::to_u16;
use super::sensor::CalibrationTable;
use crate::temperature::Kelvin;
use read::Samples;

/// One frame, row-major.
#[derive(Clone, Debug, PartialEq)]
pub enum RecordedFrame {
    /// Raw counts per gain state, to be read with [`Recording::calibrations`].
    Counts {
        /// High gain (or the only plane, or temperature codes of 1/32 K).
        high: Option<Vec<u16>>,
        /// Low gain.
        low: Option<Vec<u16>>,
    },
    /// Apparent temperature in kelvin, meant to go through the sensor model.
    Kelvin(Image<f64>),
}

/// An opened recording.
#[derive(Clone, Debug)]
pub struct Recording {
    folder: PathBuf,
    spec: RecordingSpec,
    high: Option<Plane>,
    low: Option<Plane>,
}

/// A plane ready for reading.
#[derive(Clone, Debug)]
struct Plane {
    name: &'static str,
    files: Vec<PathBuf>,
    calibration: CalibrationTable,
    scale_k: f64,
    offset_k: f64,
}

impl Recording {
    /// Opens a folder: reads `recording.toml`, checks it, and checks that every frame is there.
    ///
    /// # Errors
    /// [`RecordingError`], naming the file and the field, value or row.
    pub fn open(folder: &Path) -> Result<Self, RecordingError> {
        let path = folder.join("recording.toml");
        let read = |source| RecordingError::Read {
            file: path.clone(),
            source,
        };
        let text = std::fs::read_to_string(&path).map_err(read)?;
        let folder = folder.canonicalize().map_err(read)?;
        let spec = RecordingSpec::parse(&text)?;
        let plane = |name, plane: &Option<PlaneSpec>| {
            plane
                .as_ref()
                .map(|p| Plane::new(&folder, name, p, &spec))
                .transpose()
        };
        let (high, low) = match spec.kind {
            Kind::Counts => (plane("high", &spec.high)?, plane("low", &spec.low)?),
            Kind::Kelvin => (plane("kelvin", &spec.kelvin)?, None),
        };
        if let (Some(high), Some(low)) = (&high, &low)
            && high.files.len() != low.files.len()
        {
            return Err(RecordingError::Field {
                field: "low.files",
                value: format!("{} frames", low.files.len()),
                limits: format!("as many as high.files, {}", high.files.len()),
            });
        }
        Ok(Self {
            folder,
            spec,
            high,
            low,
        })
    }

    /// Its name, for captions.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.spec.name
    }

    /// Everything `recording.toml` says.
    #[must_use]
    pub fn spec(&self) -> &RecordingSpec {
        &self.spec
    }

    /// Width and height in pixels.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        (self.spec.width, self.spec.height)
    }

    /// Number of frames, at least 1.
    #[must_use]
    pub fn len(&self) -> usize {
        self.high
            .as_ref()
            .or(self.low.as_ref())
            .map_or(0, |plane| plane.files.len())
    }

    /// Never true: a recording without frames is refused when opened.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Frames a second.
    #[must_use]
    pub fn frame_rate(&self) -> f64 {
        self.spec.frame_rate
    }

    /// Spectral band, 8 to 14 µm unless stated.
    #[must_use]
    pub fn band(&self) -> Band {
        let [short_um, long_um] = self.spec.band_um;
        Band { short_um, long_um }
    }

    /// Whether the frames go through the sensor model first.
    #[must_use]
    pub fn through_sensor(&self) -> bool {
        self.spec.kind == Kind::Kelvin && self.spec.usage == Use::Sensor
    }

    /// The calibrations of high and low gain. Kelvin used as they are have the identity (16-bit
    /// codes of 1/32 K) as high gain.
    #[must_use]
    pub fn calibrations(&self) -> (Option<CalibrationTable>, Option<CalibrationTable>) {
        let table = |plane: &Option<Plane>| plane.as_ref().map(|p| p.calibration.clone());
        (table(&self.high), table(&self.low))
    }

    /// Reads a frame, counted from 0.
    ///
    /// # Errors
    /// [`RecordingError`] naming the file, and for bad values frame and pixel.
    pub fn frame(&self, index: usize) -> Result<RecordedFrame, RecordingError> {
        if index >= self.len() {
            return Err(RecordingError::Frame {
                index,
                frames: self.len(),
            });
        }
        let (width, height) = self.size();
        let load = |plane: &Plane| {
            let file = &plane.files[index];
            let inside = file.canonicalize().map_err(|source| RecordingError::Read {
                file: file.clone(),
                source,
            })?;
            if !inside.starts_with(&self.folder) {
                return Err(RecordingError::Escape { file: file.clone() });
            }
            read::samples(&inside, width, height)
        };
        if self.spec.kind == Kind::Counts {
            let counts = |plane: &Option<Plane>| {
                plane
                    .as_ref()
                    .map(|p| self.counts(p, index, load(p)?))
                    .transpose()
            };
            return Ok(RecordedFrame::Counts {
                high: counts(&self.high)?,
                low: counts(&self.low)?,
            });
        }
        let Some(plane) = &self.high else {
            return Err(RecordingError::Frame { index, frames: 0 });
        };
        let kelvin: Vec<f64> = match load(plane)? {
            Samples::U16(codes) => codes
                .into_iter()
                .map(|code| f64::from(code) * plane.scale_k + plane.offset_k)
                .collect(),
            Samples::F32(values) => values
                .into_iter()
                .map(|value| f64::from(value) * plane.scale_k + plane.offset_k)
                .collect(),
        };
        if let Some(bad) = kelvin.iter().position(|k| !Kelvin(*k).in_range()) {
            return Err(RecordingError::Kelvin {
                file: plane.files[index].clone(),
                frame: index,
                x: bad % width,
                y: bad / width,
                value: kelvin[bad],
            });
        }
        Ok(match self.spec.usage {
            Use::Sensor => RecordedFrame::Kelvin(Image {
                width,
                height,
                data: kelvin,
            }),
            Use::AsIs => RecordedFrame::Counts {
                high: Some(
                    kelvin
                        .iter()
                        .map(|k| to_u16(k * 32.0, 1, u16::MAX - 1))
                        .collect(),
                ),
                low: None,
            },
        })
    }

    fn counts(
        &self,
        plane: &Plane,
        index: usize,
        samples: Samples,
    ) -> Result<Vec<u16>, RecordingError> {
        let file = || plane.files[index].clone();
        let Samples::U16(counts) = samples else {
            return Err(RecordingError::Format {
                file: file(),
                why: format!(
                    "plane {} holds floats, but counts are 16-bit whole numbers",
                    plane.name
                ),
            });
        };
        let max = spec::largest_count(self.spec.bits);
        match counts.iter().position(|&count| count > max) {
            None => Ok(counts),
            Some(bad) => Err(RecordingError::Count {
                file: file(),
                frame: index,
                x: bad % self.spec.width,
                y: bad / self.spec.width,
                value: counts[bad],
                max,
            }),
        }
    }
}

impl Plane {
    fn new(
        folder: &Path,
        name: &'static str,
        plane: &PlaneSpec,
        spec: &RecordingSpec,
    ) -> Result<Self, RecordingError> {
        let files = plane
            .names(spec.frames, spec.first_frame)?
            .iter()
            .map(|file| spec::inside(folder, file))
            .collect::<Result<Vec<_>, _>>()?;
        let calibration = match spec.kind {
            Kind::Counts => plane.calibration(name, spec.bits)?,
            Kind::Kelvin => CalibrationTable::identity(),
        };
        Ok(Self {
            name,
            files,
            calibration,
            scale_k: plane.scale_k,
            offset_k: plane.offset_k,
        })
    }
}
