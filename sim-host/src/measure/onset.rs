//! Onset: the apparent temperature at which half of a target's pixels are coloured.
//!
//! Method, formula and uncertainty: `docs/measures/onset.md`.

use glowsill_core::profile::{ColourPlan, Profile};
use rayon::prelude::*;

use super::reading::{Region, interval, real, rectangle};
use super::{MeasureError, MeasureId, Outcome, Plot, Quantity, Series, Settings};
use crate::run::{RunError, Shown, with_bench};
use crate::temperature::Kelvin;
use crate::world::image::Image;
use crate::world::radiometry::{Band, Path, RadiometryError};

const SIZE: (usize, usize) = (64, 48);
const TARGET: usize = 14;
/// Pixels at a target's edge that blur reaches.
const MARGIN: usize = 4;
const REPEATS: u64 = 6;
const COARSE_K: f64 = 4.0;
const FINE_K: f64 = 0.25;
const REACH_K: f64 = 2.5;
const EMISSIVITIES: [f64; 4] = [1.0, 0.95, 0.9, 0.7];
const ROOM_K: f64 = 293.15;
const HOTTEST_K: f64 = 1000.0;

/// The centre, then the four corners.
const PLACES: [(usize, usize); 5] = [
    ((SIZE.0 - TARGET) / 2, (SIZE.1 - TARGET) / 2),
    (0, 0),
    (SIZE.0 - TARGET, 0),
    (0, SIZE.1 - TARGET),
    (SIZE.0 - TARGET, SIZE.1 - TARGET),
];

fn scene(target_k: f64) -> Image<f64> {
    let inside = |x: usize, y: usize| {
        PLACES
            .iter()
            .any(|(px, py)| (*px..px + TARGET).contains(&x) && (*py..py + TARGET).contains(&y))
    };
    Image::from_fn(
        SIZE.0,
        SIZE.1,
        |x, y| if inside(x, y) { target_k } else { ROOM_K },
    )
}

fn regions() -> [Region; 5] {
    PLACES.map(|(x, y)| {
        rectangle(
            SIZE,
            x + MARGIN..x + TARGET - MARGIN,
            y + MARGIN..y + TARGET - MARGIN,
        )
    })
}

fn coloured_share(shown: &Shown, region: &Region) -> f64 {
    let coloured = region
        .iter()
        .filter(|i| shown.band.get(**i).is_some_and(|b| *b > 0))
        .count();
    real(coloured) / real(region.len())
}

/// Where a course of (temperature, share) first crosses one half, by linear interpolation.
fn crossing(course: &[(f64, f64)]) -> Option<f64> {
    course.windows(2).find_map(|pair| {
        let [(t0, s0), (t1, s1)] = *pair else {
            return None;
        };
        let crosses = (s0 < 0.5) != (s1 < 0.5);
        crosses.then(|| t0 + (0.5 - s0) / (s1 - s0) * (t1 - t0))
    })
}

struct Sweep {
    emissivity: f64,
    /// Crossing at each place, rising and falling, apparent kelvin.
    rising: [Option<f64>; 5],
    falling: [Option<f64>; 5],
    centre: Vec<(f64, f64)>,
}

/// One slow sweep up and down over apparent temperatures, by heating the true target.
fn sweep(
    profile: &Profile,
    settings: &Settings,
    emissivity: f64,
    seed: u64,
    apparent_k: &[f64],
) -> Result<Sweep, MeasureError> {
    let path = Path {
        surroundings_k: ROOM_K,
        ..Path::grey(emissivity)
    };
    let band = settings.sensor.band;
    let regions = regions();
    let run = |temperatures: &mut dyn Iterator<Item = &f64>,
               sensor: &mut crate::world::sensor::Sensor,
               display: &mut crate::run::Display<'_>|
     -> Result<[Vec<(f64, f64)>; 5], MeasureError> {
        let mut courses: [Vec<(f64, f64)>; 5] = Default::default();
        for wanted in temperatures {
            let true_k = path.true_temperature(band, *wanted)?;
            let apparent = path.apparent(band, true_k);
            // Held until the bolometer's lag has passed.
            let image = scene(apparent);
            for _ in 0..3 {
                let exposure = sensor.expose(&image).map_err(RunError::from)?;
                display.expose(&exposure)?;
            }
            for (course, region) in courses.iter_mut().zip(&regions) {
                course.push((apparent, coloured_share(display.last(), region)));
            }
        }
        Ok(courses)
    };
    with_bench(profile, &settings.sensor, SIZE, seed, |sensor, display| {
        let up = run(&mut apparent_k.iter(), sensor, display)?;
        let down = run(&mut apparent_k.iter().rev(), sensor, display)?;
        Ok(Sweep {
            emissivity,
            rising: up.each_ref().map(|course| crossing(course)),
            falling: down.each_ref().map(|course| crossing(course)),
            centre: up.into_iter().next().unwrap_or_default(),
        })
    })
}

