//! Detail behind colour: separation of four-bar groups at every temperature the colours reach.
//!
//! Method, formula and uncertainty: `docs/measures/detail.md`.

mod edge;
mod rounding;
mod summary;
mod target;

use glowsill_core::profile::{ColourPlan, GainPlan, Profile};
use rayon::prelude::*;

use edge::across_edges;
use rounding::{Drawn, rounding_jnd};
use summary::{plot, summarise};
use target::{BARS_PX, DELTAS_K, Group, SIZE, bases, crosses_a_band, scene};

use super::reading::{
    self, Region, interval, luminance, real, settled, settling_frames, without_colour,
};
use super::{MeasureError, MeasureId, Outcome, Picture, Quantity, Settings};
use crate::photometry::gsdf;
use crate::photometry::panel_model::PanelTable;
use crate::run::{Shown, still, with_bench};
use crate::temperature::Kelvin;
use crate::world::rounding::to_u16;
use crate::world::sensor::Exposure;

const EXPOSURES: usize = 6;
/// The search for a JND index stops within this: what is less is no difference.
const SEARCH_JND: f64 = 1e-7;

fn exposures(
    profile: &Profile,
    settings: &Settings,
    base_k: f64,
    groups: &[Group],
) -> Result<Vec<Exposure>, MeasureError> {
    with_bench(
        profile,
        &settings.sensor,
        SIZE,
        settings.seed,
        |sensor, _| Ok::<_, MeasureError>(still(sensor, &scene(base_k, groups), EXPOSURES)?),
    )
}

/// A signed separation in JND with the half-width of its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Separation {
    jnd: f64,
    half: f64,
}

impl Separation {
    /// This one as a share of another, with the half-width that both give it.
    fn share_of(self, whole: Self) -> (f64, f64) {
        let ratio = self.jnd / whole.jnd;
        let half = self.half.hypot(ratio * whole.half) / whole.jnd.abs();
        (ratio, half)
    }
}

/// What one group showed at one base temperature.
struct Reading {
    base_k: f64,
    group: Group,
    /// Signed: positive where bars are brighter than their gaps.
    with_colour: Option<Separation>,
    without_colour: Option<Separation>,
    exempt: f64,
    coloured: f64,
}

/// Bars less gaps in JND: positive where the bars are the brighter ones.
fn difference(shown: &Shown, bars: &Region, gaps: &Region, panel: &PanelTable) -> Option<f64> {
    Some(gsdf::jnd(luminance(shown, bars, panel)?) - gsdf::jnd(luminance(shown, gaps, panel)?))
}

/// Separation of bars from gaps in every frame, JND, and the share of exempt pixels.
fn separations(
    frames: &[Shown],
    group: &Group,
    is_exempt: &dyn Fn(&Shown, usize) -> bool,
    panel: &PanelTable,
) -> (Vec<f64>, f64) {
    let (bars, gaps) = group.regions();
    let mut exempt = 0;
    let values = frames
        .iter()
        .filter_map(|shown| {
            let keep = |region: &Region| -> Region {
                region
                    .iter()
                    .copied()
                    .filter(|i| !is_exempt(shown, *i))
                    .collect()
            };
            let (kept_bars, kept_gaps) = (keep(&bars), keep(&gaps));
            exempt += bars.len() + gaps.len() - kept_bars.len() - kept_gaps.len();
            difference(shown, &kept_bars, &kept_gaps, panel)
        })
        .collect();
    (
        values,
        real(exempt) / real(frames.len().max(1) * (bars.len() + gaps.len())),
    )
}

fn frames(
    profile: &Profile,
    settings: &Settings,
    exposures: &[Exposure],
) -> Result<Vec<Shown>, MeasureError> {
    with_bench(
        profile,
        &settings.sensor,
        SIZE,
        settings.seed,
        |_, display| {
            display.settle(exposures, settling_frames(profile))?;
            exposures
                .iter()
                .map(|exposure| Ok(display.expose(exposure)?.clone()))
                .collect()
        },
    )
}

fn read_base(
    profile: &Profile,
    grey: &Profile,
    settings: &Settings,
    base_k: f64,
) -> Result<(Vec<Reading>, Option<image::RgbImage>), MeasureError> {
    let groups = Group::all();
    let panel = settings.panel.table();
    let exposures = exposures(profile, settings, base_k, &groups)?;
    let coloured = frames(profile, settings, &exposures)?;
    let plain = frames(grey, settings, &exposures)?;
    let exempt_k32 = exempt_from(profile, settings)?;
    let saturated = |shown: &Shown, index: usize| {
        shown
            .temperature
            .get(index)
            .is_some_and(|t| *t >= exempt_k32)
    };
    let readings = groups
        .into_iter()
        .map(|group| {
            let (bars, gaps) = group.regions();
            let over = |frames: &[Shown], drawn: &Drawn| {
                let (values, exempt) = separations(frames, &group, &saturated, &panel);
                let seen = interval(&values).zip(frames.last());
                let separation = seen.map(|((jnd, spread), last)| Separation {
                    jnd: if jnd.abs() < SEARCH_JND { 0.0 } else { jnd },
                    half: spread
                        .unwrap_or(0.0)
                        .hypot(rounding_jnd(drawn, last, &bars, &gaps, &panel)),
                });
                (separation, exempt)
            };
            let (with_colour, exempt) = over(&coloured, &Drawn::behind(profile, base_k));
            let (without_colour, _) = over(&plain, &Drawn::Grey);
            let is_coloured = |i: &&usize| {
                coloured
                    .last()
                    .is_some_and(|shown| is_coloured(profile, shown, **i))
            };
            let count = bars.iter().chain(&gaps).filter(is_coloured).count();
            Reading {
                base_k,
                group,
                with_colour,
                without_colour,
                exempt,
                coloured: real(count) / real(bars.len() + gaps.len()),
            }
        })
        .collect();
    Ok((readings, coloured.last().map(Shown::image)))
}

