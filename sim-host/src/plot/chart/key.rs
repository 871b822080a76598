//! The words of a chart with bands: onset, overlay and a key of the bands.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, Fill, Overlay, ScaleLaw};
use plotters::style::{RGBColor, WHITE};

use super::{BAR, Chart, GREYS, ROW, ROWS_TOP};
use crate::plot::PlotError;
use crate::plot::canvas::{Anchor, INK, SOFT, Stroke, Surface, outline};
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
        surface.line(&[(x, 106.0), (x, BAR.0 - 28.0)], Stroke::solid(INK, 2.0))?;
        surface.line(&[(x, BAR.0), (x, BAR.1)], Stroke::solid(INK, 2.0))?;
        surface.line(
            &[(x, BAR.0), (x, BAR.1)],
            Stroke {
                colour: WHITE,
                width: 2.0,
                dash: &[5.0, 5.0],
            },
        )?;
        surface.fill(&[(x - 7.0, 106.0), (x + 7.0, 106.0), (x, 117.0)], INK)?;
        let starts = format!("Colour starts at {}", Kelvin::from_celsius(onset));
        place(surface, (x, 94.0), 17.0, INK, &starts)?;

        let hysteresis = f64::from(plan.hysteresis_k32) / 32.0;
        if hysteresis > 0.0 {
            let (from, y) = (self.axis.at(onset - hysteresis), 246.0);
            let bracket = [(from, y), (from, y + 6.0), (x, y + 6.0), (x, y)];
            surface.line(&bracket, Stroke::solid(INK, 1.6))?;
            let words = format!(
                "hysteresis: a coloured pixel turns grey again below {}",
                Kelvin::from_celsius(onset - hysteresis)
            );
            place(surface, (0.5 * (from + x), y + 19.0), 13.5, INK, &words)?;
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
        surface.text((60.0, ROWS_TOP - 14.0), 14.0, Anchor::Start, INK, &words)?;
        for (row, grey) in (0u32..).zip(GREYS) {
            let top = ROWS_TOP + ROW * f64::from(row);
            self.strip(surface, (top, top + ROW), |at| self.overlaid(at, grey))?;
            let label = format!("grey {grey}");
            surface.text((54.0, top + 0.5 * ROW), 12.0, Anchor::End, SOFT, &label)?;
        }
        Ok(())
    }

    /// One entry a band: number, colour, start, course.
    pub(super) fn key(&self, surface: &mut dyn Surface, plan: &BandPlan) -> Result<(), PlotError> {
        let mut entries = vec![];
        for (index, band) in plan.bands.iter().enumerate() {
            let end = plan.bands.get(index + 1).map(|next| next.start);
            let end = end.or(plan.ramp_end.map(|end| end.temperature));
            let course = match (band.fill, end) {
                (Fill::Ramp, Some(end)) => format!("ramp to {}", Kelvin::from(end).whole()),
                _ => "flat".to_owned(),
            };
            let start = Kelvin::from(band.start);
            entries.push((
                band.colour,
                start,
                format!("{}  from {}, {course}", index + 1, start.whole()),
            ));
        }
        if let Some(ceiling) = plan.ceiling {
            let start = Kelvin::from(ceiling.start);
            let words = format!("ceiling  from {}: nothing more can be told", start.whole());
            entries.push((ceiling.colour, start, words));
        }
        let rows = u32::try_from(entries.len().div_ceil(3)).unwrap_or(0);
        for (number, (colour, start, words)) in (0u32..).zip(entries) {
            let (column, row) = (number % 3, number / 3);
            let (x, y) = (
                60.0 + 366.0 * f64::from(column),
                440.0 + 26.0 * f64::from(row),
            );
            surface.rectangle((x, y - 8.0), (x + 26.0, y + 8.0), rgb(colour))?;
            outline(surface, (x, y - 8.0), (x + 26.0, y + 8.0))?;
            surface.text((x + 34.0, y), 13.5, Anchor::Start, INK, &words)?;
            let at = self.axis.at(start.celsius());
            if number > 0 {
                surface.line(&[(at, BAR.0), (at, BAR.1)], Stroke::solid(INK, 1.2))?;
            }
        }
        let law = match self.spec.scale.law {
            ScaleLaw::Fixed => "Grey below the onset as the fixed scale gives it.",
            _ => {
                "Grey below the onset as for the scale at start; the scale then follows the scene, the colours do not."
            }
        };
        surface.text(
            (60.0, 442.0 + 26.0 * f64::from(rows)),
            13.0,
            Anchor::Start,
            SOFT,
            law,
        )
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
