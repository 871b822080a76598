//! Detail behind colour: separation of four-bar groups at every temperature the colours reach.
//!
//! Method, formula and uncertainty: `docs/measures/detail.md`.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{ColourPlan, GainPlan, Profile};
use rayon::prelude::*;

use super::reading::{
    self, Region, interval, luminance, real, rectangle, settled, settling_frames, without_colour,
};
use super::{MeasureError, MeasureId, Outcome, Picture, Plot, Quantity, Series, Settings};
use crate::photometry::colour::{self, Lab};
use crate::photometry::gsdf;
use crate::photometry::panel_model::PanelTable;
use crate::run::{Shown, still, with_bench};
use crate::temperature::Kelvin;
use crate::world::image::Image;
use crate::world::rounding::to_u16;
use crate::world::sensor::Exposure;

const SIZE: (usize, usize) = (320, 240);
const ROOM_K: f64 = 298.15;
const DELTAS_K: [f64; 3] = [2.0, 5.0, 10.0];
/// Width of a bar in pixels; a period is two bars, so 10 px are 0.05 cycles a pixel.
const BARS_PX: [usize; 2] = [10, 5];
/// The hot panel that carries the groups.
const PANEL: (std::ops::Range<usize>, std::ops::Range<usize>) = (20..300, 30..230);
const EXPOSURES: usize = 6;
/// Below this the grey picture itself shows nothing, and retention has no meaning.
const LEAST_GREY_JND: f64 = 1.0;

/// A four-bar group: bars 1:7, long side upright.
#[derive(Clone, Copy)]
struct Group {
    x: usize,
    y: usize,
    bar_px: usize,
    delta_k: f64,
}

impl Group {
    fn all() -> Vec<Self> {
        let columns = [32, 122, 212];
        let mut groups = Vec::new();
        for (delta_k, x) in DELTAS_K.into_iter().zip(columns) {
            groups.push(Self {
                x,
                y: 42,
                bar_px: BARS_PX[0],
                delta_k,
            });
            groups.push(Self {
                x: x + 18,
                y: 158,
                bar_px: BARS_PX[1],
                delta_k,
            });
        }
        groups
    }

    fn is_bar(&self, x: usize, y: usize) -> bool {
        let (w, h) = (7 * self.bar_px, 7 * self.bar_px);
        (self.x..self.x + w).contains(&x)
            && (self.y..self.y + h).contains(&y)
            && ((x - self.x) / self.bar_px).is_multiple_of(2)
    }

    /// Middles of the bars and of the gaps, away from their blurred edges.
    fn regions(&self) -> (Region, Region) {
        let edge = self.bar_px / 4 + 1;
        let strip = |number: usize| {
            let x = self.x + number * self.bar_px;
            let y = self.y + 2 * edge..self.y + 7 * self.bar_px - 2 * edge;
            rectangle(SIZE, x + edge..x + self.bar_px - edge, y)
        };
        let gather = |first: usize| (first..7).step_by(2).flat_map(strip).collect();
        (gather(0), gather(1))
    }
}

fn scene(base_k: f64, groups: &[Group]) -> Image<f64> {
    Image::from_fn(SIZE.0, SIZE.1, |x, y| {
        if PANEL.0.contains(&x) && PANEL.1.contains(&y) {
            let bar = groups.iter().find(|group| group.is_bar(x, y));
            base_k + bar.map_or(0.0, |group| group.delta_k)
        } else {
            ROOM_K + 8.0 * real(y) / real(SIZE.1)
        }
    })
}

/// Base temperatures: the middle of every band and its edges; a fixed list without bands.
fn bases(profile: &Profile) -> Vec<f64> {
    let ColourPlan::Bands(plan) = &profile.spec().colour else {
        return [60.0, 100.0, 150.0, 200.0, 300.0, 400.0, 500.0]
            .map(|c| c + 273.15)
            .to_vec();
    };
    let kelvin = |bits: u16| f64::from(bits) / 32.0;
    let starts: Vec<f64> = plan
        .bands
        .iter()
        .map(|band| kelvin(band.start.to_bits()))
        .collect();
    let top = plan
        .ceiling
        .map(|ceiling| kelvin(ceiling.start.to_bits()))
        .or(plan.ramp_end.map(|end| kelvin(end.temperature.to_bits())))
        .unwrap_or_else(|| starts.last().map_or(900.0, |last| last + 150.0))
        .min(930.0);
    let mut list = Vec::new();
    for (index, start) in starts.iter().enumerate() {
        let end = starts
            .get(index + 1)
            .copied()
            .unwrap_or(top)
            .max(start + 20.0);
        list.push(start + 1.0);
        list.push(f64::midpoint(*start, end));
        list.push(end - 12.0);
    }
    list.sort_by(f64::total_cmp);
    list.dedup_by(|a, b| (*a - *b).abs() < 5.0);
    list
}

