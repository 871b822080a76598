//! Plots of measured numbers, and the temperature-to-colour chart of a profile.
//!
//! The same drawing goes to SVG (reports) and to RGB pixels (files). Series differ in dash and marker as
//! well as in colour, so that no reading depends on telling colours apart. An axis whose label ends with °C gets a
//! second scale in °F.
//!
//! Other drawings of this crate are made of the same parts: `canvas` (a surface for SVG and pixels), `axis`
//! (ranges and ticks) and `axes` (drawn axes, with °C and °F).

pub(crate) mod axes;
pub(crate) mod axis;
pub(crate) mod canvas;
pub mod captioned;
pub mod chart;
mod direct;
mod legend;
mod lines;
pub(crate) mod on_page;
mod ruler;

use image::RgbImage;
pub use on_page::OnPage;

use crate::measure::Plot;

/// A plot that cannot be drawn.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlotError {
    /// No series has a finite point.
    #[error("plot '{stem}' has no finite point to draw: check the measure that made it")]
    NoPoints {
        /// Name of the plot.
        stem: String,
    },
    /// The drawing library refused.
    #[error("the picture cannot be drawn: {0}")]
    Draw(String),
}

/// Width and height of a plot, in CSS pixels.
pub const PLOT_SIZE: (u32, u32) = (880, 480);

/// Draws a plot on a surface of any size from 285 x 300 CSS pixels on.
pub(crate) fn draw(plot: &Plot, surface: &mut dyn canvas::Surface) -> Result<(), PlotError> {
    lines::Drawing(plot).draw(surface)
}

/// Draws a plot as RGB pixels of [`PLOT_SIZE`].
///
/// # Errors
/// [`PlotError::NoPoints`] when there is nothing to draw.
pub fn png(plot: &Plot) -> Result<RgbImage, PlotError> {
    canvas::draw_pixels(PLOT_SIZE, |canvas| draw(plot, canvas))
}
