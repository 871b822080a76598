//! The written form of a requirements file, and its errors with file, line and field.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use serde::Deserialize;
use toml::{Spanned, Value};

use super::{Requirement, RequirementSet};
use crate::measure::MeasureId;
use crate::temperature::Kelvin;

/// A requirements file that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RequirementError {
    /// The file cannot be read.
    #[error("requirements file {file} cannot be read: {reason}; give the path of a TOML file")]
    Read {
        /// Path as given.
        file: String,
        /// What the system said.
        reason: String,
    },
    /// The text is not TOML, or a field is unknown, missing or of the wrong kind.
    #[error("{file}, line {line}: {message}")]
    Form {
        /// Name of the file.
        file: String,
        /// Line, from 1.
        line: usize,
        /// What is wrong, with the fields that may stand there.
        message: String,
    },
    /// A field has a value outside its limits.
    #[error("{file}, line {line}: field '{field}' of {owner}: {message}")]
    Field {
        /// Name of the file.
        file: String,
        /// Line, from 1.
        line: usize,
        /// Name of the field.
        field: &'static str,
        /// The requirement's id, or the file itself.
        owner: String,
        /// The value, what is allowed, and what to write.
        message: String,
    },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenSet {
    title: Spanned<String>,
    edition: Spanned<String>,
    #[serde(default)]
    requirement: Vec<Spanned<Written>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    id: Spanned<String>,
    title: Spanned<String>,
    measure: Spanned<String>,
    quantity: Spanned<String>,
    #[serde(default)]
    conditions: BTreeMap<String, Spanned<Value>>,
    at_least: Option<Spanned<Value>>,
    at_most: Option<Spanned<Value>>,
    unit: Spanned<String>,
    source: Spanned<String>,
    note: Option<String>,
    applies_to: Option<Spanned<Vec<String>>>,
}

/// Where in the file a message belongs.
struct Place<'a> {
    file: &'a str,
    text: &'a str,
    owner: String,
}

impl Place<'_> {
    fn line(&self, span: &Range<usize>) -> usize {
        let end = span.start.min(self.text.len());
        1 + self.text.as_bytes()[..end]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count()
    }

    fn error(
        &self,
        span: &Range<usize>,
        field: &'static str,
        message: impl Into<String>,
    ) -> RequirementError {
        RequirementError::Field {
            file: self.file.to_owned(),
            line: self.line(span),
            field,
            owner: self.owner.clone(),
            message: message.into(),
        }
    }

    fn filled(
        &self,
        field: &'static str,
        value: Spanned<String>,
    ) -> Result<String, RequirementError> {
        if value.get_ref().trim().is_empty() {
            return Err(self.error(&value.span(), field, "is empty: write at least one word"));
        }
        Ok(value.into_inner())
    }
}

pub(super) fn parse(file: &str, text: &str) -> Result<RequirementSet, RequirementError> {
    let place = Place {
        file,
        text,
        owner: "the file".to_owned(),
    };
    let written: WrittenSet = toml::from_str(text).map_err(|error| RequirementError::Form {
        file: file.to_owned(),
        line: place.line(&error.span().unwrap_or(0..0)),
        message: error.message().to_owned(),
    })?;
    if written.requirement.is_empty() {
        return Err(place.error(
            &(0..0),
            "requirement",
            "is missing: add at least one [[requirement]]",
        ));
    }
    let mut seen = BTreeSet::new();
    let mut requirements = Vec::new();
    for item in written.requirement {
        let span = item.span();
        let requirement = read_one(file, text, &span, item.into_inner(), &mut seen)?;
        requirements.push(requirement);
    }
    Ok(RequirementSet {
        title: place.filled("title", written.title)?,
        edition: place.filled("edition", written.edition)?,
        requirements,
    })
}

fn read_one(
    file: &str,
    text: &str,
    span: &Range<usize>,
    written: Written,
    seen: &mut BTreeSet<String>,
) -> Result<Requirement, RequirementError> {
    let id = written.id.get_ref().clone();
    let place = Place {
        file,
        text,
        owner: format!("requirement '{id}'"),
    };
    let allowed = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "-.".contains(c);
    if id.is_empty() || !id.chars().all(allowed) {
        let message = format!("'{id}' is not an id: use lower-case letters, digits, '-' and '.'");
        return Err(place.error(&written.id.span(), "id", message));
    }
    if !seen.insert(id.clone()) {
        let message = format!("'{id}' stands twice in the file: give each requirement its own id");
        return Err(place.error(&written.id.span(), "id", message));
    }
    let measure: MeasureId = written
        .measure
        .get_ref()
        .parse()
        .map_err(|message: String| place.error(&written.measure.span(), "measure", message))?;
    let unit = place.filled("unit", written.unit)?;
    let at_least = read_limit(&place, "at_least", written.at_least.as_ref(), &unit)?;
    let at_most = read_limit(&place, "at_most", written.at_most.as_ref(), &unit)?;
    match (at_least, at_most) {
        (None, None) => {
            return Err(place.error(
                span,
                "at_least",
                "is missing: give at_least, at_most or both",
            ));
        }
        (Some(low), Some(high)) if low > high => {
            let at = written.at_least.as_ref().map_or(0..0, Spanned::span);
            let message = format!("{low} is above at_most, {high}: nothing could pass");
            return Err(place.error(&at, "at_least", message));
        }
        _ => {}
    }
    let mut conditions = BTreeMap::new();
    for (key, value) in written.conditions {
        conditions.insert(key, read_condition(&place, &value)?);
    }
    if let Some(names) = &written.applies_to
        && names.get_ref().is_empty()
    {
        let message = "is an empty list: name a profile, or leave it out for every profile";
        return Err(place.error(&names.span(), "applies_to", message));
    }
    Ok(Requirement {
        id,
        title: place.filled("title", written.title)?,
        measure,
        quantity: place.filled("quantity", written.quantity)?,
        conditions,
        at_least,
        at_most,
        unit,
        source: place.filled("source", written.source)?,
        note: written.note,
        applies_to: written.applies_to.map(Spanned::into_inner),
    })
}

