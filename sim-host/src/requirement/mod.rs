//! Requirements: a measured quantity with a limit, and the verdict on it.
//!
//! A file of requirements is read with [`RequirementSet::parse`]; [`RequirementSet::judge`] compares it
//! with what was measured on one profile. A requirement applies to every quantity that matches its
//! measure, name and conditions, and the worst of them decides. What was not measured is never a pass.
//! The form of the file is described in `docs/requirements.md`.

mod file;
mod judge;
mod words;

use std::collections::BTreeMap;

use serde::Serialize;

pub use file::RequirementError;
pub use judge::{Decision, Judgement, Limit, Verdict};
pub use words::{YES_NO, condition_words, show_difference, show_interval, show_number, show_value};

use crate::measure::{MeasureId, Outcome};

/// Note by which a measure says that a value is only a lower bound: the top of the tested range.
pub const LOWER_BOUND_NOTE: &str = "not lost up to";

/// One limit on one measured quantity.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Requirement {
    /// Unique in its file: lower-case letters, digits, `-` and `.`.
    pub id: String,
    /// What is required, in a sentence.
    pub title: String,
    /// The measure that gives the quantity.
    pub measure: MeasureId,
    /// Name of the quantity inside the measure.
    pub quantity: String,
    /// For each condition, the values it applies to; an empty map applies to all.
    pub conditions: BTreeMap<String, Vec<String>>,
    /// Lowest value that passes, in `unit` (a temperature in °C).
    pub at_least: Option<f64>,
    /// Highest value that passes, in `unit` (a temperature in °C).
    pub at_most: Option<f64>,
    /// Unit of the limits; a quantity in another unit is not evaluated.
    pub unit: String,
    /// Where the limit comes from.
    pub source: String,
    /// Free text.
    pub note: Option<String>,
    /// Names of the only profiles it applies to; `None` applies to all.
    pub applies_to: Option<Vec<String>>,
}

impl Requirement {
    /// Whether it applies to the profile of this name.
    #[must_use]
    pub fn applies_to(&self, profile: &str) -> bool {
        self.applies_to
            .as_ref()
            .is_none_or(|names| names.iter().any(|name| name == profile))
    }

    /// The limits in words, such as `at least 150.0 °C (302.0 °F)`.
    #[must_use]
    pub fn limit_words(&self) -> String {
        let side = |word: &str, limit: Option<f64>| {
            limit.map(|value| match self.unit.as_str() {
                YES_NO => format!("must be {}", show_value(value, &self.unit)),
                _ => format!("{word} {}", show_value(value, &self.unit)),
            })
        };
        let sides = [
            side("at least", self.at_least),
            side("at most", self.at_most),
        ];
        sides
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" and ")
    }

    /// The quantity and its conditions in words, such as `rising, emissivity 0.9 or 0.95`.
    #[must_use]
    pub fn quantity_words(&self) -> String {
        let mut words = self.quantity.replace('_', " ");
        for (key, values) in &self.conditions {
            words.push_str(&format!(", {}", condition_words(key, &values.join(" or "))));
        }
        words
    }
}

/// A file of requirements.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RequirementSet {
    /// What the set is for.
    pub title: String,
    /// Edition or version of the set, and of any document it quotes.
    pub edition: String,
    /// At least one, in the order of the file, each with its own id.
    pub requirements: Vec<Requirement>,
}

impl RequirementSet {
    /// Reads the text of a requirements file; `name` stands in errors.
    ///
    /// # Errors
    /// [`RequirementError`] names the file, the line, the field, and what to write instead.
    ///
    /// ```
    /// use glowsill::requirement::RequirementSet;
    /// let text = r#"
    /// title = "Ours"
    /// edition = "1"
    /// [[requirement]]
    /// id = "onset"
    /// title = "Colour starts no lower than 302 °F"
    /// measure = "onset"
    /// quantity = "rising"
    /// at_least = "302 F"
    /// unit = "°C"
    /// source = "project's own limit"
    /// "#;
    /// let set = RequirementSet::parse("ours.toml", text)?;
    /// assert!((set.requirements[0].at_least.unwrap() - 150.0).abs() < 1e-9);
    /// # Ok::<(), glowsill::requirement::RequirementError>(())
    /// ```
    pub fn parse(name: &str, text: &str) -> Result<Self, RequirementError> {
        file::parse(name, text)
    }

    /// Reads a requirements file from disk.
    ///
    /// # Errors
    /// As [`RequirementSet::parse`], and when the file cannot be read.
    pub fn load(path: &std::path::Path) -> Result<Self, RequirementError> {
        let name = path.display().to_string();
        let text = std::fs::read_to_string(path).map_err(|error| RequirementError::Read {
            file: name.clone(),
            reason: error.to_string(),
        })?;
        Self::parse(&name, &text)
    }

    /// Judges one profile: one judgement for each requirement that applies to it, in order.
    #[must_use]
    pub fn judge(&self, profile: &str, outcomes: &[Outcome]) -> Vec<Judgement> {
        let applying = self
            .requirements
            .iter()
            .filter(|requirement| requirement.applies_to(profile));
        applying
            .map(|requirement| judge::judge(requirement, profile, outcomes))
            .collect()
    }
}
