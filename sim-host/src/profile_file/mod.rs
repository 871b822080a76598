//! Profile files: TOML ↔ [`ProfileSpec`], with errors that say where, what, which limits and what next.
//!
//! `docs/profile-format.md` describes every field for people. Temperatures are written in °C, °F or
//! K; the file is the only place where a display behaviour is written down by hand.

mod read;
pub(crate) mod source;
pub(crate) mod value;
mod write;

use std::path::Path;

use glowsill_core::packed::PackedError;
use glowsill_core::profile::{Profile, ProfileSpec};

pub use write::to_toml;

/// The first bytes of the packed form (`core/src/packed.rs`).
const PACKED: &[u8] = b"gsil";

/// A profile read from a file, with what only the file knows.
#[derive(Clone, Debug)]
pub struct LoadedProfile {
    /// The written form.
    pub spec: ProfileSpec,
    /// The form that passed every check.
    pub profile: Profile,
    /// What the profile is for, in the author's words; may be empty.
    pub purpose: String,
    /// The file it came from, or `demo-data/profiles/…` for an embedded one.
    pub source: String,
    /// Whether it came from the packed form.
    pub packed: bool,
}

impl LoadedProfile {
    /// The name shown to people.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.spec.name
    }
}

/// A demonstration profile and what is expected of it.
#[derive(Clone, Debug)]
pub struct DemoProfile {
    /// The profile.
    pub loaded: LoadedProfile,
    /// Whether it is a poor example, kept to show what failing looks like.
    pub there_to_fail: bool,
}

/// A profile file that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ProfileFileError {
    /// The file cannot be opened, or is neither UTF-8 text nor the packed form.
    #[error(
        "cannot read profile '{path}': {cause}. Check the path; a profile is a TOML file in UTF-8, such as \
         those in demo-data/profiles/, or what glowsill profile pack wrote"
    )]
    Read {
        /// The path as given.
        path: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// The file is a packed profile that cannot be used.
    #[error(
        "profile '{path}' is in the packed form, but {cause}. Pack it again from its TOML file: glowsill \
         profile pack FILE --out PACKED"
    )]
    Packed {
        /// The path as given.
        path: String,
        /// What core said.
        cause: PackedError,
    },
    /// The text is not TOML.
    #[error(
        "{file}:{line}: not valid TOML: {problem}. Correct the line; {guide} shows a whole file"
    )]
    Syntax {
        /// The file.
        file: String,
        /// Line, from 1.
        line: usize,
        /// What the parser said.
        problem: String,
        /// The document that shows a whole file.
        guide: &'static str,
    },
    /// A field is unknown, missing, of the wrong kind or out of its limits.
    #[error("{file}:{line}: {field} {problem}; allowed: {allowed}. {next}")]
    Field {
        /// The file.
        file: String,
        /// Line, from 1; for a missing field the line of its table.
        line: usize,
        /// Path of the field, such as `colour.bands[2].start`.
        field: String,
        /// The value, as written, and what is wrong with it.
        problem: String,
        /// The limits in units people use, or the allowed words.
        allowed: String,
        /// What to do about it.
        next: String,
    },
}

/// Reads and validates a profile file: TOML, or the packed form, which keeps no purpose.
///
/// # Errors
/// [`ProfileFileError`] when the file cannot be read, is neither TOML nor packed, or a field is not usable.
pub fn load(path: &Path) -> Result<LoadedProfile, ProfileFileError> {
    let shown = path.display().to_string();
    let unreadable = |cause| ProfileFileError::Read {
        path: shown.clone(),
        cause,
    };
    let bytes = std::fs::read(path).map_err(unreadable)?;
    match Profile::from_bytes(&bytes) {
        Ok(profile) => Ok(LoadedProfile {
            spec: profile.spec().clone(),
            profile,
            purpose: String::new(),
            source: shown,
            packed: true,
        }),
        Err(cause) if bytes.starts_with(PACKED) => {
            Err(ProfileFileError::Packed { path: shown, cause })
        }
        Err(_) => {
            let text = String::from_utf8(bytes)
                .map_err(|_| unreadable(std::io::Error::other("it is neither text nor packed")))?;
            parse(&text, &shown)
        }
    }
}

/// Reads and validates the text of a profile file; `source` names it in errors.
///
/// # Errors
/// As [`load`], without the reading.
///
/// ```
/// let text = r#"
/// name = "Plain grey"
/// [gain]
/// plan = "high-only"
/// [scale]
/// law = "fixed"
/// start_low = "32 F"
/// start_high = "100 C"
/// frames_to_hotter = 1
/// frames_to_colder = 1
/// min_span = "20 K"
/// max_grey_per_kelvin = 8
/// [colour]
/// plan = "grey-only"
/// [overlay]
/// style = "opaque"
/// "#;
/// let loaded = glowsill::profile_file::parse(text, "plain.toml").unwrap();
/// assert_eq!(loaded.spec.scale.min_span_k32, 640); // 20 K in 1/32 K
/// ```
pub fn parse(text: &str, source: &str) -> Result<LoadedProfile, ProfileFileError> {
    let (spec, purpose, places) = read::document(text, source)?;
    let profile = Profile::new(spec.clone()).map_err(|error| places.explain(error, source))?;
    Ok(LoadedProfile {
        spec,
        profile,
        purpose,
        source: source.to_owned(),
        packed: false,
    })
}

/// The demonstration profiles, good ones first.
///
/// # Errors
/// None in a released build: the tests read every embedded file.
pub fn demo() -> Result<Vec<DemoProfile>, ProfileFileError> {
    macro_rules! embedded {
        ($file:literal, $there_to_fail:literal) => {
            (
                concat!("demo-data/profiles/", $file),
                include_str!(concat!("../../../demo-data/profiles/", $file)),
                $there_to_fail,
            )
        };
    }
    [
        embedded!("interior-attack.toml", false),
        embedded!("size-up.toml", false),
        embedded!("search.toml", false),
        embedded!("overhaul.toml", false),
        embedded!("poor-opaque.toml", true),
        embedded!("poor-cycle.toml", true),
    ]
    .into_iter()
    .map(|(source, text, there_to_fail)| {
        Ok(DemoProfile {
            loaded: parse(text, source)?,
            there_to_fail,
        })
    })
    .collect()
}

/// Whether a profile is one of the demonstration's poor examples, whatever file it was read from.
///
/// ```
/// use glowsill::profile_file::{demo, is_poor_example};
/// let poor = demo().unwrap().into_iter().filter(|one| is_poor_example(&one.loaded.spec));
/// assert_eq!(poor.count(), 2);
/// ```
#[must_use]
pub fn is_poor_example(spec: &ProfileSpec) -> bool {
    demo().is_ok_and(|all| {
        let mut poor = all.iter().filter(|one| one.there_to_fail);
        poor.any(|one| one.loaded.spec == *spec)
    })
}

#[cfg(test)]
mod tests;