/// Kelvin of true temperature for a kelvin of apparent temperature, at an apparent temperature.
fn true_per_apparent(path: Path, band: Band, apparent_k: f64) -> Result<f64, RadiometryError> {
    let above = path.true_temperature(band, apparent_k + 0.5)?;
    Ok(above - path.true_temperature(band, apparent_k - 0.5)?)
}

fn steps(from: f64, to: f64, step: f64) -> Vec<f64> {
    let mut list = vec![from];
    while let Some(last) = list.last()
        && last + step <= to
    {
        list.push(last + step);
    }
    list
}

/// Measures the onset of a profile.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run.
pub fn measure(profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    let mut outcome = Outcome::new(MeasureId::Onset);
    let hysteresis_k = match &profile.spec().colour {
        ColourPlan::Bands(plan) => f64::from(plan.hysteresis_k32) / 32.0,
        other => {
            let why = match other {
                ColourPlan::PseudoColour { .. } => {
                    "every temperature is coloured by its grey: there is no onset"
                }
                _ => "the profile shows no colour",
            };
            outcome.absent(
                &[
                    ("rising", "°C"),
                    ("falling", "°C"),
                    ("rising_true", "°C"),
                    ("rising_error", "K"),
                ],
                why,
            );
            outcome
                .findings
                .push(format!("Onset not evaluated: {why}."));
            return Ok(outcome);
        }
    };
    // The coarse search knows nothing of the profile: it finds where colour first shows.
    let coarse = sweep(
        profile,
        settings,
        1.0,
        settings.seed,
        &steps(ROOM_K, HOTTEST_K, COARSE_K),
    )?;
    let Some(near) = coarse.rising[0] else {
        let why = "no colour up to 727 °C";
        outcome.absent(&[("rising", "°C")], why);
        outcome
            .findings
            .push(format!("Onset not evaluated: {why}."));
        return Ok(outcome);
    };
    let fine = steps(
        near - hysteresis_k - COARSE_K - REACH_K,
        near + COARSE_K + REACH_K,
        FINE_K,
    );
    let jobs: Vec<(f64, u64)> = EMISSIVITIES
        .iter()
        .flat_map(|emissivity| (0..REPEATS).map(move |repeat| (*emissivity, repeat)))
        .collect();
    let sweeps = jobs
        .par_iter()
        .map(|(emissivity, repeat)| {
            sweep(
                profile,
                settings,
                *emissivity,
                settings.seed.wrapping_add(repeat + 1),
                &fine,
            )
        })
        .collect::<Result<Vec<_>, _>>()?;
    report(profile, settings, &sweeps, &mut outcome)?;
    Ok(outcome)
}

