//! `glowsill render`: a scenario, target or recording → the pictures a profile shows of it, the same as
//! an animation, and the frame records.

mod arguments;
mod drawing;

use std::path::Path;
use std::process::ExitCode;

use serde_json::{Value, json};

use super::{CAUTION, CliError, output, scenario, verify};
use crate::measure::reading::real;
use crate::profile_file::{self, value::plural};
use crate::report::OutputFolder;
use crate::run::with_display;
use crate::sheet::{SheetError, instant::Instant};
use crate::source::Source;
use crate::video;
use crate::world::rounding::floor_index;

pub(super) use arguments::{EXAMPLES, RenderArguments};
use drawing::{ANIMATION, Drawing, Timing, VIDEO};

/// Most pictures that `--every` gives.
const MOST_INSTANTS: usize = 500;

/// The file that tells what the pictures are, and a text by which this program knows its own.
const RECORDS: &str = "records.json";
const MARKER: &str = "\"feeding\": \"The display was shown";

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
    match text.parse::<Instant>() {
        Ok(Instant::Seconds(seconds)) if (0.03..=3600.0).contains(&seconds) => Ok(seconds),
        _ => Err(format!(
            "'{text}' is not a time between pictures: write seconds, 0.03s to 3600s, such as 5s"
        )),
    }
}

/// Reads how many times faster than real time.
pub(super) fn speed(text: &str) -> Result<f64, String> {
    text.trim_end_matches('x')
        .parse()
        .ok()
        .filter(|speed| (0.01..=1000.0).contains(speed))
        .ok_or_else(|| {
            format!(
                "'{text}' is not a speed: write 0.01 to 1000, such as 20 for 20 times real time"
            )
        })
}

/// Frames asked for by `--at`, each once.
fn instants(at: &[Instant], source: &Source) -> Result<Vec<usize>, CliError> {
    let mut frames: Vec<usize> = Vec::new();
    for instant in at {
        let frame = instant.frame(source, "--at")?;
        if let Some(same) = frames.iter().position(|known| *known == frame) {
            return Err(CliError::SameFrame {
                first: at[same].to_string(),
                second: instant.to_string(),
                frame,
                frame_s: source.frame_seconds(),
            });
        }
        frames.push(frame);
    }
    Ok(frames)
}

/// Frames to be drawn, in order, and whether their pictures are named by time.
fn wanted(arguments: &RenderArguments, source: &Source) -> Result<(Vec<usize>, bool), CliError> {
    let mut frames: Vec<usize> = if !arguments.at.is_empty() {
        instants(&arguments.at, source)?
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

/// Files that the records of an earlier run list, by names that `render` gives.
fn listed(records: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(records).unwrap_or_default();
    let value: Value = serde_json::from_str(&text).unwrap_or_default();
    let pictures = value["pictures"].as_array().into_iter().flatten();
    let ours = |name: &&str| {
        if [ANIMATION, VIDEO].contains(name) {
            return true;
        }
        let stem = name.strip_suffix(".png").unwrap_or_default();
        let number = stem.strip_prefix("frame-").or_else(|| {
            let time = stem.strip_prefix("at-")?;
            time.strip_suffix('s')
        });
        number.is_some_and(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_digit() || c == '.'))
    };
    pictures
        .chain([&value["animation"], &value["video"]])
        .filter_map(|entry| entry["file"].as_str())
        .filter(ours)
        .map(str::to_owned)
        .collect()
}

pub(super) fn run(arguments: &RenderArguments) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(&arguments.profile)?;
    if arguments.video {
        video::available()?;
    }
    let source = scenario::source(&arguments.source, arguments.size)?;
    let (wanted, by_time) = wanted(arguments, &source)?;
    if arguments.video && wanted.len() < 2 {
        return Err(CliError::OnePicture);
    }
    let timing = Timing::of(&wanted, &source, arguments.speed)?;
    let out = &arguments.out;
    let earlier = listed(&out.join(RECORDS));
    let folder = OutputFolder::prepare_for(out, &[(RECORDS, MARKER)], RECORDS)?;
    let mut lens = source.lens(arguments.seed)?;
    let tables = lens.tables().clone();
    let feed = source.feed(&wanted);
    let bar = verify::progress(feed.len(), false);
    bar.set_message(format!("frames of {}", source.name()));
    let mut drawing = Drawing::begin(&source, folder.path(), &timing, by_time, arguments.video)?;
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
    let drawn = drawing.end(failed.is_none())?;
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
        "animation": drawn.animation,
        "video": drawn.video,
        "pictures": drawn.pictures,
        "records": drawn.records,
    }))?;
    let file = folder.path().join(RECORDS);
    std::fs::write(&file, text).map_err(CliError::writing(&file))?;
    folder.commit_over(&earlier)?;
    let written = plural(
        i32::try_from(drawn.pictures.len()).unwrap_or(i32::MAX),
        "picture",
    );
    if let Some((frame, cause)) = failed {
        return Err(CliError::FrameFailed {
            frame,
            written,
            folder: out.clone(),
            cause: Box::new(cause),
        });
    }
    let films = [&drawn.animation, &drawn.video].into_iter().flatten();
    let films: Vec<String> = films.map(|film| format!("{}, ", film.file)).collect();
    output::line(format_args!(
        "{written} of '{}' as '{}' shows it, {}and records.json, in {}",
        arguments.source,
        loaded.name(),
        films.concat(),
        out.display()
    ));
    if let Some(film) = &drawn.animation {
        output::line(film.words());
    }
    if source.spread().is_some() {
        output::line(source.feeding());
        scenario::tell_unseen(&source);
    }
    output::line(CAUTION);
    match drawn.video_failed {
        Some(cause) => Err(cause.into()),
        None => Ok(ExitCode::SUCCESS),
    }
}
