//! The chart for a phone and for paper: the same words and strips, one below the other.

use glowsill_core::profile::{ColourPlan, ProfileSpec};

use super::key::{PATCH, entries, hysteresis_words, onset_c, onset_words, patch};
use super::{CAUTION, Chart, FOLLOWS_GREY, GREY_ONLY, GREYS, POOR, name_of};
use crate::measure::reading::real;
use crate::plot::PlotError;
use crate::plot::axes;
use crate::plot::canvas::{self, Anchor, INK, Stroke, Surface, broken, outline};
use crate::plot::ruler::Ruler;

const WIDTH: u32 = 285;
const LEFT: f64 = 12.0;
const STRIP: (f64, f64) = (58.0, 258.0);
const BAR: f64 = 46.0;
const ROW: f64 = 16.0;
/// Size of running text and of the temperature at which colour starts.
const WORDS: f64 = 13.0;
const ONSET: f64 = 15.0;
/// From a line of text to the next, of its size.
const LINE: f64 = 1.3;

/// Draws the chart as high as its words need.
pub(super) fn svg(spec: &ProfileSpec) -> Result<String, PlotError> {
    let chart = Chart::new(spec, STRIP);
    let height = chart.draw_narrow(&mut Ruler::new((WIDTH, WIDTH))?)?;
    let whole = u32::try_from(canvas::device(height)).unwrap_or(WIDTH);
    canvas::draw_svg((WIDTH, whole), &name_of(spec), |surface| {
        chart.draw_narrow(surface).map(drop)
    })
}

/// Writes a text from a place down, broken where it is too long, and gives the height below it.
fn write(
    surface: &mut dyn Surface,
    (left, top): (f64, f64),
    size: f64,
    text: &str,
) -> Result<f64, PlotError> {
    let (width, _) = surface.size();
    let mut y = top;
    for line in broken(surface, size, width - left - LEFT, text) {
        let at = (left, y + 0.5 * LINE * size);
        surface.text(at, size, Anchor::Start, INK, &line)?;
        y += LINE * size;
    }
    Ok(y)
}

impl Chart<'_> {
    /// Draws everything and gives the height that it takes.
    fn draw_narrow(&self, surface: &mut dyn Surface) -> Result<f64, PlotError> {
        let mut y = write(surface, (LEFT, 12.0), 17.0, &self.heading())? + 4.0;
        if let Some(words) = self.badge() {
            let right = LEFT + surface.text_width(ONSET, words) + 12.0;
            outline(surface, (LEFT, y), (right, y + 26.0))?;
            outline(surface, (LEFT + 2.0, y + 2.0), (right - 2.0, y + 24.0))?;
            let middle = (0.5 * (LEFT + right), y + 13.0);
            surface.text(middle, ONSET, Anchor::Middle, POOR, words)?;
            y += 32.0;
        }
        y = write(surface, (LEFT, y), WORDS, CAUTION)? + 10.0;
        let plan = match &self.spec.colour {
            ColourPlan::Bands(plan) => Some(plan),
            _ => None,
        };
        let onset = plan.and_then(onset_c);
        if let Some((onset, _)) = onset {
            y = write(surface, (LEFT, y), ONSET, &onset_words(onset))?;
            let x = self.axis.at(onset);
            surface.fill(
                &[(x - 7.0, y + 2.0), (x + 7.0, y + 2.0), (x, y + 13.0)],
                INK,
            )?;
            y += 16.0;
        }
        let bar = (y + 24.0, y + 24.0 + BAR);
        self.strip(surface, bar, |at| self.bar_colour(at))?;
        axes::draw_around(surface, self.axis, bar)?;
        self.in_bar(surface, bar)?;
        y = bar.1 + 30.0;
        if let Some((onset, below)) = onset {
            self.onset_line(surface, onset, bar)?;
            if let Some(below) = below {
                let (from, to) = (self.axis.at(below), self.axis.at(onset));
                let bracket = [(from, y), (from, y + 6.0), (to, y + 6.0), (to, y)];
                surface.line(&bracket, Stroke::solid(INK, 1.6))?;
                y = write(surface, (LEFT, y + 10.0), WORDS, &hysteresis_words(below))? + 8.0;
            }
        }
        for words in self.grey_words() {
            y = write(surface, (LEFT, y), WORDS, &words)? + 4.0;
        }
        let Some(plan) = plan else {
            let words = match self.spec.colour {
                ColourPlan::GreyOnly => GREY_ONLY,
                _ => FOLLOWS_GREY,
            };
            return Ok(write(surface, (LEFT, y + 4.0), ONSET, words)? + 12.0);
        };
        y = write(surface, (LEFT, y + 4.0), WORDS, &self.overlay_words())? + 6.0;
        self.overlay_rows(surface, y, ROW, 12.5)?;
        y += ROW * real(GREYS.len()) + 12.0;
        let entries = entries(plan);
        self.divide(surface, &entries, bar)?;
        for entry in &entries {
            patch(surface, (LEFT, y + 9.0), entry.colour)?;
            let at = (LEFT + PATCH + 8.0, y);
            y = write(surface, at, WORDS, &entry.words)?.max(y + 18.0) + 6.0;
        }
        Ok(y + 6.0)
    }
}
