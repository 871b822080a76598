//! The picture as something `embedded-graphics` can draw, and draw upon.

use core::convert::Infallible;

use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Dimensions, OriginDimensions, Point, Size};
use embedded_graphics::image::ImageDrawable;
use embedded_graphics::pixelcolor::raw::{RawData, RawU16};
use embedded_graphics::pixelcolor::{self, RgbColor};
use embedded_graphics::primitives::{PointsIter, Rectangle};

use crate::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, PanelRgb888, Rgb888};
use crate::pipeline::Geometry;

/// A panel format whose pixels are also colours of `embedded-graphics`.
pub trait GraphicsFormat: PanelFormat {
    /// The colour type.
    type Colour: RgbColor + From<pixelcolor::Rgb888>;
    /// The colour of a panel pixel.
    fn colour(pixel: Self::Pixel) -> Self::Colour;
    /// The panel pixel of a colour.
    fn pixel(colour: Self::Colour) -> Self::Pixel;
}

impl GraphicsFormat for PanelRgb888 {
    type Colour = pixelcolor::Rgb888;
    fn colour(pixel: Rgb888) -> Self::Colour {
        pixelcolor::Rgb888::new(pixel.r, pixel.g, pixel.b)
    }
    fn pixel(colour: Self::Colour) -> Rgb888 {
        Rgb888::new(colour.r(), colour.g(), colour.b())
    }
}

macro_rules! sixteen_bits {
    ($format:ty) => {
        impl GraphicsFormat for $format {
            type Colour = pixelcolor::Rgb565;
            fn colour(pixel: u16) -> Self::Colour {
                RawU16::new(pixel).into()
            }
            fn pixel(colour: Self::Colour) -> u16 {
                RawU16::from(colour).into_inner()
            }
        }
    };
}
sixteen_bits!(PanelRgb565);
sixteen_bits!(PanelRgb565Dithered);

fn rectangle(geometry: Geometry) -> Rectangle {
    Rectangle::new(
        Point::zero(),
        Size::new(geometry.width().into(), geometry.height().into()),
    )
}

/// Position of a point in a row-major picture, if it lies inside.
fn index(point: Point, geometry: Geometry) -> Option<usize> {
    let (x, y) = (
        usize::try_from(point.x).ok()?,
        usize::try_from(point.y).ok()?,
    );
    let (width, height) = (
        usize::from(geometry.width()),
        usize::from(geometry.height()),
    );
    (x < width && y < height).then_some(y * width + x)
}

/// A drawn picture, to be drawn on another target, such as a panel's driver.
///
/// Shape: row-major, `width * height` pixels; a shorter slice ends early.
#[derive(Clone, Copy, Debug)]
pub struct Picture<'a, P: GraphicsFormat> {
    pixels: &'a [P::Pixel],
    geometry: Geometry,
}

impl<'a, P: GraphicsFormat> Picture<'a, P> {
    /// Takes the pixels of a picture.
    #[must_use]
    pub const fn new(pixels: &'a [P::Pixel], geometry: Geometry) -> Self {
        Self { pixels, geometry }
    }
}

impl<P: GraphicsFormat> OriginDimensions for Picture<'_, P> {
    fn size(&self) -> Size {
        rectangle(self.geometry).size
    }
}

impl<P: GraphicsFormat> ImageDrawable for Picture<'_, P> {
    type Color = P::Colour;

    fn draw<D: DrawTarget<Color = P::Colour>>(&self, target: &mut D) -> Result<(), D::Error> {
        let colours = self.pixels.iter().map(|pixel| P::colour(*pixel));
        target.fill_contiguous(&rectangle(self.geometry), colours)
    }

    fn draw_sub_image<D: DrawTarget<Color = P::Colour>>(
        &self,
        target: &mut D,
        area: &Rectangle,
    ) -> Result<(), D::Error> {
        let area = area.intersection(&rectangle(self.geometry));
        let colours = area
            .points()
            .filter_map(|point| self.pixels.get(index(point, self.geometry)?))
            .map(|pixel| P::colour(*pixel));
        target.fill_contiguous(&Rectangle::new(Point::zero(), area.size), colours)
    }
}

/// A drawn picture to draw upon; what lies outside it is left away.
///
/// ```
/// use embedded_graphics::{pixelcolor::Rgb565, prelude::*};
/// use glowsill_core::{panel::PanelRgb565, pipeline::Geometry, symbols::Canvas};
/// let mut pixels = [0; 64];
/// let mut canvas = Canvas::<PanelRgb565>::new(&mut pixels, Geometry::new(8, 8).unwrap());
/// Pixel(Point::new(2, 1), Rgb565::RED).draw(&mut canvas).unwrap();
/// assert_eq!(pixels[10], 0xF800);
/// ```
#[derive(Debug)]
pub struct Canvas<'a, P: GraphicsFormat> {
    pixels: &'a mut [P::Pixel],
    geometry: Geometry,
}

