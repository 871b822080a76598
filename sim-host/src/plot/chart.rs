//! The temperature-to-colour chart of a profile: what colour stands for what apparent temperature.
//!
//! A bar runs over apparent temperature with °C above and °F below; under it, the same colours are laid
//! over several greys, as the profile's overlay does it. Greys and blends follow `docs/pipeline.md`.

mod colours;
mod grey;
mod key;
mod narrow;

use glowsill_core::profile::{ColourPlan, ProfileSpec};
use image::RgbImage;
use plotters::style::RGBColor;

use super::axes;
use super::axis::Axis;
use super::canvas::{self, Anchor, INK, RULE, Surface, fit};
use super::{OnPage, PlotError};
use crate::measure::reading::real;
use crate::profile_file::is_poor_example;
use crate::shown_colour::Blend;
use crate::temperature::Kelvin;

/// Width of a chart, CSS pixels.
pub const CHART_WIDTH: u32 = 1200;
/// Greys the overlay is shown over, from dark to light.
const GREYS: [u8; 5] = [32, 80, 128, 176, 224];
/// Left end of texts, and both ends of the strips.
const LEFT: f64 = 40.0;
const STRIP: (f64, f64) = (110.0, 1136.0);
const BAR: (f64, f64) = (158.0, 226.0);
const ROWS_TOP: f64 = 388.0;
const ROW: f64 = 22.0;
const KEY_TOP: f64 = 528.0;
const KEY_ROW: f64 = 28.0;
/// Size and colour of the badge of a poor example.
const BADGE: f64 = 19.0;
const POOR: RGBColor = RGBColor(0x7b, 0x2d, 0x8b);

const CAUTION: &str = "Apparent temperature (emissivity 1): a surface of lower emissivity must be hotter to \
    show the same colour. Simulation and teaching only; not a certification.";
const GREY_ONLY: &str = "This profile shows grey only: no temperature is marked by colour.";
const FOLLOWS_GREY: &str = "Colour follows grey here: when the scale moves, the same colour stands for another \
    temperature.";

/// Draws the chart as an SVG document, [`CHART_WIDTH`] wide and as high as its key needs.
///
/// # Errors
/// [`PlotError::Draw`] when the drawing library refuses.
pub fn svg(spec: &ProfileSpec) -> Result<String, PlotError> {
    canvas::draw_svg(size_of(spec), &name_of(spec), |surface| {
        Chart::new(spec, STRIP).draw(surface)
    })
}

/// Draws the chart for a page.
///
/// # Errors
/// As [`svg`].
pub fn on_page(spec: &ProfileSpec) -> Result<OnPage, PlotError> {
    Ok(OnPage {
        wide: svg(spec)?,
        narrow: narrow::svg(spec)?,
    })
}

/// Draws the chart as RGB pixels, [`CHART_WIDTH`] wide and as high as its key needs.
///
/// # Errors
/// As [`svg`].
pub fn png(spec: &ProfileSpec) -> Result<RgbImage, PlotError> {
    canvas::draw_pixels(size_of(spec), |surface| {
        Chart::new(spec, STRIP).draw(surface)
    })
}

/// What the chart shows, for those who cannot see it.
fn name_of(spec: &ProfileSpec) -> String {
    format!("Colour against apparent temperature, profile {}", spec.name)
}

fn size_of(spec: &ProfileSpec) -> (u32, u32) {
    let height = match &spec.colour {
        ColourPlan::Bands(plan) => {
            let entries = plan.bands.len() + usize::from(plan.ceiling.is_some());
            KEY_TOP + KEY_ROW * real(entries.div_ceil(2))
        }
        _ => 390.0,
    };
    let whole = u32::try_from(canvas::device(height)).unwrap_or(CHART_WIDTH);
    (CHART_WIDTH, whole)
}

struct Chart<'a> {
    spec: &'a ProfileSpec,
    axis: Axis,
    blend: Blend,
}

impl<'a> Chart<'a> {
    /// A chart whose strips run between two places.
    fn new(spec: &'a ProfileSpec, ends: (f64, f64)) -> Self {
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
            axis: Axis::new((from, to), ends),
            blend: Blend::new(spec.overlay),
        }
    }

    fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        self.title(surface)?;
        self.strip(surface, BAR, |at| self.bar_colour(at))?;
        axes::draw_around(surface, self.axis, BAR)?;
        match &self.spec.colour {
            ColourPlan::Bands(plan) => {
                self.onset(surface, plan)?;
                self.grey(surface, 312.0)?;
                let at = (LEFT, ROWS_TOP - 16.0);
                surface.text(at, 17.0, Anchor::Start, INK, &self.overlay_words())?;
                self.overlay_rows(surface, ROWS_TOP, ROW, 15.5)?;
                self.key(surface, plan)
            }
            ColourPlan::GreyOnly => {
                self.grey(surface, 272.0)?;
                self.sentence(surface, GREY_ONLY)
            }
            ColourPlan::PseudoColour { .. } => {
                self.grey(surface, 272.0)?;
                self.sentence(surface, FOLLOWS_GREY)
            }
        }
    }

    fn heading(&self) -> String {
        format!("{}: colour against apparent temperature", self.spec.name)
    }

    /// The badge of a poor example.
    fn badge(&self) -> Option<&'static str> {
        is_poor_example(self.spec).then_some("! poor example, there to fail")
    }

    /// Title, badge of a poor example, and the cautions.
    fn title(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let title = self.heading();
        let poor = self.badge();
        let badge = poor.map_or(0.0, |words| surface.text_width(BADGE, words) + 14.0);
        let (width, _) = surface.size();
        let size = fit(surface, 27.0, width - 2.0 * LEFT - badge - 20.0, &title);
        surface.text((LEFT, 34.0), size, Anchor::Start, INK, &title)?;
        if let Some(words) = poor {
            let left = LEFT + surface.text_width(size, &title) + 6.0;
            canvas::outline(surface, (left, 15.0), (left + badge, 47.0))?;
            canvas::outline(surface, (left + 2.0, 17.0), (left + badge - 2.0, 45.0))?;
            let middle = (left + 0.5 * badge, 34.0);
            surface.text(middle, BADGE, Anchor::Middle, POOR, words)?;
        }
        let size = fit(surface, 17.0, width - 2.0 * LEFT, CAUTION);
        surface.text((LEFT, 68.0), size, Anchor::Start, INK, CAUTION)
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
        surface.rectangle((LEFT, 328.0), (STRIP.1, 372.0), RULE)?;
        surface.text(
            (0.5 * (LEFT + STRIP.1), 350.0),
            18.5,
            Anchor::Middle,
            INK,
            words,
        )
    }
}
