//! `glowsill render`: a target or recording → the pictures a profile shows of it, and the frame records.

use std::path::Path;
use std::process::ExitCode;

use glowsill_core::record::FrameRecord;
use serde_json::json;

use super::{CAUTION, CliError, RenderArguments, output};
use crate::profile_file;
use crate::run::{Display, RunError, SensorTables, Shown, with_display};
use crate::world::image::Image;
use crate::world::recording::{RecordedFrame, Recording};
use crate::world::scene::Scene;
use crate::world::sensor::{Sensor, SensorModel};
use crate::world::target::scene_from_name;

/// Frames rendered of a target when none are asked for.
const TARGET_FRAMES: usize = 30;
const TARGET_SIZE: (usize, usize) = (320, 240);

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

/// What is looked at.
#[allow(clippy::large_enum_variant, reason = "one a run")]
enum Source {
    Target(Box<dyn Scene>),
    Recording(Recording),
}

impl Source {
    fn open(arguments: &RenderArguments) -> Result<(Self, (usize, usize), usize), CliError> {
        let folder = Path::new(&arguments.source);
        if folder.is_dir() {
            if arguments.size.is_some() {
                return Err(CliError::RecordingSize);
            }
            let recording = Recording::open(folder)?;
            let (size, length) = (recording.size(), recording.len());
            let frames = arguments.frames.unwrap_or(length);
            if frames > length {
                return Err(CliError::RecordingLength {
                    asked: frames,
                    length,
                });
            }
            return Ok((Self::Recording(recording), size, frames));
        }
        let (width, height) = arguments.size.unwrap_or(TARGET_SIZE);
        let scene = scene_from_name(&arguments.source, width, height)?;
        let frames = arguments.frames.unwrap_or(TARGET_FRAMES);
        Ok((Self::Target(scene), (width, height), frames))
    }
}

/// Shows a temperature picture through the simulated sensor.
fn expose<'d>(
    sensor: &mut Sensor,
    display: &'d mut Display<'_>,
    apparent: &Image<f64>,
) -> Result<&'d Shown, CliError> {
    let exposure = sensor.expose(apparent).map_err(RunError::from)?;
    Ok(display.expose(&exposure)?)
}

pub(super) fn run(arguments: &RenderArguments) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(&arguments.profile)?;
    let (source, (width, height), frames) = Source::open(arguments)?;
    let out = &arguments.out;
    std::fs::create_dir_all(out).map_err(CliError::writing(out))?;
    let mut sensor = Sensor::new(SensorModel::default(), width, height, arguments.seed)
        .map_err(RunError::from)?;
    let tables = match &source {
        Source::Recording(recording) if !recording.through_sensor() => {
            let (high, low) = recording.calibrations();
            SensorTables::calibrated(high.as_ref(), low.as_ref())?
        }
        _ => SensorTables::of(&sensor)?,
    };
    let panel = arguments.panel.into();
    let show = |display: &mut Display<'_>| {
        let mut records: Vec<FrameRecord> = Vec::new();
        for frame in 0..frames {
            let shown = match &source {
                Source::Target(scene) => {
                    let number = u32::try_from(frame).unwrap_or(u32::MAX);
                    expose(&mut sensor, display, &scene.image(number))?
                }
                Source::Recording(recording) => match recording.frame(frame)? {
                    RecordedFrame::Counts { high, low } => {
                        display.show(high.as_deref(), low.as_deref())?
                    }
                    RecordedFrame::Kelvin(apparent) => expose(&mut sensor, display, &apparent)?,
                },
            };
            let file = out.join(format!("frame-{frame:04}.png"));
            shown
                .image()
                .save(&file)
                .map_err(|cause| CliError::Picture { path: file, cause })?;
            records.push(shown.record);
        }
        Ok::<_, CliError>(records)
    };
    let records = with_display(&loaded.profile, &tables, (width, height), panel, show)?;
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
