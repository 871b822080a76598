//! The words of a chart with bands: onset, overlay and a key of the bands.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, Fill, Overlay};
use plotters::style::{RGBColor, WHITE};

use super::{BAR, Chart, GREYS, KEY_ROW, KEY_TOP, LEFT};
use crate::photometry::colour::relative_luminance;
use crate::plot::PlotError;
use crate::plot::canvas::{Anchor, INK, SOFT, Stroke, Surface, outline};
use crate::sheet::colour_name::colour_name;
use crate::temperature::Kelvin;

fn rgb(colour: Rgb888) -> RGBColor {
    RGBColor(colour.r, colour.g, colour.b)
}

/// An entry of the key.
pub(super) struct Entry {
    pub(super) colour: Rgb888,
    start: Kelvin,
    number: String,
    pub(super) words: String,
}

/// The onset and, where there is hysteresis, the temperature of its lower end, °C.
pub(super) fn onset_c(plan: &BandPlan) -> Option<(f64, Option<f64>)> {
    let onset = Kelvin::from(plan.bands.first()?.start).celsius();
    let hysteresis = f64::from(plan.hysteresis_k32) / 32.0;
    Some((onset, (hysteresis > 0.0).then_some(onset - hysteresis)))
}

pub(super) fn onset_words(onset: f64) -> String {
    format!("Colour starts at {}", Kelvin::from_celsius(onset))
}

pub(super) fn hysteresis_words(below: f64) -> String {
    let below = Kelvin::from_celsius(below);
    format!("hysteresis: a coloured pixel turns grey again below {below}")
}

/// One entry a band, and one of the ceiling.
pub(super) fn entries(plan: &BandPlan) -> Vec<Entry> {
    let mut entries = vec![];
    let mut push = |number: usize, colour, start, words: &dyn Fn(Kelvin) -> String| {
        let (number, start) = (number.to_string(), Kelvin::from(start));
        let words = format!("{number}  {}", words(start));
        entries.push(Entry {
            colour,
            start,
            number,
            words,
        });
    };
    for (index, band) in plan.bands.iter().enumerate() {
        let end = plan.bands.get(index + 1).map(|next| next.start);
        let end = end.or(plan.ramp_end.map(|end| end.temperature));
        let course = match (band.fill, end) {
            (Fill::Ramp, Some(end)) => format!(
                "ramp to {} at {}",
                name(plan.end_colour(index)),
                Kelvin::from(end).whole()
            ),
            _ => "flat".to_owned(),
        };
        push(index + 1, band.colour, band.start, &|start| {
            format!("{}: from {}, {course}", name(band.colour), start.whole())
        });
    }
    if let Some(ceiling) = plan.ceiling {
        push(
            plan.bands.len() + 1,
            ceiling.colour,
            ceiling.start,
            &|start| {
                let colour = name(ceiling.colour);
                format!(
                    "ceiling, {colour}: from {}, nothing more can be told",
                    start.whole()
                )
            },
        );
    }
    entries
}

