//! A surface that nothing is drawn on: it tells how much room a drawing needs.

use plotters::style::RGBColor;

use super::PlotError;
use super::canvas::{Anchor, Stroke, Surface, prepare_font, text_width};

/// Measures as a surface of its size would, and draws nothing.
pub(crate) struct Ruler((f64, f64));

impl Ruler {
    pub(crate) fn new((width, height): (u32, u32)) -> Result<Self, PlotError> {
        prepare_font()?;
        Ok(Self((f64::from(width), f64::from(height))))
    }
}

impl Surface for Ruler {
    fn size(&self) -> (f64, f64) {
        self.0
    }

    fn line(&mut self, _: &[(f64, f64)], _: Stroke) -> Result<(), PlotError> {
        Ok(())
    }

    fn fill(&mut self, _: &[(f64, f64)], _: RGBColor) -> Result<(), PlotError> {
        Ok(())
    }

    fn rectangle(&mut self, _: (f64, f64), _: (f64, f64), _: RGBColor) -> Result<(), PlotError> {
        Ok(())
    }

    fn disc(&mut self, _: (f64, f64), _: f64, _: RGBColor) -> Result<(), PlotError> {
        Ok(())
    }

    fn text(
        &mut self,
        _: (f64, f64),
        _: f64,
        _: Anchor,
        _: RGBColor,
        _: &str,
    ) -> Result<(), PlotError> {
        Ok(())
    }

    fn text_upward(
        &mut self,
        _: (f64, f64),
        _: f64,
        _: RGBColor,
        _: &str,
    ) -> Result<(), PlotError> {
        Ok(())
    }

    fn text_width(&self, size: f64, text: &str) -> f64 {
        text_width(size, text)
    }
}
