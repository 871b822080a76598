//! The colours side by side, as four kinds of colour vision see them, with their names and temperatures.

use glowsill_core::profile::{ColourPlan, ProfileSpec};
use plotters::style::RGBColor;

use super::GREYS;
use super::course::{Course, Place};
use crate::measure::Picture;
use crate::photometry::deficiency::Vision;
use crate::plot::PlotError;
use crate::plot::axis::Axis;
use crate::plot::canvas::{Anchor, INK, SOFT, Surface, draw_pixels, outline};
use crate::shown_colour::Blend;
use crate::temperature::Kelvin;

/// Where the patches start: room for the names of the rows.
const LEFT: u32 = 190;
const TOP: u32 = 112;
const COLUMN: u32 = 118;
const ROW: u32 = 24;
const MARGIN: u32 = 24;

/// Draws the swatches of a profile.
pub(super) fn picture(
    profile: &ProfileSpec,
    places: &[Place],
    courses: &[Course],
    blend: &Blend,
) -> Result<Picture, PlotError> {
    let rows: Vec<Row> = match profile.colour {
        ColourPlan::Bands(_) => Vision::ALL
            .into_iter()
            .flat_map(|vision| {
                GREYS.map(|grey| Row {
                    name: format!("{vision}, grey {grey}"),
                    patches: std::iter::once([grey; 3])
                        .chain(places.iter().map(|p| p.over(blend, false, grey)))
                        .map(|rgb| vision.see(rgb))
                        .collect(),
                })
            })
            .collect(),
        _ => Vision::ALL
            .into_iter()
            .flat_map(|vision| {
                courses.iter().map(move |course| Row {
                    name: vision.to_string(),
                    patches: course.points.iter().map(|(_, c)| vision.see(*c)).collect(),
                })
            })
            .collect(),
    };
    let headings = headings(profile);
    let columns = u32::try_from(headings.len().max(6)).unwrap_or(6);
    let bottom = TOP + ROW * u32::try_from(rows.len()).unwrap_or(0);
    let width = COLUMN * columns;
    let size = (LEFT + width + MARGIN, bottom + 66);
    let bands = !headings.is_empty();
    let across = if bands {
        f64::from(COLUMN * u32::try_from(headings.len()).unwrap_or(1))
    } else {
        f64::from(width)
    };
    let image = draw_pixels(size, |surface| {
        let left = f64::from(LEFT);
        let title = format!(
            "{}: the colours as four kinds of sight see them",
            profile.name
        );
        surface.text((f64::from(MARGIN), 28.0), 19.0, Anchor::Start, INK, &title)?;
        for (column, lines) in (0u32..).zip(&headings) {
            let middle = left + f64::from(COLUMN * column) + 0.5 * f64::from(COLUMN);
            for (line, text) in (0u32..).zip(lines) {
                let y = 58.0 + 17.0 * f64::from(line);
                surface.text((middle, y), 13.0, Anchor::Middle, INK, text)?;
            }
        }
        if !bands {
            grey_scale(surface, Axis::new((0.0, 255.0), (left, left + across)))?;
        }
        for (row, number) in rows.iter().zip(0u32..) {
            let top = f64::from(TOP + ROW * number);
            row.draw(surface, (left, left + across), top)?;
        }
        for group in (0u32..).zip(Vision::ALL).map(|(number, _)| number) {
            let rows_each = u32::try_from(rows.len() / Vision::ALL.len()).unwrap_or(1);
            let from = f64::from(TOP + ROW * rows_each * group);
            let to = from + f64::from(ROW * rows_each);
            outline(surface, (left, from), (left + across, to))?;
        }
        let notes = match profile.colour {
            ColourPlan::Bands(_) => [
                "Apparent temperatures. Each row: the grey of the picture, then the colours laid over it at the start of each band.",
                "Simulation and teaching only; not a certification.",
            ],
            ColourPlan::PseudoColour { .. } => [
                "Colour follows grey here: no colour stands for a temperature, because the scale moves.",
                "Simulation and teaching only; not a certification.",
            ],
            ColourPlan::GreyOnly => [
                "This profile shows grey only: no colour stands for a temperature.",
                "Simulation and teaching only; not a certification.",
            ],
        };
        for (line, text) in (0u32..).zip(notes) {
            let y = f64::from(bottom) + 24.0 + 19.0 * f64::from(line);
            surface.text((f64::from(MARGIN), y), 13.0, Anchor::Start, SOFT, text)?;
        }
        Ok(())
    })?;
    Ok(Picture {
        stem: "colour-order-swatches".to_owned(),
        caption: caption(profile),
        image,
    })
}

