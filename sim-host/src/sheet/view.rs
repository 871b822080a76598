//! What a display shows at an instant, in numbers: scale, colour, gain state, marks.

use glowsill_core::profile::{ColourPlan, GainPlan, ProfileSpec};
use glowsill_core::record::GainInUse;
use serde::Serialize;

use super::{Badge, Card, Fact};
use crate::measure::Settings;
use crate::measure::reading::mark_separations;
use crate::run::Shown;
use crate::temperature::Kelvin;
use crate::world::scene::Mark;

/// Whether a mark can be told from its surroundings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MarkState {
    /// At or above the threshold.
    Visible,
    /// Below the threshold.
    Lost,
    /// No whole pixel of it, or of what surrounds it, is in view.
    OutOfView,
}

/// A mark as a display shows it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MarkSeen {
    /// What it is.
    pub name: String,
    /// Separation of its mean luminance from that of its surroundings, just-noticeable differences.
    pub separation_jnd: Option<f64>,
    /// What that means.
    pub state: MarkState,
}

/// A pixel and its apparent temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// Apparent temperature.
    pub temperature: Kelvin,
    /// Column, from 0.
    pub x: u16,
    /// Row, from 0.
    pub y: u16,
    /// Where that is in the picture, in words.
    pub words: &'static str,
}

/// What a display shows at an instant.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct View {
    /// Name of the profile.
    pub profile: String,
    /// Apparent temperature of black.
    pub scale_low: Kelvin,
    /// Apparent temperature of white.
    pub scale_high: Kelvin,
    /// Apparent temperature at which colour starts; none without bands.
    pub onset: Option<Kelvin>,
    /// Share of the picture's pixels with colour, 0 to 1.
    pub coloured_share: f64,
    /// Gain state of the frame.
    pub gain: GainInUse,
    /// Share of the picture's pixels taken mostly from low gain, 0 to 1.
    pub low_gain_share: f64,
    /// The hottest pixel.
    pub hottest: Option<Place>,
    /// The marks; none in a recording.
    pub marks: Vec<MarkSeen>,
}

/// Part of a whole, 0 to 1; 0 of nothing.
pub(crate) fn share(part: u32, whole: u32) -> f64 {
    if whole == 0 {
        0.0
    } else {
        f64::from(part) / f64::from(whole)
    }
}

/// A share as people read it: `0 %`, `less than 0.1 %`, `3.2 %`, `45 %`.
#[must_use]
pub fn percent(share: f64) -> String {
    let value = 100.0 * share;
    if value == 0.0 {
        "0 %".to_owned()
    } else if value < 0.1 {
        "less than 0.1 %".to_owned()
    } else if value < 9.95 {
        format!("{value:.1} %")
    } else {
        format!("{value:.0} %")
    }
}

/// A temperature difference as people read it.
#[must_use]
pub fn difference(kelvin: f64) -> String {
    let places = usize::from(kelvin.abs() < 9.95);
    format!("{kelvin:.places$} K ({:.places$} °F)", kelvin * 1.8)
}

/// Where a pixel lies: thirds of the picture, in words.
fn place_words((x, y): (u16, u16), (width, height): (usize, usize)) -> &'static str {
    let third = |at: u16, size: usize| (usize::from(at) * 3 / size.max(1)).min(2);
    match (third(y, height), third(x, width)) {
        (0, 0) => "upper left",
        (0, 1) => "upper middle",
        (0, _) => "upper right",
        (1, 0) => "middle left",
        (1, 1) => "middle",
        (1, _) => "middle right",
        (_, 0) => "lower left",
        (_, 1) => "lower middle",
        _ => "lower right",
    }
}

/// The marks as a display shows them.
#[must_use]
pub fn marks_seen(shown: &Shown, marks: &[Mark], settings: &Settings) -> Vec<MarkSeen> {
    let separations = mark_separations(shown, marks, &settings.panel.table());
    marks
        .iter()
        .zip(separations)
        .map(|(mark, separation_jnd)| MarkSeen {
            name: mark.name.clone(),
            separation_jnd,
            state: match separation_jnd {
                None => MarkState::OutOfView,
                Some(jnd) if jnd < settings.visible_jnd => MarkState::Lost,
                Some(_) => MarkState::Visible,
            },
        })
        .collect()
}

impl View {
    /// Reads the numbers of a shown frame.
    #[must_use]
    pub fn of(spec: &ProfileSpec, shown: &Shown, marks: &[Mark], settings: &Settings) -> Self {
        let record = &shown.record;
        let size = (shown.width, shown.height);
        Self {
            profile: spec.name.to_string(),
            scale_low: record.scale_low.into(),
            scale_high: record.scale_high.into(),
            onset: onset(spec),
            coloured_share: share(record.coloured, record.pixels),
            gain: record.gain,
            low_gain_share: share(record.from_low, record.pixels),
            hottest: record.hottest.map(|spot| Place {
                temperature: spot.temperature.into(),
                x: spot.x,
                y: spot.y,
                words: place_words((spot.x, spot.y), size),
            }),
            marks: marks_seen(shown, marks, settings),
        }
    }

