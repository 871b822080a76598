//! Distances and luminance order of a profile's colours, for four kinds of colour vision.
//!
//! **Input**: a [`ProfileSpec`]; nothing is run, the colours follow from the profile alone. **Output**:
//! CIEDE2000 distances of neighbouring bands and of each band from the grey beside it, and the order
//! of luminance with temperature. `docs/measures/colour-order.md` is normative.

mod course;
mod swatches;

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{ColourPlan, ProfileSpec};

use self::course::{Course, Order, Place, band_course, band_places, grey_course, indices, order};
use super::{MeasureId, Outcome, Plot, Quantity, Series};
use crate::photometry::colour;
use crate::photometry::deficiency::Vision;
use crate::photometry::panel_model::PanelModel;
use crate::requirement::YES_NO;
use crate::shown_colour::{Blend, pseudo_colour};
use crate::temperature::Kelvin;

/// Greys of the picture behind the colour at which distances are taken.
pub const GREYS: [u8; 3] = [128, 200, 255];
/// A fall of luminance against the order is a reversal from this size on, in JND.
pub const VISIBLE_STEP: f64 = 1.0;

/// Least difference of CIELAB hue angle between neighbouring bands, degrees. The project's own limit.
pub const HUE_STEP_DEG: f64 = 5.0;

/// Measures the colours of a profile on the default panel.
#[must_use]
pub fn measure(profile: &ProfileSpec) -> Outcome {
    measure_on(profile, &PanelModel::default())
}

/// Measures the colours of a profile on a given panel.
#[must_use]
pub fn measure_on(profile: &ProfileSpec, panel: &PanelModel) -> Outcome {
    let blend = Blend::new(profile.overlay);
    let (places, courses, by_grey) = match &profile.colour {
        ColourPlan::Bands(plan) => {
            let courses = GREYS.map(|grey| band_course(plan, &blend, grey)).into();
            (band_places(plan), courses, false)
        }
        ColourPlan::PseudoColour { stops } => {
            let place = |(index, stop): (usize, &Rgb888)| Place {
                label: (index + 1).to_string(),
                start: *stop,
                middle: *stop,
                opaque: true,
            };
            let course = grey_course("pseudo-colour", |grey| pseudo_colour(stops, grey));
            (
                stops.iter().enumerate().map(place).collect(),
                vec![course],
                true,
            )
        }
        ColourPlan::GreyOnly => (
            Vec::new(),
            vec![grey_course("grey", |grey| [grey; 3])],
            true,
        ),
    };
    let mut outcome = Outcome {
        measure: MeasureId::ColourOrder,
        quantities: Vec::new(),
        pictures: Vec::new(),
        plots: vec![plot(&courses, profile, panel, by_grey)],
        findings: Vec::new(),
    };
    distances(&mut outcome, &places, &blend);
    outcome.quantities.push(hue_changes(&profile.colour));
    if by_grey {
        absent_grey_distances(&mut outcome);
    } else {
        grey_distances(&mut outcome, &places, &blend);
    }
    luminance_order(&mut outcome, &courses, panel, by_grey);
    // Without its picture the measure still stands: drawing fails only where the built-in font does.
    outcome
        .pictures
        .extend(swatches::picture(profile, &places, &courses, &blend).ok());
    outcome
}

/// Whether every band's hue differs from that of the band before it.
fn hue_changes(plan: &ColourPlan) -> Quantity {
    let ColourPlan::Bands(plan) = plan else {
        return Quantity::absent("hue_changes", YES_NO, "the profile has no bands");
    };
    let hues: Vec<f64> = plan
        .bands
        .iter()
        .map(|band| colour::lab([band.colour.r, band.colour.g, band.colour.b]))
        .map(|lab| lab.b.atan2(lab.a).to_degrees())
        .collect();
    let steps = hues.windows(2).map(|pair| {
        let turn = (pair[1] - pair[0]).rem_euclid(360.0);
        turn.min(360.0 - turn)
    });
    let least = steps.fold(f64::INFINITY, f64::min);
    let changes = least.is_finite() && least >= HUE_STEP_DEG;
    let note = if least.is_finite() {
        format!(
            "yes means that neighbouring hues are {HUE_STEP_DEG} degrees apart or more; the least are {least:.1}"
        )
    } else {
        "a single band has one hue".to_owned()
    };
    Quantity::new("hue_changes", f64::from(u8::from(changes)), YES_NO).noting(note)
}

/// The least distance of two places for one observer, over greys and, for ramps, starts and middles.
fn least_distance(a: &Place, b: &Place, blend: &Blend, vision: Vision) -> (f64, u8) {
    let mut least = (f64::INFINITY, GREYS[0]);
    for grey in GREYS {
        for middle in [false, true] {
            let seen = |place: &Place| vision.see_lab(place.over(blend, middle, grey));
            let distance = colour::ciede2000(seen(a), seen(b));
            if distance < least.0 {
                least = (distance, grey);
            }
        }
    }
    least
}

