//! The seam inside a picture: a ramp through a per-pixel transition, and the noise along it.

use glowsill_core::profile::{GainPlan, Profile};

use super::super::reading::{interval, mean, real, rectangle};
use super::super::{MeasureError, Outcome, Plot, Quantity, Series, Settings};
use super::quantisation::{count_step_k, rounding_k, slope_ratio, step_percent};
use super::{MISMATCH_K, Ramp, SIZE, fine_luminance, over, quiet, shown, transition};
use crate::photometry::gsdf;
use crate::run::{RunError, Shown, still, with_bench};
use crate::temperature::Kelvin;

const NOISE_FRAMES: usize = 40;
/// Kelvin over which a step is looked for.
const STEP_K: f64 = 1.0;
/// Kelvin over which a slope is compared.
const SLOPE_K: f64 = 5.0;
/// A fall of luminance smaller than this is not seen. Half of one just-noticeable difference.
const REVERSAL_JND: f64 = 0.5;

/// Luminance of each column, cd/m², from the grey before it is rounded.
fn columns(shown: &Shown, settings: &Settings) -> Vec<f64> {
    (0..SIZE.0)
        .filter_map(|x| {
            let column = rectangle(SIZE, x..x + 1, 4..SIZE.1 - 4);
            fine_luminance(shown, &column, settings)
        })
        .collect()
}

/// Differences of values `apart` places from each other.
fn differences(values: &[f64], apart: usize) -> Vec<f64> {
    let later = values.iter().skip(apart);
    values.iter().zip(later).map(|(a, b)| b - a).collect()
}

/// A value and the half-width that rounding gives it.
struct Rounded {
    value: f64,
    half: f64,
}

/// Greatest change of the deviation from the reference over [`STEP_K`], per cent.
fn luminance_step(ramp: &Ramp, seen: &[f64], reference: &[f64], rounding: f64) -> Rounded {
    let window = ramp.columns(STEP_K);
    let deviation: Vec<f64> = seen
        .iter()
        .zip(reference)
        .map(|(l, r)| 100.0 * (l - r) / r)
        .collect();
    let steps = differences(&deviation, window).into_iter().map(f64::abs);
    let Some((at, value)) = steps.enumerate().max_by(|a, b| a.1.total_cmp(&b.1)) else {
        return Rounded {
            value: 0.0,
            half: 0.0,
        };
    };
    let ends = reference.get(at).zip(reference.get(at + window));
    let slope = ends.map_or(0.0, |(from, to)| (to / from).ln().abs())
        / (ramp.kelvin(at + window) - ramp.kelvin(at));
    Rounded {
        value,
        half: step_percent(slope, rounding),
    }
}

/// Greatest departure of the slope, in JND over [`SLOPE_K`], from that of the reference.
fn slope_break(ramp: &Ramp, jnd: &[f64], reference_jnd: &[f64], rounding: f64) -> Rounded {
    let wide = ramp.columns(SLOPE_K);
    let value = differences(jnd, wide)
        .into_iter()
        .zip(differences(reference_jnd, wide))
        .filter(|(_, r)| r.abs() > 0.5)
        .map(|(s, r)| (s / r - 1.0).abs())
        .fold(0.0, f64::max);
    Rounded {
        value,
        half: slope_ratio(rounding, SLOPE_K),
    }
}