    /// The gain state in words.
    #[must_use]
    pub fn gain_words(&self, plan: &GainPlan) -> String {
        match self.gain {
            GainInUse::PerPixel => format!(
                "pixel by pixel; {} of the picture from low gain",
                percent(self.low_gain_share)
            ),
            GainInUse::Blank => "none: blank while the sensor switches".to_owned(),
            state => {
                let name = if state == GainInUse::High {
                    "high"
                } else {
                    "low"
                };
                let why = match plan {
                    GainPlan::WholeFrame(_) => "the whole frame",
                    _ => "always",
                };
                format!("{name} gain, {why}")
            }
        }
    }

    /// The view as a card under a heading.
    #[must_use]
    pub fn card(&self, spec: &ProfileSpec, shown: &Shown, heading: &str, when: &str) -> Card {
        let colour = match (&spec.colour, self.onset) {
            (ColourPlan::Bands(_), Some(onset)) => format!("from {onset} up"),
            (ColourPlan::PseudoColour { .. }, _) => {
                "everywhere; a colour stands for no fixed temperature".to_owned()
            }
            _ => "none: grey only".to_owned(),
        };
        let mut facts = vec![
            Fact::new("White", self.scale_high.to_string()),
            Fact::new("Black", self.scale_low.to_string()),
            Fact::new("Colour", colour),
            Fact::new(
                "Coloured",
                format!("{} of the picture", percent(self.coloured_share)),
            ),
            Fact::new("Gain", self.gain_words(&spec.gain)),
        ];
        if let Some(hottest) = self.hottest {
            facts.push(Fact::new(
                "Hottest",
                format!("{}, {}", hottest.temperature, hottest.words),
            ));
        }
        for mark in &self.marks {
            let (badge, word) = match mark.state {
                MarkState::Visible => (Badge::Good, "visible"),
                MarkState::Lost => (Badge::Bad, "lost"),
                MarkState::OutOfView => (Badge::Neutral, "out of view"),
            };
            facts.push(Fact {
                name: format!("Mark: {}", mark.name),
                value: mark
                    .separation_jnd
                    .map_or_else(String::new, |jnd| format!("{jnd:.1} JND")),
                badge: Some((badge, word.to_owned())),
            });
        }
        let lost: Vec<_> = self
            .marks
            .iter()
            .filter(|mark| mark.state == MarkState::Lost)
            .map(|mark| mark.name.as_str())
            .collect();
        Card {
            heading: heading.to_owned(),
            picture: shown.image(),
            alt: format!(
                "What {} shows at {when}: white at {}, black at {}, {} coloured{}",
                self.profile,
                self.scale_high,
                self.scale_low,
                percent(self.coloured_share),
                if lost.is_empty() {
                    String::new()
                } else {
                    format!("; lost: {}", lost.join(", "))
                }
            ),
            facts,
        }
    }
}

/// Apparent temperature at which the bands of a profile start.
pub(crate) fn onset(spec: &ProfileSpec) -> Option<Kelvin> {
    match &spec.colour {
        ColourPlan::Bands(plan) => plan.bands.first().map(|band| band.start.into()),
        _ => None,
    }
}

/// The sentence that says what the marks are judged by.
#[must_use]
pub fn threshold_words(settings: &Settings) -> String {
    format!(
        "A mark counts as lost below {} just-noticeable differences (JND) of luminance between it and what \
         surrounds it, on a simulated panel of {:.0} cd/m² in a dim room: the project's own threshold, the same \
         as in the measure of dimming. It is a mean over the mark, not a trial with people.",
        settings.visible_jnd, settings.panel.peak_cd_m2
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_and_differences_keep_the_places_that_matter() {
        assert_eq!(percent(0.0), "0 %");
        assert_eq!(percent(0.0004), "less than 0.1 %");
        assert_eq!(percent(0.0321), "3.2 %");
        assert_eq!(percent(0.45), "45 %");
        assert_eq!(difference(10.0), "10 K (18 °F)");
        assert_eq!(difference(2.5), "2.5 K (4.5 °F)");
        assert!((share(1, 4) - 0.25).abs() < f64::EPSILON);
        assert!(share(0, 0).abs() < f64::EPSILON);
    }

    #[test]
    fn places_are_named_by_thirds() {
        assert_eq!(place_words((0, 0), (320, 240)), "upper left");
        assert_eq!(place_words((160, 120), (320, 240)), "middle");
        assert_eq!(place_words((319, 239), (320, 240)), "lower right");
        assert_eq!(place_words((106, 160), (320, 240)), "lower left");
    }
}
