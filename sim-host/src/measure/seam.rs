//! Gain seam: what a slow ramp shows where one gain state takes over from the other.
//!
//! Method, formula and uncertainty: `docs/measures/seam.md`.

use glowsill_core::profile::{ColourPlan, GainPlan, Profile, ScaleLaw};
use glowsill_core::record::GainInUse;
use glowsill_core::units::Temperature;

use super::flash::FlashMeter;
use super::reading::{interval, luminance, mean, real, rectangle, settling_frames, without_colour};
use super::{FRAME_HZ, MeasureError, MeasureId, Outcome, Plot, Quantity, Series, Settings};
use crate::photometry::gsdf;
use crate::run::{RunError, Shown, still, with_bench};
use crate::temperature::Kelvin;
use crate::world::image::Image;
use crate::world::rounding::to_u16;
use crate::world::sensor::SensorModel;

const SIZE: (usize, usize) = (320, 48);
const REACH_K: f64 = 25.0;
const MISMATCH_K: f64 = 5.0;
const NOISE_FRAMES: usize = 40;
/// Kelvin over which a step is looked for.
const STEP_K: f64 = 1.0;
/// A fall of luminance smaller than this is not seen. Half of one just-noticeable difference.
const REVERSAL_JND: f64 = 0.5;

struct Ramp {
    from_k: f64,
    to_k: f64,
}

impl Ramp {
    fn kelvin(&self, x: usize) -> f64 {
        self.from_k + (self.to_k - self.from_k) * real(x) / real(SIZE.0 - 1)
    }

    fn scene(&self) -> Image<f64> {
        Image::from_fn(SIZE.0, SIZE.1, |x, _| self.kelvin(x))
    }

    /// Columns over which the ramp climbs `kelvin`.
    fn columns(&self, kelvin: f64) -> usize {
        let per_column = (self.to_k - self.from_k) / real(SIZE.0 - 1);
        let mut columns = 1;
        while real(columns) * per_column < kelvin {
            columns += 1;
        }
        columns
    }
}

/// Temperatures between which the gain states change places.
fn transition(plan: &GainPlan) -> Option<(f64, f64)> {
    let kelvin = |t: Temperature| f64::from(t.to_bits()) / 32.0;
    match plan {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            ..
        } => Some((kelvin(*blend_from), kelvin(*blend_to))),
        GainPlan::WholeFrame(plan) => Some((kelvin(plan.leave_above), kelvin(plan.enter_above))),
        GainPlan::HighOnly | GainPlan::LowOnly => None,
    }
}

fn quiet(settings: &Settings, low_offset_k: f64) -> SensorModel {
    SensorModel {
        netd_high_k: 0.0,
        netd_low_k: 0.0,
        fixed_pattern_high_k: 0.0,
        fixed_pattern_low_k: 0.0,
        gain_spread: 0.0,
        offset_spread: 0.0,
        defect_share: 0.0,
        low_offset_k,
        ..settings.sensor.clone()
    }
}

/// The settled picture of a ramp.
fn shown(
    profile: &Profile,
    model: &SensorModel,
    ramp: &Ramp,
    seed: u64,
) -> Result<Shown, MeasureError> {
    with_bench(profile, model, SIZE, seed, |sensor, display| {
        let exposures = still(sensor, &ramp.scene(), 2)?;
        Ok(display
            .settle(&exposures, settling_frames(profile))?
            .clone())
    })
}

/// Mean luminance of each column.
fn columns(shown: &Shown, settings: &Settings) -> Vec<f64> {
    let panel = settings.panel.table();
    (0..SIZE.0)
        .filter_map(|x| luminance(shown, &rectangle(SIZE, x..x + 1, 4..SIZE.1 - 4), &panel))
        .collect()
}

