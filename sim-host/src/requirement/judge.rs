//! From quantities to a verdict: the worst matching quantity decides.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{
    LOWER_BOUND_NOTE, Requirement, YES_NO, condition_words, show_difference, show_interval,
    show_value,
};
use crate::measure::{Outcome, Quantity};

/// The side of a requirement that decided.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// The value must not be lower.
    AtLeast(f64),
    /// The value must not be higher.
    AtMost(f64),
}

/// What decided a pass or a fail.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Decision {
    /// The worst of the matching quantities.
    pub worst: Quantity,
    /// The limit it was nearest to, or furthest beyond.
    pub limit: Limit,
    /// Distance to the limit in the unit of the quantity; positive is inside.
    pub margin: f64,
    /// Half-width of the 95 % interval of the worst quantity, if it was stated.
    pub uncertainty: Option<f64>,
    /// Whether the margin is no larger than the uncertainty, so that a repeat could turn the verdict.
    pub inside_uncertainty: bool,
    /// How many quantities matched.
    pub matched: usize,
}

/// The verdict on one requirement.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "verdict", rename_all = "kebab-case")]
pub enum Verdict {
    /// Every matching quantity is inside its limits.
    Pass(Decision),
    /// At least one matching quantity is outside its limits.
    Fail(Decision),
    /// It cannot be told.
    NotEvaluated {
        /// Why not.
        reason: String,
    },
}

/// A verdict with what it is about.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judgement {
    /// The requirement.
    pub requirement: Requirement,
    /// Name of the profile.
    pub profile: String,
    /// The verdict on it.
    pub verdict: Verdict,
}

impl Verdict {
    /// The verdict as one word or two, in capitals, as reports show it.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Pass(_) => "PASS",
            Self::Fail(_) => "FAIL",
            Self::NotEvaluated { .. } => "NOT EVALUATED",
        }
    }

    /// What decided, if it was evaluated.
    #[must_use]
    pub fn decision(&self) -> Option<&Decision> {
        match self {
            Self::Pass(decision) | Self::Fail(decision) => Some(decision),
            Self::NotEvaluated { .. } => None,
        }
    }

    /// What decided, in a sentence without the verdict's own word.
    #[must_use]
    pub fn sentence(&self) -> String {
        match self {
            Self::NotEvaluated { reason } => {
                let mut letters = reason.chars();
                let first = letters.next().map(char::to_uppercase);
                let first: String = first.into_iter().flatten().collect();
                format!("{first}{}.", letters.as_str().trim_end_matches('.'))
            }
            Self::Pass(decision) | Self::Fail(decision) => decision.sentence(),
        }
    }
}

impl Decision {
    fn sentence(&self) -> String {
        let unit = &self.worst.unit;
        let (word, limit) = match self.limit {
            Limit::AtLeast(limit) => ("at least", limit),
            Limit::AtMost(limit) => ("at most", limit),
        };
        let measured = self.worst.value.unwrap_or(f64::NAN);
        let mut text = format!("Measured {}", show_value(measured, unit));
        if let Some(interval) = self.uncertainty.and_then(|half| show_interval(half, unit)) {
            text.push_str(&format!(" {interval}"));
        }
        let under: Vec<_> = self
            .worst
            .conditions
            .iter()
            .map(|(key, value)| condition_words(key, value))
            .collect();
        if !under.is_empty() {
            text.push_str(&format!(" ({})", under.join(", ")));
        }
        if self.matched > 1 {
            text.push_str(&format!(", the worst of {}", self.matched));
        }
        let (distance, side) = if self.margin < 0.0 {
            (-self.margin, "beyond")
        } else {
            (self.margin, "inside")
        };
        if unit == YES_NO {
            let wanted = show_value(limit, unit);
            text.push_str(&format!("; the requirement asks for {wanted}."));
        } else {
            text.push_str(&format!(
                "; {} {side} the limit of {word} {}.",
                show_difference(distance, unit),
                show_value(limit, unit)
            ));
        }
        if self.inside_uncertainty {
            text.push_str(
                " The margin is inside the uncertainty: a repeat could turn the verdict.",
            );
        }
        if let Some(note) = &self.worst.note {
            text.push_str(&format!(" Note: {note}."));
        }
        text
    }
}

pub(super) fn judge(requirement: &Requirement, profile: &str, outcomes: &[Outcome]) -> Judgement {
    let verdict =
        decide(requirement, outcomes).unwrap_or_else(|reason| Verdict::NotEvaluated { reason });
    Judgement {
        requirement: requirement.clone(),
        profile: profile.to_owned(),
        verdict,
    }
}

