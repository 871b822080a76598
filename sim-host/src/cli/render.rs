//! `glowsill render`: a target → the pictures a profile shows of it, and the frame records.

use std::process::ExitCode;

use serde_json::json;

use super::{CAUTION, CliError, RenderArguments, output};
use crate::profile_file;
use crate::run::{RunError, SensorTables, with_display};
use crate::world::sensor::{Sensor, SensorModel};
use crate::world::target::scene_from_name;

/// Reads `320x240`.
pub(super) fn size(text: &str) -> Result<(usize, usize), String> {
    let form = || format!("'{text}' is not a size: write columns x rows, such as 320x240");
    let (columns, rows) = text.split_once('x').ok_or_else(form)?;
    let number = |part: &str| part.trim().parse::<usize>().map_err(|_| form());
    let (columns, rows) = (number(columns)?, number(rows)?);
    if (8..=1280).contains(&columns) && (8..=1024).contains(&rows) {
        Ok((columns, rows))
    } else {
        Err(format!(
            "'{text}' is outside 8x8 to 1280x1024; 320x240 is usual"
        ))
    }
}

pub(super) fn run(arguments: &RenderArguments) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(&arguments.profile)?;
    let (width, height) = arguments.size;
    let scene = scene_from_name(&arguments.target, width, height)?;
    let out = &arguments.out;
    std::fs::create_dir_all(out).map_err(CliError::writing(out))?;
    let mut sensor = Sensor::new(SensorModel::default(), width, height, arguments.seed)
        .map_err(RunError::from)?;
    let tables = SensorTables::of(&sensor)?;
    let panel = arguments.panel.into();
    let records = with_display(
        &loaded.profile,
        &tables,
        (width, height),
        panel,
        |display| {
            let mut records = Vec::new();
            for frame in 0..arguments.frames {
                let exposure = sensor.expose(&scene.image(frame)).map_err(RunError::from)?;
                let shown = display.expose(&exposure)?;
                let file = out.join(format!("frame-{frame:04}.png"));
                shown
                    .image()
                    .save(&file)
                    .map_err(|cause| CliError::Picture { path: file, cause })?;
                records.push(shown.record);
            }
            Ok::<_, CliError>(records)
        },
    )?;
    let file = out.join("records.json");
    let text = serde_json::to_string_pretty(&json!({
        "target": arguments.target,
        "profile": loaded.name(),
        "seed": arguments.seed,
        "temperature_unit": "1/32 K, absolute, apparent; 0 is none",
        "caution": CAUTION,
        "records": records,
    }))?;
    std::fs::write(&file, text).map_err(CliError::writing(&file))?;
    output::line(format_args!(
        "{} pictures of '{}' as '{}' shows it, and records.json, in {}",
        arguments.frames,
        arguments.target,
        loaded.name(),
        out.display()
    ));
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}
