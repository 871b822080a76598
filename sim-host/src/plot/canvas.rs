//! A surface in CSS pixels over the SVG and the pixel backends of plotters.

use std::sync::OnceLock;

use image::RgbImage;
use image::imageops::FilterType;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::register_font;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::PlotError;

/// Pixels are drawn this much larger and then reduced, which smooths slanted lines.
const OVERSAMPLING: u32 = 2;
/// Registered for pixels; in SVG the viewer's own sans-serif is used.
const FAMILY: &str = "sans-serif";

pub(crate) const INK: RGBColor = RGBColor(0x1d, 0x25, 0x2c);
pub(crate) const SOFT: RGBColor = RGBColor(0x45, 0x50, 0x58);
pub(crate) const RULE: RGBColor = RGBColor(0xe3, 0xe7, 0xea);

/// Where a text stands relative to its point.
#[derive(Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A stroke: colour, width and dash lengths in CSS pixels (none is solid).
#[derive(Clone, Copy)]
pub(crate) struct Stroke {
    pub(crate) colour: RGBColor,
    pub(crate) width: f64,
    pub(crate) dash: &'static [f64],
}

impl Stroke {
    pub(crate) const fn solid(colour: RGBColor, width: f64) -> Self {
        Self {
            colour,
            width,
            dash: &[],
        }
    }
}

/// What a drawing may ask of its surface.
pub(crate) trait Surface {
    fn size(&self) -> (f64, f64);
    fn line(&mut self, points: &[(f64, f64)], stroke: Stroke) -> Result<(), PlotError>;
    fn fill(&mut self, corners: &[(f64, f64)], colour: RGBColor) -> Result<(), PlotError>;
    fn rectangle(
        &mut self,
        from: (f64, f64),
        to: (f64, f64),
        colour: RGBColor,
    ) -> Result<(), PlotError>;
    fn disc(&mut self, centre: (f64, f64), radius: f64, colour: RGBColor) -> Result<(), PlotError>;
    /// Writes a text; the point is at half its height.
    fn text(
        &mut self,
        at: (f64, f64),
        size: f64,
        anchor: Anchor,
        colour: RGBColor,
        text: &str,
    ) -> Result<(), PlotError>;
    /// Writes a text that runs upward, centred on the point.
    fn text_upward(
        &mut self,
        at: (f64, f64),
        size: f64,
        colour: RGBColor,
        text: &str,
    ) -> Result<(), PlotError>;
    /// Width of a text, with some reserve for the fonts of other viewers.
    fn text_width(&self, size: f64, text: &str) -> f64;
    /// Whether it is laid out for a phone: labels then stand above the plot instead of beside it.
    fn is_narrow(&self) -> bool {
        self.size().0 < 350.0
    }
}

struct Canvas<DB: DrawingBackend> {
    area: DrawingArea<DB, Shift>,
    size: (u32, u32),
    scale: f64,
}

/// Rounds a position to a device pixel.
#[allow(
    clippy::cast_possible_truncation,
    reason = "positions are a few thousand pixels; the float cast saturates"
)]
pub(crate) fn device(position: f64) -> i32 {
    position.round() as i32
}

/// Rounds a length to device pixels, at least one.
fn device_width(width: f64) -> u32 {
    u32::try_from(device(width)).unwrap_or(1).max(1)
}

impl<DB: DrawingBackend> Canvas<DB> {
    fn point(&self, (x, y): (f64, f64)) -> (i32, i32) {
        (device(x * self.scale), device(y * self.scale))
    }

    fn put<'e, E>(&self, element: E) -> Result<(), PlotError>
    where
        E: 'e,
        for<'b> &'b E: plotters::element::PointCollection<'b, (i32, i32)>,
        E: plotters::element::Drawable<DB>,
    {
        self.area.draw(&element).map_err(failed)
    }
}

fn failed(error: impl std::fmt::Display) -> PlotError {
    PlotError::Draw(error.to_string())
}

impl<DB: DrawingBackend> Surface for Canvas<DB> {
    fn size(&self) -> (f64, f64) {
        (f64::from(self.size.0), f64::from(self.size.1))
    }