/// Base temperatures whose 10 K bars stand on the far side of a band's start.
fn edges(profile: &Profile) -> Vec<f64> {
    match &profile.spec().colour {
        ColourPlan::Bands(plan) => plan
            .bands
            .iter()
            .map(|band| f64::from(band.start.to_bits()) / 32.0 - 6.0)
            .collect(),
        _ => Vec::new(),
    }
}

/// Mean displayed colour of a region as CIE Lab.
fn lab(shown: &Shown, region: &Region) -> Option<Lab> {
    let channel = |pick: fn(&Rgb888) -> u8| {
        let codes = region.iter().filter_map(|i| shown.picture.get(*i));
        reading::mean(codes.map(|c| colour::srgb_decode(pick(c))))
    };
    Some(colour::lab_of_linear([
        channel(|c| c.r)?,
        channel(|c| c.g)?,
        channel(|c| c.b)?,
    ]))
}

/// Luminance and colour between the 10 K bars and their gaps where a band starts between them.
fn across_edges(
    profile: &Profile,
    settings: &Settings,
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let panel = settings.panel.table();
    let groups = Group::all();
    let found: Vec<_> = edges(profile)
        .into_par_iter()
        .map(|base_k| {
            let exposures = exposures(profile, settings, base_k, &groups)?;
            let frames = frames(profile, settings, &exposures)?;
            let last = frames.last();
            let read = groups
                .iter()
                .filter(|group| group.delta_k == 10.0)
                .filter_map(|group| {
                    let (bars, gaps) = group.regions();
                    let jnd = reading::separation(last?, &bars, &gaps, &panel)?;
                    let delta_e = colour::ciede2000(lab(last?, &bars)?, lab(last?, &gaps)?);
                    Some((jnd, delta_e))
                });
            let least = read.min_by(|a, b| a.1.total_cmp(&b.1));
            Ok((base_k, least))
        })
        .collect::<Result<Vec<_>, MeasureError>>()?;
    let start = |base_k: f64| Kelvin(base_k + 6.0);
    let worst = found
        .iter()
        .filter_map(|(base_k, least)| Some((*base_k, (*least)?)));
    let Some((base_k, (jnd, delta_e))) = worst.min_by(|a, b| a.1.1.total_cmp(&b.1.1)) else {
        let why = "the profile has no band that could start between bars and gaps";
        outcome
            .quantities
            .push(Quantity::absent("edge_separation", "JND", why));
        outcome
            .quantities
            .push(Quantity::absent("edge_delta_e", "ΔE00", why));
        return Ok(());
    };
    let note = || format!("bars 10 K apart on both sides of {}", start(base_k));
    outcome
        .quantities
        .push(Quantity::new("edge_separation", jnd, "JND").noting(note()));
    outcome
        .quantities
        .push(Quantity::new("edge_delta_e", delta_e, "ΔE00").noting(note()));
    outcome.findings.push(format!(
        "Where a band starts between bars and gaps 10 K apart they differ by at least {delta_e:.1} \
         ΔE00, of which {jnd:.1} JND are luminance, at {}.",
        start(base_k)
    ));
    Ok(())
}

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

/// What one group showed at one base temperature.
struct Reading {
    base_k: f64,
    group: Group,
    with_colour: Option<f64>,
    spread: f64,
    without_colour: Option<f64>,
    exempt: f64,
    coloured: f64,
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
            let bar = luminance(shown, &kept_bars, panel)?;
            let gap = luminance(shown, &kept_gaps, panel)?;
            Some(gsdf::jnd(bar) - gsdf::jnd(gap))
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
            let (with, exempt) = separations(&coloured, &group, &saturated, &panel);
            let (without, _) = separations(&plain, &group, &saturated, &panel);
            let size = |values: &[f64]| interval(values).map(|(mean, half)| (mean.abs(), half));
            let (bars, gaps) = group.regions();
            let is_coloured = |i: &&usize| {
                coloured
                    .last()
                    .is_some_and(|shown| is_coloured(profile, shown, **i))
            };
            let count = bars.iter().chain(&gaps).filter(is_coloured).count();
            Reading {
                base_k,
                group,
                spread: size(&with).and_then(|(_, half)| half).unwrap_or(0.0),
                with_colour: size(&with).map(|(mean, _)| mean),
                without_colour: size(&without).map(|(mean, _)| mean),
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
        for (name, unit) in [("worst_separation", "JND"), ("retention", "ratio")] {
            outcome.quantities.push(Quantity::absent(name, unit, why));
        }
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
            .filter_map(|r| r.with_colour)
            .min_by(f64::total_cmp)?;
        Some((least, readings.first()?.base_k, picture.as_ref()?))
    });
    if let Some((least, base_k, picture)) = worst.min_by(|a, b| a.0.total_cmp(&b.0)) {
        outcome.pictures.push(Picture {
            stem: "detail-worst".to_owned(),
            caption: format!(
                "Worst case: bar groups 2 K, 5 K and 10 K (left to right) hotter than a panel at {}. \
                 Of the 10 K groups the weaker one stands {least:.1} JND from its gaps.",
                Kelvin(base_k)
            ),
            image: picture.clone(),
        });
    }
    Ok(outcome)
}

