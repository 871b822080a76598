//! What was found of one profile, against what was expected of it.

use serde::Serialize;
use serde_json::{Value, json};

use crate::cli::CAUTION;
use crate::measure::{Outcome, Settings};
use crate::profile_file::LoadedProfile;
use crate::requirement::{Judgement, RequirementSet, Verdict};

/// What a profile is there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Expectation {
    /// It should do as required.
    Passes,
    /// A poor example, kept to show what failing looks like.
    ThereToFail,
}

/// Where a profile stands with all its requirements together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// At least one requirement passes, none fails.
    Passes,
    /// At least one requirement fails.
    Fails,
    /// Nothing could be evaluated: neither a pass nor a failure.
    NotEvaluated,
}

/// Everything found of one profile.
#[derive(Clone, Debug)]
pub struct ProfileResult {
    /// The profile.
    pub loaded: LoadedProfile,
    /// What is expected of it.
    pub expectation: Expectation,
    /// What was measured.
    pub outcomes: Vec<Outcome>,
    /// The verdicts.
    pub judgements: Vec<Judgement>,
}

impl ProfileResult {
    /// How many verdicts are pass, fail and not evaluated.
    #[must_use]
    pub fn counts(&self) -> [usize; 3] {
        let count = |wanted: fn(&Verdict) -> bool| {
            self.judgements
                .iter()
                .filter(|judgement| wanted(&judgement.verdict))
                .count()
        };
        [
            count(|verdict| matches!(verdict, Verdict::Pass(_))),
            count(|verdict| matches!(verdict, Verdict::Fail(_))),
            count(|verdict| matches!(verdict, Verdict::NotEvaluated { .. })),
        ]
    }

    /// Where the profile stands.
    #[must_use]
    pub fn standing(&self) -> Standing {
        match self.counts() {
            [0, 0, _] => Standing::NotEvaluated,
            [_, 0, _] => Standing::Passes,
            _ => Standing::Fails,
        }
    }

    /// Whether it stands where it is expected to; what was not evaluated never does.
    #[must_use]
    pub fn as_expected(&self) -> bool {
        matches!(
            (self.expectation, self.standing()),
            (Expectation::Passes, Standing::Passes) | (Expectation::ThereToFail, Standing::Fails)
        )
    }
}

/// The verdicts as JSON, for `--json`.
pub(super) fn summary(
    results: &[ProfileResult],
    set: &RequirementSet,
    settings: &Settings,
) -> Value {
    let profiles: Vec<Value> = results
        .iter()
        .map(|result| {
            let [pass, fail, not_evaluated] = result.counts();
            json!({
                "name": result.loaded.name(),
                "source": result.loaded.source,
                "expected": result.expectation,
                "standing": result.standing(),
                "as_expected": result.as_expected(),
                "counts": { "pass": pass, "fail": fail, "not_evaluated": not_evaluated },
                "judgements": result.judgements,
            })
        })
        .collect();
    json!({
        "requirements": { "title": set.title, "edition": set.edition },
        "seed": settings.seed,
        "profiles": profiles,
        "as_expected": results.iter().all(ProfileResult::as_expected),
        "caution": CAUTION,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{MeasureId, Quantity};

    const SET: &str = r#"
title = "Test"
edition = "1"
[[requirement]]
id = "order"
title = "Hues change"
measure = "colour-order"
quantity = "hue_changes"
at_least = 1.0
unit = "count"
source = "hand-written"
"#;

    fn result(expectation: Expectation, value: Option<f64>) -> ProfileResult {
        let loaded = crate::profile_file::demo().unwrap().remove(0).loaded;
        let quantity = match value {
            Some(value) => Quantity::new("hue_changes", value, "count"),
            None => Quantity::absent("hue_changes", "count", "no colour"),
        };
        let outcomes = vec![Outcome {
            measure: MeasureId::ColourOrder,
            quantities: vec![quantity],
            pictures: Vec::new(),
            plots: Vec::new(),
            findings: Vec::new(),
        }];
        let judgements = RequirementSet::parse("set", SET)
            .unwrap()
            .judge(loaded.name(), &outcomes);
        ProfileResult {
            loaded,
            expectation,
            outcomes,
            judgements,
        }
    }

    #[test]
    fn every_expectation_meets_every_standing() {
        use Expectation::{Passes, ThereToFail};
        let cases = [
            (Passes, Some(2.0), Standing::Passes, true),
            (Passes, Some(0.0), Standing::Fails, false),
            (Passes, None, Standing::NotEvaluated, false),
            (ThereToFail, Some(2.0), Standing::Passes, false),
            (ThereToFail, Some(0.0), Standing::Fails, true),
            (ThereToFail, None, Standing::NotEvaluated, false),
        ];
        for (expectation, value, standing, as_expected) in cases {
            let result = result(expectation, value);
            assert_eq!(
                (result.standing(), result.as_expected()),
                (standing, as_expected)
            );
        }
    }

    #[test]
    fn the_summary_says_who_is_there_to_fail_and_whether_it_did() {
        let set = RequirementSet::parse("set", SET).unwrap();
        let results = [
            result(Expectation::Passes, Some(2.0)),
            result(Expectation::ThereToFail, Some(2.0)),
        ];
        let value = summary(&results, &set, &Settings::default());
        assert_eq!(value["profiles"][1]["expected"], "there-to-fail");
        assert_eq!(value["profiles"][1]["standing"], "passes");
        assert_eq!(value["as_expected"], false);
        assert_eq!(value["profiles"][0]["counts"]["pass"], 1);
    }
}
