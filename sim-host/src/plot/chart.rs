//! The temperature-to-colour chart of a profile: what colour stands for what apparent temperature.
//!
//! A bar runs over apparent temperature with °C above and °F below; under it, the same colours are laid
//! over several greys, as the profile's overlay does it. Greys and blends follow `docs/pipeline.md`.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, ColourPlan, Fill, Overlay, ProfileSpec, ScaleLaw};
use glowsill_core::units::Temperature;
use image::RgbImage;
use plotters::style::{RGBColor, WHITE};

use super::PlotError;
use super::axes;
use super::axis::Axis;
use super::canvas::{self, Anchor, INK, RULE, SOFT, Stroke, Surface};
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

fn celsius(temperature: Temperature) -> f64 {
    Kelvin::from(temperature).celsius()
}

fn both(celsius: f64) -> String {
    let kelvin = Kelvin::from_celsius(celsius);
    format!("{:.0} °C ({:.0} °F)", kelvin.celsius(), kelvin.fahrenheit())
}

fn rgb(colour: Rgb888) -> RGBColor {
    RGBColor(colour.r, colour.g, colour.b)
}

/// Rounds half up to a display code.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to 0 to 255 in the same line"
)]
fn code(value: f64) -> u8 {
    (value + 0.5).floor().clamp(0.0, 255.0) as u8
}

fn per_channel(a: Rgb888, b: Rgb888, f: impl Fn(f64, f64) -> f64) -> Rgb888 {
    let one = |a: u8, b: u8| code(f(f64::from(a), f64::from(b)));
    Rgb888::new(one(a.r, b.r), one(a.g, b.g), one(a.b, b.b))
}

/// The overlay of a colour on a grey, section 7 of `docs/pipeline.md`.
fn blend(overlay: Overlay, colour: Rgb888, grey: u8) -> Rgb888 {
    let g = f64::from(grey);
    match overlay {
        Overlay::Opaque => colour,
        Overlay::Veil { opacity } => {
            let a = f64::from(opacity);
            per_channel(colour, Rgb888::grey(grey), |c, g| {
                (a * c + (255.0 - a) * g) / 255.0
            })
        }
        Overlay::Tint { knee, lift } => {
            let (k, lift) = (f64::from(knee), f64::from(lift));
            let white = lift / 255.0 * (g - k) / (255.0 - k);
            per_channel(colour, colour, |c, _| {
                if g < k {
                    c * g / k
                } else {
                    c + (255.0 - c) * white
                }
            })
        }
    }
}

/// The colour of a band plan at a temperature, with the number of the band from 1; `None` below the onset.
fn band_colour(plan: &BandPlan, celsius_at: f64) -> Option<(usize, Rgb888)> {
    if let Some(ceiling) = plan.ceiling
        && celsius_at >= celsius(ceiling.start)
    {
        return Some((plan.bands.len() + 1, ceiling.colour));
    }
    let index = plan
        .bands
        .iter()
        .rposition(|band| celsius_at >= celsius(band.start))?;
    let band = plan.bands[index];
    let next = plan
        .bands
        .get(index + 1)
        .map(|next| (celsius(next.start), next.colour));
    let end = next.or(plan
        .ramp_end
        .map(|end| (celsius(end.temperature), end.colour)));
    let colour = match (band.fill, end) {
        (Fill::Ramp, Some((end, to))) => {
            let from = celsius(band.start);
            let q = ((celsius_at - from) / (end - from)).clamp(0.0, 1.0);
            per_channel(band.colour, to, |a, b| a + (b - a) * q)
        }
        _ => band.colour,
    };
    Some((index + 1, colour))
}

fn stop_colour(stops: &[Rgb888], grey: u8) -> Rgb888 {
    let last = stops.len().saturating_sub(1);
    let position = f64::from(grey) / 255.0 * f64::from(u32::try_from(last).unwrap_or(0));
    let index = usize::from(code(position.floor()));
    let (a, b) = (stops.get(index), stops.get((index + 1).min(last)));
    match (a, b) {
        (Some(a), Some(b)) => per_channel(*a, *b, |a, b| a + (b - a) * position.fract()),
        _ => Rgb888::grey(grey),
    }
}

struct Chart<'a> {
    spec: &'a ProfileSpec,
    axis: Axis,
}

