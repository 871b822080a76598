//! Scenarios: a file that describes rooms, a fire, things and an imager → a scene that changes with
//! time.
//!
//! | module | takes → gives |
//! | --- | --- |
//! | [`spec`] | what a file says, read and checked |
//! | [`stage`] | a scenario → the history of every temperature, and the [`crate::world::scene::Scene`] |
//! | [`exposure`] | a scenario → what acts on the fire side of a barrier, for `glowsill barrier` |
//!
//! Simulation and teaching only; not a certification. Apparent is not true temperature.

mod air;
mod build;
mod check;
pub mod exposure;
mod faces;
mod moment;
mod read;
pub mod spec;
pub mod stage;
mod sway;
mod things;
mod told;

use std::path::Path;

pub use read::seconds;
pub use stage::Staged;

use crate::profile_file::ProfileFileError;
use crate::profile_file::source::nearest;
use crate::world::conduction::ConductionError;

/// A scenario that passed every check.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// What the file says.
    pub spec: spec::Spec,
    /// The file, or the name of a shipped scenario.
    pub source: String,
}

/// A scenario that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ScenarioError {
    /// The file cannot be opened or is not UTF-8 text.
    #[error(
        "cannot read scenario '{path}': {cause}. Check the path and that the file is UTF-8 text; \
         demo-data/scenarios/ has files to start from"
    )]
    Read {
        /// The path as given.
        path: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// A field of the file cannot be used.
    #[error("{0}")]
    File(ProfileFileError),
    /// No shipped scenario has this name.
    #[error("'{name}' is no shipped scenario: choose one of {}.{meant}", names().join(", "))]
    Unknown {
        /// What was asked for.
        name: String,
        /// The nearest name, as a sentence; may be empty.
        meant: String,
    },
    /// Nothing burns in the scenario.
    #[error(
        "scenario '{0}' has no fire, so nothing heats a barrier: choose one with a fire, such as \
         paint-store-door, or add [fire]; docs/scenarios.md shows how"
    )]
    NoFire(String),
    /// The fire's room has no such door, panel, pane or side.
    #[error(
        "scenario '{scenario}': the fire does not act on '{name}': choose one of {known}.{meant}"
    )]
    UnknownPlace {
        /// Which scenario.
        scenario: String,
        /// What was asked for.
        name: String,
        /// The places there are, separated by commas.
        known: String,
        /// The nearest name, as a sentence; may be empty.
        meant: String,
    },
    /// What the fire does in time cannot be used.
    #[error(transparent)]
    Fire(#[from] crate::world::fire::FireError),
    /// Heat through a wall or body could not be computed.
    #[error(
        "scenario '{scenario}': the heat in {what} at {at_s} s cannot be computed: {cause}. Lower \
         'step', or the power of the fire near it"
    )]
    Heat {
        /// Which scenario.
        scenario: String,
        /// Which wall or body.
        what: String,
        /// When.
        at_s: f64,
        /// Why not.
        cause: ConductionError,
    },
}

/// A scenario that comes with glowsill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BuiltIn {
    /// Its name.
    pub name: &'static str,
    /// What it shows, in a few words.
    pub about: &'static str,
    /// The text of its file.
    pub text: &'static str,
}

macro_rules! built_in {
    ($name:literal, $about:literal) => {
        BuiltIn {
            name: $name,
            about: $about,
            text: include_str!(concat!("../../../../demo-data/scenarios/", $name, ".toml")),
        }
    };
}

/// The scenarios that come with glowsill; their files are in `demo-data/scenarios/`.
pub const BUILT_IN: [BuiltIn; 6] = [
    built_in!(
        "paint-store-door",
        "the closed steel door of a paint store with a fire behind it"
    ),
    built_in!(
        "timber-rack",
        "a fire that grows in the timber rack of the workshop, with dummies and ladders near and far"
    ),
    built_in!(
        "loft",
        "the loft above a plasterboard ceiling with a fire below it"
    ),
    built_in!(
        "three-partitions",
        "three partitions of different build side by side, the same fire behind all"
    ),
    built_in!(
        "ticket-screen",
        "a glazed ticket screen that shows its glass and mirrors the foyer, not the office"
    ),
    built_in!(
        "sawdust-bins",
        "overhaul: sawdust bins after the knock-down, embers hidden in two of them"
    ),
];

/// The names in [`BUILT_IN`].
#[must_use]
pub fn names() -> Vec<&'static str> {
    BUILT_IN.iter().map(|one| one.name).collect()
}

impl Scenario {
    /// Reads and checks a file.
    ///
    /// # Errors
    /// [`ScenarioError::Read`] or [`ScenarioError::File`], which names line, field, value, limits and
    /// next step.
    pub fn load(path: &Path) -> Result<Self, ScenarioError> {
        let shown = path.display().to_string();
        let text = std::fs::read_to_string(path).map_err(|cause| ScenarioError::Read {
            path: shown.clone(),
            cause,
        })?;
        Self::parse(&text, &shown)
    }

    /// A shipped scenario.
    ///
    /// # Errors
    /// [`ScenarioError::Unknown`], listing the names.
    ///
    /// ```
    /// use glowsill::world::scenario::Scenario;
    /// let scenario = Scenario::named("paint-store-door").unwrap();
    /// assert_eq!(scenario.spec.size, (320, 240));
    /// assert!(Scenario::named("paint-stor-door").unwrap_err().to_string().contains("Did you mean"));
    /// ```
    pub fn named(name: &str) -> Result<Self, ScenarioError> {
        let found = BUILT_IN.iter().find(|one| one.name == name);
        let Some(found) = found else {
            return Err(ScenarioError::Unknown {
                name: name.to_owned(),
                meant: nearest(name, &names())
                    .map_or_else(String::new, |near| format!(" Did you mean '{near}'?")),
            });
        };
        Self::parse(found.text, name)
    }

    /// A shipped scenario by its name, else a file.
    ///
    /// # Errors
    /// As [`Self::load`] where the text looks like a path, else as [`Self::named`].
    pub fn open(text: &str) -> Result<Self, ScenarioError> {
        if names().contains(&text) {
            return Self::named(text);
        }
        let path = Path::new(text);
        let like_a_file = path.extension().is_some() || text.contains(std::path::is_separator);
        if like_a_file || path.is_file() {
            Self::load(path)
        } else {
            Self::named(text)
        }
    }

    /// Reads and checks the text of a file; `source` names it in errors.
    ///
    /// # Errors
    /// [`ScenarioError::File`].
    pub fn parse(text: &str, source: &str) -> Result<Self, ScenarioError> {
        let (spec, places) = read::document(text, source).map_err(ScenarioError::File)?;
        check::all(&spec, &places, source).map_err(ScenarioError::File)?;
        Ok(Self {
            spec,
            source: source.to_owned(),
        })
    }

    /// At another size in pixels.
    #[must_use]
    pub fn with_size(mut self, size: (usize, usize)) -> Self {
        self.spec.size = size;
        self
    }

    /// Computes the history of every temperature; `progress` is told the share done, 0 to 1.
    ///
    /// The result is the same, bit for bit, on any number of threads.
    ///
    /// # Errors
    /// [`ScenarioError::Heat`].
    pub fn stage(&self, progress: &(dyn Fn(f64) + Sync)) -> Result<Staged, ScenarioError> {
        Staged::new(self, progress)
    }
}
