//! `recording.toml`: its fields, limits and calibration tables.

use std::path::{Component, Path, PathBuf};

use serde::Deserialize;

use super::RecordingError;
use crate::temperature::Kelvin;
use crate::world::radiometry::Band;
use crate::world::rounding::{count_f64, to_u16};
use crate::world::sensor::CalibrationTable;

/// Most frames a recording may have.
const MOST_FRAMES: usize = 100_000;

/// What the numbers of the frames are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Raw counts of one or two gain states.
    Counts,
    /// Apparent temperature.
    Kelvin,
}

/// How temperature frames are used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Use {
    /// Straight into the pipeline.
    #[default]
    AsIs,
    /// Through the sensor model first.
    Sensor,
}

/// The files of a plane, in order.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(untagged)]
pub enum Files {
    /// A name each.
    List(Vec<String>),
    /// A name whose run of `#` stands for the frame number, padded with zeros.
    Pattern(String),
}

/// A row of a calibration table.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TableRow {
    /// Raw counts.
    pub counts: u16,
    /// Apparent temperature, with its unit.
    pub temperature: Kelvin,
}

/// One plane of a recording.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlaneSpec {
    /// Its files.
    pub files: Files,
    /// Counts → temperature; counts planes only, at least two rows.
    #[serde(default)]
    pub table: Vec<TableRow>,
    /// Raw count from which a sample is saturated; the largest count unless stated.
    pub saturation: Option<u16>,
    /// Kelvin a code, kelvin planes only; 1 unless stated.
    #[serde(default = "one")]
    pub scale_k: f64,
    /// Kelvin at code 0, kelvin planes only; 0 unless stated.
    #[serde(default)]
    pub offset_k: f64,
}

/// Everything in a `recording.toml`.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordingSpec {
    /// For captions.
    pub name: String,
    /// Where it comes from and under what terms, for captions.
    #[serde(default)]
    pub origin: String,
    /// What the numbers are.
    pub kind: Kind,
    /// How temperature frames are used.
    #[serde(default, rename = "use")]
    pub usage: Use,
    /// Pixels in a row, 8 to 1280.
    pub width: usize,
    /// Rows, 8 to 1024.
    pub height: usize,
    /// Number of frames, needed with a pattern.
    pub frames: Option<usize>,
    /// Number of the first frame of a pattern.
    #[serde(default)]
    pub first_frame: usize,
    /// Frames a second, 0.1 to 1000.
    #[serde(default = "thirty")]
    pub frame_rate: f64,
    /// Bits of a count, 14 to 16.
    #[serde(default = "fourteen")]
    pub bits: u8,
    /// Spectral band, µm.
    #[serde(default = "long_wave")]
    pub band_um: [f64; 2],
    /// High gain, or the only plane of counts.
    pub high: Option<PlaneSpec>,
    /// Low gain.
    pub low: Option<PlaneSpec>,
    /// Temperature.
    pub kelvin: Option<PlaneSpec>,
}

fn one() -> f64 {
    1.0
}

fn thirty() -> f64 {
    30.0
}

fn fourteen() -> u8 {
    14
}

fn long_wave() -> [f64; 2] {
    [Band::LONG_WAVE.short_um, Band::LONG_WAVE.long_um]
}

/// Largest count of a number of bits, at most 16.
pub(super) fn largest_count(bits: u8) -> u16 {
    u16::MAX >> (16 - bits.min(16))
}

fn field(field: &'static str, value: impl ToString, limits: &str) -> RecordingError {
    RecordingError::Field {
        field,
        value: value.to_string(),
        limits: limits.to_owned(),
    }
}

/// Joins a name to the folder if it is a plain path inside it.
pub(super) fn inside(folder: &Path, name: &str) -> Result<PathBuf, RecordingError> {
    let path = Path::new(name);
    if name.is_empty() || !path.components().all(|c| matches!(c, Component::Normal(_))) {
        return Err(RecordingError::Escape {
            file: path.to_owned(),
        });
    }
    let file = folder.join(path);
    match std::fs::metadata(&file) {
        Ok(data) if data.is_file() => Ok(file),
        Ok(_) => Err(RecordingError::Format {
            file,
            why: "not a file".to_owned(),
        }),
        Err(source) => Err(RecordingError::Read { file, source }),
    }
}

impl RecordingSpec {
    /// Parses and checks the text of a `recording.toml`.
    ///
    /// # Errors
    /// [`RecordingError::Toml`] with line and field, or [`RecordingError::Field`] with value and
    /// limits.
    pub fn parse(text: &str) -> Result<Self, RecordingError> {
        let spec: Self =
            toml::from_str(text).map_err(|error| RecordingError::Toml(error.to_string()))?;
        if !(8..=1280).contains(&spec.width) {
            return Err(field("width", spec.width, "8 to 1280 pixels"));
        }
        if !(8..=1024).contains(&spec.height) {
            return Err(field("height", spec.height, "8 to 1024 pixels"));
        }
        if !(spec.frame_rate >= 0.1 && spec.frame_rate <= 1000.0) {
            return Err(field(
                "frame_rate",
                spec.frame_rate,
                "0.1 to 1000 frames a second",
            ));
        }
        if !(14..=16).contains(&spec.bits) {
            return Err(field(
                "bits",
                spec.bits,
                "14 to 16; shift counts of fewer bits up to 14",
            ));
        }
        let [short, long] = spec.band_um;
        if Band::new(short, long).is_err() {
            return Err(field(
                "band_um",
                format!("[{short}, {long}]"),
                "rising, 0.1 to 1000 um",
            ));
        }
        let needed = match spec.kind {
            Kind::Counts => spec.high.is_some() || spec.low.is_some(),
            Kind::Kelvin => spec.kelvin.is_some(),
        };
        if !needed {
            return Err(field(
                "kind",
                kind_name(spec.kind),
                "counts need [high] or [low], kelvin needs [kelvin]",
            ));
        }
        let stray = match spec.kind {
            Kind::Counts => spec.kelvin.is_some(),
            Kind::Kelvin => spec.high.is_some() || spec.low.is_some(),
        };
        if stray {
            return Err(field(
                "kind",
                kind_name(spec.kind),
                "remove the planes of the other kind",
            ));
        }
        for plane in [&spec.high, &spec.low, &spec.kelvin].into_iter().flatten() {
            plane.check(spec.kind)?;
        }
        Ok(spec)
    }
}

