//! What stops a command.

use std::path::{Path, PathBuf};

use crate::profile_file::ProfileFileError;
use crate::temperature::Kelvin;
use crate::world::radiometry::RadiometryError;

/// Why a command could not do its work; every message says what to do next.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// A profile cannot be used.
    #[error(transparent)]
    Profile(#[from] ProfileFileError),
    /// A radiometric value cannot be used.
    #[error(transparent)]
    Radiometry(#[from] RadiometryError),
    /// The surface would read outside the range of temperatures.
    #[error(
        "a surface of {0} reads outside {range} through this path: check emissivity, transmission, surroundings and air",
        range = Kelvin::RANGE
    )]
    NoReading(Kelvin),
    /// The surface behind a reading would be outside the range of temperatures.
    #[error(
        "a reading of {reading} would need a surface of {surface} at emissivity {emissivity}, outside {range}: give a \
         lower reading or a higher emissivity, or check surroundings and air",
        range = Kelvin::RANGE
    )]
    NoSurface {
        /// What the imager reads.
        reading: Kelvin,
        /// The surface that it would take.
        surface: Kelvin,
        /// Emissivity asked for.
        emissivity: f64,
    },
    /// Interrupts cannot be caught.
    #[error(
        "cannot watch for interrupts: {0}. Start glowsill where signals may be handled, such as a plain terminal"
    )]
    Signals(#[from] ctrlc::Error),
    /// A profile does not fit its binary form.
    #[error("{0}. Please report this: it is a defect of glowsill")]
    Packed(glowsill_core::packed::PackedError),
    /// A requirements file cannot be used.
    #[error(transparent)]
    Requirement(#[from] crate::requirement::RequirementError),
    /// No requirement asks for what is measured.
    #[error(
        "no requirement is left: none asks for {}; add a measure with --only, or give other \
         --requirements",
        .0.join(", ")
    )]
    NothingRequired(Vec<&'static str>),
    /// A requirement asks for something that its measure never gives.
    #[error("requirement '{id}': {field} '{value}' is not known; write one of: {known}")]
    UnknownInRequirement {
        /// Id of the requirement.
        id: String,
        /// Which field.
        field: String,
        /// Its value.
        value: String,
        /// What may stand there.
        known: String,
    },
    /// Two profiles cannot be told apart.
    #[error("'{first}' and '{second}' both have the name '{name}': give each profile its own name")]
    SameName {
        /// The name.
        name: String,
        /// File of the first.
        first: String,
        /// File of the second.
        second: String,
    },
    /// A measure could not be made.
    #[error("measure {measure} of profile '{profile}': {cause}")]
    Measure {
        /// Which measure.
        measure: crate::measure::MeasureId,
        /// Of which profile.
        profile: String,
        /// Why not.
        cause: crate::measure::MeasureError,
    },
    /// The report cannot be written.
    #[error(transparent)]
    Report(#[from] crate::report::ReportError),
    /// A plot or chart cannot be drawn.
    #[error(transparent)]
    Plot(#[from] crate::plot::PlotError),
    /// The display could not be run.
    #[error(transparent)]
    Run(#[from] crate::run::RunError),
    /// What is to be looked at cannot be opened or read.
    #[error(transparent)]
    Source(#[from] crate::source::SourceError),
    /// A scenario cannot be used.
    #[error(transparent)]
    Scenario(#[from] crate::world::scenario::ScenarioError),
    /// A frame could not be drawn; those before it are there.
    #[error(
        "frame {frame}: {cause}. {written} before it and records.json are in '{}': mend what is named, \
         or ask only for what comes before, such as with --frames {frame}",
        folder.display()
    )]
    FrameFailed {
        /// Number of the frame.
        frame: usize,
        /// Pictures written, in words.
        written: String,
        /// Where they are.
        folder: PathBuf,
        /// What stopped it.
        cause: Box<Self>,
    },
    /// More instants than there should be pictures.
    #[error(
        "--every {every_s}s: {asked} pictures; ask for at most 500, so for --every {least_s}s or more"
    )]
    TooManyInstants {
        /// Seconds asked for.
        every_s: f64,
        /// How many that gives.
        asked: usize,
        /// Seconds that would do.
        least_s: f64,
    },
    /// Two instants are one frame.
    #[error(
        "--at {first} and {second} are both frame {frame}, for a frame lasts {frame_s:.3} s: leave one of them out"
    )]
    SameFrame {
        /// The instant that comes first on the command line.
        first: String,
        /// The other.
        second: String,
        /// The frame.
        frame: usize,
        /// Seconds of a frame.
        frame_s: f64,
    },
    /// Pictures follow each other too fast or too slowly for an animation.
    #[error("--speed {speed}: {cause}; choose a speed nearer to 1")]
    Pace {
        /// Speed asked for.
        speed: f64,
        /// What it leads to.
        cause: crate::animation::DelayError,
    },
    /// A video of one picture.
    #[error(
        "--video needs two pictures or more and one is asked for: ask for more with --frames, --at or --every, or          leave --video out"
    )]
    OnePicture,
    /// The animation cannot be written.
    #[error("cannot write animation '{}': {cause}. Choose a place you may write to, with space for it", path.display())]
    Animation {
        /// Where.
        path: PathBuf,
        /// What the writer said.
        cause: crate::animation::AnimationError,
    },
    /// The video cannot be made.
    #[error(transparent)]
    Video(#[from] crate::video::VideoError),
    /// A sheet cannot be made or written.
    #[error(transparent)]
    Sheet(#[from] crate::sheet::SheetError),
    /// There is no such wall.
    #[error(transparent)]
    Assembly(#[from] crate::world::conduction::UnknownAssembly),
    /// Heat through a wall cannot be computed.
    #[error(transparent)]
    Conduction(#[from] crate::world::conduction::ConductionError),
    /// The file's ending names no picture form.
    #[error("'{}' ends neither in .png nor in .svg: give it one of these endings", .0.display())]
    Ending(PathBuf),
    /// A picture cannot be written.
    #[error("cannot write picture '{}': {cause}. Choose a place you may write to", path.display())]
    Picture {
        /// Where.
        path: PathBuf,
        /// What the system said.
        cause: image::ImageError,
    },
    /// A file or folder cannot be written.
    #[error("cannot write '{}': {cause}. Choose a place you may write to", path.display())]
    Write {
        /// Where.
        path: PathBuf,
        /// What the system said.
        cause: std::io::Error,
    },
    /// The conformance vectors cannot be used.
    #[error(transparent)]
    Vectors(#[from] crate::vectors::VectorSetError),
    /// A program cannot be checked against the vectors.
    #[error(transparent)]
    Program(crate::vectors::ProgramError),
    /// There is no such vector.
    #[error("there is no vector '{0}'; glowsill vectors list --only STAGE lists identifiers")]
    NoVector(String),
    /// A result cannot be written as JSON.
    #[error("cannot write JSON: {0}. Please report this: it is a defect of glowsill")]
    Json(#[from] serde_json::Error),
}

impl From<glowsill_core::packed::PackedError> for CliError {
    fn from(error: glowsill_core::packed::PackedError) -> Self {
        Self::Packed(error)
    }
}

impl CliError {
    /// Gives a closure for `map_err` on writing to `path`.
    pub(super) fn writing(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |cause| Self::Write { path, cause }
    }
}
