//! Axes drawn: ticks, numbers, labels, and °F beside every scale of °C.
//!
//! The unit stands at the end of a label: `"apparent temperature (°C)"` or `"luminance, cd/m²"`. A label whose
//! unit is °C makes a temperature axis: it carries a second scale in °F with round numbers of its own.

use super::PlotError;
use super::axis::Axis;
use super::canvas::{Anchor, INK, RULE, SOFT, Stroke, Surface, broken, fit};
use crate::world::rounding::count_f64;

/// Size of the numbers at the ticks, CSS pixels.
const NUMBERS: f64 = 12.5;
/// Size of the labels, CSS pixels.
const LABELS: f64 = 13.5;
/// From the axis to the middle of its numbers.
const ROW: f64 = 15.0;
/// From a line of a label to the next.
const LINE: f64 = 17.0;
/// From the scale in °C to the scale in °F below it.
const SECOND: f64 = 29.0;

/// The label without its unit, when the unit is °C.
fn celsius_label(label: &str) -> Option<&str> {
    let words = label
        .strip_suffix("(°C)")
        .or_else(|| label.strip_suffix("°C"))?;
    Some(words.trim_end().trim_end_matches(',').trim_end())
}

/// Two axes with their labels, placed so that all numbers find room.
pub(crate) struct Axes<'a> {
    pub(crate) x: Axis,
    pub(crate) y: Axis,
    x_label: &'a str,
    y_label: &'a str,
}

impl<'a> Axes<'a> {
    /// Lays axes with these ends of values over a surface; the plot starts at `top`.
    pub(crate) fn place(
        surface: &dyn Surface,
        x: (f64, f64),
        y: (f64, f64),
        (x_label, y_label): (&'a str, &'a str),
        top: f64,
    ) -> Self {
        let (width, height) = surface.size();
        let narrow = surface.is_narrow();
        let y = Axis::new(y, (height - below(surface, x_label), top));
        let widest = |numbers: Vec<(f64, String)>| {
            let widths = numbers
                .iter()
                .map(|number| surface.text_width(NUMBERS, &number.1));
            widths.fold(0.0, f64::max)
        };
        let right = match celsius_label(y_label) {
            Some(_) => 14.0 + widest(right_numbers(y, narrow)),
            None => 0.0,
        };
        let left = widest(left_numbers(y, y_label, narrow));
        // On a phone the label stands above; the unit of the scale below needs some room.
        let ends = if narrow {
            ((14.0 + left).max(44.0), width - 14.0 - right)
        } else {
            (52.0 + left, width - 26.0 - right)
        };
        Self {
            x: Axis::new(x, ends),
            y,
            x_label,
            y_label,
        }
    }

    /// Draws rules, scales and labels.
    pub(crate) fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let Self { x, y, .. } = *self;
        let narrow = surface.is_narrow();
        for (value, label) in left_numbers(y, self.y_label, narrow) {
            let at = y.at(value);
            surface.line(&[(x.start, at), (x.end, at)], Stroke::solid(RULE, 1.0))?;
            surface.text((x.start - 8.0, at), NUMBERS, Anchor::End, SOFT, &label)?;
        }
        if celsius_label(self.y_label).is_some() {
            let fahrenheit = y.fahrenheit();
            let edge = [(x.end, y.start), (x.end, y.end)];
            surface.line(&edge, Stroke::solid(SOFT, 1.2))?;
            for (value, label) in right_numbers(y, narrow) {
                let at = fahrenheit.at(value);
                let tick = [(x.end, at), (x.end + 5.0, at)];
                surface.line(&tick, Stroke::solid(SOFT, 1.0))?;
                surface.text((x.end + 9.0, at), NUMBERS, Anchor::Start, SOFT, &label)?;
            }
        }
        if !narrow {
            let (_, height) = surface.size();
            let words = shown(self.y_label);
            let size = fit(surface, LABELS, height - 16.0, &words);
            let half = 0.5 * surface.text_width(size, &words) + 4.0;
            let middle = (0.5 * (y.start + y.end)).clamp(half, height - half);
            surface.text_upward((19.0, middle), size, INK, &words)?;
        }
        draw_below(surface, x, y.start, self.x_label)
    }
}

