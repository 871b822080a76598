//! `glowsill explain`: why the picture changed between two instants, on one sheet.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::{CAUTION, CliError, output, render, scenario, verify};
use crate::measure::Settings;
use crate::profile_file;
use crate::report::OutputFolder;
use crate::sheet::explain::explain;
use crate::sheet::instant::Instant;
use crate::sheet::{Kind, SheetError};

pub(super) const EXAMPLES: &str = "\
When something in view grows much hotter, the grey scale follows it and the rest of the picture gets
fewer greys. This command shows it with numbers: both pictures, both histograms with the ends of the
scale, both curves from temperature to grey, the pixels in low gain, the marks against time, and the
same frames with a gain plan that switches the whole frame. Choose a first instant after the start:
the very first frame is drawn with the start values of the scale, before it has seen anything. Written are explain.html (for a desk, a
phone and paper), explain.png and explain.json (docs/sheets.md describes its fields).

EXAMPLES
  glowsill explain workshop --profile demo-data/profiles/interior-attack.toml --between 0.5s,5s
  glowsill explain timber-rack --profile demo-data/profiles/interior-attack.toml --between 30s,240s";

/// Arguments of `glowsill explain`.
#[derive(Debug, Args)]
pub(super) struct ExplainArguments {
    /// Folder of a recording, scenario (name or .toml file; `glowsill scenario list`), or simulated target (`glowsill render --help`)
    #[arg(value_name = "RECORDING|SCENARIO|TARGET")]
    source: String,
    /// Profile file
    #[arg(long, value_name = "FILE")]
    profile: PathBuf,
    /// Two instants with a comma: seconds (0.5s,5s) or frames ("frame 15,frame 150")
    #[arg(long, value_name = "INSTANT,INSTANT", value_parser = between, allow_hyphen_values = true)]
    between: (Instant, Instant),
    /// Folder for the sheet; made if needed
    #[arg(long, value_name = "DIR", default_value = "glowsill-explain")]
    out: PathBuf,
    /// Columns and rows of a target or scenario [default: 320x240, or as the scenario says]
    #[arg(long, value_name = "WxH", value_parser = render::size)]
    size: Option<(usize, usize)>,
    /// Seed of the simulated noise
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

/// Reads `0.5s,5s`.
fn between(text: &str) -> Result<(Instant, Instant), String> {
    match text.split(',').collect::<Vec<_>>().as_slice() {
        [first, second] => Ok((first.parse()?, second.parse()?)),
        _ => Err(format!(
            "'{text}' is not two instants: write them with one comma, such as 0.5s,5s"
        )),
    }
}

pub(super) fn run(arguments: &ExplainArguments) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(&arguments.profile)?;
    let source = scenario::source(&arguments.source, arguments.size)?;
    let (first, second) = arguments.between;
    let frames = [
        first.frame(&source, "--between")?,
        second.frame(&source, "--between")?,
    ];
    if frames[1] == frames[0] {
        return Err(SheetError::SameFrame {
            first: first.to_string(),
            second: second.to_string(),
            frame: frames[0],
        }
        .into());
    }
    if frames[1] < frames[0] {
        return Err(SheetError::Order {
            first: first.to_string(),
            second: second.to_string(),
        }
        .into());
    }
    let folder = OutputFolder::prepare_sheet(&arguments.out, Kind::Explain.stem())?;
    let settings = Settings {
        seed: arguments.seed,
        ..Settings::default()
    };
    let bar = verify::progress(source.feed(&frames).len(), false);
    bar.set_message(format!("frames of {}", source.name()));
    let explanation = explain(&source, &loaded, frames, &settings, || bar.inc(1))?;
    bar.set_message("drawing the sheet");
    explanation.sheet(&settings)?.write(folder, &explanation)?;
    bar.finish_and_clear();
    for sentence in &explanation.sentences {
        output::line(format_args!("- {sentence}"));
    }
    output::line(format_args!(
        "explain.html, explain.png and explain.json: {} as '{}' shows it, in {}",
        source.name(),
        loaded.name(),
        arguments.out.display()
    ));
    if source.spread().is_some() {
        output::line(source.feeding());
    }
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}
