//! `glowsill verify`: profiles → measures → verdicts → report and exit code.

mod outcome;
mod table;

use std::process::ExitCode;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;

use super::{CliError, VerifyArguments, output};
use crate::measure::{self, MeasureId, Outcome, Settings};
use crate::profile_file;
use crate::report::{OutputFolder, ProfileReport, Report, today};
use crate::requirement::RequirementSet;

pub use outcome::{Expectation, ProfileResult, Standing};

const DEMO_REQUIREMENTS: (&str, &str) = (
    "demo-data/requirements/quoted-clause.toml",
    include_str!("../../../../demo-data/requirements/quoted-clause.toml"),
);

/// A profile to verify and what is expected of it.
struct Candidate {
    loaded: profile_file::LoadedProfile,
    expectation: Expectation,
}

pub(super) fn run(arguments: &VerifyArguments) -> Result<ExitCode, CliError> {
    let candidates = candidates(arguments)?;
    let mut set = match &arguments.requirements {
        Some(path) => RequirementSet::load(path)?,
        None => RequirementSet::parse(DEMO_REQUIREMENTS.0, DEMO_REQUIREMENTS.1)?,
    };
    check_known(&set, &candidates)?;
    let measures = measures(arguments);
    set.requirements
        .retain(|requirement| measures.contains(&requirement.measure));
    if set.requirements.is_empty() {
        return Err(CliError::NothingRequired(
            measures.iter().map(|id| id.name()).collect(),
        ));
    }
    let folder = OutputFolder::prepare(&arguments.out)?;
    let settings = Settings {
        seed: arguments.seed,
        ..Settings::default()
    };
    let results = measure_all(candidates, &measures, &settings, &set, arguments.quiet)?;
    let code = if results.iter().all(ProfileResult::as_expected) {
        0
    } else {
        1
    };
    if arguments.json {
        output::line(serde_json::to_string_pretty(&outcome::summary(
            &results, &set, &settings,
        ))?);
    } else if !arguments.quiet {
        table::print(&results, &set, &arguments.out);
    }
    report(results, set, &settings).write(folder.path())?;
    folder.commit()?;
    Ok(ExitCode::from(code))
}

/// Refuses requirements that no measure could ever answer: a misspelt one would never fail.
fn check_known(set: &RequirementSet, candidates: &[Candidate]) -> Result<(), CliError> {
    for requirement in &set.requirements {
        let refuse = |field: &str, value: &str, known: Vec<&str>| {
            Err(CliError::UnknownInRequirement {
                id: requirement.id.clone(),
                field: field.to_owned(),
                value: value.to_owned(),
                known: known.join(", "),
            })
        };
        let quantities = requirement.measure.quantities();
        let Some(known) = quantities
            .iter()
            .find(|known| known.name == requirement.quantity)
        else {
            let names = quantities.iter().map(|known| known.name).collect();
            return refuse("quantity", &requirement.quantity, names);
        };
        if known.unit != requirement.unit {
            return refuse("unit", &requirement.unit, vec![known.unit]);
        }
        let mut keys = requirement.conditions.keys();
        if let Some(key) = keys.find(|key| !known.conditions.contains(&key.as_str())) {
            return refuse("condition", key, known.conditions.to_vec());
        }
        if !candidates
            .iter()
            .any(|c| requirement.applies_to(c.loaded.name()))
        {
            output::warning(&format!(
                "requirement '{}' applies to none of the profiles given: it is left out",
                requirement.id
            ));
        }
    }
    Ok(())
}

fn report(results: Vec<ProfileResult>, set: RequirementSet, settings: &Settings) -> Report {
    let text = |name: &str, value: String| (name.to_owned(), value);
    Report {
        title: "What the displays show".to_owned(),
        date: today(),
        requirements: Some(set),
        settings: vec![
            text("seed", settings.seed.to_string()),
            text(
                "separation that counts as visible",
                format!("{} JND", settings.visible_jnd),
            ),
        ],
        cautions: Vec::new(),
        profiles: results
            .into_iter()
            .map(|result| ProfileReport {
                expected_to_fail: result.expectation == Expectation::ThereToFail,
                spec: result.loaded.spec,
                outcomes: result.outcomes,
                judgements: result.judgements,
            })
            .collect(),
    }
}