impl<'a> Chart<'a> {
    fn new(spec: &'a ProfileSpec) -> Self {
        let (low, high) = (
            celsius(spec.scale.start_low),
            celsius(spec.scale.start_high),
        );
        let (mut from, mut to) = (low, high);
        if let ColourPlan::Bands(plan) = &spec.colour {
            let starts = plan.bands.iter().map(|band| celsius(band.start));
            let ends = plan.ramp_end.iter().map(|end| celsius(end.temperature));
            let top = plan.ceiling.iter().map(|ceiling| celsius(ceiling.start));
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
            axis: Axis {
                from,
                to,
                start: 60.0,
                end: 1140.0,
            },
        }
    }

    fn grey(&self, at: f64) -> u8 {
        let (low, high) = (
            celsius(self.spec.scale.start_low),
            celsius(self.spec.scale.start_high),
        );
        code(255.0 * ((at - low) / (high - low)).clamp(0.0, 1.0))
    }

    /// The colour of the main bar: the band's own, or grey as for the start values of the scale.
    fn bar_colour(&self, at: f64) -> Rgb888 {
        let grey = self.grey(at);
        match &self.spec.colour {
            ColourPlan::GreyOnly => Rgb888::grey(grey),
            ColourPlan::Bands(plan) => {
                band_colour(plan, at).map_or(Rgb888::grey(grey), |(_, colour)| colour)
            }
            ColourPlan::PseudoColour { stops } => stop_colour(stops, grey),
        }
    }