pub(super) fn measure(
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
    let matched = quiet(settings, 0.0);
    let (_, low) = matched.calibrations().map_err(RunError::from)?;
    // A count is worth most at the cold end, and more in low gain than in high gain.
    let rounding = rounding_k(count_step_k(&low, ramp.from_k));
    let reference = columns(&shown(&single, &matched, ramp, settings.seed)?, settings);
    let reference_jnd: Vec<f64> = reference.iter().map(|l| gsdf::jnd(*l)).collect();
    let mut series = Vec::new();
    for (name, offset) in [("matched", 0.0), ("mismatched", MISMATCH_K)] {
        let seen = columns(
            &shown(&merged, &quiet(settings, offset), ramp, settings.seed)?,
            settings,
        );
        let jnd: Vec<f64> = seen.iter().map(|l| gsdf::jnd(*l)).collect();
        let step = luminance_step(ramp, &seen, &reference, rounding);
        let slope = slope_break(ramp, &jnd, &reference_jnd, rounding);
        let reversals = reversals(&jnd);
        let under = |quantity: Quantity| quantity.under("calibration", name);
        outcome.quantities.push(
            under(Quantity::new("luminance_step", step.value, "%"))
                .within(step.half)
                .noting(format!(
                    "greatest change of the deviation from a seamless ramp over {STEP_K} K"
                )),
        );
        outcome
            .quantities
            .push(under(Quantity::new("slope_break", slope.value, "ratio")).within(slope.half));
        outcome
            .quantities
            .push(under(Quantity::new("monotone", real(reversals), "count")));
        outcome.findings.push(format!(
            "With calibrations {}, the luminance steps by at most {:.1} % within {STEP_K} K \
             (rounding alone can make {:.1} %) and {} across the transition.",
            if offset == 0.0 {
                "matched".to_owned()
            } else {
                format!("{offset} K apart")
            },
            step.value,
            step.half,
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reversal_is_counted_once_and_small_falls_are_not() {
        assert_eq!(reversals(&[1.0, 2.0, 1.8, 3.0]), 0);
        assert_eq!(reversals(&[1.0, 5.0, 4.0, 3.0, 4.5, 6.0, 5.0]), 2);
    }

    // Source: by hand. The ramp climbs 1 K a column. Luminance grows by e^0.02 a column, and the seen
    // one is 3 % brighter from column 5 on: a step of 3 %, where luminance changes by 2 % a kelvin.
    #[test]
    fn a_known_step_is_read_with_the_slope_where_it_stands() {
        let ramp = Ramp {
            from_k: 300.0,
            to_k: 300.0 + real(SIZE.0 - 1),
        };
        let reference: Vec<f64> = (0..20).map(|x| 50.0 * (0.02 * real(x)).exp()).collect();
        let seen: Vec<f64> = reference
            .iter()
            .enumerate()
            .map(|(x, l)| if x < 5 { *l } else { 1.03 * l })
            .collect();
        let step = luminance_step(&ramp, &seen, &reference, 0.05);
        assert!((step.value - 3.0).abs() < 1e-9, "{}", step.value);
        // 100 · 0.02 · 4 · 0.05 K.
        assert!((step.half - 0.4).abs() < 1e-9, "{}", step.half);
    }

    // Source: two calibrations that agree have no seam, so that what is read is rounding alone.
    #[test]
    fn without_a_seam_no_more_is_read_than_rounding_explains() {
        let profile = crate::profile_file::demo()
            .unwrap()
            .into_iter()
            .find(|demo| demo.loaded.spec.name == "Interior attack")
            .map(|demo| Profile::new(demo.loaded.spec).unwrap())
            .unwrap();
        let (from, to) = transition(&profile.spec().gain).unwrap();
        let ramp = Ramp {
            from_k: from - super::super::REACH_K,
            to_k: to + super::super::REACH_K,
        };
        let mut halves = Vec::new();
        for bits in [14, 16] {
            let mut settings = Settings::default();
            settings.sensor.bits = bits;
            let mut outcome = Outcome::new(super::super::MeasureId::Seam);
            measure(&profile, &settings, &ramp, &mut outcome).unwrap();
            for quantity in &outcome.quantities {
                let matched = quantity.conditions.get("calibration").map(String::as_str);
                let Some(half) = quantity.uncertainty.filter(|_| matched == Some("matched")) else {
                    continue;
                };
                assert!(quantity.value.unwrap() <= half, "{bits} bits: {quantity:?}");
                halves.push(half);
            }
        }
        let [step_14, slope_14, step_16, slope_16] = halves[..] else {
            panic!("two half-widths a sensor, not {halves:?}")
        };
        assert!(step_16 < 0.6 * step_14 && slope_16 < 0.6 * slope_14);
    }
}
