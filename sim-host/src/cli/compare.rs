//! `glowsill compare`: the same instants of a source under several profiles, on one sheet.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::{CAUTION, CliError, output, render, scenario, verify};
use crate::measure::Settings;
use crate::profile_file::{self, LoadedProfile};
use crate::report::OutputFolder;
use crate::sheet::compare::compare;
use crate::sheet::instant::Instant;
use crate::sheet::legend;
use crate::sheet::{Kind, SheetError};

pub(super) const EXAMPLES: &str = "\
Every profile is shown every frame from the first on, because scale and bands have memory; all get
the same exposures. (Of a scenario, one frame a second and every frame of the last 3 s before each
instant.) The sheet holds the pictures side by side with a legend of their colours, the ends of the
grey scale, the share coloured, the gain state and the marks that are lost; first it says which colours
mean another temperature in the other picture. It is written as
compare.html (for a desk, a phone and paper), compare.png (the same in one picture) and
compare.json (docs/sheets.md describes its fields).

EXAMPLES
  Two profiles as the workshop's source grows (frame 120 is at 4 s):
    glowsill compare workshop --profile demo-data/profiles/interior-attack.toml \\
      --profile demo-data/profiles/size-up.toml --at 1s,3s,5s
  A scenario, half a minute and two minutes into it:
    glowsill compare timber-rack --profile demo-data/profiles/interior-attack.toml --at 30s,120s
  By frame, of a recording:
    glowsill compare demo-data/recordings/workshop-bin --profile mine.toml --at \"frame 0,frame 7\"";

/// Arguments of `glowsill compare`.
#[derive(Debug, Args)]
pub(super) struct CompareArguments {
    /// Folder of a recording, scenario (name or .toml file; `glowsill scenario list`), or simulated target (`glowsill render --help`)
    #[arg(value_name = "RECORDING|SCENARIO|TARGET")]
    source: String,
    /// Profile file; repeat it for each column
    #[arg(long, value_name = "FILE", required = true)]
    profile: Vec<PathBuf>,
    /// Instants: seconds (3s) or frames ("frame 90"), with commas [default: a tenth, middle and end; of a target 0.5s, 2.5s, 5s]
    #[arg(
        long,
        value_name = "INSTANT,…",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    at: Vec<Instant>,
    /// Folder for the sheet; made if needed
    #[arg(long, value_name = "DIR", default_value = "glowsill-compare")]
    out: PathBuf,
    /// Columns and rows of a target or scenario [default: 320x240, or as the scenario says]
    #[arg(long, value_name = "WxH", value_parser = render::size)]
    size: Option<(usize, usize)>,
    /// Seed of the simulated noise
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

/// Loads profiles that can be told apart.
fn profiles(paths: &[PathBuf]) -> Result<Vec<LoadedProfile>, CliError> {
    let mut all: Vec<LoadedProfile> = Vec::new();
    for path in paths {
        let loaded = profile_file::load(path)?;
        if let Some(twin) = all.iter().find(|other| other.name() == loaded.name()) {
            return Err(CliError::SameName {
                name: loaded.name().to_owned(),
                first: twin.source.clone(),
                second: loaded.source,
            });
        }
        all.push(loaded);
    }
    Ok(all)
}

pub(super) fn run(arguments: &CompareArguments) -> Result<ExitCode, CliError> {
    let profiles = profiles(&arguments.profile)?;
    let source = scenario::source(&arguments.source, arguments.size)?;
    let frames = if arguments.at.is_empty() {
        source.usual_instants()
    } else {
        let frames = arguments.at.iter().map(|at| at.frame(&source, "--at"));
        frames.collect::<Result<_, SheetError>>()?
    };
    let folder = OutputFolder::prepare_sheet(&arguments.out, Kind::Compare.stem())?;
    let settings = Settings {
        seed: arguments.seed,
        ..Settings::default()
    };
    let bar = verify::progress(source.feed(&frames).len(), false);
    bar.set_message(format!("frames of {}", source.name()));
    let comparison = compare(&source, &profiles, &frames, &settings, || bar.inc(1))?;
    bar.set_message("drawing the sheet");
    comparison.sheet(&settings).write(folder, &comparison)?;
    bar.finish_and_clear();
    output::line(format_args!(
        "compare.html, compare.png and compare.json: {} at {} under {}, in {}",
        source.name(),
        count(comparison.instants.len(), "instant"),
        count(profiles.len(), "profile"),
        arguments.out.display()
    ));
    for caution in legend::cautions(&comparison.legends) {
        output::line(caution);
    }
    if source.spread().is_some() {
        output::line(source.feeding());
    }
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}

fn count(number: usize, word: &str) -> String {
    let s = if number == 1 { "" } else { "s" };
    format!("{number} {word}{s}")
}
