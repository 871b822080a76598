//! The seam in time: a frame that switches its gain state, and the frames without a picture.

use glowsill_core::profile::Profile;
use glowsill_core::record::GainInUse;

use super::super::reading::{real, rectangle};
use super::super::{FRAME_HZ, MeasureError, Outcome, Quantity, Settings};
use super::quantisation::{count_step_k, rounding_k};
use super::{MISMATCH_K, Ramp, SIZE, fine_luminance, over, quiet};
use crate::run::{RunError, with_bench};
use crate::world::image::Image;

/// What a quarter of the picture that stays cold showed on both sides of the switch.
#[derive(Clone, Copy, Default)]
struct Switch {
    before: Option<f64>,
    after: Option<f64>,
    blanks: u32,
}

impl Switch {
    /// Change of luminance in per cent of what it was before.
    fn percent(self) -> Option<f64> {
        let (before, after) = (self.before?, self.after?);
        Some(100.0 * (after - before).abs() / before)
    }
}

/// Shows the cold quarter while the rest of the picture heats through the switch.
fn watch(
    plain: &Profile,
    settings: &Settings,
    low_offset_k: f64,
    (from, to): (f64, f64),
    cold_k: f64,
) -> Result<Switch, MeasureError> {
    let model = quiet(settings, low_offset_k);
    with_bench(plain, &model, SIZE, settings.seed, |sensor, display| {
        let region = rectangle(SIZE, 0..SIZE.0 / 4, 0..SIZE.1);
        let mut switch = Switch::default();
        for frame in 0..160 {
            let hot = from - 10.0 + (to - from + 40.0) * real(frame) / 100.0;
            let scene = Image::from_fn(
                SIZE.0,
                SIZE.1,
                |x, _| {
                    if x < SIZE.0 / 3 { cold_k } else { hot }
                },
            );
            let exposure = sensor.expose(&scene).map_err(RunError::from)?;
            let shown = display.expose(&exposure)?;
            match shown.record.gain {
                GainInUse::High => switch.before = fine_luminance(shown, &region, settings),
                GainInUse::Low if switch.after.is_none() => {
                    switch.after = fine_luminance(shown, &region, settings);
                }
                GainInUse::Blank => switch.blanks += 1,
                _ => {}
            }
        }
        Ok(switch)
    })
}

pub(super) fn measure(
    profile: &Profile,
    settings: &Settings,
    transition: (f64, f64),
    ramp: &Ramp,
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let Some(plain) = over(profile, ramp, profile.spec().gain) else {
        return Ok(());
    };
    for (name, offset) in [("matched", 0.0), ("mismatched", MISMATCH_K)] {
        let switch = watch(&plain, settings, offset, transition, ramp.from_k)?;
        let quantity = match switch.percent() {
            Some(percent) => Quantity::new("luminance_step", percent, "%")
                .within(rounding_percent(settings, ramp, &switch)?),
            None => Quantity::absent("luminance_step", "%", "the frame never switched"),
        };
        outcome.quantities.push(quantity.under("calibration", name));
        if offset == 0.0 {
            outcome.quantities.push(Quantity::new(
                "blank_frames",
                f64::from(switch.blanks),
                "frames",
            ));
            outcome.findings.push(format!(
                "Entering low gain leaves the crew without a picture for {} frames ({:.2} s \
                 at {FRAME_HZ} Hz).",
                switch.blanks,
                f64::from(switch.blanks) / FRAME_HZ
            ));
        }
    }
    outcome.absent(
        &[("monotone", "count"), ("noise_ratio", "ratio")],
        "a whole-frame plan has no seam inside a picture",
    );
    Ok(())
}

/// What rounding in both states can make of a step, per cent of the luminance before it.
fn rounding_percent(
    settings: &Settings,
    ramp: &Ramp,
    switch: &Switch,
) -> Result<f64, MeasureError> {
    let (high, low) = quiet(settings, 0.0)
        .calibrations()
        .map_err(RunError::from)?;
    let error_k = |table| rounding_k(count_step_k(table, ramp.from_k));
    Ok(percent_of(
        codes_around(settings, switch.before.unwrap_or(0.0)),
        255.0 / ramp.scale_span_k(),
        error_k(&high) + error_k(&low),
    ))
}

/// Luminances of the two neighbouring grey codes that a luminance lies between, cd/m².
fn codes_around(settings: &Settings, luminance: f64) -> (f64, f64) {
    let panel = settings.panel.table();
    let at = |code: u8| panel.luminance([code; 3]);
    let upper = (1..=255).find(|code| at(*code) > luminance).unwrap_or(255);
    (at(upper - 1), at(upper))
}

/// Per cent of the lower luminance that an error in kelvin is worth between two neighbouring codes.
fn percent_of((lower, upper): (f64, f64), codes_per_k: f64, error_k: f64) -> f64 {
    100.0 * (upper - lower) / lower * codes_per_k * error_k
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: by hand. From 50 to 51 cd/m² is 2 % a code; 2.5 codes a kelvin and 0.1 K: 0.5 %.
    #[test]
    fn the_half_width_of_a_switch_is_the_one_calculated_by_hand() {
        assert!((percent_of((50.0, 51.0), 2.5, 0.1) - 0.5).abs() < 1e-12);
    }

    // Source: IEC 61966-2-1. Code 188 is 0.50289 of linear light, code 187 is 0.49693; with a peak
    // of 250 and 1.25 cd/m² of black and ambient light 126.97 and 125.48 cd/m².
    #[test]
    fn a_luminance_lies_between_its_neighbouring_codes() {
        let (lower, upper) = codes_around(&Settings::default(), 126.0);
        assert!((lower - 125.48).abs() < 0.01, "{lower}");
        assert!((upper - 126.97).abs() < 0.01, "{upper}");
    }

    #[test]
    fn a_switch_is_a_change_of_what_was_there_before() {
        let switch = Switch {
            before: Some(40.0),
            after: Some(38.0),
            blanks: 2,
        };
        assert_eq!(switch.percent(), Some(5.0));
        assert_eq!(Switch::default().percent(), None);
    }
}