/// Writes the label of the upright axis above the plot, where that is its place, and gives the height used.
pub(crate) fn label_above(
    surface: &mut dyn Surface,
    (left, top): (f64, f64),
    label: &str,
) -> Result<f64, PlotError> {
    if !surface.is_narrow() {
        return Ok(0.0);
    }
    let words = celsius_label(label).map_or_else(
        || label.to_owned(),
        |words| format!("{words}, left\u{a0}°C, right\u{a0}°F"),
    );
    let (width, _) = surface.size();
    let mut y = top;
    for line in broken(surface, LABELS, width - 2.0 * left, &words) {
        let at = (left, y + 0.5 * LINE);
        surface.text(at, LABELS, Anchor::Start, INK, &line)?;
        y += LINE;
    }
    Ok(y - top)
}

/// The lines of the label below an axis.
fn lines_below(surface: &dyn Surface, label: &str) -> Vec<String> {
    let (width, _) = surface.size();
    broken(surface, LABELS, width - 16.0, &shown(label))
}

/// Height that [`draw_below`] needs for a label.
pub(crate) fn below(surface: &dyn Surface, label: &str) -> f64 {
    let second = celsius_label(label).map_or(0.0, |_| SECOND);
    39.0 + second + LINE * count_f64(lines_below(surface, label).len())
}

/// Draws a horizontal axis at a height: ticks and numbers below it, then the label. An axis of °C gets a second
/// scale in °F.
pub(crate) fn draw_below(
    surface: &mut dyn Surface,
    axis: Axis,
    y: f64,
    label: &str,
) -> Result<(), PlotError> {
    scale_below(surface, axis, y, celsius_label(label).map(|_| "°C"))?;
    if celsius_label(label).is_some() {
        scale_below(surface, axis.fahrenheit(), y + SECOND, Some("°F"))?;
    }
    let (width, _) = surface.size();
    let mut line_y = y + below(surface, label) - 17.0;
    for line in lines_below(surface, label).iter().rev() {
        let half = 0.5 * surface.text_width(LABELS, line) + 4.0;
        let middle = (0.5 * (axis.start + axis.end)).clamp(half, (width - half).max(half));
        surface.text((middle, line_y), LABELS, Anchor::Middle, INK, line)?;
        line_y -= LINE;
    }
    Ok(())
}

/// One horizontal scale, with its unit at the left.
fn scale_below(
    surface: &mut dyn Surface,
    axis: Axis,
    y: f64,
    unit: Option<&str>,
) -> Result<(), PlotError> {
    surface.line(&[(axis.start, y), (axis.end, y)], Stroke::solid(SOFT, 1.2))?;
    for (value, label) in axis.ticks(crowd(axis, 46.0, 8.0)) {
        let at = axis.at(value);
        surface.line(&[(at, y), (at, y + 5.0)], Stroke::solid(SOFT, 1.0))?;
        surface.text((at, y + ROW), NUMBERS, Anchor::Middle, SOFT, &label)?;
    }
    match unit {
        Some(unit) => {
            let at = (axis.start - 22.0, y + ROW);
            surface.text(at, NUMBERS, Anchor::End, INK, unit)
        }
        None => Ok(()),
    }
}