fn distances(outcome: &mut Outcome, places: &[Place], blend: &Blend) {
    let mut worst: Option<(f64, Vision, String)> = None;
    for vision in Vision::ALL {
        let mut least = f64::INFINITY;
        for pair in places.windows(2) {
            let (distance, grey) = least_distance(&pair[0], &pair[1], blend, vision);
            let name = format!("{}-{}", pair[0].label, pair[1].label);
            outcome.quantities.push(
                Quantity::new("neighbour_delta_e", distance, "ΔE00")
                    .under("vision", vision)
                    .under("pair", &name)
                    .noting(format!("least at grey {grey}")),
            );
            if worst.as_ref().is_none_or(|(value, ..)| distance < *value) {
                worst = Some((distance, vision, name));
            }
            least = least.min(distance);
        }
        let quantity = if least.is_finite() {
            Quantity::new("min_neighbour_delta_e", least, "ΔE00")
        } else {
            Quantity::absent("min_neighbour_delta_e", "ΔE00", "fewer than two colours")
        };
        outcome.quantities.push(quantity.under("vision", vision));
    }
    if let Some((distance, vision, pair)) = worst {
        outcome.findings.push(format!(
            "The closest neighbours are {pair}, {distance:.1} ΔE00 apart for {vision} vision."
        ));
    }
}

fn grey_distances(outcome: &mut Outcome, places: &[Place], blend: &Blend) {
    let mut worst: Option<(f64, Vision, &str, u8)> = None;
    for vision in Vision::ALL {
        let mut least = f64::INFINITY;
        for place in places {
            let mut closest = (f64::INFINITY, GREYS[0]);
            for grey in GREYS {
                for middle in [false, true] {
                    let seen = vision.see_lab(place.over(blend, middle, grey));
                    let distance = colour::ciede2000(seen, colour::lab([grey; 3]));
                    if distance < closest.0 {
                        closest = (distance, grey);
                    }
                }
            }
            outcome.quantities.push(
                Quantity::new("grey_delta_e", closest.0, "ΔE00")
                    .under("vision", vision)
                    .under("band", &place.label)
                    .noting(format!("least at grey {}", closest.1)),
            );
            if worst.is_none_or(|(value, ..)| closest.0 < value) {
                worst = Some((closest.0, vision, &place.label, closest.1));
            }
            least = least.min(closest.0);
        }
        outcome
            .quantities
            .push(Quantity::new("min_grey_delta_e", least, "ΔE00").under("vision", vision));
    }
    if let Some((distance, vision, band, grey)) = worst {
        outcome.findings.push(format!(
            "The colour nearest to the grey beside it is {band} over grey {grey}, {distance:.1} ΔE00 \
             for {vision} vision."
        ));
    }
}

fn absent_grey_distances(outcome: &mut Outcome) {
    let why = "no band stands beside grey in this colour plan";
    for vision in Vision::ALL {
        let quantity = Quantity::absent("min_grey_delta_e", "ΔE00", why);
        outcome.quantities.push(quantity.under("vision", vision));
    }
}

fn luminance_order(outcome: &mut Outcome, courses: &[Course], panel: &PanelModel, by_grey: bool) {
    let mut monotone = true;
    let axis = if by_grey { "grey" } else { "temperature" };
    for vision in Vision::ALL {
        let mut worst = Order {
            rising: true,
            share: 1.0,
            reversals: 0,
            largest: 0.0,
        };
        for course in courses {
            let found = order(&indices(&course.points[..course.ordered], vision, panel));
            worst.rising = found.rising;
            worst.share = worst.share.min(found.share);
            worst.reversals = worst.reversals.max(found.reversals);
            worst.largest = worst.largest.max(found.largest);
        }
        monotone &= worst.largest < VISIBLE_STEP;
        let mut add = |name: &str, value: f64, unit: &str| {
            outcome
                .quantities
                .push(Quantity::new(name, value, unit).under("vision", vision));
        };
        add("luminance_order_share", worst.share, "ratio");
        add("luminance_reversals", f64::from(worst.reversals), "count");
        add("largest_reversal", worst.largest, "JND");
        if vision == Vision::Normal {
            let direction = if worst.rising { "rises" } else { "falls" };
            outcome.findings.push(if worst.largest < VISIBLE_STEP {
                format!("Luminance {direction} with {axis} throughout the colours.")
            } else {
                format!(
                    "Luminance mostly {direction} with {axis}, but turns against that {} times, by up \
                     to {:.0} JND: brightness does not tell what is hotter.",
                    worst.reversals, worst.largest
                )
            });
        }
    }
    outcome.quantities.push(
        Quantity::new(
            "luminance_monotone",
            if monotone { 1.0 } else { 0.0 },
            YES_NO,
        )
        .noting("yes means no reversal of 1 JND or more for any vision"),
    );
}

fn plot(courses: &[Course], profile: &ProfileSpec, panel: &PanelModel, by_grey: bool) -> Plot {
    let line = |course: &Course| Series {
        name: course.name.clone(),
        points: course
            .points
            .iter()
            .map(|(x, rgb)| (*x, panel.luminance(*rgb)))
            .collect(),
    };
    let mut marks = Vec::new();
    if let ColourPlan::Bands(plan) = &profile.colour {
        for (index, band) in plan.bands.iter().enumerate() {
            marks.push((
                Kelvin::from(band.start).celsius(),
                format!("band {}", index + 1),
            ));
        }
        marks.extend(
            plan.ceiling
                .map(|ceiling| (Kelvin::from(ceiling.start).celsius(), "ceiling".to_owned())),
        );
    }
    let x_label = if by_grey {
        "grey code"
    } else {
        "apparent temperature, °C"
    };
    Plot {
        stem: "colour-order-luminance".to_owned(),
        title: "Luminance of the colours at the eye".to_owned(),
        x_label: x_label.to_owned(),
        y_label: "luminance, cd/m²".to_owned(),
        series: courses.iter().map(line).collect(),
        marks,
        limits: Vec::new(),
    }
}
