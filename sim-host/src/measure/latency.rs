//! Latency: frames from a step of the scene to nine tenths of the display's response.
//!
//! Method, formula and uncertainty: `docs/measures/latency.md`.

use glowsill_core::profile::{ColourPlan, GainPlan, Profile};
use glowsill_core::record::GainInUse;

use super::reading::{real, rectangle, settling_frames};
use super::{FRAME_HZ, MeasureError, MeasureId, Outcome, Quantity, Settings};
use crate::run::{RunError, Shown, with_bench};
use crate::world::image::Image;
use crate::world::sensor::SensorModel;

const SIZE: (usize, usize) = (64, 48);
const COLD_K: f64 = 298.15;

/// Half of the picture steps from `from_k` to `to_k`; a gradient keeps the scale busy beside it.
fn scene(hot_k: f64) -> Image<f64> {
    Image::from_fn(SIZE.0, SIZE.1, |x, y| {
        if x < SIZE.0 / 2 {
            hot_k
        } else {
            COLD_K + 12.0 * real(y) / real(SIZE.1)
        }
    })
}

/// Shows a settled scene, then a step, and reads each frame from the step on.
fn course(
    profile: &Profile,
    settings: &Settings,
    (from_k, to_k): (f64, f64),
    read: &dyn Fn(&Shown) -> f64,
) -> Result<Vec<f64>, MeasureError> {
    let model = SensorModel {
        lag_frames: 0.0,
        netd_high_k: 0.0,
        netd_low_k: 0.0,
        defect_share: 0.0,
        ..settings.sensor.clone()
    };
    let frames = settling_frames(profile) + 20;
    with_bench(profile, &model, SIZE, settings.seed, |sensor, display| {
        let mut values = Vec::new();
        for frame in 0..2 * frames {
            let now = if frame < frames { from_k } else { to_k };
            let exposure = sensor.expose(&scene(now)).map_err(RunError::from)?;
            let shown = display.expose(&exposure)?;
            if frame + 1 >= frames {
                values.push(read(shown));
            }
        }
        Ok(values)
    })
}

/// Frames from the step (0: the frame that first contains it) after which the course stays beyond
/// nine tenths of its change; `None` if nothing changes. The first value is from before the step.
fn frames_to_90(course: &[f64]) -> Option<usize> {
    let (first, last) = (course.first()?, course.last()?);
    let change = last - first;
    if change.abs() < 1e-9 {
        return None;
    }
    let reached = |value: &f64| (value - first) / change >= 0.9;
    let late = course.iter().rposition(|value| !reached(value))?;
    Some(late)
}

/// Measures latency.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run.
pub fn measure(profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    let mut outcome = Outcome::new(MeasureId::Latency);
    let mut push = |name: &str, frames: Option<usize>, why: &str| {
        outcome.quantities.push(match frames {
            Some(frames) => Quantity::new(name, real(frames), "frames").within(0.5),
            None => Quantity::absent(name, "frames", why),
        });
        outcome.findings.push(match frames {
            Some(frames) => format!(
                "Latency of {name}, in frames: {frames} ({:.2} s at {FRAME_HZ} Hz).",
                real(frames) / FRAME_HZ
            ),
            None => format!("Latency of {name} not evaluated: {why}."),
        });
    };
    let background = rectangle(SIZE, SIZE.0 * 5 / 8..SIZE.0, SIZE.1 / 2..SIZE.1);
    let grey = |shown: &Shown| {
        let sum: f64 = background
            .iter()
            .filter_map(|i| shown.grey_q8.get(*i))
            .map(|g| f64::from(*g))
            .sum();
        sum / 256.0 / real(background.len())
    };
    // Warm enough to move the scale, too cold to switch a gain state.
    let scale = course(profile, settings, (COLD_K, 353.15), &grey)?;
    push(
        "scale",
        frames_to_90(&scale),
        "the background's grey does not depend on the scene",
    );

    let target = rectangle(SIZE, 4..SIZE.0 / 2 - 4, 4..SIZE.1 - 4);
    let coloured = |shown: &Shown| {
        let count = target
            .iter()
            .filter(|i| shown.band.get(**i).is_some_and(|band| *band > 0))
            .count();
        real(count) / real(target.len())
    };
    let colour = match (&profile.spec().colour, profile.onset()) {
        (ColourPlan::Bands(_), Some(onset)) => {
            let hot_k = f64::from(onset.to_bits()) / 32.0 + 15.0;
            frames_to_90(&course(profile, settings, (COLD_K, hot_k), &coloured)?)
        }
        _ => None,
    };
    push("colour", colour, "the profile has no onset");

    let gain = match profile.spec().gain {
        GainPlan::WholeFrame(plan) => {
            let hot_k = f64::from(plan.enter_above.to_bits()) / 32.0 + 30.0;
            let in_low = |shown: &Shown| f64::from(u8::from(shown.record.gain == GainInUse::Low));
            frames_to_90(&course(profile, settings, (COLD_K, hot_k), &in_low)?)
        }
        GainPlan::PerPixel { .. } => Some(0),
        _ => None,
    };
    let why = match profile.spec().gain {
        GainPlan::WholeFrame(_) => "the frame never switched",
        _ => "the profile uses one gain state only",
    };
    push("gain", gain, why);
    Ok(outcome)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_are_counted_from_the_frame_of_the_step() {
        // Before the step, then at once: 0 frames.
        assert_eq!(frames_to_90(&[0.0, 1.0, 1.0]), Some(0));
        assert_eq!(frames_to_90(&[0.0, 0.0, 0.89, 0.9, 1.0]), Some(2));
        // A course that falls back has not arrived.
        assert_eq!(frames_to_90(&[0.0, 1.0, 0.2, 1.0]), Some(2));
        assert_eq!(frames_to_90(&[5.0, 5.0]), None);
    }
}
