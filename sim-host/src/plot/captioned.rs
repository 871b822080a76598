//! A plot with lines of text under it, as one picture that can be printed or shown alone.

use image::RgbImage;
use plotters::style::RGBColor;

use super::canvas::{self, Anchor, INK, RULE, SOFT, Stroke, Surface, broken};
use super::ruler::Ruler;
use super::{PlotError, lines};
use crate::measure::Plot;

const WIDTH: u32 = 1100;
const PLOT_HEIGHT: u32 = 600;
const LEFT: f64 = 24.0;
const ROW: f64 = 20.0;

/// A line of text under a plot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// A heading, with a rule above it.
    Heading(String),
    /// Cells of a table row; columns are as wide as their widest cell.
    Row(Vec<String>),
    /// Running text, broken where it is too long.
    Text(String),
}

/// Draws a plot with text under it as RGB pixels.
///
/// # Errors
/// As [`super::png`].
pub fn png(plot: &Plot, text: &[Line]) -> Result<RgbImage, PlotError> {
    // The height is not known before the text is broken.
    let height = write(&mut Ruler::new((WIDTH, 8))?, text, 0.0)?;
    let whole = u32::try_from(canvas::device(height + 16.0)).unwrap_or(0);
    canvas::draw_pixels((WIDTH, PLOT_HEIGHT + whole), |surface| {
        lines::Drawing(plot).draw(&mut Upper(surface))?;
        write(surface, text, f64::from(PLOT_HEIGHT)).map(drop)
    })
}

/// Left ends of the columns of all rows together.
fn columns(surface: &dyn Surface, text: &[Line]) -> Vec<f64> {
    let mut widths: Vec<f64> = vec![];
    for line in text {
        if let Line::Row(cells) = line {
            for (index, cell) in cells.iter().enumerate() {
                let width = surface.text_width(13.0, cell) + 14.0;
                match widths.get_mut(index) {
                    Some(known) => *known = known.max(width),
                    None => widths.push(width),
                }
            }
        }
    }
    let mut left = LEFT;
    widths
        .into_iter()
        .map(|width| {
            let start = left;
            left += width;
            start
        })
        .collect()
}

/// Writes the lines from `top` down and gives the height used.
fn write(surface: &mut dyn Surface, text: &[Line], top: f64) -> Result<f64, PlotError> {
    let starts = columns(surface, text);
    let right = f64::from(WIDTH) - LEFT;
    let mut y = top;
    let put = |surface: &mut dyn Surface, x: f64, y: f64, size: f64, ink: RGBColor, text: &str| {
        surface.text((x, y), size, Anchor::Start, ink, text)
    };
    for line in text {
        match line {
            Line::Heading(heading) => {
                y += 8.0;
                surface.line(&[(LEFT, y), (right, y)], Stroke::solid(RULE, 1.0))?;
                put(surface, LEFT, y + 14.0, 15.0, INK, heading)?;
                y += 28.0;
            }
            Line::Row(cells) => {
                for (cell, x) in cells.iter().zip(&starts) {
                    put(surface, *x, y + 0.5 * ROW, 13.0, INK, cell)?;
                }
                y += ROW;
            }
            Line::Text(long) => {
                for piece in broken(surface, 13.0, right - LEFT, long) {
                    put(surface, LEFT, y + 0.5 * ROW, 13.0, SOFT, &piece)?;
                    y += ROW;
                }
                y += 3.0;
            }
        }
    }
    Ok(y - top)
}

/// The upper part of a surface, as if it were the whole.
struct Upper<'s>(&'s mut dyn Surface);

impl Surface for Upper<'_> {
    fn size(&self) -> (f64, f64) {
        (f64::from(WIDTH), f64::from(PLOT_HEIGHT))
    }

    fn line(&mut self, points: &[(f64, f64)], stroke: Stroke) -> Result<(), PlotError> {
        self.0.line(points, stroke)
    }

    fn fill(&mut self, corners: &[(f64, f64)], colour: RGBColor) -> Result<(), PlotError> {
        self.0.fill(corners, colour)
    }

    fn rectangle(
        &mut self,
        from: (f64, f64),
        to: (f64, f64),
        colour: RGBColor,
    ) -> Result<(), PlotError> {
        self.0.rectangle(from, to, colour)
    }

    fn disc(&mut self, centre: (f64, f64), radius: f64, colour: RGBColor) -> Result<(), PlotError> {
        self.0.disc(centre, radius, colour)
    }

    fn text(
        &mut self,
        at: (f64, f64),
        size: f64,
        anchor: Anchor,
        colour: RGBColor,
        text: &str,
    ) -> Result<(), PlotError> {
        self.0.text(at, size, anchor, colour, text)
    }

    fn text_upward(
        &mut self,
        at: (f64, f64),
        size: f64,
        colour: RGBColor,
        text: &str,
    ) -> Result<(), PlotError> {
        self.0.text_upward(at, size, colour, text)
    }

    fn text_width(&self, size: f64, text: &str) -> f64 {
        self.0.text_width(size, text)
    }
}