    fn line(&mut self, points: &[(f64, f64)], stroke: Stroke) -> Result<(), PlotError> {
        let style = stroke
            .colour
            .stroke_width(device_width(stroke.width * self.scale));
        for piece in dashes(points, stroke.dash) {
            let piece: Vec<_> = piece.into_iter().map(|point| self.point(point)).collect();
            self.put(PathElement::new(piece, style))?;
        }
        Ok(())
    }

    fn fill(&mut self, corners: &[(f64, f64)], colour: RGBColor) -> Result<(), PlotError> {
        let corners: Vec<_> = corners.iter().map(|corner| self.point(*corner)).collect();
        self.put(Polygon::new(corners, colour.filled()))
    }

    fn rectangle(
        &mut self,
        from: (f64, f64),
        to: (f64, f64),
        colour: RGBColor,
    ) -> Result<(), PlotError> {
        self.put(Rectangle::new(
            [self.point(from), self.point(to)],
            colour.filled(),
        ))
    }

    fn disc(&mut self, centre: (f64, f64), radius: f64, colour: RGBColor) -> Result<(), PlotError> {
        self.put(Circle::new(
            self.point(centre),
            device(radius * self.scale),
            colour.filled(),
        ))
    }

    fn text(
        &mut self,
        at: (f64, f64),
        size: f64,
        anchor: Anchor,
        colour: RGBColor,
        text: &str,
    ) -> Result<(), PlotError> {
        let side = match anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let style = (FAMILY, size * self.scale)
            .into_font()
            .color(&colour)
            .pos(Pos::new(side, VPos::Center));
        self.put(Text::new(text.to_owned(), self.point(at), style))
    }

    fn text_upward(
        &mut self,
        at: (f64, f64),
        size: f64,
        colour: RGBColor,
        text: &str,
    ) -> Result<(), PlotError> {
        let style = (FAMILY, size * self.scale)
            .into_font()
            .transform(FontTransform::Rotate270)
            .color(&colour)
            .pos(Pos::new(HPos::Center, VPos::Center));
        self.put(Text::new(text.to_owned(), self.point(at), style))
    }

    fn text_width(&self, size: f64, text: &str) -> f64 {
        text_width(size, text)
    }
}

/// See [`Surface::text_width`]; the font must have been prepared.
pub(super) fn text_width(size: f64, text: &str) -> f64 {
    let measured = (FAMILY, size * 4.0).into_font().box_size(text);
    measured.map_or(0.6 * size, |(width, _)| f64::from(width) / 4.0) * 1.12
}

/// Cuts a line into the drawn pieces of a dash pattern.
fn dashes(points: &[(f64, f64)], dash: &[f64]) -> Vec<Vec<(f64, f64)>> {
    let Some(first) = points.first() else {
        return vec![];
    };
    if dash.is_empty() {
        return vec![points.to_vec()];
    }
    let mut pieces = vec![vec![*first]];
    let (mut index, mut left, mut drawn) = (0, dash[0], true);
    for pair in points.windows(2) {
        let ((mut x, mut y), (to_x, to_y)) = (pair[0], pair[1]);
        loop {
            let length = (to_x - x).hypot(to_y - y);
            if length <= left {
                left -= length;
                if drawn && let Some(piece) = pieces.last_mut() {
                    piece.push((to_x, to_y));
                }
                break;
            }
            let share = left / length;
            (x, y) = (x + share * (to_x - x), y + share * (to_y - y));
            if drawn {
                if let Some(piece) = pieces.last_mut() {
                    piece.push((x, y));
                }
            } else {
                pieces.push(vec![(x, y)]);
            }
            drawn = !drawn;
            index = (index + 1) % dash.len();
            left = dash[index].max(0.5);
        }
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

pub(super) fn prepare_font() -> Result<(), PlotError> {
    static READY: OnceLock<bool> = OnceLock::new();
    let ready = READY.get_or_init(|| {
        register_font(
            FAMILY,
            FontStyle::Normal,
            epaint_default_fonts::UBUNTU_LIGHT,
        )
        .is_ok()
    });
    if *ready {
        Ok(())
    } else {
        Err(PlotError::Draw("the built-in font is unreadable".into()))
    }
}

/// The text size at which a text fits a width, at most `size`.
pub(crate) fn fit(surface: &dyn Surface, size: f64, width: f64, text: &str) -> f64 {
    let needed = surface.text_width(size, text);
    if needed > width {
        size * width / needed
    } else {
        size
    }
}

/// Breaks a text into pieces that fit a width, at plain blanks.
pub(crate) fn broken(surface: &dyn Surface, size: f64, width: f64, text: &str) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let Some(last) = pieces.last_mut() else { break };
        let longer = if last.is_empty() {
            word.to_owned()
        } else {
            format!("{last} {word}")
        };
        if last.is_empty() || surface.text_width(size, &longer) <= width {
            *last = longer;
        } else {
            pieces.push(word.to_owned());
        }
    }
    pieces
}

