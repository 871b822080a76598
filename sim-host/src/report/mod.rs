//! The report: one HTML page that needs nothing else, `report.json`, `junit.xml` and the pictures.
//!
//! [`OutputFolder::prepare`] is called before the measuring starts, so that a folder that cannot be written
//! is known at once. [`Report::write`] fills it, and [`OutputFolder::commit`] makes the files appear, with
//! `report.json` last: an interrupted run leaves no report that looks whole.
//! Neither paths of the machine nor times beyond the date are written. See `docs/report-format.md`.

mod folder;
pub(crate) mod html;
mod json;
mod junit;
mod manifest;
mod pictures;
mod unfinished;
mod words;

use std::fs;
use std::path::{Path, PathBuf};

use glowsill_core::profile::ProfileSpec;

pub use folder::OutputFolder;
pub use unfinished::discard_unfinished;
pub use words::{CAUTIONS, today};

use crate::measure::Outcome;
use crate::plot::PlotError;
use crate::requirement::{Judgement, RequirementSet, Verdict};

/// Version of the form of `report.json`; it rises when a field is removed or changes meaning.
pub const SCHEMA_VERSION: u32 = 2;

/// A report that cannot be made or written.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// A file or folder cannot be used.
    #[error("{path}: {reason}; {next}", path = path.display())]
    Folder {
        /// The file or folder.
        path: PathBuf,
        /// What the system said, or what stands in the way.
        reason: String,
        /// What to do about it.
        next: &'static str,
    },
    /// A file of the report's name is there, and no report of this program.
    #[error("{path} was not written by this program and is left alone; choose another folder", path = path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// The date is not of the form 2026-01-31.
    #[error("date '{0}' is not a day: write it as year, month and day, such as 2026-01-31")]
    Date(String),
    /// There is nothing to report.
    #[error("the report has no profile: measure at least one")]
    Empty,
    /// A picture cannot be drawn.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// A file cannot be encoded.
    #[error("{what} cannot be encoded: {reason}")]
    Encode {
        /// The file or picture.
        what: String,
        /// What the encoder said.
        reason: String,
    },
}

/// What was found for one profile.
#[derive(Clone, Debug)]
pub struct ProfileReport {
    /// The profile measured.
    pub spec: ProfileSpec,
    /// Whether the profile is in the set to show what a failure looks like.
    pub expected_to_fail: bool,
    /// What the measures found.
    pub outcomes: Vec<Outcome>,
    /// The verdicts, one for each requirement that applies.
    pub judgements: Vec<Judgement>,
}

/// Number of verdicts of each kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Passed.
    pub pass: usize,
    /// Failed.
    pub fail: usize,
    /// Not evaluated.
    pub not_evaluated: usize,
}

impl ProfileReport {
    /// Judges what was measured on a profile.
    #[must_use]
    pub fn new(
        spec: ProfileSpec,
        expected_to_fail: bool,
        outcomes: Vec<Outcome>,
        requirements: Option<&RequirementSet>,
    ) -> Self {
        let judgements = requirements.map_or_else(Vec::new, |set| set.judge(&spec.name, &outcomes));
        Self {
            spec,
            expected_to_fail,
            outcomes,
            judgements,
        }
    }

    /// Name of the profile.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.spec.name
    }

    /// Counts the verdicts.
    #[must_use]
    pub fn tally(&self) -> Tally {
        let mut tally = Tally::default();
        for judgement in &self.judgements {
            match judgement.verdict {
                Verdict::Pass(_) => tally.pass += 1,
                Verdict::Fail(_) => tally.fail += 1,
                Verdict::NotEvaluated { .. } => tally.not_evaluated += 1,
            }
        }
        tally
    }

    fn judgement(&self, id: &str) -> Option<&Judgement> {
        self.judgements
            .iter()
            .find(|judgement| judgement.requirement.id == id)
    }
}

/// A report on one or more profiles.
#[derive(Clone, Debug)]
pub struct Report {
    /// Title of the page.
    pub title: String,
    /// The day it was made, such as `2026-01-31`; see [`today`].
    pub date: String,
    /// The requirements judged, if any.
    pub requirements: Option<RequirementSet>,
    /// What the figures depend on, such as the panel's luminance and the seed: name and value. Must hold no
    /// path of the machine.
    pub settings: Vec<(String, String)>,
    /// Cautions of this run, shown after [`CAUTIONS`].
    pub cautions: Vec<String>,
    /// The profiles, in the order shown.
    pub profiles: Vec<ProfileReport>,
}

impl Report {
    /// [`CAUTIONS`], what follows from the profiles together, then those of this run.
    fn all_cautions(&self) -> Vec<String> {
        let fixed = CAUTIONS.into_iter().map(str::to_owned);
        let shared = words::shared_colours(self.profiles.iter().map(|profile| &profile.spec));
        fixed
            .chain(shared)
            .chain(self.cautions.iter().cloned())
            .collect()
    }

    /// Writes `pictures/`, `report.html`, `junit.xml` and last `report.json` into a folder that exists.
    /// Give it [`OutputFolder::path`], then call [`OutputFolder::commit`].
    ///
    /// # Errors
    /// [`ReportError`] when the report is empty, its date is none, a picture cannot be drawn or a file cannot
    /// be written.
    pub fn write(&self, folder: &Path) -> Result<(), ReportError> {
        if self.profiles.is_empty() {
            return Err(ReportError::Empty);
        }
        if !words::is_date(&self.date) {
            return Err(ReportError::Date(self.date.clone()));
        }
        let pictures = pictures::draw(self)?;
        let picture_folder = folder.join("pictures");
        fs::create_dir_all(&picture_folder).map_err(|error| failed(&picture_folder, &error))?;
        for evidence in pictures.iter().flat_map(pictures::Evidence::files) {
            put(&folder.join(&evidence.file), &evidence.png)?;
        }
        put(
            &folder.join("report.html"),
            html::page(self, &pictures).as_bytes(),
        )?;
        put(&folder.join("junit.xml"), junit::document(self)?.as_bytes())?;
        put(
            &folder.join("report.json"),
            json::document(self, &pictures)?.as_bytes(),
        )
    }
}

fn failed(path: &Path, error: &std::io::Error) -> ReportError {
    use std::io::ErrorKind;
    // Some errors carry the name of a temporary file, which says nothing to a person.
    let plain = match (error.raw_os_error(), error.kind()) {
        (Some(code), _) => std::io::Error::from_raw_os_error(code),
        (None, ErrorKind::NotFound) => std::io::Error::other("it cannot be made"),
        (None, ErrorKind::Other) => std::io::Error::other(error.to_string()),
        (None, kind) => kind.into(),
    };
    let next = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "free space there, or choose a folder on another disk"
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "choose a folder that you may write to"
        }
        ErrorKind::NotFound => "no folder can be made there; choose one elsewhere",
        _ => "choose another folder",
    };
    ReportError::Folder {
        path: path.to_owned(),
        reason: plain.to_string(),
        next,
    }
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), ReportError> {
    fs::write(path, bytes).map_err(|error| failed(path, &error))
}