impl<'a, P: GraphicsFormat> Canvas<'a, P> {
    /// Takes the pixels of a picture.
    #[must_use]
    pub const fn new(pixels: &'a mut [P::Pixel], geometry: Geometry) -> Self {
        Self { pixels, geometry }
    }
}

impl<P: GraphicsFormat> OriginDimensions for Canvas<'_, P> {
    fn size(&self) -> Size {
        rectangle(self.geometry).size
    }
}

impl<P: GraphicsFormat> DrawTarget for Canvas<'_, P> {
    type Color = P::Colour;
    type Error = Infallible;

    fn draw_iter<I>(&mut self, pixels: I) -> Result<(), Infallible>
    where
        I: IntoIterator<Item = Pixel<P::Colour>>,
    {
        for Pixel(point, colour) in pixels {
            if let Some(pixel) =
                index(point, self.geometry).and_then(|index| self.pixels.get_mut(index))
            {
                *pixel = P::pixel(colour);
            }
        }
        Ok(())
    }

    fn fill_solid(&mut self, area: &Rectangle, colour: P::Colour) -> Result<(), Infallible> {
        let area = area.intersection(&self.bounding_box());
        let (Ok(width), Some(start)) = (
            usize::try_from(area.size.width),
            index(area.top_left, self.geometry),
        ) else {
            return Ok(());
        };
        let rows = usize::try_from(area.size.height).unwrap_or(0);
        let pixel = P::pixel(colour);
        let stride = usize::from(self.geometry.width());
        for row in self
            .pixels
            .get_mut(start..)
            .unwrap_or_default()
            .chunks_mut(stride)
            .take(rows)
        {
            if let Some(row) = row.get_mut(..width) {
                row.fill(pixel);
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_graphics::Drawable;
    use embedded_graphics::image::Image;

    const EIGHT: Geometry = match Geometry::new(8, 8) {
        Ok(geometry) => geometry,
        Err(_) => panic!("8x8 is allowed"),
    };

    #[test]
    fn a_picture_comes_back_unchanged_and_shifted() {
        let pixels: std::vec::Vec<u16> = (0..64).map(|i| i * 1021).collect();
        let picture = Picture::<PanelRgb565>::new(&pixels, EIGHT);
        let mut copy = [0; 64];
        Image::new(&picture, Point::zero())
            .draw(&mut Canvas::<PanelRgb565>::new(&mut copy, EIGHT))
            .unwrap();
        assert_eq!(copy[..], pixels[..]);
        let mut shifted = [7; 64];
        Image::new(&picture, Point::new(6, 7))
            .draw(&mut Canvas::<PanelRgb565>::new(&mut shifted, EIGHT))
            .unwrap();
        assert_eq!(shifted[62..], pixels[..2]);
        assert!(shifted[..62].iter().all(|pixel| *pixel == 7));
    }

    #[test]
    fn a_part_of_a_picture_is_drawn_from_its_corner() {
        let pixels: std::vec::Vec<u16> = (0..64).collect();
        let picture = Picture::<PanelRgb565>::new(&pixels, EIGHT);
        let mut part = [999; 64];
        picture
            .draw_sub_image(
                &mut Canvas::<PanelRgb565>::new(&mut part, EIGHT),
                &Rectangle::new(Point::new(6, 6), Size::new(4, 4)),
            )
            .unwrap();
        assert_eq!((part[0], part[1], part[8], part[9]), (54, 55, 62, 63));
        assert_eq!(part.iter().filter(|pixel| **pixel == 999).count(), 60);
    }

    #[test]
    fn a_fill_is_cut_at_every_edge() {
        let mut pixels = [Rgb888::default(); 64];
        let mut canvas = Canvas::<PanelRgb888>::new(&mut pixels, EIGHT);
        let white = pixelcolor::Rgb888::WHITE;
        let area = Rectangle::new(Point::new(-3, 6), Size::new(5, 9));
        canvas.fill_solid(&area, white).unwrap();
        let outside = Rectangle::new(Point::new(8, 0), Size::new(2, 2));
        canvas.fill_solid(&outside, white).unwrap();
        let lit: std::vec::Vec<usize> = (0..64).filter(|i| pixels[*i].r == 255).collect();
        assert_eq!(lit, [48, 49, 56, 57]);
    }
}