    /// The colour over a given grey of the picture.
    fn overlaid(&self, at: f64, grey: u8) -> Rgb888 {
        match &self.spec.colour {
            ColourPlan::Bands(plan) => match band_colour(plan, at) {
                Some((number, colour)) if number > plan.bands.len() => colour,
                Some((_, colour)) => blend(self.spec.overlay, colour, grey),
                None => Rgb888::grey(grey),
            },
            ColourPlan::GreyOnly => Rgb888::grey(grey),
            ColourPlan::PseudoColour { stops } => stop_colour(stops, grey),
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
        colour: impl Fn(f64) -> Rgb888,
    ) -> Result<(), PlotError> {
        // Each colour runs to the end and the next one covers it, so that no seam shows between them.
        let mut now = None;
        let mut x = self.axis.start;
        while x < self.axis.end {
            let here = colour(self.axis.value(x + 0.5));
            if now != Some(here) {
                surface.rectangle((x, top), (self.axis.end, bottom), rgb(here))?;
                now = Some(here);
            }
            x += 1.0;
        }
        let (l, r) = (self.axis.start, self.axis.end);
        let frame = [(l, top), (r, top), (r, bottom), (l, bottom), (l, top)];
        surface.line(&frame, Stroke::solid(SOFT, 1.0))
    }

    /// The onset in position and words, and the hysteresis below it.
    fn onset(&self, surface: &mut dyn Surface, plan: &BandPlan) -> Result<(), PlotError> {
        let Some(first) = plan.bands.first() else {
            return Ok(());
        };
        let onset = celsius(first.start);
        let x = self.axis.at(onset);
        surface.line(&[(x, 106.0), (x, BAR.0 - 28.0)], Stroke::solid(INK, 2.0))?;
        surface.line(&[(x, BAR.0), (x, BAR.1)], Stroke::solid(INK, 2.0))?;
        surface.line(
            &[(x, BAR.0), (x, BAR.1)],
            Stroke {
                colour: WHITE,
                width: 2.0,
                dash: &[5.0, 5.0],
            },
        )?;
        surface.fill(&[(x - 7.0, 106.0), (x + 7.0, 106.0), (x, 117.0)], INK)?;
        let starts = format!("Colour starts at {}", Kelvin::from_celsius(onset));
        place(surface, (x, 94.0), 17.0, INK, &starts)?;

        let hysteresis = f64::from(plan.hysteresis_k32) / 32.0;
        if hysteresis > 0.0 {
            let (from, y) = (self.axis.at(onset - hysteresis), 246.0);
            let bracket = [(from, y), (from, y + 6.0), (x, y + 6.0), (x, y)];
            surface.line(&bracket, Stroke::solid(INK, 1.6))?;
            let words = format!(
                "hysteresis: a coloured pixel turns grey again below {}",
                Kelvin::from_celsius(onset - hysteresis)
            );
            place(surface, (0.5 * (from + x), y + 19.0), 13.5, INK, &words)?;
        }
        Ok(())
    }

    fn overlay_rows(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let how = match self.spec.overlay {
            Overlay::Opaque => "opaque: what stands behind the colour is gone".to_owned(),
            Overlay::Veil { opacity } => {
                format!("veil, opacity {:.0} %", f64::from(opacity) / 2.55)
            }
            Overlay::Tint { .. } => "tint: lighter grey stays lighter behind colour".to_owned(),
        };
        let words = format!("The same colours over five greys of the picture ({how})");
        surface.text((60.0, ROWS_TOP - 14.0), 14.0, Anchor::Start, INK, &words)?;
        for (row, grey) in (0u32..).zip(GREYS) {
            let top = ROWS_TOP + ROW * f64::from(row);
            self.strip(surface, (top, top + ROW), |at| self.overlaid(at, grey))?;
            let label = format!("grey {grey}");
            surface.text((54.0, top + 0.5 * ROW), 12.0, Anchor::End, SOFT, &label)?;
        }
        Ok(())
    }

    /// One entry a band: number, colour, start, course.
    fn key(&self, surface: &mut dyn Surface, plan: &BandPlan) -> Result<(), PlotError> {
        let mut entries = vec![];
        for (index, band) in plan.bands.iter().enumerate() {
            let end = plan.bands.get(index + 1).map(|next| next.start);
            let end = end.or(plan.ramp_end.map(|end| end.temperature));
            let course = match (band.fill, end) {
                (Fill::Ramp, Some(end)) => format!("ramp to {}", both(celsius(end))),
                _ => "flat".to_owned(),
            };
            let start = celsius(band.start);
            entries.push((
                band.colour,
                start,
                format!("{}  from {}, {course}", index + 1, both(start)),
            ));
        }
        if let Some(ceiling) = plan.ceiling {
            let start = celsius(ceiling.start);
            let words = format!("ceiling  from {}: nothing more can be told", both(start));
            entries.push((ceiling.colour, start, words));
        }
        let rows = u32::try_from(entries.len().div_ceil(3)).unwrap_or(0);
        for (number, (colour, start, words)) in (0u32..).zip(entries) {
            let (column, row) = (number % 3, number / 3);
            let (x, y) = (
                60.0 + 366.0 * f64::from(column),
                440.0 + 26.0 * f64::from(row),
            );
            surface.rectangle((x, y - 8.0), (x + 26.0, y + 8.0), rgb(colour))?;
            let frame = [
                (x, y - 8.0),
                (x + 26.0, y - 8.0),
                (x + 26.0, y + 8.0),
                (x, y + 8.0),
                (x, y - 8.0),
            ];
            surface.line(&frame, Stroke::solid(SOFT, 1.0))?;
            surface.text((x + 34.0, y), 13.5, Anchor::Start, INK, &words)?;
            let at = self.axis.at(start);
            if number > 0 {
                surface.line(&[(at, BAR.0), (at, BAR.1)], Stroke::solid(INK, 1.2))?;
            }
        }
        let law = match self.spec.scale.law {
            ScaleLaw::Fixed => "Grey below the onset as the fixed scale gives it.",
            _ => {
                "Grey below the onset as for the scale at start; the scale then follows the scene, the colours do not."
            }
        };
        surface.text(
            (60.0, 442.0 + 26.0 * f64::from(rows)),
            13.0,
            Anchor::Start,
            SOFT,
            law,
        )
    }

    fn sentence(&self, surface: &mut dyn Surface, words: &str) -> Result<(), PlotError> {
        surface.rectangle((60.0, 290.0), (1140.0, 330.0), RULE)?;
        surface.text((600.0, 310.0), 16.0, Anchor::Middle, INK, words)
    }
}

/// Writes a text centred on a point, moved sideways where it would leave the chart.
fn place(
    surface: &mut dyn Surface,
    (x, y): (f64, f64),
    size: f64,
    colour: RGBColor,
    text: &str,
) -> Result<(), PlotError> {
    let half = 0.5 * surface.text_width(size, text) + 16.0;
    let (width, _) = surface.size();
    surface.text(
        (x.clamp(half, width - half), y),
        size,
        Anchor::Middle,
        colour,
        text,
    )
}