/// Observer and grey, and the patches beside.
struct Row {
    name: String,
    patches: Vec<[u8; 3]>,
}

impl Row {
    fn draw(
        &self,
        surface: &mut dyn Surface,
        (from, to): (f64, f64),
        top: f64,
    ) -> Result<(), PlotError> {
        let height = f64::from(ROW);
        let at = (from - 10.0, top + 0.5 * height);
        surface.text(at, 13.0, Anchor::End, INK, &self.name)?;
        let count = u32::try_from(self.patches.len().max(1)).unwrap_or(u32::MAX);
        let axis = Axis::new((0.0, f64::from(count)), (from, to));
        for (number, rgb) in (0u32..).zip(&self.patches) {
            // Each patch runs to the end and the next one covers it, so that no seam shows.
            surface.rectangle(
                (axis.at(f64::from(number)), top),
                (to, top + height),
                RGBColor(rgb[0], rgb[1], rgb[2]),
            )?;
        }
        Ok(())
    }
}

/// Three lines over each column: name, °C, °F. None where no colour has a temperature.
fn headings(profile: &ProfileSpec) -> Vec<[String; 3]> {
    let ColourPlan::Bands(plan) = &profile.colour else {
        return Vec::new();
    };
    let lines = |name: String, from: Kelvin| {
        [
            name,
            format!("from {:.0} °C", from.celsius()),
            format!("{:.0} °F", from.fahrenheit()),
        ]
    };
    let grey = [
        "grey".to_owned(),
        "below the".to_owned(),
        "first band".to_owned(),
    ];
    let bands = (1..).zip(&plan.bands);
    let bands = bands.map(|(number, band)| lines(format!("band {number}"), band.start.into()));
    let ceiling = plan.ceiling.iter();
    let ceiling = ceiling.map(|ceiling| lines("ceiling".to_owned(), ceiling.start.into()));
    std::iter::once(grey).chain(bands).chain(ceiling).collect()
}

fn grey_scale(surface: &mut dyn Surface, axis: Axis) -> Result<(), PlotError> {
    let middle = 0.5 * (axis.start + axis.end);
    surface.text(
        (middle, 66.0),
        13.0,
        Anchor::Middle,
        INK,
        "grey of the picture, code 0 to 255",
    )?;
    for code in [0u8, 64, 128, 192, 255] {
        let at = axis.at(f64::from(code));
        let text = code.to_string();
        surface.text((at, 96.0), 13.0, Anchor::Middle, SOFT, &text)?;
    }
    Ok(())
}

fn caption(profile: &ProfileSpec) -> String {
    match &profile.colour {
        ColourPlan::Bands(plan) => {
            let starts: Vec<_> = plan
                .bands
                .iter()
                .map(|band| Kelvin::from(band.start).whole())
                .collect();
            format!(
                "The grey beside, and the bands from {}{}, for normal, protan, deutan and tritan vision, each over \
                 grey 128, 200 and 255.",
                starts.join(", "),
                plan.ceiling.map_or_else(String::new, |ceiling| format!(
                    ", the ceiling from {}",
                    Kelvin::from(ceiling.start).whole()
                ))
            )
        }
        _ => "Colours from grey 0 (left) to 255 (right) for normal, protan, deutan and tritan vision. No colour \
              stands for a temperature."
            .to_owned(),
    }
}
