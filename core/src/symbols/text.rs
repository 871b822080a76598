//! Short texts on plates, drawn so large that water on a visor does not close the letters.

use embedded_graphics::Drawable;
use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Dimensions, Point, Size};
use embedded_graphics::mono_font::MonoTextStyle;
use embedded_graphics::mono_font::iso_8859_1::FONT_5X8;
use embedded_graphics::pixelcolor::RgbColor;
use embedded_graphics::primitives::Rectangle;
use embedded_graphics::text::{Baseline, Text};
use heapless::String;

use super::TemperatureUnit;
use crate::fixedpoint::div_round_i64;
use crate::units::Temperature;

/// Letters of the longest text.
pub(super) const MOST: usize = 32;
/// Columns and rows of a letter before it is magnified.
const LETTER: (u32, u32) = (5, 8);

/// Where and how large symbols are, from the size of the picture.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grid {
    pub(super) width: i32,
    pub(super) height: i32,
    /// Width of every stroke, pixels.
    pub(super) stroke: i32,
}

impl Grid {
    /// Two pixels a stroke at 240 rows, more at more rows.
    pub(super) fn new(size: Size) -> Self {
        let stroke = size.height.saturating_sub(119).div_ceil(120).clamp(1, 16);
        Self {
            width: signed(size.width),
            height: signed(size.height),
            stroke: signed(stroke),
        }
    }

    /// Size of the plate of a text.
    pub(super) fn plate(self, text: &str) -> (i32, i32) {
        let letters = signed(u32::try_from(text.chars().count()).unwrap_or(0));
        let (w, h) = (signed(LETTER.0), signed(LETTER.1));
        // A stroke of ground on each side; letters end with one of their own.
        ((letters * w + 1) * self.stroke, (h + 2) * self.stroke)
    }

    /// Letters that fit into a number of columns.
    pub(super) fn letters(self, columns: i32) -> usize {
        let letter = signed(LETTER.0) * self.stroke;
        usize::try_from((columns - self.stroke).max(0) / letter).unwrap_or(0)
    }
}

fn signed(x: u32) -> i32 {
    i32::try_from(x).unwrap_or(i32::MAX)
}

pub(super) fn size(width: i32, height: i32) -> Size {
    let side = |x: i32| u32::try_from(x).unwrap_or(0);
    Size::new(side(width), side(height))
}

/// Draws each pixel as a square.
struct Magnified<'d, D> {
    target: &'d mut D,
    origin: Point,
    factor: i32,
}

impl<D: DrawTarget> Dimensions for Magnified<'_, D> {
    fn bounding_box(&self) -> Rectangle {
        self.target.bounding_box()
    }
}

impl<D: DrawTarget> DrawTarget for Magnified<'_, D> {
    type Color = D::Color;
    type Error = D::Error;

    fn draw_iter<I>(&mut self, pixels: I) -> Result<(), D::Error>
    where
        I: IntoIterator<Item = Pixel<D::Color>>,
    {
        for Pixel(point, colour) in pixels {
            let area = Rectangle::new(
                self.origin + point * self.factor,
                size(self.factor, self.factor),
            );
            self.target.fill_solid(&area, colour)?;
        }
        Ok(())
    }
}

/// Draws a text on its plate, whose top left corner is given.
pub(super) fn plate<D>(
    target: &mut D,
    grid: Grid,
    at: Point,
    text: &str,
    (ink, ground): (D::Color, D::Color),
) -> Result<(), D::Error>
where
    D: DrawTarget<Color: RgbColor>,
{
    let (width, height) = grid.plate(text);
    target.fill_solid(&Rectangle::new(at, size(width, height)), ground)?;
    let mut letters = Magnified {
        target,
        origin: at + Point::new(grid.stroke, grid.stroke),
        factor: grid.stroke,
    };
    let style = MonoTextStyle::new(&FONT_5X8, ink);
    Text::with_baseline(text, Point::zero(), style, Baseline::Top).draw(&mut letters)?;
    Ok(())
}

