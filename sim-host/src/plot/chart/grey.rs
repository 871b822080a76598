//! The words about grey: for which scale it is drawn, and where it is all black or all white.

use glowsill_core::profile::{ColourPlan, ScaleLaw};
use plotters::style::{RGBColor, WHITE};

use super::{BAR, Chart, LEFT};
use crate::plot::PlotError;
use crate::plot::canvas::{Anchor, INK, Surface};
use crate::temperature::Kelvin;

/// Size of the words.
const WORDS: f64 = 17.0;

impl Chart<'_> {
    /// Ends of the scale at start, °C.
    fn scale_c(&self) -> (f64, f64) {
        let scale = &self.spec.scale;
        (
            Kelvin::from(scale.start_low).celsius(),
            Kelvin::from(scale.start_high).celsius(),
        )
    }

    /// Where grey ends, °C: at the onset, or with the axis.
    fn grey_end_c(&self) -> f64 {
        match &self.spec.colour {
            ColourPlan::Bands(plan) => plan
                .bands
                .first()
                .map_or(self.axis.to, |band| Kelvin::from(band.start).celsius()),
            _ => self.axis.to,
        }
    }

    /// What the grey of the strip is drawn for, from a height down, and the words in the strip.
    pub(super) fn grey(&self, surface: &mut dyn Surface, y: f64) -> Result<(), PlotError> {
        let mut y = y;
        for words in self.grey_words() {
            surface.text((LEFT, y), WORDS, Anchor::Start, INK, &words)?;
            y += 24.0;
        }
        self.in_bar(surface, BAR)
    }

    /// What the grey of the strip is drawn for, in sentences.
    pub(super) fn grey_words(&self) -> Vec<String> {
        let (low, high) = self.scale_c();
        let what = match self.spec.colour {
            ColourPlan::Bands(_) => "Grey below the onset",
            ColourPlan::GreyOnly => "Grey",
            ColourPlan::PseudoColour { .. } => "The strip",
        };
        let scale = match self.spec.scale.law {
            ScaleLaw::Fixed => "the fixed scale",
            _ => "the scale at start",
        };
        let (black, white) = (
            Kelvin::from_celsius(low).whole(),
            Kelvin::from_celsius(high).whole(),
        );
        let ends = match self.spec.colour {
            ColourPlan::PseudoColour { .. } => {
                format!("first hue up to {black}, last hue from {white} on")
            }
            _ => format!("black up to {black}, white from {white} on"),
        };
        let first = format!("{what} is drawn for {scale}: {ends}.");
        [first].into_iter().chain(self.scale_moves(high)).collect()
    }

    /// The words black and white in the bar.
    pub(super) fn in_bar(
        &self,
        surface: &mut dyn Surface,
        bar: (f64, f64),
    ) -> Result<(), PlotError> {
        if matches!(self.spec.colour, ColourPlan::PseudoColour { .. }) {
            return Ok(());
        }
        let (low, high) = self.scale_c();
        self.in_strip(surface, bar, (self.axis.from, low), WHITE, "black")?;
        self.in_strip(surface, bar, (high, self.grey_end_c()), INK, "white")
    }

    /// What moves with the scene and what does not.
    fn scale_moves(&self, high: f64) -> Option<String> {
        if self.spec.scale.law == ScaleLaw::Fixed {
            return None;
        }
        let beside = if high < self.grey_end_c() {
            " The pure white is the end of that scale, no colour of its own."
        } else {
            ""
        };
        match self.spec.colour {
            ColourPlan::Bands(_) => Some(format!(
                "The scale then follows the scene; the colours do not.{beside}"
            )),
            ColourPlan::GreyOnly => Some(format!("The scale then follows the scene.{beside}")),
            ColourPlan::PseudoColour { .. } => None,
        }
    }

    /// A word in the strip between two temperatures, where there is room for it.
    fn in_strip(
        &self,
        surface: &mut dyn Surface,
        bar: (f64, f64),
        (from, to): (f64, f64),
        ink: RGBColor,
        word: &str,
    ) -> Result<(), PlotError> {
        let (left, right) = (
            self.axis.at(from).max(self.axis.start),
            self.axis.at(to).min(self.axis.end),
        );
        let size = 15.5;
        if right - left < surface.text_width(size, word) + 4.0 {
            return Ok(());
        }
        let middle = (0.5 * (left + right), bar.1 - 20.0);
        surface.text(middle, size, Anchor::Middle, ink, word)
    }
}