fn candidates(arguments: &VerifyArguments) -> Result<Vec<Candidate>, CliError> {
    if arguments.profile.is_empty() && arguments.expect_fail.is_empty() {
        return Ok(profile_file::demo()?
            .into_iter()
            .map(|demo| Candidate {
                loaded: demo.loaded,
                expectation: if demo.there_to_fail {
                    Expectation::ThereToFail
                } else {
                    Expectation::Passes
                },
            })
            .collect());
    }
    let good = arguments
        .profile
        .iter()
        .map(|path| (path, Expectation::Passes));
    let poor = arguments
        .expect_fail
        .iter()
        .map(|path| (path, Expectation::ThereToFail));
    let mut candidates: Vec<Candidate> = Vec::new();
    for (path, expectation) in good.chain(poor) {
        let loaded = profile_file::load(path)?;
        if let Some(twin) = candidates.iter().find(|c| c.loaded.name() == loaded.name()) {
            return Err(CliError::SameName {
                name: loaded.name().to_owned(),
                first: twin.loaded.source.clone(),
                second: loaded.source,
            });
        }
        candidates.push(Candidate {
            loaded,
            expectation,
        });
    }
    Ok(candidates)
}

fn measures(arguments: &VerifyArguments) -> Vec<MeasureId> {
    MeasureId::ALL
        .into_iter()
        .filter(|id| arguments.only.is_empty() || arguments.only.contains(id))
        .collect()
}

/// Makes every measure of every profile, side by side; the order of the results is that of the input.
fn measure_all(
    candidates: Vec<Candidate>,
    measures: &[MeasureId],
    settings: &Settings,
    set: &RequirementSet,
    quiet: bool,
) -> Result<Vec<ProfileResult>, CliError> {
    let jobs: Vec<(usize, MeasureId)> = (0..candidates.len())
        .flat_map(|index| measures.iter().map(move |id| (index, *id)))
        .collect();
    let bar = progress(jobs.len(), quiet);
    let outcomes: Vec<(usize, Outcome)> = jobs
        .into_par_iter()
        .map(|(index, id)| {
            let loaded = &candidates[index].loaded;
            bar.set_message(format!("{id} of {}", loaded.name()));
            let outcome =
                measure::run(id, &loaded.profile, settings).map_err(|cause| CliError::Measure {
                    measure: id,
                    profile: loaded.name().to_owned(),
                    cause,
                })?;
            bar.inc(1);
            Ok((index, outcome))
        })
        .collect::<Result<_, CliError>>()?;
    bar.finish_and_clear();
    let mut of_profile: Vec<Vec<Outcome>> = candidates.iter().map(|_| Vec::new()).collect();
    for (index, outcome) in outcomes {
        of_profile[index].push(outcome);
    }
    Ok(candidates
        .into_iter()
        .zip(of_profile)
        .map(|(candidate, outcomes)| ProfileResult {
            judgements: set.judge(candidate.loaded.name(), &outcomes),
            loaded: candidate.loaded,
            expectation: candidate.expectation,
            outcomes,
        })
        .collect())
}

/// A bar on standard error, hidden when quiet.
pub(super) fn progress(steps: usize, quiet: bool) -> ProgressBar {
    // indicatif itself stays silent where standard error is no terminal.
    let target = if quiet {
        ProgressDrawTarget::hidden()
    } else {
        ProgressDrawTarget::stderr()
    };
    let bar = ProgressBar::with_draw_target(u64::try_from(steps).ok(), target);
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos}/{len} {wide_msg}") {
        bar.set_style(style);
    }
    bar
}
