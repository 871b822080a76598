//! `--exposure`: a curve by its name, or the fire of a scenario.

use std::path::Path;
use std::str::FromStr;

use super::words;
use crate::cli::CliError;
use crate::world::barrier::Conditions;
use crate::world::fire::exposure::Curve;
use crate::world::fire::{Exposure, FireError};
use crate::world::scenario::{Scenario, names};

/// How long a curve lasts unless it is said, minutes.
const CURVE_MINUTES: f64 = 60.0;

/// What the command line asks for.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::cli) enum Asked {
    Curve(Curve),
    /// Name or file of a scenario, with `@` and a place where one is asked for.
    Scenario(String),
}

impl FromStr for Asked {
    type Err = FireError;

    fn from_str(text: &str) -> Result<Self, FireError> {
        match text.strip_prefix("scenario:") {
            Some(rest) if !rest.is_empty() => Ok(Self::Scenario(rest.to_owned())),
            _ => text.parse().map(Self::Curve),
        }
    }
}

/// An exposure that can be computed with.
pub(super) struct Opened {
    pub(super) exposure: Box<dyn Exposure>,
    /// As it can be written on the command line.
    pub(super) name: String,
    pub(super) minutes: f64,
    /// Temperature of the assembly and of the room in front of it at the start, kelvin.
    pub(super) room_k: f64,
    /// What a person must know of this exposure.
    pub(super) notes: Vec<String>,
}

/// Name or file, and the place behind the last `@`.
fn parts(text: &str) -> (&str, Option<&str>) {
    if names().contains(&text) || Path::new(text).is_file() {
        return (text, None);
    }
    match text.rsplit_once('@') {
        Some((scenario, place)) => (scenario, Some(place)),
        None => (text, None),
    }
}

impl Asked {
    /// Reads what is to be read; `minutes` is how long was asked for.
    pub(super) fn open(&self, minutes: Option<f64>) -> Result<Opened, CliError> {
        let text = match self {
            Self::Curve(curve) => {
                return Ok(Opened {
                    exposure: Box::new(*curve),
                    name: curve.to_string(),
                    minutes: minutes.unwrap_or(CURVE_MINUTES),
                    room_k: Conditions::default().room_k,
                    notes: vec![],
                });
            }
            Self::Scenario(text) => text,
        };
        let (scenario, place) = parts(text);
        let found = Scenario::open(scenario)?.at_barrier(place)?;
        let minutes = minutes.unwrap_or(found.span_s / 60.0);
        let mut notes: Vec<String> = found
            .warnings
            .iter()
            .map(|warning| format!("The fire of the scenario, {warning}."))
            .collect();
        if 60.0 * minutes > found.span_s + 0.5 {
            notes.push(format!(
                "The scenario ends {} after its fire started; from then on what acted last is held.",
                words::duration(found.span_s)
            ));
        }
        Ok(Opened {
            exposure: Box::new(found.history),
            name: format!("scenario:{}", found.name),
            minutes,
            room_k: found.ambient_k,
            notes,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_stands_behind_the_last_at_sign() {
        assert_eq!(parts("loft"), ("loft", None));
        assert_eq!(
            parts("three-partitions@plaster on lath"),
            ("three-partitions", Some("plaster on lath"))
        );
        assert_eq!(parts("a@b/mine.toml@door"), ("a@b/mine.toml", Some("door")));
        for text in ["scenario", "scenario:", "scenarios:loft", "iso843"] {
            assert!(text.parse::<Asked>().is_err(), "{text}");
        }
        let error = "iso843".parse::<Asked>().unwrap_err().to_string();
        assert!(error.ends_with("Did you mean iso834?"), "{error}");
    }

    #[test]
    fn what_outlasts_a_scenario_is_said() {
        let asked: Asked = "scenario:timber-rack".parse().unwrap();
        let own = asked.open(None).unwrap();
        assert!((own.minutes - 4.0).abs() < 1e-9);
        assert!((own.room_k - 292.15).abs() < 1e-9);
        assert!(!own.notes.iter().any(|note| note.contains("is held")));
        let longer = asked.open(Some(10.0)).unwrap();
        assert!(
            longer
                .notes
                .iter()
                .any(|note| note.contains("ends 4 min 00 s"))
        );
        assert_eq!(longer.name, "scenario:timber-rack@workshop.ceiling");
    }
}
