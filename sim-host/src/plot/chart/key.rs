//! The words of a chart with bands: onset, overlay and a key of the bands.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, Fill, Overlay};
use plotters::style::{RGBColor, WHITE};

use super::{BAR, Chart, GREYS, KEY_ROW, KEY_TOP, LEFT, ROW, ROWS_TOP};
use crate::photometry::colour::relative_luminance;
use crate::plot::PlotError;
use crate::plot::canvas::{Anchor, INK, SOFT, Stroke, Surface, outline};
use crate::sheet::colour_name::colour_name;
use crate::temperature::Kelvin;

fn rgb(colour: Rgb888) -> RGBColor {
    RGBColor(colour.r, colour.g, colour.b)
}

impl Chart<'_> {
    /// The onset in position and words, and the hysteresis below it.
    pub(super) fn onset(
        &self,
        surface: &mut dyn Surface,
        plan: &BandPlan,
    ) -> Result<(), PlotError> {
        let Some(first) = plan.bands.first() else {
            return Ok(());
        };
        let onset = Kelvin::from(first.start).celsius();
        let x = self.axis.at(onset);
        surface.line(&[(x, 114.0), (x, BAR.0 - 30.0)], Stroke::solid(INK, 2.0))?;
        surface.line(&[(x, BAR.0), (x, BAR.1)], Stroke::solid(INK, 2.0))?;
        surface.line(
            &[(x, BAR.0), (x, BAR.1)],
            Stroke {
                colour: WHITE,
                width: 2.0,
                dash: &[5.0, 5.0],
            },
        )?;
        surface.fill(&[(x - 7.0, 114.0), (x + 7.0, 114.0), (x, 125.0)], INK)?;
        let starts = format!("Colour starts at {}", Kelvin::from_celsius(onset));
        place(surface, (x, 100.0), 20.5, INK, &starts)?;

        let hysteresis = f64::from(plan.hysteresis_k32) / 32.0;
        if hysteresis > 0.0 {
            let (from, y) = (self.axis.at(onset - hysteresis), 256.0);
            let bracket = [(from, y), (from, y + 6.0), (x, y + 6.0), (x, y)];
            surface.line(&bracket, Stroke::solid(INK, 1.6))?;
            let words = format!(
                "hysteresis: a coloured pixel turns grey again below {}",
                Kelvin::from_celsius(onset - hysteresis)
            );
            place(surface, (0.5 * (from + x), y + 21.0), 16.5, INK, &words)?;
        }
        Ok(())
    }

    pub(super) fn overlay_rows(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let how = match self.spec.overlay {
            Overlay::Opaque => "opaque: what stands behind the colour is gone".to_owned(),
            Overlay::Veil { opacity } => {
                format!("veil, opacity {:.0} %", f64::from(opacity) / 2.55)
            }
            Overlay::Tint { .. } => "tint: lighter grey stays lighter behind colour".to_owned(),
        };
        let words = format!("The same colours over five greys of the picture ({how})");
        surface.text((LEFT, ROWS_TOP - 16.0), 17.0, Anchor::Start, INK, &words)?;
        for (row, grey) in (0u32..).zip(GREYS) {
            let top = ROWS_TOP + ROW * f64::from(row);
            self.strip(surface, (top, top + ROW), |at| self.overlaid(at, grey))?;
            let label = format!("grey {grey}");
            surface.text(
                (self.axis.start - 7.0, top + 0.5 * ROW),
                15.5,
                Anchor::End,
                SOFT,
                &label,
            )?;
        }
        Ok(())
    }

    /// One entry a band: number, colour, start, course; the number also stands in the strip.
    pub(super) fn key(&self, surface: &mut dyn Surface, plan: &BandPlan) -> Result<(), PlotError> {
        let mut entries = vec![];
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
            let start = Kelvin::from(band.start);
            let number = (index + 1).to_string();
            let words = format!(
                "{number}  {}: from {}, {course}",
                name(band.colour),
                start.whole()
            );
            entries.push((band.colour, start, number, words));
        }
        if let Some(ceiling) = plan.ceiling {
            let start = Kelvin::from(ceiling.start);
            let number = (entries.len() + 1).to_string();
            let words = format!(
                "{number}  ceiling, {}: from {}, nothing more can be told",
                name(ceiling.colour),
                start.whole()
            );
            entries.push((ceiling.colour, start, number, words));
        }
        for (index, (colour, start, number, words)) in (0u32..).zip(&entries) {
            let (column, row) = (index % 2, index / 2);
            let (x, y) = (
                LEFT + 560.0 * f64::from(column),
                KEY_TOP + KEY_ROW * f64::from(row),
            );
            surface.rectangle((x, y - 9.0), (x + 28.0, y + 9.0), rgb(*colour))?;
            outline(surface, (x, y - 9.0), (x + 28.0, y + 9.0))?;
            surface.text((x + 38.0, y), 17.0, Anchor::Start, INK, words)?;
            let at = self.axis.at(start.celsius());
            if index > 0 {
                surface.line(&[(at, BAR.0), (at, BAR.1)], Stroke::solid(INK, 1.2))?;
            }
            let next = usize::try_from(index + 1)
                .ok()
                .and_then(|next| entries.get(next));
            let end = next.map_or(self.axis.end, |next| self.axis.at(next.1.celsius()));
            if end - at > 16.0 {
                let ink = ink_on(*colour);
                let middle = (0.5 * (at + end), BAR.1 - 20.0);
                surface.text(middle, 17.0, Anchor::Middle, ink, number)?;
            }
        }
        Ok(())
    }
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
