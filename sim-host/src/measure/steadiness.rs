//! Steadiness: grey pumping and flashes, on a still scene and when something hot passes.
//!
//! Method, formula and uncertainty: `docs/measures/steadiness.md`.

use glowsill_core::profile::Profile;
use glowsill_core::record::GainInUse;

use super::flash::FlashMeter;
use super::reading::{Region, luminance, masked, mean, real, settling_frames};
use super::{FRAME_HZ, MeasureError, MeasureId, Outcome, Plot, Quantity, Series, Settings};
use crate::photometry::flash::FlashReport;
use crate::photometry::gsdf;
use crate::run::{Display, RunError, still, with_bench};
use crate::world::image::Image;
use crate::world::scene::Scene;
use crate::world::sensor::Sensor;
use crate::world::target::Workshop;

const SIZE: (usize, usize) = (160, 120);
/// Frames in one second at [`FRAME_HZ`].
const ONE_SECOND: usize = 25;
const FRAMES: usize = 5 * ONE_SECOND;
const HOT_K: f64 = 573.15;
/// What is warmer is no background.
const COLD_K: f64 = 313.15;
/// Rows that the blur of a hot thing reaches.
const BLUR_PX: usize = 3;

/// What a course of frames showed.
struct Course {
    /// Of each frame that has a picture; `None` for a blank one.
    background_jnd: Vec<Option<f64>>,
    flashes: FlashReport,
}

/// Greatest movement of the background within one second, JND per second. Blank frames, which have
/// no grey, are left out.
fn pumping(background_jnd: &[Option<f64>]) -> f64 {
    background_jnd
        .windows(ONE_SECOND)
        .map(|window| {
            let seen = || window.iter().flatten().copied();
            seen().fold(f64::NEG_INFINITY, f64::max) - seen().fold(f64::INFINITY, f64::min)
        })
        .fold(0.0, f64::max)
}

/// Cold pixels of the top quarter and of the bottom, without the rows in which the still source
/// stands or which its blur reaches, so that both scenes are read in the same place.
fn background(empty: &Image<f64>, with_source: &Image<f64>) -> Region {
    let is_cold = |kelvin: &f64| *kelvin < COLD_K;
    let rows = |image: &Image<f64>| -> Vec<bool> {
        let rows = image.data.chunks(SIZE.0);
        rows.map(|row| row.iter().all(is_cold)).collect()
    };
    let is_clear = rows(with_source);
    let is_kept = |y: usize| {
        let reached = y.saturating_sub(BLUR_PX)..=(y + BLUR_PX).min(SIZE.1 - 1);
        (y < SIZE.1 / 4 || y > SIZE.1 * 7 / 10)
            && is_clear
                .get(reached)
                .is_some_and(|near| near.iter().all(|clear| *clear))
    };
    masked(&empty.map(is_cold).data)
        .into_iter()
        .filter(|i| is_kept(i / SIZE.0))
        .collect()
}

fn record(
    sensor: &mut Sensor,
    display: &mut Display<'_>,
    settings: &Settings,
    background: &Region,
    scene: &dyn Fn(usize) -> Image<f64>,
) -> Result<Course, MeasureError> {
    let panel = settings.panel.table();
    let mut background_jnd = Vec::new();
    let mut meter = FlashMeter::new(&settings.panel, FRAME_HZ, 20);
    for frame in 0..FRAMES {
        let exposure = sensor.expose(&scene(frame)).map_err(RunError::from)?;
        let shown = display.expose(&exposure)?;
        let has_picture = shown.record.gain != GainInUse::Blank;
        let seen = luminance(shown, background, &panel).filter(|_| has_picture);
        background_jnd.push(seen.map(gsdf::jnd));
        meter.push(&shown.image());
    }
    Ok(Course {
        background_jnd,
        flashes: meter.finish()?,
    })
}

/// A hot square that crosses the picture from left to right, over one second and a half.
fn passing(room: &Image<f64>, frame: usize) -> Image<f64> {
    let mut image = room.clone();
    let Some(moved) = frame.checked_sub(25).filter(|moved| *moved < 38) else {
        return image;
    };
    let left = moved * SIZE.0 / 38;
    for y in SIZE.1 / 3..SIZE.1 / 3 + 30 {
        for x in left..(left + 30).min(SIZE.0) {
            if let Some(pixel) = image.data.get_mut(y * SIZE.0 + x) {
                *pixel = HOT_K;
            }
        }
    }
    image
}

