//! What a display shows at an instant, in numbers: scale, colour, gain state, marks.

use glowsill_core::profile::{ColourPlan, ProfileSpec};
use glowsill_core::record::GainInUse;
use serde::Serialize;

use super::scale::GreyLaw;
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
    /// Whether that is only a lower bound: some pixel stood at or above the top of every gain state in use.
    pub at_least: bool,
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
    /// Apparent temperature of black, or of the lower end of an equalised scale.
    pub scale_low: Kelvin,
    /// Apparent temperature of white, or of the upper end of an equalised scale.
    pub scale_high: Kelvin,
    /// How grey was shared out between the two.
    pub grey_law: GreyLaw,
    /// Apparent temperature at which colour starts; none without bands.
    pub onset: Option<Kelvin>,
    /// Share of the picture's pixels with colour, 0 to 1.
    pub coloured_share: f64,
    /// Gain state of the frame.
    pub gain: GainInUse,
    /// Share of the picture's pixels taken mostly from low gain, 0 to 1.
    pub low_gain_share: f64,
    /// Share of the picture's pixels at or above the top of every gain state in use, 0 to 1.
    pub saturated_share: f64,
    /// The hottest pixel.
    pub hottest: Option<Place>,
    /// The marks; none in a recording.
    pub marks: Vec<MarkSeen>,
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let bound = if self.at_least { "at least " } else { "" };
        write!(f, "{bound}{}", self.temperature)
    }
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
            grey_law: GreyLaw::of(spec, record),
            onset: onset(spec),
            coloured_share: share(record.coloured, record.pixels),
            gain: record.gain,
            low_gain_share: share(record.from_low, record.pixels),
            saturated_share: share(record.saturated, record.pixels),
            hottest: record.hottest.map(|spot| Place {
                temperature: spot.temperature.into(),
                at_least: record.saturated > 0,
                x: spot.x,
                y: spot.y,
                words: place_words((spot.x, spot.y), size),
            }),
            marks: marks_seen(shown, marks, settings),
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

    // A uniform 400 °C is above the top of high gain, which is all that this profile has.
    #[test]
    fn a_saturated_gain_state_gives_only_a_lower_bound() {
        use crate::run::{RunError, still, with_bench};
        use crate::world::sensor::SensorModel;
        use glowsill_core::profile::Profile;
        let spec = ProfileSpec::grey_example();
        let profile = Profile::new(spec.clone()).unwrap();
        let seen = |kelvin: f64| {
            let scene = crate::world::image::Image::new(16, 12, kelvin);
            let model = SensorModel::ideal();
            with_bench(&profile, &model, (16, 12), 1, |sensor, display| {
                let shown = display.settle(&still(sensor, &scene, 1)?, 2)?;
                Ok::<_, RunError>(View::of(&spec, shown, &[], &Settings::default()))
            })
            .unwrap()
        };
        let (warm, hot) = (seen(338.15), seen(673.15));
        let words = |view: &View| view.hottest.unwrap().to_string();
        assert!(!warm.hottest.unwrap().at_least && warm.saturated_share == 0.0);
        assert!(words(&warm).starts_with("65.0 °C (149"), "{}", words(&warm));
        assert!(hot.hottest.unwrap().at_least && hot.saturated_share > 0.99);
        assert!(words(&hot).starts_with("at least "), "{}", words(&hot));
        assert!(hot.hottest.unwrap().temperature.0 < 673.0);
    }

    #[test]
    fn places_are_named_by_thirds() {
        assert_eq!(place_words((0, 0), (320, 240)), "upper left");
        assert_eq!(place_words((160, 120), (320, 240)), "middle");
        assert_eq!(place_words((319, 239), (320, 240)), "lower right");
        assert_eq!(place_words((106, 160), (320, 240)), "lower left");
    }
}