fn decide(requirement: &Requirement, outcomes: &[Outcome]) -> Result<Verdict, String> {
    let of_measure: Vec<_> = outcomes
        .iter()
        .filter(|outcome| outcome.measure == requirement.measure)
        .collect();
    if of_measure.is_empty() {
        return Err(format!(
            "the measure '{}' was not made",
            requirement.measure
        ));
    }
    let named: Vec<_> = of_measure
        .iter()
        .flat_map(|outcome| &outcome.quantities)
        .filter(|quantity| quantity.name == requirement.quantity)
        .collect();
    if named.is_empty() {
        return Err(format!(
            "the measure '{}' gave no quantity '{}'",
            requirement.measure, requirement.quantity
        ));
    }
    let matching: Vec<_> = named
        .into_iter()
        .filter(|quantity| conditions_match(&requirement.conditions, &quantity.conditions))
        .collect();
    if matching.is_empty() {
        return Err(format!(
            "no quantity was measured at {}",
            requirement.quantity_words()
        ));
    }
    if let Some(odd) = matching
        .iter()
        .find(|quantity| quantity.unit != requirement.unit)
    {
        return Err(format!(
            "the quantity is in '{}', the limit in '{}': give the limit in the quantity's unit",
            odd.unit, requirement.unit
        ));
    }
    let mut worst: Option<Decision> = None;
    let mut unknown: Option<String> = None;
    for quantity in &matching {
        match nearest_limit(requirement, quantity) {
            Ok((limit, margin)) => {
                if worst
                    .as_ref()
                    .is_none_or(|decision| margin < decision.margin)
                {
                    worst = Some(decision(quantity, limit, margin, matching.len()));
                }
            }
            Err(reason) => unknown = unknown.or(Some(reason)),
        }
    }
    match (worst, unknown) {
        (Some(decision), _) if decision.margin < 0.0 => Ok(Verdict::Fail(decision)),
        (_, Some(reason)) => Err(reason),
        (Some(decision), None) => Ok(Verdict::Pass(decision)),
        (None, None) => Err("no quantity matched".to_owned()),
    }
}

fn decision(quantity: &Quantity, limit: Limit, margin: f64, matched: usize) -> Decision {
    let uncertainty = quantity
        .uncertainty
        .filter(|half| half.is_finite() && *half >= 0.0);
    Decision {
        worst: quantity.clone(),
        limit,
        margin,
        uncertainty,
        inside_uncertainty: uncertainty.is_some_and(|half| margin.abs() <= half),
        matched,
    }
}

/// The limit with the smallest margin, or why it cannot be told.
fn nearest_limit(requirement: &Requirement, quantity: &Quantity) -> Result<(Limit, f64), String> {
    let Some(value) = quantity.value.filter(|value| value.is_finite()) else {
        let why = quantity
            .note
            .clone()
            .unwrap_or_else(|| "no value was measured".to_owned());
        let under: Vec<_> = quantity
            .conditions
            .iter()
            .map(|(key, value)| condition_words(key, value))
            .collect();
        return Err(if under.is_empty() {
            why
        } else {
            format!("{why} ({})", under.join(", "))
        });
    };
    let low = requirement
        .at_least
        .map(|limit| (Limit::AtLeast(limit), value - limit));
    let high = requirement
        .at_most
        .map(|limit| (Limit::AtMost(limit), limit - value));
    let (limit, margin) = match (low, high) {
        (Some(a), Some(b)) => {
            if b.1 < a.1 {
                b
            } else {
                a
            }
        }
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => return Err("the requirement has no limit".to_owned()),
    };
    let lower_bound = quantity
        .note
        .as_ref()
        .is_some_and(|note| note.starts_with(LOWER_BOUND_NOTE));
    if lower_bound {
        // The true value lies above: it decides only where a higher one would decide the same.
        let below = low.is_some_and(|(_, margin)| margin < 0.0);
        let not_yet_above = high.is_some_and(|(_, margin)| margin >= 0.0);
        if below || not_yet_above {
            return Err(format!(
                "the value is only known to be above {}, the top of the tested range",
                show_value(value, &quantity.unit)
            ));
        }
    }
    Ok((limit, margin))
}

fn conditions_match(
    wanted: &BTreeMap<String, Vec<String>>,
    found: &BTreeMap<String, String>,
) -> bool {
    wanted.iter().all(|(key, values)| {
        found
            .get(key)
            .is_some_and(|found| values.iter().any(|wanted| same_value(wanted, found)))
    })
}

/// Whether two condition values are the same text, or the same number with the same unit.
fn same_value(a: &str, b: &str) -> bool {
    let split = |text: &str| {
        let text = text.trim();
        let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
        number
            .parse::<f64>()
            .ok()
            .map(|number| (number, unit.trim().to_owned()))
    };
    a.trim() == b.trim() || split(a).is_some_and(|a| Some(a) == split(b))
}
