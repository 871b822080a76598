//! `glowsill chart`: a profile → its temperature-to-colour chart.

use std::process::ExitCode;

use super::{CAUTION, ChartArguments, CliError, output};
use crate::plot::chart;
use crate::profile_file;

pub(super) fn run(arguments: &ChartArguments) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(&arguments.profile)?;
    let out = &arguments.out;
    match out.extension().and_then(|ending| ending.to_str()) {
        Some("svg") => {
            std::fs::write(out, chart::svg(&loaded.spec)?).map_err(CliError::writing(out))?;
        }
        Some("png") => chart::png(&loaded.spec)?
            .save(out)
            .map_err(|cause| CliError::Picture {
                path: out.clone(),
                cause,
            })?,
        _ => return Err(CliError::Ending(out.clone())),
    }
    output::line(format_args!(
        "Chart of '{}' written to {}",
        loaded.name(),
        out.display()
    ));
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}