fn kind_name(kind: Kind) -> &'static str {
    match kind {
        Kind::Counts => "counts",
        Kind::Kelvin => "kelvin",
    }
}

impl PlaneSpec {
    fn check(&self, kind: Kind) -> Result<(), RecordingError> {
        if !(self.scale_k > 0.0 && self.scale_k <= 100.0) {
            return Err(field("scale_k", self.scale_k, "above 0 to 100 K a code"));
        }
        if !(self.offset_k >= -1000.0 && self.offset_k <= 2000.0) {
            return Err(field("offset_k", self.offset_k, "-1000 to 2000 K"));
        }
        if kind == Kind::Kelvin && (!self.table.is_empty() || self.saturation.is_some()) {
            return Err(field(
                "kelvin.table",
                "given",
                "kelvin need no table and no saturation",
            ));
        }
        Ok(())
    }

    /// The names of the frames, in order.
    pub(super) fn names(
        &self,
        frames: Option<usize>,
        first: usize,
    ) -> Result<Vec<String>, RecordingError> {
        let count = match (&self.files, frames) {
            (Files::List(list), None) => list.len(),
            (Files::List(list), Some(frames)) if frames == list.len() => frames,
            (Files::List(list), Some(frames)) => {
                return Err(field(
                    "frames",
                    frames,
                    &format!("the list holds {}", list.len()),
                ));
            }
            (Files::Pattern(_), Some(frames)) => frames,
            (Files::Pattern(pattern), None) => {
                return Err(field(
                    "files",
                    pattern,
                    "a pattern needs frames = the number of frames",
                ));
            }
        };
        if !(1..=MOST_FRAMES).contains(&count) {
            return Err(field("frames", count, "1 to 100000"));
        }
        match &self.files {
            Files::List(list) => Ok(list.clone()),
            Files::Pattern(pattern) => {
                let bad = || field("files", pattern, "one run of #, such as high-####.png");
                let start = pattern.find('#').ok_or_else(bad)?;
                let (head, rest) = pattern.split_at(start);
                let tail = rest.trim_start_matches('#');
                let digits = rest.len() - tail.len();
                if tail.contains('#') || digits > 9 || first > 1_000_000_000 {
                    return Err(bad());
                }
                Ok((first..first + count)
                    .map(|i| format!("{head}{i:0digits$}{tail}"))
                    .collect())
            }
        }
    }

    /// Resamples the table, linear between its rows and level beyond them, to 257 knots.
    pub(super) fn calibration(
        &self,
        plane: &'static str,
        bits: u8,
    ) -> Result<CalibrationTable, RecordingError> {
        let wrong = |row: usize, why: String| RecordingError::Table { plane, row, why };
        if self.table.len() < 2 {
            return Err(wrong(
                self.table.len(),
                "a table needs at least two rows, such as { counts = 4000, temperature = \"20 C\" }"
                    .to_owned(),
            ));
        }
        let max = largest_count(bits);
        for (i, row) in self.table.iter().enumerate() {
            if row.counts > max {
                return Err(wrong(
                    i + 1,
                    format!("counts {} above {max}; check bits", row.counts),
                ));
            }
        }
        for (i, pair) in self.table.windows(2).enumerate() {
            let (a, b) = (pair[0], pair[1]);
            if b.counts <= a.counts {
                let why = format!("counts {} after {}: they must rise", b.counts, a.counts);
                return Err(wrong(i + 2, why));
            }
            if b.temperature < a.temperature {
                let why = format!(
                    "{} after {}: temperature must not fall",
                    b.temperature, a.temperature
                );
                return Err(wrong(i + 2, why));
            }
        }
        let saturation = self.saturation.unwrap_or(max);
        if saturation == 0 || saturation > max {
            return Err(field("saturation", saturation, &format!("1 to {max}")));
        }
        let shift = bits - 8;
        let knots = (0..=256_usize)
            .map(|i| to_u16(self.kelvin_at(count_f64(i << shift)) * 32.0, 1, u16::MAX))
            .collect();
        Ok(CalibrationTable {
            shift,
            knots,
            saturation,
        })
    }

    fn kelvin_at(&self, count: f64) -> f64 {
        let counts = |row: &TableRow| f64::from(row.counts);
        let above = self.table.partition_point(|row| counts(row) <= count);
        match (
            above.checked_sub(1).and_then(|i| self.table.get(i)),
            self.table.get(above),
        ) {
            (Some(a), Some(b)) => {
                let share = (count - counts(a)) / (counts(b) - counts(a));
                a.temperature.0 + share * (b.temperature.0 - a.temperature.0)
            }
            (Some(end), None) | (None, Some(end)) => end.temperature.0,
            (None, None) => 0.0,
        }
    }
}
