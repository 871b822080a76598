//! Background dimming: what happens to marks in a warm room as a hot source grows.
//!
//! Method, formula and uncertainty: `docs/measures/dimming.md`.

use glowsill_core::profile::Profile;

use super::reading::{
    Region, grey_share, mark_separations, masked, real, settled, settling_frames,
};
use super::{MeasureError, MeasureId, Outcome, Picture, Plot, Quantity, Series, Settings};
use crate::run::{still, with_bench};
use crate::temperature::Kelvin;
use crate::world::image::Image;
use crate::world::scene::Scene;
use crate::world::target::Workshop;

const SIZE: (usize, usize) = (320, 240);
const EXPOSURES: usize = 4;
/// Source temperatures, °C.
const SOURCES_C: [f64; 15] = [
    40.0, 70.0, 100.0, 130.0, 160.0, 200.0, 240.0, 280.0, 320.0, 370.0, 430.0, 490.0, 550.0, 610.0,
    680.0,
];

/// Radius of the source with the coldest and the hottest step, share of the picture's height.
const SMALLEST: f64 = 0.04;
const LARGEST: f64 = 0.18;

struct Step {
    source_k: f64,
    separations: Vec<f64>,
    grey_share: f64,
    scale: (f64, f64),
    picture: Option<image::RgbImage>,
}

/// Measures how marks fade as a source grows.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run.
pub fn measure(profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    let panel = settings.panel.table();
    let Some(profile) = &settled(profile) else {
        return Ok(Outcome::new(MeasureId::Dimming));
    };
    let room = Workshop::new(SIZE.0, SIZE.1);
    let names: Vec<String> = room
        .marks()
        .iter()
        .map(|mark| mark.name.to_owned())
        .collect();
    let steps = with_bench(
        profile,
        &settings.sensor,
        SIZE,
        settings.seed,
        |sensor, display| {
            let mut steps = Vec::new();
            for (index, source_c) in SOURCES_C.into_iter().enumerate() {
                let grown =
                    SMALLEST + (LARGEST - SMALLEST) * real(index) / real(SOURCES_C.len() - 1);
                let scene = room
                    .clone()
                    .with_source(source_c + 273.15)
                    .with_growth(grown, grown, 0);
                let image = scene.image(0);
                let exposures = still(sensor, &image, EXPOSURES)?;
                let shown = display.settle(&exposures, settling_frames(profile))?;
                let separations = mark_separations(shown, scene.marks(), &panel)
                    .into_iter()
                    .map(|separation| separation.unwrap_or(0.0))
                    .collect();
                let record = shown.record;
                let end = |t: glowsill_core::units::Temperature| f64::from(t.to_bits()) / 32.0;
                let is_kept = source_c == 70.0 || source_c == 320.0 || source_c == 680.0;
                steps.push(Step {
                    source_k: source_c + 273.15,
                    separations,
                    grey_share: grey_share(shown, &background(&image)),
                    scale: (end(record.scale_low), end(record.scale_high)),
                    picture: is_kept.then(|| shown.image()),
                });
            }
            Ok::<_, MeasureError>(steps)
        },
    )?;
    Ok(report(&names, &steps, settings))
}

/// The room without its source: what stands below 40 °C.
fn background(scene: &Image<f64>) -> Region {
    masked(&scene.map(|kelvin| *kelvin < 313.15).data)
}