fn report(
    profile: &Profile,
    settings: &Settings,
    sweeps: &[Sweep],
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let stated = profile
        .onset()
        .map(|onset| f64::from(onset.to_bits()) / 32.0);
    for emissivity in EMISSIVITIES {
        let of_it = || sweeps.iter().filter(|sweep| sweep.emissivity == emissivity);
        let path = Path {
            surroundings_k: ROOM_K,
            ..Path::grey(emissivity)
        };
        for (place, range) in [("centre", 0..1), ("corner", 1..5)] {
            let under = |quantity: Quantity| {
                quantity
                    .under("place", place)
                    .under("emissivity", emissivity)
            };
            let gather = |pick: fn(&Sweep) -> &[Option<f64>; 5]| -> Vec<f64> {
                of_it()
                    .flat_map(|s| pick(s)[range.clone()].iter().flatten().copied())
                    .collect()
            };
            let (rising, falling) = (gather(|s| &s.rising), gather(|s| &s.falling));
            for (name, values) in [("rising", &rising), ("falling", &falling)] {
                let Some((mean, half)) = interval(values) else {
                    let why = "colour did not change within the sweep";
                    outcome
                        .quantities
                        .push(under(Quantity::absent(name, "°C", why)));
                    continue;
                };
                // The step of the sweep is a rectangular distribution.
                let half = half.unwrap_or(0.0).hypot(2.0 * FINE_K / 12f64.sqrt());
                outcome.quantities.push(
                    under(Quantity::new(name, Kelvin(mean).celsius(), "°C"))
                        .within(half)
                        .noting(format!("apparent temperature; {}", Kelvin(mean))),
                );
                if name == "rising" {
                    let true_k = path.true_temperature(settings.sensor.band, mean)?;
                    outcome.quantities.push(
                        under(Quantity::new("rising_true", Kelvin(true_k).celsius(), "°C"))
                            .within(half * true_per_apparent(path, settings.sensor.band, mean)?)
                            .noting(format!("true temperature; {}", Kelvin(true_k))),
                    );
                    if emissivity == 1.0
                        && let Some(stated) = stated
                    {
                        outcome.quantities.push(
                            under(Quantity::new("rising_error", (mean - stated).abs(), "K"))
                                .within(half),
                        );
                        if place == "centre" {
                            outcome.findings.push(format!(
                                "Colour starts at an apparent temperature of {} and leaves {:.1} K \
                                 lower; the profile states {}, so it starts {:.1} K {}.",
                                Kelvin(mean),
                                mean - interval(&falling).map_or(mean, |(mean, _)| mean),
                                Kelvin(stated),
                                (mean - stated).abs(),
                                if mean < stated { "early" } else { "late" }
                            ));
                        }
                    } else if place == "centre" {
                        outcome.findings.push(format!(
                            "On a surface of emissivity {emissivity} in surroundings at 20 °C \
                             (68 °F) that is a true temperature of {}.",
                            Kelvin(true_k)
                        ));
                    }
                }
            }
        }
    }
    if let Some(first) = sweeps.first() {
        outcome.plots.push(Plot {
            stem: "onset-course".to_owned(),
            title: "Coloured share of the target at the centre, emissivity 1".to_owned(),
            x_label: "apparent temperature (°C)".to_owned(),
            y_label: "coloured share".to_owned(),
            series: vec![Series {
                name: "rising".to_owned(),
                points: first
                    .centre
                    .iter()
                    .map(|(t, s)| (Kelvin(*t).celsius(), *s))
                    .collect(),
            }],
            marks: stated
                .map(|stated| (Kelvin(stated).celsius(), "stated onset".to_owned()))
                .into_iter()
                .collect(),
            limits: vec![(0.5, "half of the pixels".to_owned())],
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_crossing_is_interpolated() {
        let course = [(300.0, 0.0), (301.0, 0.25), (302.0, 0.75), (303.0, 1.0)];
        assert_eq!(crossing(&course), Some(301.5));
        assert_eq!(crossing(&course[..2]), None);
    }

    // Source: in-band radiance 8 to 14 µm of `tests/data/blackbody_inband.csv`: at 300, 450 and 500 K
    // 54.933, 265.121 and 369.121 W/(m² sr), slopes at 425, 450, 475 and 500 K 1.76533, 1.92856,
    // 2.08169 and 2.22469 W/(m² sr K). By hand: emissivity 0.7 at 500 K before 300 K gives 274.865,
    // which is 455.012 K, where the slope is 1.96007 by a parabola; 1.96007 / (0.7 · 2.22469) = 1.2587.
    #[test]
    fn a_kelvin_of_apparent_temperature_is_more_of_true_temperature() {
        let path = Path {
            surroundings_k: 300.0,
            ..Path::grey(0.7)
        };
        let band = Settings::default().sensor.band;
        assert_eq!((band.short_um, band.long_um), (8.0, 14.0));
        let ratio = true_per_apparent(path, band, 455.012).unwrap();
        assert!((ratio - 1.2587).abs() < 5e-4, "{ratio}");
        let black = true_per_apparent(Path::grey(1.0), band, 455.012).unwrap();
        assert!((black - 1.0).abs() < 1e-6, "{black}");
    }
}
