//! What can be wrong with a recording.

use std::path::PathBuf;

/// A recording that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum RecordingError {
    /// A file is missing or cannot be read.
    #[error("{}: {source}; the folder needs a recording.toml, and the files it lists", file.display())]
    Read {
        /// Which file.
        file: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// `recording.toml` is not what it should be; the message holds line and field.
    #[error("recording.toml: {0}")]
    Toml(String),
    /// A field is outside its limits.
    #[error("recording.toml: {field} = {value} is not allowed: {limits}")]
    Field {
        /// Which field.
        field: &'static str,
        /// Its value.
        value: String,
        /// What is allowed.
        limits: String,
    },
    /// A row of a calibration table is wrong.
    #[error("recording.toml: {plane}.table row {row}: {why}")]
    Table {
        /// Which plane.
        plane: &'static str,
        /// Row, counted from 1.
        row: usize,
        /// What is wrong.
        why: String,
    },
    /// A file lies outside the folder.
    #[error("{} leads out of the recording's folder: use names inside it, without '..'", file.display())]
    Escape {
        /// Which file.
        file: PathBuf,
    },
    /// A frame is not of the stated size.
    #[error("{} is {} x {} pixels, but recording.toml states {} x {}", file.display(), got.0, got.1, want.0, want.1)]
    Size {
        /// Which file.
        file: PathBuf,
        /// Width and height in its header.
        got: (u64, u64),
        /// Width and height stated.
        want: (usize, usize),
    },
    /// A file is damaged or of a kind that is not read.
    #[error("{}: {why}", file.display())]
    Format {
        /// Which file.
        file: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// A temperature is not a number, or outside its limits.
    #[error("{}: frame {frame}, pixel ({x}, {y}): {value} K is outside {range}; check the unit, scale_k and offset_k", file.display(), range = crate::temperature::Kelvin::RANGE)]
    Kelvin {
        /// Which file.
        file: PathBuf,
        /// Frame, counted from 0.
        frame: usize,
        /// Column.
        x: usize,
        /// Row.
        y: usize,
        /// The value, kelvin.
        value: f64,
    },
    /// A count has more bits than stated.
    #[error("{}: frame {frame}, pixel ({x}, {y}): count {value} is above {max}; check bits", file.display())]
    Count {
        /// Which file.
        file: PathBuf,
        /// Frame, counted from 0.
        frame: usize,
        /// Column.
        x: usize,
        /// Row.
        y: usize,
        /// The count.
        value: u16,
        /// Largest count of the stated bits.
        max: u16,
    },
    /// There is no such frame.
    #[error("frame {index} was asked for, but the recording has {frames}, counted from 0")]
    Frame {
        /// What was asked for.
        index: usize,
        /// How many there are.
        frames: usize,
    },
}
