//! `glowsill vectors`: a foreign implementation against the conformance vectors.

use std::process::ExitCode;
use std::time::Duration;

use comfy_table::Table;
use comfy_table::presets::UTF8_HORIZONTAL_ONLY;
use glowsill_vectors::{Vector, VectorFile};
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::{Value, json};

use super::{CAUTION, CliError, VectorsCheckArguments, VectorsCommand, output};
use crate::vectors::{self, CheckError, Limits, Outcome};

/// A program may end or hang so often before the check gives up.
const RESTARTS: u32 = 10;

type Result3<'a> = (&'a VectorFile, &'a Vector, Outcome);

pub(super) fn run(command: &VectorsCommand) -> Result<ExitCode, CliError> {
    match command {
        VectorsCommand::Check(arguments) => check(arguments),
        VectorsCommand::List { only, json } => list(only, *json),
        VectorsCommand::Show { id } => show(id),
    }
}

/// Reads a time limit in seconds.
pub(super) fn seconds(text: &str) -> Result<Duration, String> {
    let limits = || format!("'{text}' is outside 0.1 to 3600 seconds");
    let seconds: f64 = text.parse().map_err(|_| limits())?;
    if (0.1..=3600.0).contains(&seconds) {
        Ok(Duration::from_secs_f64(seconds))
    } else {
        Err(limits())
    }
}

