//! `glowsill render`: a target or recording → the pictures a profile shows of it, and the frame records.

use std::process::ExitCode;

use glowsill_core::record::FrameRecord;
use serde_json::json;

use super::{CAUTION, CliError, RenderArguments, output};
use crate::profile_file;
use crate::run::{Display, with_display};
use crate::source::Source;

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

/// Reads a number of frames.
pub(super) fn frames(text: &str) -> Result<usize, String> {
    text.parse()
        .ok()
        .filter(|frames| (1..=9999).contains(frames))
        .ok_or_else(|| format!("'{text}' is not a number of frames: write 1 to 9999"))
}

pub(super) fn run(arguments: &RenderArguments) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(&arguments.profile)?;
    let source = Source::open(&arguments.source, arguments.size)?;
    let frames = source.frames(arguments.frames)?;
    let out = &arguments.out;
    std::fs::create_dir_all(out).map_err(CliError::writing(out))?;
    let mut lens = source.lens(arguments.seed)?;
    let tables = lens.tables().clone();
    let panel = arguments.panel.into();
    let show = |display: &mut Display<'_>| {
        let mut records: Vec<FrameRecord> = Vec::new();
        for frame in 0..frames {
            let counts = lens.expose(source.frame(frame)?)?;
            let shown = counts.show(display)?;
            let file = out.join(format!("frame-{frame:04}.png"));
            shown
                .image()
                .save(&file)
                .map_err(|cause| CliError::Picture { path: file, cause })?;
            records.push(shown.record);
        }
        Ok::<_, CliError>(records)
    };
    let records = with_display(&loaded.profile, &tables, source.size(), panel, show)?;
    let file = out.join("records.json");
    let text = serde_json::to_string_pretty(&json!({
        "source": arguments.source,
        "profile": loaded.name(),
        "seed": arguments.seed,
        "temperature_unit": "1/32 K, absolute, apparent; 0 is none",
        "caution": CAUTION,
        "records": records,
    }))?;
    std::fs::write(&file, text).map_err(CliError::writing(&file))?;
    output::line(format_args!(
        "{frames} pictures of '{}' as '{}' shows it, and records.json, in {}",
        arguments.source,
        loaded.name(),
        out.display()
    ));
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}