/// The same profile drawing a fixed scale over the ramp, so that only the seam bends the picture.
fn over(profile: &Profile, ramp: &Ramp, gain: GainPlan) -> Option<Profile> {
    let mut spec = profile.spec().clone();
    let code = |kelvin: f64| Temperature::from_bits(to_u16(kelvin * 32.0, 1, u16::MAX));
    spec.gain = gain;
    spec.colour = ColourPlan::GreyOnly;
    spec.scale.law = ScaleLaw::Fixed;
    spec.scale.start_low = code(ramp.from_k - 20.0);
    spec.scale.start_high = code(ramp.to_k + 20.0);
    Profile::new(spec).ok()
}

/// Measures the seam of a profile's gain plan.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run.
pub fn measure(profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    let mut outcome = Outcome::new(MeasureId::Seam);
    let plan = profile.spec().gain;
    let Some((from, to)) = transition(&plan) else {
        let why = "the profile uses one gain state only: there is no seam";
        for (name, unit) in [
            ("luminance_step", "%"),
            ("monotone", "count"),
            ("noise_ratio", "ratio"),
            ("toggling", "flashes/s"),
        ] {
            outcome.quantities.push(Quantity::absent(name, unit, why));
        }
        outcome.findings.push(format!("Seam not evaluated: {why}."));
        return Ok(outcome);
    };
    let ramp = Ramp {
        from_k: from - REACH_K,
        to_k: to + REACH_K,
    };
    match plan {
        GainPlan::PerPixel { .. } => per_pixel(profile, settings, &ramp, &mut outcome)?,
        _ => whole_frame(profile, settings, (from, to), &mut outcome)?,
    }
    toggling(profile, settings, f64::midpoint(from, to), &mut outcome)?;
    Ok(outcome)
}

fn per_pixel(
    profile: &Profile,
    settings: &Settings,
    ramp: &Ramp,
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let (Some(merged), Some(single)) = (
        over(profile, ramp, profile.spec().gain),
        over(profile, ramp, GainPlan::LowOnly),
    ) else {
        return Ok(());
    };
    let reference = columns(
        &shown(&single, &quiet(settings, 0.0), ramp, settings.seed)?,
        settings,
    );
    let window = ramp.columns(STEP_K);
    let mut series = Vec::new();
    for (name, offset) in [("matched", 0.0), ("mismatched", MISMATCH_K)] {
        let seen = columns(
            &shown(&merged, &quiet(settings, offset), ramp, settings.seed)?,
            settings,
        );
        let deviation: Vec<f64> = seen
            .iter()
            .zip(&reference)
            .map(|(l, r)| 100.0 * (l - r) / r)
            .collect();
        let steps = deviation
            .iter()
            .zip(deviation.iter().skip(window))
            .map(|(a, b)| (b - a).abs());
        let step = steps.fold(0.0, f64::max);
        let jnd: Vec<f64> = seen.iter().map(|l| gsdf::jnd(*l)).collect();
        let reference_jnd: Vec<f64> = reference.iter().map(|l| gsdf::jnd(*l)).collect();
        let wide = ramp.columns(5.0 * STEP_K);
        let slope = |jnd: &[f64]| -> Vec<f64> {
            jnd.iter()
                .zip(jnd.iter().skip(wide))
                .map(|(a, b)| b - a)
                .collect()
        };
        let breaks = slope(&jnd)
            .into_iter()
            .zip(slope(&reference_jnd))
            .filter(|(_, r)| r.abs() > 0.5)
            .map(|(s, r)| (s / r - 1.0).abs())
            .fold(0.0, f64::max);
        let reversals = reversals(&jnd);
        let under = |quantity: Quantity| quantity.under("calibration", name);
        outcome.quantities.push(under(Quantity::new("luminance_step", step, "%")).within(0.4).noting(
            format!("greatest change of the deviation over {STEP_K} K of ramp; one grey code is about 0.4 %"),
        ));
        outcome
            .quantities
            .push(under(Quantity::new("slope_break", breaks, "ratio")));
        outcome
            .quantities
            .push(under(Quantity::new("monotone", real(reversals), "count")));
        outcome.findings.push(format!(
            "With calibrations {}, the luminance steps by at most {step:.1} % within {STEP_K} K \
             and {} across the transition.",
            if offset == 0.0 {
                "matched".to_owned()
            } else {
                format!("{offset} K apart")
            },
            if reversals == 0 {
                "rises throughout"
            } else {
                "falls somewhere"
            }
        ));
        let points = (0..SIZE.0)
            .map(|x| Kelvin(ramp.kelvin(x)).celsius())
            .zip(jnd)
            .collect();
        series.push(Series {
            name: name.to_owned(),
            points,
        });
    }
    outcome.plots.push(Plot {
        stem: "seam-ramp".to_owned(),
        title: "Displayed ramp across the gain transition".to_owned(),
        x_label: "apparent temperature (°C)".to_owned(),
        y_label: "luminance (JND index)".to_owned(),
        series,
        marks: transition(&profile.spec().gain)
            .map(|(from, to)| {
                vec![
                    (Kelvin(from).celsius(), "transition starts".to_owned()),
                    (Kelvin(to).celsius(), "transition ends".to_owned()),
                ]
            })
            .unwrap_or_default(),
        limits: Vec::new(),
    });
    noise(&merged, settings, ramp, outcome)
}

