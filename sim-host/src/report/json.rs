//! `report.json`, as `docs/schema/report.schema.json` describes it.

use serde_json::{Map, Value, json};

use super::manifest::Written;
use super::pictures::{Drawn, Evidence, File, OfMeasure};
use super::{ProfileReport, Report, ReportError, SCHEMA_VERSION};
use crate::measure::Outcome;
use crate::temperature::Kelvin;

pub(super) fn document(report: &Report, evidence: &[Evidence]) -> Result<String, ReportError> {
    let settings: Map<String, Value> = report
        .settings
        .iter()
        .map(|(name, value)| (name.clone(), Value::String(value.clone())))
        .collect();
    let profiles: Vec<_> = report
        .profiles
        .iter()
        .zip(evidence)
        .map(|(one, evidence)| profile(one, evidence))
        .collect();
    let files: Vec<_> = evidence
        .iter()
        .flat_map(Evidence::files)
        .map(Written::of)
        .collect();
    let requirements = report
        .requirements
        .as_ref()
        .map(|set| json!({ "title": set.title, "edition": set.edition }));
    let value = json!({
        "format": "glowsill-report",
        "schema_version": SCHEMA_VERSION,
        "title": report.title,
        "date": report.date,
        "cautions": report.all_cautions(),
        "settings": settings,
        "requirements": requirements,
        "profiles": profiles,
        "files": files,
    });
    // The marker stands in the first lines, where the output folder looks for it.
    let text =
        serde_json::to_string_pretty(&Ordered(&value)).map_err(|error| ReportError::Encode {
            what: "report.json".to_owned(),
            reason: error.to_string(),
        })?;
    Ok(text + "\n")
}

/// Writes the top level with the fields that identify the file first.
struct Ordered<'a>(&'a Value);

impl serde::Serialize for Ordered<'_> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeMap;
        let mut map = serializer.serialize_map(None)?;
        for key in [
            "format",
            "schema_version",
            "title",
            "date",
            "cautions",
            "settings",
            "requirements",
            "profiles",
            "files",
        ] {
            map.serialize_entry(key, &self.0[key])?;
        }
        map.end()
    }
}

fn profile(profile: &ProfileReport, evidence: &Evidence) -> Value {
    let onset = match &profile.spec.colour {
        glowsill_core::profile::ColourPlan::Bands(plan) => plan.bands.first(),
        _ => None,
    };
    let onset = onset.map(|band| Kelvin::from(band.start));
    let tally = profile.tally();
    let measures: Vec<_> = profile
        .outcomes
        .iter()
        .zip(&evidence.measures)
        .map(|(outcome, evidence)| measure(outcome, evidence))
        .collect();
    let verdicts: Vec<_> = profile
        .judgements
        .iter()
        .map(|judgement| {
            let mut value = json!(judgement.verdict);
            value["requirement"] = json!(judgement.requirement);
            value["sentence"] = json!(judgement.verdict.sentence());
            value
        })
        .collect();
    json!({
        "name": profile.name(),
        "there_to_fail": profile.expected_to_fail,
        "onset": onset,
        "tally": { "pass": tally.pass, "fail": tally.fail, "not_evaluated": tally.not_evaluated },
        "verdicts": verdicts,
        "chart": file(&evidence.chart),
        "measures": measures,
    })
}

fn measure(outcome: &Outcome, evidence: &OfMeasure) -> Value {
    let plot = |(plot, drawn): (&crate::measure::Plot, &Drawn)| {
        let mut value = json!(plot);
        value["file"] = json!(drawn.as_ref().ok().map(|(_, file)| &file.file));
        value
    };
    json!({
        "measure": outcome.measure,
        "findings": outcome.findings,
        "quantities": outcome.quantities,
        "plots": outcome.plots.iter().zip(&evidence.plots).map(plot).collect::<Vec<_>>(),
        "pictures": evidence.pictures.iter().map(file).collect::<Vec<_>>(),
    })
}

fn file(file: &File) -> Value {
    json!({
        "file": file.file,
        "caption": file.caption,
        "width": file.size.0,
        "height": file.size.1,
    })
}