fn report(names: &[String], steps: &[Step], settings: &Settings) -> Outcome {
    let mut outcome = Outcome::new(MeasureId::Dimming);
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else {
        return outcome;
    };
    for (index, name) in names.iter().enumerate() {
        let at = |step: &Step| step.separations.get(index).copied().unwrap_or(0.0);
        let seen_at_first = at(first) >= settings.visible_jnd;
        let lost = steps.iter().find(|step| at(step) < settings.visible_jnd);
        let quantity = match lost {
            None => Quantity::new("lost_at", Kelvin(last.source_k).celsius(), "°C")
                .noting(format!("not lost up to {}", Kelvin(last.source_k))),
            Some(step) if !seen_at_first => {
                Quantity::new("lost_at", Kelvin(step.source_k).celsius(), "°C").noting(format!(
                    "below {} JND already with the coldest source",
                    settings.visible_jnd
                ))
            }
            Some(step) => Quantity::new("lost_at", Kelvin(step.source_k).celsius(), "°C")
                .noting(format!("source temperature; {}", Kelvin(step.source_k))),
        };
        outcome.findings.push(match lost {
            None => format!(
                "The {name} mark stays above {} JND up to a source of {} ({:.1} JND at the start, \
                 {:.1} at the end).",
                settings.visible_jnd,
                Kelvin(last.source_k),
                at(first),
                at(last)
            ),
            Some(step) => format!(
                "The {name} mark falls below {} JND when the source reaches {} ({:.1} JND with a \
                 source of {}, {:.1} then).",
                settings.visible_jnd,
                Kelvin(step.source_k),
                at(first),
                Kelvin(first.source_k),
                at(step)
            ),
        });
        outcome.quantities.push(
            quantity
                .under("mark", name)
                .within(source_step(steps, lost)),
        );
        for (label, step) in [("coldest", first), ("hottest", last)] {
            outcome.quantities.push(
                Quantity::new("separation", at(step), "JND")
                    .under("mark", name)
                    .under("source", label),
            );
        }
    }
    outcome
        .quantities
        .push(Quantity::new("grey_share_left", last.grey_share, "ratio"));
    outcome.findings.push(format!(
        "As the source grows from {} to {}, white moves from {} to {}, and the background keeps \
         {:.0} % of the grey range instead of {:.0} %.",
        Kelvin(first.source_k),
        Kelvin(last.source_k),
        Kelvin(first.scale.1),
        Kelvin(last.scale.1),
        100.0 * last.grey_share,
        100.0 * first.grey_share
    ));
    let series = |name: &str, pick: &dyn Fn(&Step) -> f64| Series {
        name: name.to_owned(),
        points: steps
            .iter()
            .map(|step| (Kelvin(step.source_k).celsius(), pick(step)))
            .collect(),
    };
    outcome.plots.push(Plot {
        stem: "dimming-separation".to_owned(),
        title: "Separation of each mark from its surroundings".to_owned(),
        x_label: "apparent temperature of the source (°C)".to_owned(),
        y_label: "separation (JND)".to_owned(),
        series: names
            .iter()
            .enumerate()
            .map(|(index, name)| {
                series(name, &|step| {
                    step.separations.get(index).copied().unwrap_or(0.0)
                })
            })
            .collect(),
        marks: Vec::new(),
        limits: vec![(
            settings.visible_jnd,
            format!("lost below {} JND", settings.visible_jnd),
        )],
    });
    outcome.plots.push(Plot {
        stem: "dimming-scale".to_owned(),
        title: "Ends of the scale".to_owned(),
        x_label: "apparent temperature of the source (°C)".to_owned(),
        y_label: "apparent temperature (°C)".to_owned(),
        series: vec![
            series("white", &|step| Kelvin(step.scale.1).celsius()),
            series("black", &|step| Kelvin(step.scale.0).celsius()),
        ],
        marks: Vec::new(),
        limits: Vec::new(),
    });
    for step in steps {
        if let Some(image) = &step.picture {
            outcome.pictures.push(Picture {
                stem: format!("dimming-{:.0}c", Kelvin(step.source_k).celsius()),
                caption: format!(
                    "The workshop with a source of {}: black stands at {}, white at {}.",
                    Kelvin(step.source_k),
                    Kelvin(step.scale.0),
                    Kelvin(step.scale.1)
                ),
                image: image.clone(),
            });
        }
    }
    outcome
}

/// Half of the distance to the source step before, the resolution of the list.
fn source_step(steps: &[Step], lost: Option<&Step>) -> f64 {
    let Some(lost) = lost else { return 0.0 };
    let before = steps
        .iter()
        .take_while(|step| step.source_k < lost.source_k)
        .last();
    before.map_or(0.0, |before| (lost.source_k - before.source_k) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_lost_at_the_first_step_below_the_limit() {
        let step = |source_k: f64, jnd: f64| Step {
            source_k,
            separations: vec![jnd],
            grey_share: 0.5,
            scale: (280.0, source_k),
            picture: None,
        };
        let steps = [
            step(300.0, 20.0),
            step(400.0, 5.0),
            step(500.0, 2.0),
            step(600.0, 1.0),
        ];
        let outcome = report(&["person".to_owned()], &steps, &Settings::default());
        let lost = &outcome.quantities[0];
        assert_eq!(lost.value, Some(500.0 - 273.15));
        assert_eq!(lost.uncertainty, Some(50.0));
        assert!(real(outcome.findings.len()) >= 2.0);
    }
}