/// Reports the worst separation and retention over the base temperatures.
fn summarise(readings: &[&Reading], delta_k: f64, bar_px: usize, outcome: &mut Outcome) {
    let frequency = format!("{} cycles/px", 1.0 / (2.0 * real(bar_px)));
    let under = |quantity: Quantity| {
        quantity
            .under("delta_t", format!("{delta_k} K"))
            .under("frequency", &frequency)
    };
    let worst = readings
        .iter()
        .filter_map(|r| r.with_colour.map(|jnd| (jnd, *r)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match worst {
        Some((jnd, reading)) => outcome.quantities.push(
            under(Quantity::new("worst_separation", jnd, "JND"))
                .within(reading.spread)
                .noting(format!("at a base of {}", Kelvin(reading.base_k))),
        ),
        None => outcome.quantities.push(under(Quantity::absent(
            "worst_separation",
            "JND",
            "every pixel behind colour is saturated, or none is coloured",
        ))),
    }
    let retained = readings
        .iter()
        .filter_map(|r| {
            let without = r.without_colour.filter(|jnd| *jnd >= LEAST_GREY_JND)?;
            Some((r.with_colour? / without, r.spread / without, r.base_k))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match retained {
        Some((ratio, half, base_k)) => {
            outcome.quantities.push(
                under(Quantity::new("retention", ratio, "ratio"))
                    .within(half)
                    .noting(format!("at a base of {}", Kelvin(base_k))),
            );
            if delta_k == 10.0 && bar_px == BARS_PX[1] {
                outcome.findings.push(format!(
                    "Behind colour, bars 10 K apart at {frequency} keep at worst {:.0} % of the \
                     separation that the same picture has without colour, at a base of {}.",
                    100.0 * ratio,
                    Kelvin(base_k)
                ));
            }
        }
        None => outcome.quantities.push(under(Quantity::absent(
            "retention",
            "ratio",
            "without colour the grey picture separates the bars by less than 1 JND everywhere",
        ))),
    }
}

fn plot(readings: &[&Reading]) -> Plot {
    let series = |name: &str, pick: &dyn Fn(&Reading) -> Option<f64>| Series {
        name: name.to_owned(),
        points: readings
            .iter()
            .filter(|r| r.group.delta_k == 10.0 && r.group.bar_px == BARS_PX[0])
            .filter_map(|r| Some((Kelvin(r.base_k).celsius(), pick(r)?)))
            .collect(),
    };
    Plot {
        stem: "detail-separation".to_owned(),
        title: "Separation of bars 10 K apart, 0.05 cycles/px".to_owned(),
        x_label: "apparent temperature of the panel behind the bars (°C)".to_owned(),
        y_label: "separation (JND)".to_owned(),
        series: vec![
            series("as shown", &|r| r.with_colour),
            series("without colour", &|r| r.without_colour),
        ],
        marks: Vec::new(),
        limits: vec![(1.0, "just noticeable".to_owned())],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: four-bar target with bars 1:7, as ASTM E1213 describes it.
    #[test]
    fn a_group_has_four_bars_of_one_to_seven() {
        for group in Group::all() {
            let row = group.y + group.bar_px;
            let bars: Vec<bool> = (0..SIZE.0).map(|x| group.is_bar(x, row)).collect();
            let starts = bars.windows(2).filter(|pair| !pair[0] && pair[1]).count();
            let width = bars.iter().filter(|bar| **bar).count();
            assert_eq!((starts, width), (4, 4 * group.bar_px));
            let column: Vec<bool> = (0..SIZE.1).map(|y| group.is_bar(group.x, y)).collect();
            assert_eq!(column.iter().filter(|bar| **bar).count(), 7 * group.bar_px);
        }
    }

    #[test]
    fn groups_stand_on_the_panel_without_touching() {
        let groups = Group::all();
        for y in 0..SIZE.1 {
            for x in 0..SIZE.0 {
                let hits = groups.iter().filter(|group| group.is_bar(x, y)).count();
                assert!(hits <= 1);
                assert!(hits == 0 || (PANEL.0.contains(&x) && PANEL.1.contains(&y)));
            }
        }
    }
}
