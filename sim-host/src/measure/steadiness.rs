//! Steadiness: grey pumping and flashes, on a still scene and when something hot passes.
//!
//! Method, formula and uncertainty: `docs/measures/steadiness.md`.

use glowsill_core::profile::Profile;

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

/// What a course of frames showed.
struct Course {
    background_jnd: Vec<f64>,
    flashes: FlashReport,
}

/// Greatest movement of the background within one second, JND per second.
fn pumping(background_jnd: &[f64]) -> f64 {
    background_jnd
        .windows(ONE_SECOND)
        .map(|window| {
            let top = window.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let bottom = window.iter().copied().fold(f64::INFINITY, f64::min);
            top - bottom
        })
        .fold(0.0, f64::max)
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
        background_jnd.push(luminance(shown, background, &panel).map_or(0.0, gsdf::jnd));
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
    let lower = SIZE.0 * SIZE.1 * 7 / 10;
    let background: Region = masked(&empty.map(|k| *k < 313.15).data)
        .into_iter()
        .filter(|i| *i < SIZE.0 * SIZE.1 / 4 || *i > lower)
        .collect();
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
        let start = mean(course.background_jnd.iter().take(20).copied()).unwrap_or(0.0);
        let points = course
            .background_jnd
            .iter()
            .enumerate()
            .map(|(frame, jnd)| (real(frame) / FRAME_HZ, jnd - start))
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
        let mut background_jnd = vec![10.0; 60];
        background_jnd[30] = 14.0;
        background_jnd[40] = 9.0;
        assert!((pumping(&background_jnd) - 5.0).abs() < 1e-12);
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
