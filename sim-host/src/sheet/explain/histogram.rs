//! The temperatures of a picture: how many pixels stand at each, with the grey scale drawn below.

use plotters::style::{RGBColor, WHITE};

use super::transfer::Transfer;
use crate::measure::reading::real;
use crate::plot::PlotError;
use crate::plot::axes::{below, draw_below};
use crate::plot::axis::Axis;
use crate::plot::canvas::{Anchor, INK, RULE, SOFT, Stroke, Surface, fit, outline};
use crate::sheet::Figure;
use crate::temperature::Kelvin;
use crate::world::rounding::{floor_index, to_u16};

/// Label of the temperature axis.
const LABEL: &str = "apparent temperature (°C)";
/// Height of the strip of greys, and the gap above it.
const STRIP: f64 = 30.0;
const GAP: f64 = 4.0;
/// From a named line's label to the next.
const ROW: f64 = 20.0;
/// Size of the numbers.
const NUMBERS: f64 = 13.0;
/// Narrowest bar, pixels.
const BAR_WIDTH: f64 = 3.6;
const BAR: RGBColor = RGBColor(0x3b, 0x6e, 0x8f);
const DASHES: [&[f64]; 3] = [&[7.0, 4.0], &[2.0, 3.0], &[12.0, 4.0, 2.0, 4.0]];

/// What a histogram shows.
pub(super) struct Histogram<'a> {
    pub(super) title: String,
    /// Temperatures of the pixels, kelvin.
    pub(super) kelvin: &'a [f64],
    /// Ends of the temperature axis, °C.
    pub(super) range_c: (f64, f64),
    pub(super) transfer: &'a Transfer,
    /// Named temperatures, drawn as lines.
    pub(super) lines: Vec<(String, Kelvin)>,
}

impl Histogram<'_> {
    pub(super) fn figure(&self, caption: &str) -> Result<Figure, PlotError> {
        Figure::draw(&self.title, caption, |surface| self.draw(surface))
    }

    /// Pixels in each of so many bins as percent of all.
    fn bins(&self, count: usize) -> Vec<f64> {
        let (from, to) = self.range_c;
        let mut bins = vec![0.0; count];
        for kelvin in self.kelvin {
            let at = (Kelvin(*kelvin).celsius() - from) / (to - from) * real(count);
            bins[floor_index(at, count - 1)] += 1.0;
        }
        let all = real(self.kelvin.len()).max(1.0);
        bins.into_iter().map(|count| 100.0 * count / all).collect()
    }

    fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let (width, height) = surface.size();
        let base = height - below(LABEL) - STRIP - GAP;
        let top = 42.0 + ROW * real(self.lines.len());
        let across = floor_index((width - 100.0) / BAR_WIDTH, 400).max(1);
        let bins = self.bins(across);
        // One pixel alone must still show: the axis starts a decade below it.
        let least = bins
            .iter()
            .copied()
            .filter(|share| *share > 0.0)
            .fold(100.0, f64::min);
        let lowest = (least.log10() - 0.3).floor();
        let widest = surface.text_width(NUMBERS, &decade(lowest));
        let x = Axis::new(self.range_c, (32.0 + widest, width - 16.0));
        let y = Axis::new((lowest, 2.0), (base, top));
        let size = fit(surface, 16.0, width - 24.0, &self.title);
        surface.text((12.0, 20.0), size, Anchor::Start, INK, &self.title)?;
        for (power, _) in y
            .ticks(12.0)
            .into_iter()
            .filter(|tick| (tick.0 - tick.0.round()).abs() < 1e-6)
        {
            let at = y.at(power);
            surface.line(&[(x.start, at), (x.end, at)], Stroke::solid(RULE, 1.0))?;
            surface.text(
                (x.start - 6.0, at),
                NUMBERS,
                Anchor::End,
                SOFT,
                &decade(power),
            )?;
        }
        surface.text_upward(
            (14.0, 0.5 * (base + top)),
            13.5,
            INK,
            "share of the picture",
        )?;
        let step = (x.end - x.start) / real(bins.len());
        for (index, share) in bins.iter().enumerate().filter(|bin| *bin.1 > 0.0) {
            let left = x.start + step * real(index);
            surface.rectangle(
                (left + 0.5, y.at(share.log10())),
                (left + step - 0.5, base),
                BAR,
            )?;
        }
        self.strip(surface, x, base + GAP)?;
        self.named(surface, x, base)?;
        draw_below(surface, x, base + GAP + STRIP, LABEL)
    }

    /// The grey that each temperature gets.
    fn strip(&self, surface: &mut dyn Surface, x: Axis, top: f64) -> Result<(), PlotError> {
        let bottom = top + STRIP;
        // Each stretch is painted to the right end, so that no seam shows between two of them.
        let (mut at, mut last) = (x.start, None);
        while at < x.end {
            let grey = self
                .transfer
                .grey(Kelvin::from_celsius(x.value(at + 1.0)).0);
            let code = u8::try_from(to_u16(grey, 0, 255)).unwrap_or(u8::MAX);
            if last != Some(code) {
                surface.rectangle((at, top), (x.end, bottom), RGBColor(code, code, code))?;
                last = Some(code);
            }
            at += 2.0;
        }
        outline(surface, (x.start, top), (x.end, bottom))?;
        surface.text(
            (x.start - 8.0, 0.5 * (top + bottom)),
            13.5,
            Anchor::End,
            INK,
            "grey",
        )
    }

    fn named(&self, surface: &mut dyn Surface, x: Axis, base: f64) -> Result<(), PlotError> {
        let (width, _) = surface.size();
        for (row, (name, kelvin)) in self.lines.iter().enumerate() {
            let celsius = kelvin.celsius();
            if !x.contains(celsius) {
                continue;
            }
            let at = x.at(celsius);
            let y = 44.0 + ROW * real(row);
            let stroke = Stroke {
                colour: INK,
                width: 1.5,
                dash: DASHES[row % DASHES.len()],
            };
            surface.line(&[(at, y), (at, base)], stroke)?;
            let text = format!("{name} {kelvin}");
            let wide = surface.text_width(13.0, &text);
            let left = if at + 8.0 + wide < width {
                at + 6.0
            } else {
                (at - 6.0 - wide).max(4.0)
            };
            surface.rectangle((left - 2.0, y - 9.0), (left + wide, y + 9.0), WHITE)?;
            surface.text((left, y), 13.0, Anchor::Start, INK, &text)?;
        }
        Ok(())
    }
}

/// A power of ten as a share.
fn decade(power: f64) -> String {
    format!("{} %", 10f64.powf(power.round()))
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: two of four pixels at 10 °C, one at 50 °C, one at 99 °C, of 90 bins over 0 °C to 100 °C.
    #[test]
    fn bins_hold_percent_of_the_picture() {
        let spec = glowsill_core::profile::ProfileSpec::grey_example();
        let histogram = Histogram {
            title: "test".to_owned(),
            kelvin: &[283.15, 283.15, 323.15, 372.15],
            range_c: (0.0, 100.0),
            transfer: &Transfer::between(spec.scale.start_low.into(), spec.scale.start_high.into()),
            lines: vec![("white".to_owned(), Kelvin(423.15))],
        };
        let bins = histogram.bins(90);
        assert!(
            (bins[9] - 50.0).abs() < 1e-9
                && (bins[45] - 25.0).abs() < 1e-9
                && (bins[89] - 25.0).abs() < 1e-9
        );
        let figure = histogram.figure("").unwrap();
        assert!(figure.wide.contains("100 %") && !figure.wide.contains("white"));
    }
}
