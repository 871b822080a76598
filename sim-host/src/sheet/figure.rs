//! Drawing a figure for a desk, for a phone and paper, and for the sheet's own picture.

use super::Figure;
use crate::plot::canvas::{Surface, draw_enlarged};
use crate::plot::on_page::HALF;
use crate::plot::{OnPage, PlotError};

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
            drawing: OnPage::draw(HALF, name, &draw)?,
            image: draw_enlarged(HALF.wide, ENLARGED, &draw)?,
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
        let OnPage { wide, narrow } = figure.drawing;
        assert!(wide.contains("width=\"440\"") && wide.contains("x=\"220\""));
        assert!(narrow.contains("width=\"285\"") && narrow.contains("x=\"143\""));
    }
}