fn check(arguments: &VectorsCheckArguments) -> Result<ExitCode, CliError> {
    let files = vectors::stages(&arguments.only)?;
    let count: usize = files.iter().map(|file| file.vectors.len()).sum();
    let bar = ProgressBar::new(u64::try_from(count).unwrap_or(u64::MAX)).with_style(style());
    let limits = Limits {
        answer: arguments.time_limit,
        restarts: RESTARTS,
    };
    let mut watch = |vector: &Vector| {
        bar.set_message(vector.id.clone());
        bar.inc(1);
    };
    let results = vectors::check(&arguments.command, limits, &files, &mut watch);
    bar.finish_and_clear();
    let results = results.map_err(|error| match error {
        CheckError::Program(error) => CliError::Program(error),
        CheckError::Vectors(error) => CliError::Vectors(error.into()),
    })?;
    let passed = results
        .iter()
        .all(|(_, _, outcome)| *outcome == Outcome::Passed);
    if arguments.json {
        output::line(serde_json::to_string_pretty(&as_json(
            &arguments.command,
            &results,
        ))?);
    } else {
        tell(&files, &results);
    }
    Ok(if passed {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

fn style() -> ProgressStyle {
    ProgressStyle::with_template("{bar:30} {pos}/{len} {msg}")
        .unwrap_or_else(|_| ProgressStyle::default_bar())
}

fn word(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Passed => "passed",
        Outcome::Unsupported => "unsupported",
        Outcome::Wrong(_) => "wrong",
        Outcome::NoAnswer(_) => "no-answer",
    }
}

fn reason(outcome: &Outcome) -> Option<&str> {
    match outcome {
        Outcome::Passed | Outcome::Unsupported => None,
        Outcome::Wrong(reason) | Outcome::NoAnswer(reason) => Some(reason),
    }
}

fn as_json(command: &str, results: &[Result3<'_>]) -> Value {
    let count = |name: &str| {
        results
            .iter()
            .filter(|(_, _, outcome)| word(outcome) == name)
            .count()
    };
    let vectors: Vec<Value> = results
        .iter()
        .map(|(file, vector, outcome)| {
            let notes: Vec<Value> = file
                .notes_of(vector)
                .into_iter()
                .map(|(flag, note)| json!({ "flag": flag, "note": note }))
                .collect();
            json!({
                "id": vector.id,
                "stage": file.stage,
                "outcome": word(outcome),
                "reason": reason(outcome),
                "comment": vector.comment,
                "notes": notes,
            })
        })
        .collect();
    json!({
        "format": "glowsill-vector-check",
        "command": command,
        "passed": count("passed"),
        "wrong": count("wrong"),
        "no_answer": count("no-answer"),
        "unsupported": count("unsupported"),
        "vectors": vectors,
        "caution": CAUTION,
    })
}

fn tell(files: &[VectorFile], results: &[Result3<'_>]) {
    for (file, vector, outcome) in results {
        let Some(reason) = reason(outcome) else {
            continue;
        };
        output::line(format_args!("✗ {}: {reason}", vector.id));
        output::line(format_args!("    the case: {}", vector.comment));
        // Without an answer nothing can be said of the stage.
        if let Outcome::Wrong(_) = outcome {
            for (flag, note) in file.notes_of(vector) {
                output::line(format_args!("    perhaps: {note} [{flag}]"));
            }
        }
    }
    let mut table = Table::new();
    table.load_preset(UTF8_HORIZONTAL_ONLY);
    table.set_header([
        "stage",
        "verdict",
        "passed",
        "wrong",
        "no answer",
        "unsupported",
    ]);
    for file in files {
        let count = |name: &str| {
            let of_stage = results.iter().filter(|(of, _, _)| of.stage == file.stage);
            of_stage
                .filter(|(_, _, outcome)| word(outcome) == name)
                .count()
        };
        let (wrong, silent, unsupported) =
            (count("wrong"), count("no-answer"), count("unsupported"));
        let verdict = match (wrong + silent, unsupported) {
            (0, 0) => "✓ PASS",
            (0, _) => "– NOT COVERED",
            _ => "✗ FAIL",
        };
        table.add_row([
            file.stage.clone(),
            verdict.to_owned(),
            count("passed").to_string(),
            wrong.to_string(),
            silent.to_string(),
            unsupported.to_string(),
        ]);
    }
    output::line(table);
    let passed = results
        .iter()
        .filter(|(_, _, outcome)| *outcome == Outcome::Passed)
        .count();
    output::line(format_args!(
        "{passed} of {} vectors passed.",
        results.len()
    ));
    if passed < results.len() {
        output::line("One of them alone: glowsill vectors show ID");
    }
    output::line(CAUTION);
}

fn list(only: &[String], json: bool) -> Result<ExitCode, CliError> {
    let files = vectors::stages(only)?;
    if json {
        let stages: Vec<Value> = files
            .iter()
            .map(|file| {
                let vectors: Vec<Value> = file
                    .vectors
                    .iter()
                    .map(|v| json!({ "id": v.id, "comment": v.comment, "flags": v.flags }))
                    .collect();
                json!({
                    "stage": file.stage, "about": file.about, "word": file.word,
                    "request": file.request, "answer": file.answer, "notes": file.notes,
                    "vectors": vectors,
                })
            })
            .collect();
        output::line(serde_json::to_string_pretty(&json!({ "stages": stages }))?);
        return Ok(ExitCode::SUCCESS);
    }
    let detailed = !only.is_empty();
    let mut total = 0;
    for file in &files {
        total += file.vectors.len();
        output::line(format_args!(
            "{:12} {:3} vectors  {}",
            file.stage,
            file.vectors.len(),
            file.about
        ));
        if detailed {
            output::line(format_args!(
                "  request: {} {}",
                file.word,
                file.request.join(" ")
            ));
            output::line(format_args!("  answer:  {}", file.answer.join(" ")));
            for vector in &file.vectors {
                output::line(format_args!("  {}  {}", vector.id, vector.comment));
            }
            for (flag, note) in &file.notes {
                output::line(format_args!("  {flag}: {note}"));
            }
        }
    }
    output::line(format_args!("{total} vectors."));
    if !detailed {
        output::line("One stage with its vectors and notes: glowsill vectors list --only STAGE");
    }
    Ok(ExitCode::SUCCESS)
}

fn show(id: &str) -> Result<ExitCode, CliError> {
    let files = vectors::all()?;
    let found = files
        .iter()
        .flat_map(|file| file.vectors.iter().map(move |vector| (file, vector)))
        .find(|(_, vector)| vector.id == id);
    let Some((file, vector)) = found else {
        return Err(CliError::NoVector(id.to_owned()));
    };
    // What is not a line of the protocol is a comment, so that the output can be cut apart.
    output::line(format_args!("# {}: {}", vector.id, vector.comment));
    for (flag, note) in file.notes_of(vector) {
        output::line(format_args!("# catches {flag}: {note}"));
    }
    output::line(format_args!(
        "# request: {} {}",
        file.word,
        file.request.join(" ")
    ));
    output::line(
        file.request_line(vector)
            .map_err(|e| CliError::Vectors(e.into()))?,
    );
    output::line(format_args!("# answer: {}", file.answer.join(" ")));
    output::line(
        file.answer_line(vector)
            .map_err(|e| CliError::Vectors(e.into()))?,
    );
    Ok(ExitCode::SUCCESS)
}
