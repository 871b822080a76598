//! What stops a sheet.

use crate::plot::PlotError;
use crate::report::ReportError;
use crate::run::RunError;
use crate::source::SourceError;

/// A sheet that cannot be made or written.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// What is to be looked at cannot be read.
    #[error(transparent)]
    Source(#[from] SourceError),
    /// The display could not be run.
    #[error(transparent)]
    Run(#[from] RunError),
    /// An instant outside the source.
    #[error(
        "{option} {asked}: '{source_name}' runs from 0 s to {last_s:.2} s (frame 0 to frame {last}); \
         ask for instants in between"
    )]
    OutOfRange {
        /// The option of the command line.
        option: &'static str,
        /// What was asked for.
        asked: String,
        /// Name of the source.
        source_name: String,
        /// Last frame.
        last: usize,
        /// Seconds of the last frame.
        last_s: f64,
    },
    /// Both instants are the same frame.
    #[error(
        "--between {first},{second}: both are frame {frame}, and nothing changes within a frame; write a \
         later second instant"
    )]
    SameFrame {
        /// The first.
        first: String,
        /// The second.
        second: String,
        /// The frame.
        frame: usize,
    },
    /// The second instant comes before the first.
    #[error("--between {first},{second}: the second instant must come after the first; swap them")]
    Order {
        /// The first.
        first: String,
        /// The second.
        second: String,
    },
    /// The profile cannot be given another gain plan.
    #[error("the profile with another gain plan is not valid: {0}. Change its scale or onset")]
    Twin(String),
    /// The folder cannot be used.
    #[error(transparent)]
    Folder(#[from] ReportError),
    /// A figure cannot be drawn.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// A picture cannot be encoded.
    #[error("a picture cannot be encoded: {0}. Please report this: it is a defect of glowsill")]
    Encode(#[from] image::ImageError),
    /// The JSON cannot be made.
    #[error("cannot write JSON: {0}. Please report this: it is a defect of glowsill")]
    Json(#[from] serde_json::Error),
    /// A file cannot be written.
    #[error("cannot write '{file}': {cause}. Free some space or choose another folder with --out")]
    Write {
        /// Name of the file.
        file: String,
        /// What the system said.
        cause: std::io::Error,
    },
}
