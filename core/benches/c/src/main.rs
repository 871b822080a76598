//! Prints nanoseconds a pixel of the core, of the same steps in C, and of moving the same bytes.

use std::process::ExitCode;

use comfy_table::{CellAlignment, Table, presets};
use glowsill_throughput::measure::{COMPARED, Form, compare};
use glowsill_throughput::scene::{Scene, equalised_profile, percentile_profile};
use indicatif::{ProgressBar, ProgressStyle};

const HELP: &str = "\
Times the core's display pipeline beside the same steps in plain C, and beside moving the same bytes.

    cargo run --release -p glowsill-throughput [-- REPEATS]

REPEATS is how many frames each form draws, 10 to 100000; 300 if it is left out.

Two sizes and two profiles. All forms take the same frames in turn, in one process, after it was made
sure that they give the same pixels. The scene: a warm room, a hot disc over about a ninth of it, noise,
and a correction table a gain state whose entries all differ.

Columns, in nanoseconds a pixel: the fastest frame, which other work disturbed least; the median; the
middle half. Then the fastest as a multiple of the C form's: less than 1 is faster than C. Times are
from this machine under whatever load it has: read the ratios.

Simulation and teaching only; not a certification.";

fn run() -> Result<(), String> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let repeats = match arguments.as_slice() {
        [] => 300,
        [word] if word == "--help" || word == "-h" => {
            println!("{HELP}");
            return Ok(());
        }
        [number] => number
            .parse()
            .ok()
            .filter(|repeats| (10..=100_000).contains(repeats))
            .ok_or_else(|| {
                format!("REPEATS: '{number}' is no whole number of 10 to 100000; see --help")
            })?,
        _ => {
            return Err(format!(
                "{} arguments given, at most 1; see --help",
                arguments.len()
            ));
        }
    };
    if cfg!(debug_assertions) {
        eprintln!("This is a build for tests: the core's times mean nothing. Use --release.");
    }
    let sizes = [(320, 240), (640, 480)];
    let profiles = [percentile_profile()?, equalised_profile()?];
    let laws = ["shares, linear", "equalised (shipped)"];
    let steps = u64::try_from(repeats * sizes.len() * profiles.len()).unwrap_or(0);
    let bar = ProgressBar::new(steps).with_style(
        ProgressStyle::with_template("{bar:40} {pos} of {len} frames, {eta} left")
            .map_err(|error| error.to_string())?,
    );
    let mut table = Table::new();
    table.load_preset(presets::UTF8_FULL_CONDENSED);
    table.set_header(vec![
        "size",
        "scale",
        "form",
        "fastest",
        "median",
        "quarters",
        "of the C form",
    ]);
    for column in 3..7 {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for (width, height) in sizes {
        let scene = Scene::new(width, height)?;
        for (profile, law) in profiles.iter().zip(laws) {
            let found = compare(&scene, profile, repeats, || bar.inc(1))?;
            let fastest = |form| {
                let timing = found.timings.iter().find(|timing| timing.form == form);
                timing.map_or(f64::NAN, |timing| timing.nanoseconds(0))
            };
            for timing in &found.timings {
                table.add_row(vec![
                    format!("{width}x{height}"),
                    format!("{law}, {} ‰ coloured", found.coloured_permille),
                    timing.form.name().to_owned(),
                    format!("{:.2}", timing.nanoseconds(0)),
                    format!("{:.2}", timing.nanoseconds(2)),
                    format!(
                        "{:.2} to {:.2}",
                        timing.nanoseconds(1),
                        timing.nanoseconds(3)
                    ),
                    format!("{:.2}", fastest(timing.form) / fastest(Form::C)),
                ]);
            }
        }
    }
    bar.finish_and_clear();
    println!("Nanoseconds a pixel:\n{table}");
    println!("{COMPARED} frames of each were compared first: every form gives the same pixels.");
    Ok(())
}

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("throughput: {error}");
            ExitCode::FAILURE
        }
    }
}
