//! A drawing on a page: laid out for a desk, and again for a phone and paper, where the first would be too small to read.

use super::PlotError;
use super::canvas::{Surface, device, draw_svg};
use super::lines::Drawing;
use super::ruler::Ruler;
use crate::measure::Plot;

/// Sizes that a drawing is laid out in, CSS pixels. A page shows it larger, never smaller.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sizes {
    /// For a desk.
    pub(crate) wide: (u32, u32),
    /// For a phone of 390 pixels, and for half of a sheet of A4.
    pub(crate) narrow: (u32, u32),
}

/// Two abreast: on a page of 1200 pixels the wide one is shown 1.24 times as large, so that its numbers, 10 pixels high
/// as drawn, are 12.5 pixels high as seen.
pub(crate) const HALF: Sizes = Sizes {
    wide: (440, 350),
    narrow: (285, 340),
};
/// Alone, for what needs the width of the page; shown 1.27 times as large.
const WHOLE: Sizes = Sizes {
    wide: (880, 520),
    narrow: (285, 420),
};
/// Height of title, legend and labels above a plot that the sizes have room for.
const HEAD: f64 = 71.0;

/// SVG documents of one drawing.
#[derive(Clone, Debug)]
pub struct OnPage {
    /// For a desk.
    pub wide: String,
    /// The same for a phone and for paper.
    pub narrow: String,
}

impl OnPage {
    /// Draws both; `name` says what is shown to those who cannot see it.
    pub(crate) fn draw(
        sizes: Sizes,
        name: &str,
        draw: impl Fn(&mut dyn Surface) -> Result<(), PlotError>,
    ) -> Result<Self, PlotError> {
        Ok(Self {
            wide: draw_svg(sizes.wide, name, &draw)?,
            narrow: draw_svg(sizes.narrow, name, &draw)?,
        })
    }

    /// Draws a plot that stands beside another one at a desk.
    ///
    /// # Errors
    /// [`PlotError::NoPoints`] when there is nothing to draw.
    pub fn half(plot: &Plot) -> Result<Self, PlotError> {
        Self::plot(HALF, plot)
    }

    /// Draws a plot that takes the width of the page at a desk.
    ///
    /// # Errors
    /// As [`Self::half`].
    pub fn whole(plot: &Plot) -> Result<Self, PlotError> {
        Self::plot(WHOLE, plot)
    }

    /// Draws a plot, higher than the sizes say where its legend is long.
    fn plot(sizes: Sizes, plot: &Plot) -> Result<Self, PlotError> {
        let drawing = Drawing(plot);
        let higher = |size: (u32, u32)| {
            let head = drawing.head(&mut Ruler::new(size)?)?;
            let more = u32::try_from(device((head - HEAD).max(0.0))).unwrap_or(0);
            Ok((size.0, size.1 + more))
        };
        let sizes = Sizes {
            wide: higher(sizes.wide)?,
            narrow: higher(sizes.narrow)?,
        };
        Self::draw(sizes, &plot.title, |surface| drawing.draw(surface))
    }
}