impl Chart<'_> {
    /// The onset in position and words, and the hysteresis below it.
    pub(super) fn onset(
        &self,
        surface: &mut dyn Surface,
        plan: &BandPlan,
    ) -> Result<(), PlotError> {
        let Some((onset, below)) = onset_c(plan) else {
            return Ok(());
        };
        let x = self.axis.at(onset);
        self.onset_line(surface, onset, BAR)?;
        surface.line(&[(x, 114.0), (x, BAR.0 - 30.0)], Stroke::solid(INK, 2.0))?;
        surface.fill(&[(x - 7.0, 114.0), (x + 7.0, 114.0), (x, 125.0)], INK)?;
        place(surface, (x, 100.0), 20.5, INK, &onset_words(onset))?;
        if let Some(below) = below {
            let (from, y) = (self.axis.at(below), 256.0);
            let bracket = [(from, y), (from, y + 6.0), (x, y + 6.0), (x, y)];
            surface.line(&bracket, Stroke::solid(INK, 1.6))?;
            let at = (0.5 * (from + x), y + 21.0);
            place(surface, at, 16.5, INK, &hysteresis_words(below))?;
        }
        Ok(())
    }

    /// The onset in the bar, seen on dark and on light.
    pub(super) fn onset_line(
        &self,
        surface: &mut dyn Surface,
        onset: f64,
        (top, bottom): (f64, f64),
    ) -> Result<(), PlotError> {
        let x = self.axis.at(onset);
        let line = [(x, top), (x, bottom)];
        surface.line(&line, Stroke::solid(INK, 2.0))?;
        let dashed = Stroke {
            colour: WHITE,
            width: 2.0,
            dash: &[5.0, 5.0],
        };
        surface.line(&line, dashed)
    }

    /// What the rows below show.
    pub(super) fn overlay_words(&self) -> String {
        let how = match self.spec.overlay {
            Overlay::Opaque => "opaque: what stands behind the colour is gone".to_owned(),
            Overlay::Veil { opacity } => {
                format!("veil, opacity {:.0} %", f64::from(opacity) / 2.55)
            }
            Overlay::Tint { .. } => "tint: lighter grey stays lighter behind colour".to_owned(),
        };
        format!("The same colours over five greys of the picture ({how})")
    }

    /// The colours over several greys, from a height down.
    pub(super) fn overlay_rows(
        &self,
        surface: &mut dyn Surface,
        top: f64,
        row_height: f64,
        size: f64,
    ) -> Result<(), PlotError> {
        for (row, grey) in (0u32..).zip(GREYS) {
            let top = top + row_height * f64::from(row);
            self.strip(surface, (top, top + row_height), |at| {
                self.overlaid(at, grey)
            })?;
            let at = (self.axis.start - 7.0, top + 0.5 * row_height);
            surface.text(at, size, Anchor::End, SOFT, &format!("grey {grey}"))?;
        }
        Ok(())
    }

    /// Two entries a row; the number also stands in the strip.
    pub(super) fn key(&self, surface: &mut dyn Surface, plan: &BandPlan) -> Result<(), PlotError> {
        let entries = entries(plan);
        for (index, entry) in (0u32..).zip(&entries) {
            let (column, row) = (index % 2, index / 2);
            let (x, y) = (
                LEFT + 560.0 * f64::from(column),
                KEY_TOP + KEY_ROW * f64::from(row),
            );
            patch(surface, (x, y), entry.colour)?;
            surface.text(
                (x + PATCH + 10.0, y),
                17.0,
                Anchor::Start,
                INK,
                &entry.words,
            )?;
        }
        self.divide(surface, &entries, BAR)
    }

    /// Divides the bar at the bands and writes their numbers where there is room.
    pub(super) fn divide(
        &self,
        surface: &mut dyn Surface,
        entries: &[Entry],
        (top, bottom): (f64, f64),
    ) -> Result<(), PlotError> {
        for (index, entry) in entries.iter().enumerate() {
            let at = self.axis.at(entry.start.celsius());
            if index > 0 {
                surface.line(&[(at, top), (at, bottom)], Stroke::solid(INK, 1.2))?;
            }
            let next = entries.get(index + 1);
            let end = next.map_or(self.axis.end, |next| self.axis.at(next.start.celsius()));
            if end - at > 16.0 {
                let middle = (0.5 * (at + end), bottom - 20.0);
                let ink = ink_on(entry.colour);
                surface.text(middle, 17.0, Anchor::Middle, ink, &entry.number)?;
            }
        }
        Ok(())
    }
}

/// Width of a patch of the key.
pub(super) const PATCH: f64 = 28.0;

/// A patch of the key, by the middle of its left edge.
pub(super) fn patch(
    surface: &mut dyn Surface,
    (x, y): (f64, f64),
    colour: Rgb888,
) -> Result<(), PlotError> {
    let (from, to) = ((x, y - 9.0), (x + PATCH, y + 9.0));
    surface.rectangle(from, to, rgb(colour))?;
    outline(surface, from, to)
}

fn name(colour: Rgb888) -> &'static str {
    colour_name([colour.r, colour.g, colour.b])
}

/// Black or white, whichever stands out more; equal contrast is at a relative luminance of 0.18.
fn ink_on(colour: Rgb888) -> RGBColor {
    if relative_luminance([colour.r, colour.g, colour.b]) > 0.18 {
        INK
    } else {
        WHITE
    }
}

/// Writes a text centred on a point, moved sideways where it would leave the chart.
fn place(
    surface: &mut dyn Surface,
    (x, y): (f64, f64),
    size: f64,
    colour: RGBColor,
    text: &str,
) -> Result<(), PlotError> {
    let half = 0.5 * surface.text_width(size, text) + 16.0;
    let (width, _) = surface.size();
    surface.text(
        (x.clamp(half, width - half), y),
        size,
        Anchor::Middle,
        colour,
        text,
    )
}
