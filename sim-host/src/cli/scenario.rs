//! `glowsill scenario`: what scenarios there are and what a file of one's own says; and how every
//! command opens one.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Subcommand;

use super::{CAUTION, CliError, output, verify};
use crate::source::Source;
use crate::temperature::Kelvin;
use crate::world::rounding::floor_index;
use crate::world::scenario::{BUILT_IN, Scenario};

/// Commands of `glowsill scenario`.
#[derive(Debug, Subcommand)]
pub(super) enum ScenarioCommand {
    /// Lists the scenarios that come with glowsill.
    List,
    /// Writes the file of a scenario to the terminal, to start one of your own from.
    #[command(after_help = "EXAMPLE\n  glowsill scenario show paint-store-door > mine.toml")]
    Show {
        /// Its name, as `glowsill scenario list` gives it
        #[arg(value_name = "NAME")]
        name: String,
    },
    /// Reads a scenario file and says what it holds, or exactly what is wrong with it.
    Check {
        /// The scenario file, TOML; docs/scenarios.md describes every key
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
}

pub(super) fn run(command: &ScenarioCommand) -> Result<ExitCode, CliError> {
    match command {
        ScenarioCommand::List => {
            for one in BUILT_IN {
                output::line(format_args!("{:<18} {}", one.name, one.about));
            }
            output::line("");
            output::line("To see one: glowsill render NAME --profile FILE");
        }
        ScenarioCommand::Show { name } => {
            let scenario = Scenario::named(name)?;
            let found = BUILT_IN.iter().find(|one| one.name == scenario.source);
            output::line(found.map_or("", |one| one.text.trim_end()));
            return Ok(ExitCode::SUCCESS);
        }
        ScenarioCommand::Check { file } => check(file)?,
    }
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}

fn check(file: &Path) -> Result<(), CliError> {
    let scenario = Scenario::load(file)?;
    let spec = &scenario.spec;
    output::line(format_args!("{} ({})", spec.title, scenario.source));
    if !spec.story.is_empty() {
        output::line(&spec.story);
    }
    output::line(format_args!(
        "{:.0} s, {}x{} pixels, air and walls of {} at the start.",
        spec.duration_s,
        spec.size.0,
        spec.size.1,
        Kelvin(spec.ambient_k)
    ));
    for room in &spec.rooms {
        output::line(format_args!(
            "Room '{}': {:.2} m wide, {:.2} m deep, {:.2} m high.",
            room.name, room.size.x, room.size.y, room.size.z
        ));
    }
    let names = |names: Vec<&str>| {
        if names.is_empty() {
            "none".to_owned()
        } else {
            names.join(", ")
        }
    };
    let openings = spec.openings.iter().map(|one| one.name.as_str()).collect();
    let objects = spec.objects.iter().map(|one| one.name.as_str()).collect();
    let marks = spec.marks.iter().map(String::as_str).collect();
    output::line(format_args!("Openings: {}.", names(openings)));
    output::line(format_args!("Objects: {}.", names(objects)));
    output::line(format_args!("Marks that are followed: {}.", names(marks)));
    output::line(match &spec.fire {
        Some(fire) => format!(
            "Fire: starts at {:.0} s and grows to {:.0} kW at most.",
            fire.start_s, fire.peak_kw
        ),
        None => "Fire: none.".to_owned(),
    });
    output::line("The scenario is valid. To see it: glowsill render FILE --profile FILE");
    Ok(())
}

/// Opens what is to be looked at; shows how far the heat of a scenario is computed, and says where
/// its model leaves its limits.
pub(super) fn source(text: &str, size: Option<(usize, usize)>) -> Result<Source, CliError> {
    let bar = verify::progress(100, false);
    bar.set_message(format!("% of the heat of {text}"));
    let source = Source::open_telling(text, size, &|share| {
        bar.set_position(u64::try_from(floor_index(100.0 * share, 100)).unwrap_or(100));
    });
    bar.finish_and_clear();
    let source = source?;
    for warning in source.warnings() {
        output::warning(warning);
    }
    Ok(source)
}

/// Says what an imager cannot see of a source.
pub(super) fn tell_unseen(source: &Source) {
    output::line("What the imager cannot see here:");
    for sentence in source.unseen() {
        output::line(format_args!("- {sentence}"));
    }
}