/// Measures steadiness.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run.
pub fn measure(profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    let mut outcome = Outcome::new(MeasureId::Steadiness);
    let workshop = Workshop::new(SIZE.0, SIZE.1)
        .with_source(473.15)
        .with_growth(0.06, 0.06, 0);
    let still_room = workshop.image(0);
    let empty = workshop.with_growth(0.0, 0.0, 0).image(0);
    let background = background(&empty, &still_room);
    let mut series = Vec::new();
    for name in ["still", "passing"] {
        let room = if name == "still" { &still_room } else { &empty };
        let course = with_bench(
            profile,
            &settings.sensor,
            SIZE,
            settings.seed,
            |sensor, display| {
                let settle = still(sensor, room, 4)?;
                display.settle(&settle, settling_frames(profile))?;
                record(sensor, display, settings, &background, &|frame| {
                    if name == "still" {
                        room.clone()
                    } else {
                        passing(room, frame)
                    }
                })
            },
        )?;
        let pumping = pumping(&course.background_jnd);
        let report = course.flashes;
        let counts = [report.general, report.red, report.bt1702];
        let area = counts
            .map(|count| count.over_area)
            .into_iter()
            .max()
            .unwrap_or(0);
        let local = counts
            .map(|count| count.in_any_block)
            .into_iter()
            .max()
            .unwrap_or(0);
        let under = |quantity: Quantity| quantity.under("scene", name);
        outcome
            .quantities
            .push(under(Quantity::new("pumping", pumping, "JND/s")));
        outcome.quantities.push(under(Quantity::new("flashes", f64::from(area), "flashes/s")).noting(
            "over more than a quarter of the picture; the worst of WCAG 2.3.1 general and red, and ITU-R BT.1702",
        ));
        outcome.quantities.push(under(Quantity::new(
            "flashes_in_any_block",
            f64::from(local),
            "flashes/s",
        )));
        outcome.findings.push(match name {
            "still" => format!(
                "On a still, noisy scene the background moves by at most {pumping:.1} JND within a second."
            ),
            _ => format!(
                "When an object at 300 °C (572 °F) passes, the background moves by up to {pumping:.1} JND \
                 within a second; {area} flashes a second over more than a quarter of the picture."
            ),
        });
        let start = mean(course.background_jnd.iter().take(20).flatten().copied()).unwrap_or(0.0);
        let points = course
            .background_jnd
            .iter()
            .enumerate()
            .filter_map(|(frame, jnd)| Some((real(frame) / FRAME_HZ, (*jnd)? - start)))
            .collect();
        series.push(Series {
            name: name.to_owned(),
            points,
        });
    }
    outcome.plots.push(Plot {
        stem: "steadiness-background".to_owned(),
        title: "Movement of the background's grey".to_owned(),
        x_label: "time (s)".to_owned(),
        y_label: "change of the background (JND)".to_owned(),
        series,
        marks: vec![
            (1.0, "enters".to_owned()),
            (63.0 / FRAME_HZ, "leaves".to_owned()),
        ],
        limits: Vec::new(),
    });
    Ok(outcome)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pumping_is_the_span_within_one_second() {
        let mut background_jnd = vec![Some(10.0); 60];
        background_jnd[30] = Some(14.0);
        background_jnd[40] = Some(9.0);
        background_jnd[41] = None;
        assert!((pumping(&background_jnd) - 5.0).abs() < 1e-12);
    }

    // Source: by hand. The source stands in rows 100 to 101 of 120: rows 97 to 104 fall away from the
    // rows 0 to 29 and 85 to 119; a warm column falls away everywhere.
    #[test]
    fn the_background_keeps_clear_of_the_sources_rows() {
        let is_warm = |x: usize| if x == 7 { 320.0 } else { 295.0 };
        let empty = Image::from_fn(SIZE.0, SIZE.1, |x, _| is_warm(x));
        let room = Image::new(SIZE.0, SIZE.1, 295.0);
        let source = Image::from_fn(SIZE.0, SIZE.1, |x, y| {
            let is_source = x == 80 && (100..102).contains(&y);
            if is_source { 473.15 } else { 295.0 }
        });
        let rows = |region: &Region| {
            let mut rows: Vec<usize> = region.iter().map(|i| i / SIZE.0).collect();
            rows.dedup();
            rows
        };
        let kept: Vec<usize> = (0..30).chain(85..97).chain(105..120).collect();
        assert_eq!(rows(&background(&room, &source)), kept);
        assert_eq!(background(&empty, &source).len(), kept.len() * (SIZE.0 - 1));
    }

    #[test]
    fn the_object_passes_through_and_leaves() {
        let room = Image::new(SIZE.0, SIZE.1, 295.0);
        let hot = |frame| {
            passing(&room, frame)
                .data
                .iter()
                .filter(|k| **k > 500.0)
                .count()
        };
        assert_eq!((hot(0), hot(24), hot(63), hot(124)), (0, 0, 0, 0));
        assert_eq!(hot(40), 900);
    }
}