/// As [`plate`], with a rim of a stroke in the ink's colour around it: a white plate must not run into
/// the white bars of a struck-out picture, nor into a white one.
pub(super) fn rimmed_plate<D>(
    target: &mut D,
    grid: Grid,
    at: Point,
    text: &str,
    (ink, ground): (D::Color, D::Color),
) -> Result<(), D::Error>
where
    D: DrawTarget<Color: RgbColor>,
{
    let (width, height) = grid.plate(text);
    let rim = size(width + 2 * grid.stroke, height + 2 * grid.stroke);
    let corner = at - Point::new(grid.stroke, grid.stroke);
    target.fill_solid(&Rectangle::new(corner, rim), ink)?;
    plate(target, grid, at, text, (ink, ground))
}

/// As much of a text as a number of letters holds, to the end of a word if there is more than one.
pub(super) fn fitting(text: &str, letters: usize) -> &str {
    let Some((end, _)) = text.char_indices().nth(letters) else {
        return text;
    };
    let (cut, rest) = text.split_at(end);
    if rest.starts_with(' ') {
        return cut;
    }
    cut.rsplit_once(' ')
        .map_or(cut, |(words, _)| words)
        .trim_end()
}

/// A temperature in whole degrees, such as `160°C`.
pub(super) fn degrees(temperature: Temperature, unit: TemperatureUnit) -> String<MOST> {
    let (whole, letter) = match unit {
        TemperatureUnit::Celsius => (div_round_i64(temperature.to_millicelsius(), 1000), 'C'),
        TemperatureUnit::Fahrenheit => {
            let milli = temperature.to_millikelvin() * 9 - 459_670 * 5;
            (div_round_i64(milli, 5000), 'F')
        }
    };
    let mut text = String::new();
    push_number(&mut text, whole);
    // At most six characters before these two.
    let _ = text.push('°');
    let _ = text.push(letter);
    text
}

pub(super) fn push_number(text: &mut String<MOST>, number: i64) {
    let mut rest = number.unsigned_abs();
    let mut digits = [0u8; 20];
    let mut count = 0;
    for digit in &mut digits {
        *digit = u8::try_from(rest % 10).unwrap_or(0);
        count += 1;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    if number < 0 {
        let _ = text.push('-');
    }
    for digit in digits.iter().take(count).rev() {
        let _ = text.push(char::from(b'0' + digit));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_whole_in_both_units() {
        let at = |milli| Temperature::from_millicelsius(milli).unwrap();
        let cases = [
            (150_000, "150°C", "302°F"),
            (-20_000, "-20°C", "-4°F"),
            (0, "0°C", "32°F"),
            (1_750_000, "1750°C", "3182°F"),
            (-17_800, "-18°C", "0°F"),
        ];
        for (milli, celsius, fahrenheit) in cases {
            assert_eq!(degrees(at(milli), TemperatureUnit::Celsius), celsius);
            assert_eq!(degrees(at(milli), TemperatureUnit::Fahrenheit), fahrenheit);
        }
    }

    #[test]
    fn a_text_that_is_too_long_ends_with_a_word() {
        assert_eq!(fitting("Search", 15), "Search");
        assert_eq!(fitting("Built-in safe profile", 15), "Built-in safe");
        assert_eq!(fitting("Built-in safe profile", 13), "Built-in safe");
        assert_eq!(fitting("Built-in safe profile", 12), "Built-in");
        assert_eq!(fitting("Overhaul", 4), "Over");
        assert_eq!(fitting("Türöffnung lang", 10), "Türöffnung");
        assert_eq!(fitting("Overhaul", 0), "");
    }

    #[test]
    fn strokes_grow_with_the_picture() {
        let stroke = |w, h| Grid::new(Size::new(w, h)).stroke;
        assert_eq!(stroke(160, 120), 1);
        assert_eq!(stroke(320, 240), 2);
        assert_eq!(stroke(640, 480), 4);
        assert_eq!(stroke(1280, 1024), 8);
    }
}
