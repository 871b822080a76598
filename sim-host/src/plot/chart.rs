//! The temperature-to-colour chart of a profile: what colour stands for what apparent temperature.
//!
//! A bar runs over apparent temperature with °C above and °F below; under it, the same colours are laid
//! over several greys, as the profile's overlay does it. Greys and blends follow `docs/pipeline.md`.

mod colours;
mod key;

use glowsill_core::profile::{ColourPlan, ProfileSpec};
use image::RgbImage;
use plotters::style::RGBColor;

use super::PlotError;
use super::axes;
use super::axis::Axis;
use super::canvas::{self, Anchor, INK, RULE, Surface};
use crate::shown_colour::Blend;
use crate::temperature::Kelvin;

/// Width and height of the chart of a profile with bands, in CSS pixels; others are 350 high.
pub const CHART_SIZE: (u32, u32) = (1200, 540);
/// Greys the overlay is shown over, from dark to light.
const GREYS: [u8; 5] = [32, 80, 128, 176, 224];
const BAR: (f64, f64) = (148.0, 216.0);
const ROWS_TOP: f64 = 312.0;
const ROW: f64 = 20.0;

/// Draws the chart as an SVG document, see [`CHART_SIZE`].
///
/// # Errors
/// [`PlotError::Draw`] when the drawing library refuses.
pub fn svg(spec: &ProfileSpec) -> Result<String, PlotError> {
    let name = format!("Colour against apparent temperature, profile {}", spec.name);
    canvas::draw_svg(size_of(spec), &name, |surface| {
        Chart::new(spec).draw(surface)
    })
}

/// Draws the chart as RGB pixels, see [`CHART_SIZE`].
///
/// # Errors
/// As [`svg`].
pub fn png(spec: &ProfileSpec) -> Result<RgbImage, PlotError> {
    canvas::draw_pixels(size_of(spec), |surface| Chart::new(spec).draw(surface))
}

fn size_of(spec: &ProfileSpec) -> (u32, u32) {
    match spec.colour {
        ColourPlan::Bands(_) => CHART_SIZE,
        _ => (CHART_SIZE.0, 350),
    }
}

struct Chart<'a> {
    spec: &'a ProfileSpec,
    axis: Axis,
    blend: Blend,
}

impl<'a> Chart<'a> {
    fn new(spec: &'a ProfileSpec) -> Self {
        let (low, high) = (
            Kelvin::from(spec.scale.start_low).celsius(),
            Kelvin::from(spec.scale.start_high).celsius(),
        );
        let (mut from, mut to) = (low, high);
        if let ColourPlan::Bands(plan) = &spec.colour {
            let starts = plan
                .bands
                .iter()
                .map(|band| Kelvin::from(band.start).celsius());
            let ends = plan
                .ramp_end
                .iter()
                .map(|end| Kelvin::from(end.temperature).celsius());
            let top = plan
                .ceiling
                .iter()
                .map(|ceiling| Kelvin::from(ceiling.start).celsius());
            let thresholds: Vec<_> = starts.chain(ends).chain(top).collect();
            let last = thresholds.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let onset = thresholds.first().copied().unwrap_or(low);
            from = from
                .min(onset - 0.25 * (last - onset).max(40.0))
                .max(-273.0);
            to = last + 0.15 * (last - from);
        }
        Self {
            spec,
            axis: Axis::new((from, to), (60.0, 1140.0)),
            blend: Blend::new(spec.overlay),
        }
    }

    fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let title = format!("{}: colour against apparent temperature", self.spec.name);
        surface.text((60.0, 32.0), 25.0, Anchor::Start, INK, &title)?;
        let caution = "Apparent temperature (emissivity 1): a surface of lower emissivity must be hotter to \
                       show the same colour. Simulation and teaching only; not a certification.";
        surface.text((60.0, 61.0), 14.5, Anchor::Start, INK, caution)?;
        self.strip(surface, BAR, |at| self.bar_colour(at))?;
        axes::draw_around(surface, self.axis, BAR)?;
        match &self.spec.colour {
            ColourPlan::Bands(plan) => {
                self.onset(surface, plan)?;
                self.overlay_rows(surface)?;
                self.key(surface, plan)
            }
            ColourPlan::GreyOnly => self.sentence(surface, "This profile shows grey only: no temperature is marked by colour."),
            ColourPlan::PseudoColour { .. } => self.sentence(
                surface,
                "Colour follows grey here: when the scale moves, the same colour stands for another temperature.",
            ),
        }
    }

    fn strip(
        &self,
        surface: &mut dyn Surface,
        (top, bottom): (f64, f64),
        colour: impl Fn(f64) -> [u8; 3],
    ) -> Result<(), PlotError> {
        // Each colour runs to the end and the next one covers it, so that no seam shows between them.
        let mut now = None;
        let mut x = self.axis.start;
        while x < self.axis.end {
            let here = colour(self.axis.value(x + 0.5));
            if now != Some(here) {
                surface.rectangle(
                    (x, top),
                    (self.axis.end, bottom),
                    RGBColor(here[0], here[1], here[2]),
                )?;
                now = Some(here);
            }
            x += 1.0;
        }
        canvas::outline(surface, (self.axis.start, top), (self.axis.end, bottom))
    }

    fn sentence(&self, surface: &mut dyn Surface, words: &str) -> Result<(), PlotError> {
        surface.rectangle((60.0, 290.0), (1140.0, 330.0), RULE)?;
        surface.text((600.0, 310.0), 16.0, Anchor::Middle, INK, words)
    }
}