/// How often luminance falls along a rising ramp by more than can be overlooked.
fn reversals(jnd: &[f64]) -> usize {
    let mut top = f64::NEG_INFINITY;
    let mut falling = false;
    let mut count = 0;
    for value in jnd {
        if *value < top - REVERSAL_JND {
            count += usize::from(!falling);
            falling = true;
        } else if *value >= top {
            falling = false;
            top = *value;
        }
    }
    count
}

/// Temporal noise across the ramp, against that of its cold end.
fn noise(
    merged: &Profile,
    settings: &Settings,
    ramp: &Ramp,
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let frames = with_bench(
        merged,
        &settings.sensor,
        SIZE,
        settings.seed,
        |sensor, display| {
            let exposures = still(sensor, &ramp.scene(), NOISE_FRAMES)?;
            exposures
                .iter()
                .map(|exposure| Ok(display.expose(exposure)?.temperature.clone()))
                .collect::<Result<Vec<_>, MeasureError>>()
        },
    )?;
    let sigma = |x: usize| {
        mean((8..SIZE.1 - 8).filter_map(|y| {
            let codes: Vec<f64> = frames
                .iter()
                .filter_map(|frame| frame.get(y * SIZE.0 + x).map(|code| f64::from(*code)))
                .collect();
            let centre = mean(codes.iter().copied())?;
            mean(codes.iter().map(|code| (code - centre).powi(2)))
        }))
        .map_or(0.0, |variance| variance.sqrt() / 32.0)
    };
    let sigmas: Vec<f64> = (4..SIZE.0 - 4).step_by(4).map(sigma).collect();
    let (cold, _) = interval(sigmas.get(..8).unwrap_or_default()).unwrap_or((1.0, None));
    let most = sigmas.iter().copied().fold(0.0, f64::max);
    outcome.quantities.push(
        Quantity::new("noise_ratio", most / cold, "ratio")
            .within(most / cold * 2.0 / (2.0 * real(NOISE_FRAMES * (SIZE.1 - 16))).sqrt())
            .noting(format!(
                "{:.0} mK at most, {:.0} mK at the cold end",
                1e3 * most,
                1e3 * cold
            )),
    );
    Ok(())
}

