//! Drawing a figure for a desk, for a phone and paper, and for the sheet's own picture.

use super::Figure;
use crate::plot::PlotError;
use crate::plot::canvas::{Surface, draw_enlarged, draw_svg};

/// Size that a figure for a desk is drawn in, CSS pixels. Two abreast on a page of 1200 pixels it is shown 1.24 times
/// as large, so that its numbers, 10 pixels high as drawn, are 12.5 pixels high as seen.
const WIDE: (u32, u32) = (440, 350);
/// The same for a phone of 390 pixels and for half of a sheet of A4.
const NARROW: (u32, u32) = (285, 320);
/// How much the sheet's own picture enlarges the wide one: it is looked at as a whole, about two thirds as large.
const ENLARGED: f64 = 2.0;

impl Figure {
    /// Draws a figure; `name` says what it shows to those who cannot see it.
    pub(super) fn draw(
        name: &str,
        caption: impl Into<String>,
        draw: impl Fn(&mut dyn Surface) -> Result<(), PlotError>,
    ) -> Result<Self, PlotError> {
        Ok(Self {
            wide: draw_svg(WIDE, name, &draw)?,
            narrow: draw_svg(NARROW, name, &draw)?,
            image: draw_enlarged(WIDE, ENLARGED, &draw)?,
            caption: caption.into(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::canvas::{Anchor, INK};

    // By hand: 440 x 2 = 880, 350 x 2 = 700.
    #[test]
    fn a_figure_is_laid_out_for_each_place_and_not_shrunk() {
        let figure = Figure::draw("name", "caption", |surface| {
            let (width, _) = surface.size();
            surface.text((0.5 * width, 20.0), 13.0, Anchor::Middle, INK, "words")
        })
        .unwrap();
        assert_eq!(figure.image.dimensions(), (880, 700));
        assert!(figure.wide.contains("width=\"440\"") && figure.wide.contains("x=\"220\""));
        assert!(figure.narrow.contains("width=\"285\"") && figure.narrow.contains("x=\"143\""));
    }
}
