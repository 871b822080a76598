//! `glowsill render`: a scenario, target or recording → the pictures a profile shows of it, and the
//! frame records.

use std::path::Path;
use std::process::ExitCode;

use glowsill_core::record::FrameRecord;
use serde::Serialize;
use serde_json::{Value, json};

use super::{CAUTION, CliError, RenderArguments, output, scenario, verify};
use crate::measure::reading::real;
use crate::profile_file::{self, value::plural};
use crate::run::{Display, with_display};
use crate::sheet::{SheetError, instant::Instant};
use crate::source::{Lens, Source};
use crate::world::rounding::floor_index;

/// Most pictures that `--every` gives.
const MOST_INSTANTS: usize = 500;

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

/// Reads the seconds between pictures.
pub(super) fn every(text: &str) -> Result<f64, String> {
    match text.parse::<Instant>()? {
        Instant::Seconds(seconds) if (0.03..=3600.0).contains(&seconds) => Ok(seconds),
        _ => Err(format!(
            "'{text}' is not a time between pictures: write seconds, 0.03s to 3600s, such as 5s"
        )),
    }
}

/// One picture, as `records.json` lists it.
#[derive(Serialize)]
struct Picture {
    file: String,
    frame: usize,
    seconds: f64,
}

/// Frames to be drawn, in order, and whether their pictures are named by time.
fn wanted(arguments: &RenderArguments, source: &Source) -> Result<(Vec<usize>, bool), CliError> {
    let mut frames: Vec<usize> = if !arguments.at.is_empty() {
        let at = arguments.at.iter().map(|at| at.frame(source, "--at"));
        at.collect::<Result<_, SheetError>>()?
    } else if let Some(every_s) = arguments.every {
        let last_s = source.seconds(source.length() - 1);
        let count = floor_index(last_s / every_s + 1e-9, 1_000_000) + 1;
        if count > MOST_INSTANTS {
            return Err(CliError::TooManyInstants {
                every_s,
                asked: count,
                least_s: (100.0 * last_s / real(MOST_INSTANTS - 1)).ceil() / 100.0,
            });
        }
        (0..count)
            .map(|step| Instant::Seconds(real(step) * every_s).frame(source, "--every"))
            .collect::<Result<_, SheetError>>()?
    } else {
        match (arguments.frames, source.spread()) {
            (None, Some(spread)) => spread,
            (asked, _) => return Ok(((0..source.frames(asked)?).collect(), false)),
        }
    };
    frames.sort_unstable();
    frames.dedup();
    Ok((frames, true))
}

/// Pictures that the records of an earlier run list, by names that `render` gives.
fn listed(records: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(records).unwrap_or_default();
    let value: Value = serde_json::from_str(&text).unwrap_or_default();
    let files = value["pictures"].as_array().into_iter().flatten();
    let ours = |name: &&str| {
        let stem = name.strip_suffix(".png").unwrap_or_default();
        let number = stem.strip_prefix("frame-").or_else(|| {
            let time = stem.strip_prefix("at-")?;
            time.strip_suffix('s')
        });
        number.is_some_and(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_digit() || c == '.'))
    };
    files
        .filter_map(|picture| picture["file"].as_str())
        .filter(ours)
        .map(str::to_owned)
        .collect()
}

/// Shows the frames that the display needs, and writes those that are wanted as they come.
struct Drawing<'a> {
    source: &'a Source,
    out: &'a Path,
    wanted: &'a [usize],
    by_time: bool,
    pictures: Vec<Picture>,
    records: Vec<FrameRecord>,
}

impl Drawing<'_> {
    fn frame(
        &mut self,
        frame: usize,
        lens: &mut Lens,
        display: &mut Display<'_>,
    ) -> Result<(), CliError> {
        let counts = lens.expose(self.source.frame(frame)?)?;
        let shown = counts.show(display)?;
        if self.wanted.binary_search(&frame).is_err() {
            return Ok(());
        }
        let seconds = self.source.seconds(frame);
        let name = if self.by_time {
            format!("at-{seconds:07.2}s.png")
        } else {
            format!("frame-{frame:04}.png")
        };
        let path = self.out.join(&name);
        shown
            .image()
            .save(&path)
            .map_err(|cause| CliError::Picture { path, cause })?;
        self.pictures.push(Picture {
            file: name,
            frame,
            seconds,
        });
        self.records.push(shown.record);
        Ok(())
    }
}

pub(super) fn run(arguments: &RenderArguments) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(&arguments.profile)?;
    let source = scenario::source(&arguments.source, arguments.size)?;
    let (wanted, by_time) = wanted(arguments, &source)?;
    let out = &arguments.out;
    std::fs::create_dir_all(out).map_err(CliError::writing(out))?;
    let file = out.join("records.json");
    let earlier = listed(&file);
    let mut lens = source.lens(arguments.seed)?;
    let tables = lens.tables().clone();
    let feed = source.feed(&wanted);
    let bar = verify::progress(feed.len(), false);
    bar.set_message(format!("frames of {}", source.name()));
    let mut drawing = Drawing {
        source: &source,
        out,
        wanted: &wanted,
        by_time,
        pictures: Vec::new(),
        records: Vec::new(),
    };
    let panel = arguments.panel.into();
    let failed = with_display(&loaded.profile, &tables, source.size(), panel, |display| {
        for frame in feed {
            if let Err(cause) = drawing.frame(frame, &mut lens, display) {
                return Ok(Some((frame, cause)));
            }
            bar.inc(1);
        }
        Ok::<_, CliError>(None)
    })?;
    bar.finish_and_clear();
    let (pictures, records) = (drawing.pictures, drawing.records);
    let text = serde_json::to_string_pretty(&json!({
        "source": arguments.source,
        "profile": loaded.name(),
        "seed": arguments.seed,
        "temperature_unit": "1/32 K, absolute, apparent; 0 is none",
        "caution": CAUTION,
        "feeding": source.feeding(),
        "warnings": source.warnings(),
        "unseen": source.unseen(),
        "complete": failed.is_none(),
        "pictures": pictures,
        "records": records,
    }))?;
    std::fs::write(&file, text).map_err(CliError::writing(&file))?;
    for stale in earlier {
        if !pictures.iter().any(|picture| picture.file == stale) {
            // A picture that is gone already needs no removing.
            let _ = std::fs::remove_file(out.join(stale));
        }
    }
    let written = plural(i32::try_from(pictures.len()).unwrap_or(i32::MAX), "picture");
    if let Some((frame, cause)) = failed {
        return Err(CliError::FrameFailed {
            frame,
            written,
            folder: out.clone(),
            cause: Box::new(cause),
        });
    }
    output::line(format_args!(
        "{written} of '{}' as '{}' shows it, and records.json, in {}",
        arguments.source,
        loaded.name(),
        out.display()
    ));
    if source.spread().is_some() {
        output::line(source.feeding());
        scenario::tell_unseen(&source);
    }
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}