/// A whole frame that switches: the picture before and after, and the frames without one.
fn whole_frame(
    profile: &Profile,
    settings: &Settings,
    (from, to): (f64, f64),
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let ramp = Ramp {
        from_k: from - REACH_K,
        to_k: to + REACH_K,
    };
    let Some(plain) = over(profile, &ramp, profile.spec().gain) else {
        return Ok(());
    };
    let panel = settings.panel.table();
    for (name, offset) in [("matched", 0.0), ("mismatched", MISMATCH_K)] {
        let model = quiet(settings, offset);
        let (before, after, blanks) =
            with_bench(&plain, &model, SIZE, settings.seed, |sensor, display| {
                let region = rectangle(SIZE, 0..SIZE.0 / 4, 0..SIZE.1);
                // A quarter of the picture stays at the cold end while the rest passes the switch.
                let (mut before, mut after, mut blanks) = (None, None, 0);
                for frame in 0..160 {
                    let hot = from - 10.0 + (to - from + 40.0) * real(frame) / 100.0;
                    let scene = Image::from_fn(SIZE.0, SIZE.1, |x, _| {
                        if x < SIZE.0 / 3 { ramp.from_k } else { hot }
                    });
                    let exposure = sensor.expose(&scene).map_err(RunError::from)?;
                    let shown = display.expose(&exposure)?;
                    match shown.record.gain {
                        GainInUse::High => before = luminance(shown, &region, &panel),
                        GainInUse::Low if after.is_none() => {
                            after = luminance(shown, &region, &panel);
                        }
                        GainInUse::Blank => blanks += 1,
                        _ => {}
                    }
                }
                Ok::<_, MeasureError>((before, after, blanks))
            })?;
        let quantity = match (before, after) {
            (Some(before), Some(after)) => Quantity::new(
                "luminance_step",
                100.0 * (after - before).abs() / before,
                "%",
            )
            .within(0.4),
            _ => Quantity::absent("luminance_step", "%", "the frame never switched"),
        };
        outcome.quantities.push(quantity.under("calibration", name));
        if offset == 0.0 {
            outcome
                .quantities
                .push(Quantity::new("blank_frames", f64::from(blanks), "frames"));
            outcome.findings.push(format!(
                "Entering low gain leaves the crew without a picture for {blanks} frames ({:.2} s \
                 at {FRAME_HZ} Hz).",
                f64::from(blanks) / FRAME_HZ
            ));
        }
    }
    let why = "a whole-frame plan has no seam inside a picture";
    outcome
        .quantities
        .push(Quantity::absent("monotone", "count", why));
    outcome
        .quantities
        .push(Quantity::absent("noise_ratio", "ratio", why));
    Ok(())
}

/// Flashes when a noisy field stands in the middle of the transition.
fn toggling(
    profile: &Profile,
    settings: &Settings,
    middle_k: f64,
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let Some(grey) = without_colour(profile) else {
        return Ok(());
    };
    let size = (64, 48);
    let model = &settings.sensor;
    let report = with_bench(&grey, model, size, settings.seed, |sensor, display| {
        let scene = Image::from_fn(size.0, size.1, |x, _| {
            if x < size.0 / 4 { 298.15 } else { middle_k }
        });
        let settle = still(sensor, &scene, 4)?;
        display.settle(&settle, settling_frames(profile))?;
        let mut meter = FlashMeter::new(&settings.panel, FRAME_HZ, 16);
        for _ in 0..75 {
            let exposure = sensor.expose(&scene).map_err(RunError::from)?;
            meter.push(&display.expose(&exposure)?.image());
        }
        Ok::<_, MeasureError>(meter.finish()?)
    })?;
    let most = [report.general, report.red, report.bt1702].map(|count| count.in_any_block);
    let most = most.into_iter().max().unwrap_or(0);
    outcome.quantities.push(
        Quantity::new("toggling", f64::from(most), "flashes/s")
            .noting("most flashes in one second in any block; WCAG 2.3.1 and ITU-R BT.1702"),
    );
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reversal_is_counted_once_and_small_falls_are_not() {
        assert_eq!(reversals(&[1.0, 2.0, 1.8, 3.0]), 0);
        assert_eq!(reversals(&[1.0, 5.0, 4.0, 3.0, 4.5, 6.0, 5.0]), 2);
    }
}