/// Draws the scales of a strip that runs over apparent temperature: °C above it, °F below.
///
/// `axis` is in °C; `strip` holds the top and the bottom of the strip.
pub(crate) fn draw_around(
    surface: &mut dyn Surface,
    axis: Axis,
    (top, bottom): (f64, f64),
) -> Result<(), PlotError> {
    let (numbers, unit, wanted, out) = if surface.is_narrow() {
        (12.5, 13.5, 4.0, 15.0)
    } else {
        (16.5, 18.0, 11.0, 34.0)
    };
    let tick = Stroke::solid(SOFT, 1.2);
    for (value, label) in axis.ticks(wanted) {
        let x = axis.at(value);
        surface.line(&[(x, top - 6.0), (x, top)], tick)?;
        surface.text((x, top - 16.0), numbers, Anchor::Middle, INK, &label)?;
    }
    let fahrenheit = axis.fahrenheit();
    for (value, label) in fahrenheit.ticks(wanted) {
        let x = fahrenheit.at(value);
        surface.line(&[(x, bottom), (x, bottom + 6.0)], tick)?;
        surface.text((x, bottom + 17.0), numbers, Anchor::Middle, INK, &label)?;
    }
    let beside = axis.end + out;
    surface.text((beside, top - 16.0), unit, Anchor::Middle, INK, "°C")?;
    surface.text((beside, bottom + 17.0), unit, Anchor::Middle, INK, "°F")
}

/// About how many ticks an axis has room for, one in `every` pixels, at most `most`.
fn crowd(axis: Axis, every: f64, most: f64) -> f64 {
    ((axis.end - axis.start).abs() / every).clamp(2.0, most)
}

/// Numbers of an upright axis; on a phone its label says the unit.
fn left_numbers(axis: Axis, label: &str, narrow: bool) -> Vec<(f64, String)> {
    match celsius_label(label) {
        Some(_) if !narrow => numbers(axis, " °C"),
        _ => numbers(axis, ""),
    }
}

fn right_numbers(axis: Axis, narrow: bool) -> Vec<(f64, String)> {
    numbers(axis.fahrenheit(), if narrow { "" } else { " °F" })
}

fn numbers(axis: Axis, unit: &str) -> Vec<(f64, String)> {
    let ticks = axis.ticks(crowd(axis, 36.0, 6.0)).into_iter();
    ticks
        .map(|(value, label)| (value, format!("{label}{unit}")))
        .collect()
}

/// The label as it is written: an axis of °C also says °F.
fn shown(label: &str) -> String {
    celsius_label(label).map_or_else(
        || label.to_owned(),
        |words| format!("{words}, °C\u{a0}and\u{a0}°F"),
    )
}

#[cfg(test)]
mod tests {
    use super::super::ruler::Ruler;
    use super::*;

    #[test]
    fn only_a_label_in_celsius_gets_a_second_scale() {
        assert_eq!(
            shown("apparent temperature (°C)"),
            "apparent temperature, °C\u{a0}and\u{a0}°F"
        );
        assert_eq!(
            shown("apparent temperature, °C"),
            "apparent temperature, °C\u{a0}and\u{a0}°F"
        );
        assert_eq!(shown("separation (JND)"), "separation (JND)");
        let ruler = Ruler::new((285, 300)).unwrap();
        assert!(below(&ruler, "temperature (°C)") > below(&ruler, "time (s)"));
        let long = "apparent temperature of the panel behind the bars (°C)";
        assert!(below(&ruler, long) > below(&ruler, "temperature (°C)"));
    }

    #[test]
    fn both_scales_of_a_horizontal_axis_are_round_and_meet() {
        let svg = super::super::canvas::draw_svg((400, 100), "axis", |surface| {
            let axis = Axis::new((0.0, 100.0), (60.0, 380.0));
            draw_below(surface, axis, 10.0, "apparent temperature (°C)")
        })
        .unwrap();
        // Source: definition of the Fahrenheit scale: 0 °C to 100 °C is 32 °F to 212 °F.
        for text in ["°C", "°F", "100", "50", "200"] {
            assert!(svg.contains(&format!("\n{text}\n")), "{text} in {svg}");
        }
        assert!(!svg.contains("\n212\n"), "{svg}");
    }
}