/// Draws the edge of a rectangle.
pub(crate) fn outline(
    surface: &mut dyn Surface,
    (left, top): (f64, f64),
    (right, bottom): (f64, f64),
) -> Result<(), PlotError> {
    let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
    let closed: Vec<_> = corners.into_iter().chain([(left, top)]).collect();
    surface.line(&closed, Stroke::solid(SOFT, 1.0))
}

/// Draws into an SVG document with an accessible name.
pub(crate) fn draw_svg(
    size: (u32, u32),
    name: &str,
    draw: impl FnOnce(&mut dyn Surface) -> Result<(), PlotError>,
) -> Result<String, PlotError> {
    prepare_font()?;
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, size).into_drawing_area();
        area.fill(&WHITE).map_err(failed)?;
        let mut canvas = Canvas {
            area,
            size,
            scale: 1.0,
        };
        draw(&mut canvas)?;
        canvas.area.present().map_err(failed)?;
    }
    let escaped = name
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('"', "&quot;");
    Ok(text.replacen(
        "<svg ",
        &format!("<svg role=\"img\" aria-label=\"{escaped}\" "),
        1,
    ))
}

/// Draws into RGB pixels.
pub(crate) fn draw_pixels(
    size: (u32, u32),
    draw: impl FnOnce(&mut dyn Surface) -> Result<(), PlotError>,
) -> Result<RgbImage, PlotError> {
    draw_enlarged(size, 1.0, draw)
}

/// Draws into RGB pixels, `times` as many in each direction as the surface has CSS pixels.
pub(crate) fn draw_enlarged(
    size: (u32, u32),
    times: f64,
    draw: impl FnOnce(&mut dyn Surface) -> Result<(), PlotError>,
) -> Result<RgbImage, PlotError> {
    prepare_font()?;
    let enlarged = |length: u32| device_width(f64::from(length) * times);
    let (width, height) = (enlarged(size.0), enlarged(size.1));
    let large = (width * OVERSAMPLING, height * OVERSAMPLING);
    let mut image = RgbImage::new(large.0, large.1);
    {
        let area = BitMapBackend::with_buffer(image.as_mut(), large).into_drawing_area();
        area.fill(&WHITE).map_err(failed)?;
        let mut canvas = Canvas {
            area,
            size,
            scale: f64::from(OVERSAMPLING) * times,
        };
        draw(&mut canvas)?;
        canvas.area.present().map_err(failed)?;
    }
    Ok(image::imageops::resize(
        &image,
        width,
        height,
        FilterType::Triangle,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_have_the_lengths_of_the_pattern() {
        let pieces = dashes(&[(0.0, 0.0), (10.0, 0.0)], &[3.0, 2.0]);
        let ends: Vec<_> = pieces.iter().map(|p| (p[0].0, p[p.len() - 1].0)).collect();
        assert_eq!(ends, [(0.0, 3.0), (5.0, 8.0)]);
        assert_eq!(dashes(&[(0.0, 0.0), (1.0, 0.0)], &[]).len(), 1);
        assert!(dashes(&[], &[3.0]).is_empty());
        // A dash goes on around a corner.
        let corner = dashes(&[(0.0, 0.0), (2.0, 0.0), (2.0, 5.0)], &[4.0, 9.0]);
        assert_eq!(corner, [vec![(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)]]);
    }
}
