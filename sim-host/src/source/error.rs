//! What stops a source.

use crate::run::RunError;
use crate::world::recording::RecordingError;
use crate::world::scenario::{self, ScenarioError};
use crate::world::target::UnknownTarget;

/// A source that cannot be opened or read.
#[derive(Debug, thiserror::Error)]
pub enum SourceError {
    /// A recording cannot be used.
    #[error(transparent)]
    Recording(#[from] RecordingError),
    /// A recording has a size of its own.
    #[error("--size is for simulated targets: a recording has its own; leave --size out")]
    RecordingSize,
    /// More frames than there are.
    #[error("--frames {asked}: there are {length}; ask for 1 to {length}")]
    TooManyFrames {
        /// Frames asked for.
        asked: usize,
        /// Frames there are.
        length: usize,
    },
    /// A scenario cannot be read or computed.
    #[error(transparent)]
    Scenario(#[from] ScenarioError),
    /// There is no such target, scenario or folder.
    #[error(
        "{target}. Or name a scenario: {names}; or a scenario file ending in .toml, or the folder of a recording.{meant}",
        names = scenario::names().join(", ")
    )]
    Unknown {
        /// What was asked for.
        target: UnknownTarget,
        /// What is near it, as a sentence; may be empty.
        meant: String,
    },
    /// There is no such scenario file.
    #[error("{cause}.{meant}")]
    NoFile {
        /// What the system said.
        cause: ScenarioError,
        /// What is near it, as a sentence; may be empty.
        meant: String,
    },
    /// The simulated sensor or the pipeline refused.
    #[error(transparent)]
    Run(#[from] RunError),
}