fn is_coloured(profile: &Profile, shown: &Shown, index: usize) -> bool {
    match profile.spec().colour {
        ColourPlan::PseudoColour { .. } => true,
        _ => shown.band.get(index).is_some_and(|band| *band > 0),
    }
}

/// Temperature codes from which a pixel is exempt: the ceiling's start, the top of the sensor.
fn exempt_from(profile: &Profile, settings: &Settings) -> Result<u16, MeasureError> {
    let (high, low) = settings
        .sensor
        .calibrations()
        .map_err(crate::run::RunError::from)?;
    let table = match profile.spec().gain {
        GainPlan::HighOnly => high,
        _ => low,
    };
    let top = (table.kelvin(table.saturation) - 1.0) * 32.0;
    let top = to_u16(top, 1, u16::MAX);
    let ceiling = match &profile.spec().colour {
        ColourPlan::Bands(plan) => plan.ceiling.map(|ceiling| ceiling.start.to_bits()),
        _ => None,
    };
    Ok(ceiling.unwrap_or(u16::MAX).min(top))
}

/// Measures detail behind colour.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run.
pub fn measure(profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    let mut outcome = Outcome::new(MeasureId::Detail);
    let Some(profile) = &settled(profile) else {
        return Ok(outcome);
    };
    let grey = without_colour(profile);
    let (Some(grey), false) = (grey, profile.spec().colour == ColourPlan::GreyOnly) else {
        let why = "the profile shows no colour that detail could stand behind";
        outcome.absent(&[("worst_separation", "JND"), ("retention", "ratio")], why);
        outcome
            .findings
            .push(format!("Detail behind colour not evaluated: {why}."));
        return Ok(outcome);
    };
    let read: Vec<_> = bases(profile)
        .into_par_iter()
        .map(|base_k| read_base(profile, &grey, settings, base_k))
        .collect::<Result<_, _>>()?;
    let readings: Vec<&Reading> = read.iter().flat_map(|(readings, _)| readings).collect();
    for delta_k in DELTAS_K {
        for bar_px in BARS_PX {
            let of_it: Vec<&Reading> = readings
                .iter()
                .copied()
                .filter(|r| r.group.delta_k == delta_k && r.group.bar_px == bar_px)
                .filter(|r| r.coloured > 0.5)
                .filter(|r| !crosses_a_band(profile, r.base_k, delta_k))
                .collect();
            summarise(&of_it, delta_k, bar_px, &mut outcome);
        }
    }
    across_edges(profile, settings, &mut outcome)?;
    let exempt = reading::mean(readings.iter().map(|r| r.exempt)).unwrap_or(0.0);
    outcome
        .quantities
        .push(Quantity::new("exempt_share", exempt, "ratio"));
    outcome.plots.push(plot(&readings));
    let worst = read.iter().filter_map(|(readings, picture)| {
        let least = readings
            .iter()
            .filter(|r| r.coloured > 0.5 && r.group.delta_k == 10.0)
            .filter(|r| !crosses_a_band(profile, r.base_k, 10.0))
            .filter_map(|r| r.with_colour.map(|seen| seen.jnd))
            .min_by(f64::total_cmp)?;
        Some((least, readings.first()?.base_k, picture.as_ref()?))
    });
    if let Some((least, base_k, picture)) = worst.min_by(|a, b| a.0.total_cmp(&b.0)) {
        outcome.pictures.push(Picture {
            stem: "detail-worst".to_owned(),
            caption: format!(
                "Worst case: bar groups 2 K, 5 K and 10 K (left to right) hotter than a panel at {}. \
                 Of the 10 K groups the weaker one is {:.1} JND {} than its gaps.",
                Kelvin(base_k),
                least.abs(),
                if least < 0.0 { "darker" } else { "brighter" }
            ),
            image: picture.clone(),
        });
    }
    Ok(outcome)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: by hand. 4 of 8 is 0.5; √(0.3² + (0.5 · 0.8)²) / 8 = 0.5 / 8 = 0.0625.
    #[test]
    fn a_share_carries_the_half_widths_of_both() {
        let seen = |jnd, half| Separation { jnd, half };
        let (ratio, half) = seen(4.0, 0.3).share_of(seen(8.0, 0.8));
        assert!((ratio - 0.5).abs() < 1e-12 && (half - 0.0625).abs() < 1e-12);
        let (reversed, _) = seen(-4.0, 0.3).share_of(seen(8.0, 0.8));
        assert!((reversed + 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_reversed_pattern_never_counts_as_the_better_one_and_is_named() {
        let reading = |base_k: f64, jnd: f64| Reading {
            base_k,
            group: Group::all()[0],
            with_colour: Some(Separation { jnd, half: 0.5 }),
            without_colour: Some(Separation {
                jnd: 10.0,
                half: 0.5,
            }),
            exempt: 0.0,
            coloured: 1.0,
        };
        let readings = [reading(400.0, 3.0), reading(500.0, -20.0)];
        let mut outcome = Outcome::new(MeasureId::Detail);
        summarise(&readings.iter().collect::<Vec<_>>(), 2.0, 10, &mut outcome);
        for (quantity, value) in outcome.quantities.iter().zip([-20.0, -2.0]) {
            assert_eq!(quantity.value, Some(value), "{quantity:?}");
            assert!(quantity.note.as_ref().unwrap().contains("reversed"));
        }
        assert_eq!(outcome.quantities.len(), 2);
    }
}
