//! Temporal noise of still pixels: from frame to frame, with the drift of the scene taken out.

use serde::Serialize;

use glowsill_core::panel::Rgb888;
use glowsill_core::record::GainInUse;

use crate::measure::reading::{mean, real};
use crate::photometry::panel_model::{PanelModel, PanelTable};
use crate::run::Shown;

/// Frames that noise is measured over, ending at the instant.
pub(super) const WINDOW: usize = 8;
/// Fewest pixels that noise is measured on.
const FEWEST: usize = 50;

/// Temporal standard deviation of a still pixel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Noise {
    /// Of its apparent temperature, kelvin.
    pub kelvin: f64,
    /// Of its grey, of 255.
    pub grey: f64,
    /// Of its luminance on the panel, just-noticeable differences: what reaches the eye.
    pub jnd: f64,
    /// Pixels it was measured on.
    pub pixels: usize,
}

/// Why noise was not measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NotMeasured {
    /// One frame alone has no change from frame to frame.
    OneFrame,
    /// The display was blank just before.
    Blank,
    /// Too little of the background stands still.
    FewStill,
}

impl NotMeasured {
    /// The reason as it follows a "because".
    #[must_use]
    pub fn because(self) -> String {
        match self {
            Self::OneFrame => "the first frame has none before it to change from".to_owned(),
            Self::Blank => "the display was blank just before".to_owned(),
            Self::FewStill => {
                format!("fewer than {FEWEST} pixels of the background stand still")
            }
        }
    }
}

/// Just-noticeable steps of a panel by colour; those of greys are tabulated, because most pixels are grey.
pub(super) struct Eye {
    table: PanelTable,
    greys: Vec<f64>,
}

impl Eye {
    pub(super) fn before(panel: &PanelModel) -> Self {
        let table = panel.table();
        let greys = (0..=255).map(|code| table.jnd([code; 3])).collect();
        Self { table, greys }
    }

    fn jnd(&self, colour: Rgb888) -> f64 {
        let Rgb888 { r, g, b } = colour;
        if r == g && g == b {
            self.greys[usize::from(r)]
        } else {
            self.table.jnd([r, g, b])
        }
    }
}

/// What is kept of a frame.
struct Planes {
    temperature: Vec<u16>,
    grey_q8: Vec<u16>,
    picture: Vec<Rgb888>,
}

/// The last frames of a display.
#[derive(Default)]
pub(super) struct Window {
    frames: Vec<Planes>,
    was_blank: bool,
}

impl Window {
    /// Adds a frame; a blank one empties the window, because nothing was seen.
    pub(super) fn push(&mut self, shown: &Shown) {
        if shown.record.gain == GainInUse::Blank {
            self.frames.clear();
            self.was_blank = true;
            return;
        }
        if self.frames.len() == WINDOW {
            self.frames.remove(0);
        }
        self.frames.push(Planes {
            temperature: shown.temperature.clone(),
            grey_q8: shown.grey_q8.clone(),
            picture: shown.picture.clone(),
        });
    }

    /// The noise of a region, or why there is none.
    pub(super) fn noise(&self, region: &[usize], eye: &Eye) -> Result<Noise, NotMeasured> {
        if region.len() < FEWEST {
            return Err(NotMeasured::FewStill);
        }
        let missing = if self.was_blank {
            NotMeasured::Blank
        } else {
            NotMeasured::OneFrame
        };
        let of = |value: &dyn Fn(&Planes, usize) -> f64| {
            let pairs = self.frames.windows(2);
            let variance = mean(pairs.map(|pair| {
                let steps: Vec<f64> = region
                    .iter()
                    .map(|i| value(&pair[1], *i) - value(&pair[0], *i))
                    .collect();
                half_variance(&steps)
            }));
            variance.map(f64::sqrt).ok_or(missing)
        };
        Ok(Noise {
            kelvin: of(&|frame, i| f64::from(frame.temperature[i]) / 32.0)?,
            grey: of(&|frame, i| f64::from(frame.grey_q8[i]) / 256.0)?,
            jnd: of(&|frame, i| eye.jnd(frame.picture[i]))?,
            pixels: region.len(),
        })
    }
}

/// Half the variance of differences: the variance of one of the two, when both are independent. The mean
/// difference, a drift common to all pixels, does not count.
fn half_variance(steps: &[f64]) -> f64 {
    let centre = mean(steps.iter().copied()).unwrap_or(0.0);
    let squares: f64 = steps.iter().map(|step| (step - centre).powi(2)).sum();
    squares / (real(steps.len()) - 1.0).max(1.0) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: DICOM PS3.14, display function: JND 81 is 1.24781 cd/m², JND 82 is 1.27589, JND 604 is 249.850, JND 605
    // is 251.588. On a panel of 250 cd/m² with 1.25 cd/m² of black and glare the greys 0 and 255 stand at 1.25 and
    // 251.25 cd/m², so at JND 81.08 and 604.81: 523.73 apart.
    // By hand: pixels that go black to white and white to black have steps of ±d with no mean, half of whose
    // variance is d²·n/(n - 1)/2.
    #[test]
    fn noise_is_told_in_kelvin_grey_and_steps_that_an_eye_sees_or_not_at_all() {
        let eye = Eye::before(&PanelModel::default());
        let region: Vec<usize> = (0..64).collect();
        let frame = |first: bool| Planes {
            temperature: region
                .iter()
                .map(|i| if (i % 2 == 0) == first { 9_600 } else { 9_632 })
                .collect(),
            grey_q8: region
                .iter()
                .map(|i| if (i % 2 == 0) == first { 0 } else { 65_280 })
                .collect(),
            picture: region
                .iter()
                .map(|i| Rgb888::grey(if (i % 2 == 0) == first { 0 } else { 255 }))
                .collect(),
        };
        let mut window = Window::default();
        assert_eq!(window.noise(&region, &eye), Err(NotMeasured::OneFrame));
        window.frames = vec![frame(true), frame(false)];
        let noise = window.noise(&region, &eye).unwrap();
        let share = (64.0_f64 / 63.0 / 2.0).sqrt();
        assert!((noise.kelvin - share).abs() < 1e-9, "{noise:?}");
        assert!((noise.grey - 255.0 * share).abs() < 1e-9, "{noise:?}");
        assert!((noise.jnd - 523.73 * share).abs() < 0.1, "{noise:?}");
        assert_eq!(window.noise(&region[..9], &eye), Err(NotMeasured::FewStill));
        let blank = Window {
            was_blank: true,
            ..Window::default()
        };
        assert_eq!(blank.noise(&region, &eye), Err(NotMeasured::Blank));
    }

    // By hand: differences 1, 3, 1, 3 have mean 2 and variance 4/3; half of it is 2/3.
    #[test]
    fn a_common_drift_is_no_noise() {
        assert!((half_variance(&[1.0, 3.0, 1.0, 3.0]) - 2.0 / 3.0).abs() < 1e-12);
        assert!(half_variance(&[5.0; 9]).abs() < 1e-12);
    }
}
