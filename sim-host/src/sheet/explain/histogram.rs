//! The temperatures of a picture: how many pixels stand at each, with the grey scale drawn below.

use plotters::style::RGBColor;

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
/// From a row of the key to the next.
const ROW: f64 = 20.0;
/// Middle of the first row of the key.
const KEY: f64 = 44.0;
/// Length of a dashed sample in the key, and where its words start.
const SAMPLE: f64 = 30.0;
const WORDS: f64 = SAMPLE + 20.0;
/// Width of a letter at a line, with its margin.
const LETTER: f64 = 15.0;
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

    /// Power of ten at which the axis of shares starts: one pixel alone must still show.
    fn lowest(&self, bins: &[f64]) -> f64 {
        let shown = bins.iter().copied().filter(|share| *share > 0.0);
        (shown.fold(100.0, f64::min).log10() - 0.3).floor()
    }

    fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let (width, height) = surface.size();
        let base = height - below(surface, LABEL) - STRIP - GAP;
        let bins = self.bins(floor_index((width - 100.0) / BAR_WIDTH, 400).max(1));
        let lowest = self.lowest(&bins);
        let widest = surface.text_width(NUMBERS, &decade(lowest));
        let x = Axis::new(self.range_c, (32.0 + widest, width - 16.0));
        let named = named(&self.lines, x);
        let key = key(surface, &named);
        let letters = key.last().map_or(KEY, |place| place.1 + ROW);
        let top = letters + 26.0;
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
        draw_key(surface, &named, &key)?;
        draw_lines(surface, &named, base, letters)?;
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
}

/// A named temperature with its letter.
struct Named {
    letter: char,
    words: String,
    /// Where its line stands, pixels.
    at: f64,
    stroke: Stroke,
}

/// The named temperatures that the axis holds, from cold to hot.
fn named(lines: &[(String, Kelvin)], x: Axis) -> Vec<Named> {
    let shown = lines.iter().filter(|line| x.contains(line.1.celsius()));
    let mut shown: Vec<_> = shown.collect();
    shown.sort_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let lettered = ('A'..='Z').zip(DASHES.into_iter().cycle()).zip(shown);
    let one = |((letter, dash), (name, kelvin)): ((char, _), &(String, Kelvin))| Named {
        letter,
        words: format!("{name} {kelvin}"),
        at: x.at(kelvin.celsius()),
        stroke: Stroke {
            colour: INK,
            width: 1.5,
            dash,
        },
    };
    lettered.map(one).collect()
}

/// Left end and middle height of each entry of the key: side by side where there is room.
fn key(surface: &dyn Surface, named: &[Named]) -> Vec<(f64, f64)> {
    let (width, _) = surface.size();
    let mut next = (12.0, KEY);
    let place = |one: &Named| {
        let wide = WORDS + surface.text_width(NUMBERS, &one.words);
        if next.0 > 12.0 && next.0 + wide > width - 4.0 {
            next = (12.0, next.1 + ROW);
        }
        let here = next;
        next.0 += wide + 14.0;
        here
    };
    named.iter().map(place).collect()
}

/// Places of the letters over their lines, moved apart where lines are close together.
fn apart(lines: &[f64]) -> Vec<f64> {
    let mut right = lines.to_vec();
    for i in 1..right.len() {
        right[i] = right[i].max(right[i - 1] + LETTER);
    }
    let mut left = lines.to_vec();
    for i in (1..left.len()).rev() {
        left[i - 1] = left[i - 1].min(left[i] - LETTER);
    }
    let both = right.into_iter().zip(left);
    both.map(|(right, left)| 0.5 * (right + left)).collect()
}

fn draw_key(
    surface: &mut dyn Surface,
    named: &[Named],
    places: &[(f64, f64)],
) -> Result<(), PlotError> {
    for (one, (left, y)) in named.iter().zip(places) {
        let letter = one.letter.to_string();
        surface.text((*left, *y), NUMBERS, Anchor::Start, INK, &letter)?;
        let sample = [(left + 14.0, *y), (left + 14.0 + SAMPLE, *y)];
        surface.line(&sample, one.stroke)?;
        surface.text((left + WORDS, *y), NUMBERS, Anchor::Start, INK, &one.words)?;
    }
    Ok(())
}

/// Every line from the base up, with its letter at a height.
fn draw_lines(
    surface: &mut dyn Surface,
    named: &[Named],
    base: f64,
    letters: f64,
) -> Result<(), PlotError> {
    let lines: Vec<_> = named.iter().map(|one| one.at).collect();
    for (one, place) in named.iter().zip(apart(&lines)) {
        let line = [
            (place, letters + 9.0),
            (one.at, letters + 17.0),
            (one.at, base),
        ];
        surface.line(&line, one.stroke)?;
        let letter = one.letter.to_string();
        surface.text((place, letters), NUMBERS, Anchor::Middle, INK, &letter)?;
    }
    Ok(())
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
        assert!(figure.drawing.wide.contains("100 %") && !figure.drawing.wide.contains("white"));
    }

    // By hand: three lines 2 pixels apart and one far off; letters are 15 pixels wide.
    #[test]
    fn letters_of_close_lines_stand_apart_and_in_order() {
        let places = apart(&[100.0, 102.0, 104.0, 300.0]);
        assert!(places.windows(2).all(|pair| pair[1] - pair[0] >= LETTER));
        assert!((places[1] - 102.0).abs() < 1e-9 && (places[3] - 300.0).abs() < 1e-9);
        assert!(apart(&[]).is_empty());
    }
}
