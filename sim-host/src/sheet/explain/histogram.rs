//! The temperatures of a picture: how many pixels stand at each, with the grey scale drawn below.

use plotters::style::{RGBColor, WHITE};

use super::transfer::Transfer;
use crate::measure::reading::real;
use crate::plot::axes::draw_below;
use crate::plot::axis::Axis;
use crate::plot::canvas::{Anchor, INK, RULE, SOFT, Stroke, Surface, draw_pixels, draw_svg};
use crate::plot::{PLOT_SIZE, PlotError};
use crate::sheet::Figure;
use crate::temperature::Kelvin;
use crate::world::rounding::{floor_index, to_u16};

const BINS: usize = 90;
const BASE: f64 = 372.0;
const TOP: f64 = 112.0;
const STRIP: f64 = 22.0;
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
    pub(super) fn figure(&self, caption: String) -> Result<Figure, PlotError> {
        Ok(Figure {
            svg: draw_svg(PLOT_SIZE, &self.title, |surface| self.draw(surface))?,
            image: draw_pixels(PLOT_SIZE, |surface| self.draw(surface))?,
            caption,
        })
    }

    /// Pixels in each bin as percent of all.
    fn bins(&self) -> Vec<f64> {
        let (from, to) = self.range_c;
        let mut bins = vec![0.0; BINS];
        for kelvin in self.kelvin {
            let at = (Kelvin(*kelvin).celsius() - from) / (to - from) * real(BINS);
            bins[floor_index(at, BINS - 1)] += 1.0;
        }
        let all = real(self.kelvin.len()).max(1.0);
        bins.into_iter().map(|count| 100.0 * count / all).collect()
    }

    fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let (width, _) = surface.size();
        let x = Axis::new(self.range_c, (96.0, width - 26.0));
        let bins = self.bins();
        // One pixel alone must still show: the axis starts a decade below it.
        let least = bins
            .iter()
            .copied()
            .filter(|share| *share > 0.0)
            .fold(100.0, f64::min);
        let y = Axis::new(((least.log10() - 0.3).floor(), 2.0), (BASE, TOP));
        surface.text((20.0, 24.0), 17.0, Anchor::Start, INK, &self.title)?;
        for (power, _) in y
            .ticks(12.0)
            .into_iter()
            .filter(|tick| (tick.0 - tick.0.round()).abs() < 1e-6)
        {
            let at = y.at(power);
            surface.line(&[(x.start, at), (x.end, at)], Stroke::solid(RULE, 1.0))?;
            let label = format!("{} %", 10f64.powf(power.round()));
            surface.text((x.start - 8.0, at), 12.5, Anchor::End, SOFT, &label)?;
        }
        surface.text_upward(
            (19.0, 0.5 * (BASE + TOP)),
            13.5,
            INK,
            "share of the picture",
        )?;
        let step = (x.end - x.start) / real(BINS);
        for (index, share) in bins.iter().enumerate().filter(|bin| *bin.1 > 0.0) {
            let left = x.start + step * real(index);
            surface.rectangle(
                (left + 0.5, y.at(share.log10())),
                (left + step - 0.5, BASE),
                BAR,
            )?;
        }
        self.strip(surface, x)?;
        self.named(surface, x)?;
        draw_below(surface, x, BASE + STRIP + 4.0, "apparent temperature (°C)")
    }

    /// The grey that each temperature gets.
    fn strip(&self, surface: &mut dyn Surface, x: Axis) -> Result<(), PlotError> {
        let (top, bottom) = (BASE + 4.0, BASE + STRIP + 4.0);
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
        let frame = [
            (x.start, top),
            (x.end, top),
            (x.end, bottom),
            (x.start, bottom),
            (x.start, top),
        ];
        surface.line(&frame, Stroke::solid(SOFT, 1.0))?;
        surface.text(
            (x.start - 8.0, 0.5 * (top + bottom)),
            12.5,
            Anchor::End,
            INK,
            "grey",
        )
    }

    fn named(&self, surface: &mut dyn Surface, x: Axis) -> Result<(), PlotError> {
        let (width, _) = surface.size();
        for (row, (name, kelvin)) in self.lines.iter().enumerate() {
            let celsius = kelvin.celsius();
            if !x.contains(celsius) {
                continue;
            }
            let at = x.at(celsius);
            let y = 48.0 + 21.0 * real(row);
            let stroke = Stroke {
                colour: INK,
                width: 1.5,
                dash: DASHES[row % DASHES.len()],
            };
            surface.line(&[(at, y), (at, BASE)], stroke)?;
            let text = format!("{name} {kelvin}");
            let wide = surface.text_width(13.0, &text);
            let left = if at + 8.0 + wide < width {
                at + 6.0
            } else {
                at - 6.0 - wide
            };
            surface.rectangle((left - 2.0, y - 9.0), (left + wide, y + 9.0), WHITE)?;
            surface.text((left, y), 13.0, Anchor::Start, INK, &text)?;
        }
        Ok(())
    }
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
        let bins = histogram.bins();
        assert!(
            (bins[9] - 50.0).abs() < 1e-9
                && (bins[45] - 25.0).abs() < 1e-9
                && (bins[89] - 25.0).abs() < 1e-9
        );
        let figure = histogram.figure(String::new()).unwrap();
        assert!(figure.svg.contains("100 %") && !figure.svg.contains("white"));
    }
}