fn read_limit(
    place: &Place<'_>,
    field: &'static str,
    value: Option<&Spanned<Value>>,
    unit: &str,
) -> Result<Option<f64>, RequirementError> {
    let Some(value) = value else { return Ok(None) };
    let fail = |message: String| place.error(&value.span(), field, message);
    let number = match value.get_ref() {
        Value::Float(x) => *x,
        Value::Integer(x) => i32::try_from(*x).map(f64::from).map_err(|_| {
            fail(format!(
                "{x} is too large: write a number within ±2147483647"
            ))
        })?,
        Value::String(text) if unit == "°C" => text
            .parse::<Kelvin>()
            .map_err(|error| fail(error.to_string()))?
            .celsius(),
        Value::String(text) => {
            return Err(fail(format!(
                "'{text}' is text, but the unit is '{unit}': write a bare number in {unit}"
            )));
        }
        other => {
            return Err(fail(format!(
                "is a {}: write a number, or for °C a temperature such as \"302 F\"",
                other.type_str()
            )));
        }
    };
    if number.is_finite() {
        Ok(Some(number))
    } else {
        Err(fail(format!(
            "{number} is not a limit: write a finite number"
        )))
    }
}

fn read_condition(
    place: &Place<'_>,
    value: &Spanned<Value>,
) -> Result<Vec<String>, RequirementError> {
    let one = |value: &Value| match value {
        Value::String(text) => Some(text.clone()),
        Value::Integer(x) => Some(x.to_string()),
        Value::Float(x) => Some(x.to_string()),
        Value::Boolean(x) => Some(x.to_string()),
        _ => None,
    };
    let values = match value.get_ref() {
        Value::Array(items) if !items.is_empty() => items.iter().map(one).collect(),
        single => one(single).map(|text| vec![text]),
    };
    values.ok_or_else(|| {
        let message = "has a value that is no text, number or list of them: write such as \"2 K\"";
        place.error(&value.span(), "conditions", message)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = r#"title = "Set"
edition = "1"
[[requirement]]
id = "a"
title = "Colour starts late enough"
measure = "onset"
quantity = "rising"
conditions = { emissivity = [0.9, 0.95], place = "centre" }
at_least = "302 F"
at_most = 400
unit = "°C"
source = "project's own limit"
"#;

    #[test]
    fn a_limit_in_fahrenheit_is_kept_in_celsius() {
        let set = parse("x.toml", GOOD).unwrap();
        let one = &set.requirements[0];
        // Source: definition of the Fahrenheit scale, (302 - 32) * 5 / 9 = 150.
        assert!((one.at_least.unwrap() - 150.0).abs() < 1e-9);
        assert_eq!(one.at_most, Some(400.0));
        assert_eq!(one.conditions["emissivity"], ["0.9", "0.95"]);
    }

    #[test]
    fn each_mistake_names_its_line_and_field() {
        for (from, to, line, said) in [
            ("\"302 F\"", "\"302\"", 9, "'at_least'"),
            ("\"302 F\"", "nan", 9, "finite"),
            ("\"302 F\"", "\"800 F\"", 9, "nothing could pass"),
            ("\"302 F\"", "[1]", 9, "array"),
            ("\"onset\"", "\"onsets\"", 6, "choose one of onset, detail"),
            ("id = \"a\"", "id = \"A b\"", 4, "lower-case"),
            ("unit = \"°C\"", "unit = \"K\"", 9, "bare number in K"),
            (
                "source = \"project's own limit\"",
                "source = \" \"",
                12,
                "is empty",
            ),
            ("at_most", "at_mots", 10, "unknown field `at_mots`"),
            ("place = \"centre\"", "place = []", 8, "conditions"),
            ("edition = \"1\"", "edition = 1", 2, "string"),
        ] {
            assert!(GOOD.contains(from), "{from}");
            let text = GOOD.replacen(from, to, 1);
            let error = parse("x.toml", &text).unwrap_err().to_string();
            assert!(
                error.starts_with(&format!("x.toml, line {line}:")),
                "{to}: {error}"
            );
            assert!(error.contains(said), "{to}: {error}");
        }
    }

    #[test]
    fn ids_are_unique_and_limits_and_requirements_are_needed() {
        let second = GOOD.split_once("[[requirement]]").unwrap().1;
        let twice = format!("{GOOD}[[requirement]]{second}");
        let error = parse("x.toml", &twice).unwrap_err().to_string();
        assert!(
            error.contains("line 14") && error.contains("stands twice"),
            "{error}"
        );

        let none = GOOD.replace("at_least = \"302 F\"\nat_most = 400\n", "");
        let error = parse("x.toml", &none).unwrap_err().to_string();
        assert!(error.contains("give at_least, at_most or both"), "{error}");

        let error = parse("x.toml", "title = \"t\"\nedition = \"1\"\n")
            .unwrap_err()
            .to_string();
        assert!(error.contains("[[requirement]]"), "{error}");
    }
}
