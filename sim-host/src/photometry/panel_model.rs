//! From display codes to luminance at the eye.
//!
//! **Input**: 8-bit RGB codes. **Output**: luminance in cd/m². **Parameters**: [`PanelModel`].
//! `L = peak * Y + black + ambient`, with the relative luminance Y of ITU-R BT.709 / sRGB primaries.
//! The model has no viewing angle, no smoke and no visor: those only take contrast away.

use serde::{Deserialize, Serialize};

use super::{colour, gsdf};

/// Weights of linear red, green and blue in relative luminance.
/// Source: ITU-R BT.709-6, item 3.3, as used by WCAG 2.x "relative luminance".
pub const LUMINANCE_WEIGHTS: [f64; 3] = [0.2126, 0.7152, 0.0722];

/// Transfer function of the panel: code to linear light.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Transfer {
    /// IEC 61966-2-1.
    #[default]
    Srgb,
    /// A pure power of the code, 1.0 to 4.0.
    Gamma(f64),
}

/// A panel in a place.
///
/// ```
/// use glowsill::photometry::panel_model::PanelModel;
/// let panel = PanelModel::default();
/// assert!((panel.luminance([255, 255, 255]) - 251.25).abs() < 1e-9);
/// assert!((panel.luminance([0, 0, 0]) - 1.25).abs() < 1e-9);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PanelModel {
    /// Luminance that full white adds to black, 1 to 10,000 cd/m².
    pub peak_cd_m2: f64,
    /// Luminance of code 0 in the dark, 0 to 10 cd/m² and below the peak.
    pub black_cd_m2: f64,
    /// Ambient light reflected by the panel, 0 to 1,000 cd/m².
    pub ambient_cd_m2: f64,
    /// Code to linear light.
    pub transfer: Transfer,
}

/// A panel model with a field out of its limits.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("panel {field} is {value}: it must be from {low} to {high}; correct it in the panel model")]
pub struct PanelModelError {
    /// Name of the field.
    pub field: &'static str,
    /// Its value.
    pub value: f64,
    /// Least value allowed.
    pub low: f64,
    /// Greatest value allowed.
    pub high: f64,
}

impl Default for PanelModel {
    /// 250 cd/m² peak, 0.25 cd/m² black, 1 cd/m² reflected, sRGB: a mid-class hand-held panel in a
    /// dim room. Common practice, no published source.
    fn default() -> Self {
        Self {
            peak_cd_m2: 250.0,
            black_cd_m2: 0.25,
            ambient_cd_m2: 1.0,
            transfer: Transfer::Srgb,
        }
    }
}

impl PanelModel {
    /// Checks every field against its limits.
    ///
    /// # Errors
    /// [`PanelModelError`] names the first field out of its limits, its value and the limits.
    pub fn validate(&self) -> Result<(), PanelModelError> {
        let check = |field, value: f64, low, high| {
            if (low..=high).contains(&value) {
                Ok(())
            } else {
                Err(PanelModelError {
                    field,
                    value,
                    low,
                    high,
                })
            }
        };
        check("peak_cd_m2", self.peak_cd_m2, 1.0, 10_000.0)?;
        check(
            "black_cd_m2",
            self.black_cd_m2,
            0.0,
            self.peak_cd_m2.min(10.0),
        )?;
        check("ambient_cd_m2", self.ambient_cd_m2, 0.0, 1000.0)?;
        match self.transfer {
            Transfer::Srgb => Ok(()),
            Transfer::Gamma(gamma) => check("transfer.gamma", gamma, 1.0, 4.0),
        }
    }

    /// Linear light of a code, 0 to 1.
    #[must_use]
    pub fn linear(&self, code: u8) -> f64 {
        match self.transfer {
            Transfer::Srgb => colour::srgb_decode(code),
            Transfer::Gamma(gamma) => (f64::from(code) / 255.0).powf(gamma),
        }
    }

    /// Luminance at the eye, in cd/m²: with black level and reflected ambient light.
    #[must_use]
    pub fn luminance(&self, rgb: [u8; 3]) -> f64 {
        self.luminance_of_linear(rgb.map(|code| self.linear(code)))
    }

    /// Luminance at the eye of linear RGB (0 to 1 each), in cd/m².
    #[must_use]
    pub fn luminance_of_linear(&self, linear: [f64; 3]) -> f64 {
        self.emitted(linear) + self.ambient_cd_m2
    }

    /// Luminance that the panel itself emits for linear RGB, in cd/m²: without the ambient part.
    #[must_use]
    pub fn emitted(&self, linear: [f64; 3]) -> f64 {
        self.peak_cd_m2 * relative(linear) + self.black_cd_m2
    }

    /// Tabulates the panel for loops over pixels.
    #[must_use]
    pub fn table(&self) -> PanelTable {
        PanelTable {
            weighted: LUMINANCE_WEIGHTS.map(|weight| {
                let mut table = [0.0; 256];
                for (entry, code) in table.iter_mut().zip(0..=255) {
                    *entry = weight * self.peak_cd_m2 * self.linear(code);
                }
                table
            }),
            floor: self.black_cd_m2 + self.ambient_cd_m2,
        }
    }
}

/// Relative luminance of linear RGB, 0 to 1.
pub(crate) fn relative(linear: [f64; 3]) -> f64 {
    linear
        .iter()
        .zip(LUMINANCE_WEIGHTS)
        .map(|(value, weight)| value * weight)
        .sum()
}

/// A [`PanelModel`] with 256 entries a channel.
#[derive(Clone, Debug)]
pub struct PanelTable {
    weighted: [[f64; 256]; 3],
    floor: f64,
}

impl PanelTable {
    /// Luminance at the eye, in cd/m², as [`PanelModel::luminance`] gives it.
    #[must_use]
    pub fn luminance(&self, rgb: [u8; 3]) -> f64 {
        let sum: f64 = self
            .weighted
            .iter()
            .zip(rgb)
            .map(|(table, code)| table[usize::from(code)])
            .sum();
        sum + self.floor
    }

    /// The luminance as an index of just-noticeable steps.
    #[must_use]
    pub fn jnd(&self, rgb: [u8; 3]) -> f64 {
        gsdf::jnd(self.luminance(rgb))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_gives_what_the_formula_gives() {
        for transfer in [Transfer::Srgb, Transfer::Gamma(2.2)] {
            let panel = PanelModel {
                transfer,
                ..PanelModel::default()
            };
            let table = panel.table();
            for rgb in [
                [0, 0, 0],
                [255, 255, 255],
                [255, 165, 0],
                [1, 10, 11],
                [32, 119, 250],
            ] {
                assert!(
                    (table.luminance(rgb) - panel.luminance(rgb)).abs() < 1e-10,
                    "{rgb:?}"
                );
            }
        }
    }

    // Source: IEC 61966-2-1 decode and ITU-R BT.709 weights, evaluated by hand: grey 128 is
    // 0.21586050 linear, so 250 * 0.21586050 + 1.25.
    #[test]
    fn grey_128_on_the_default_panel() {
        assert!((PanelModel::default().luminance([128; 3]) - 55.215_125).abs() < 1e-5);
        let gamma = PanelModel {
            transfer: Transfer::Gamma(2.0),
            ..PanelModel::default()
        };
        assert!((gamma.luminance([51; 3]) - 11.25).abs() < 1e-9); // (51/255)^2 = 0.04
    }

    #[test]
    fn every_limit_is_reached() {
        let good = PanelModel::default();
        assert!(good.validate().is_ok());
        for (bad, field) in [
            (
                PanelModel {
                    peak_cd_m2: 0.5,
                    ..good
                },
                "peak_cd_m2",
            ),
            (
                PanelModel {
                    peak_cd_m2: f64::NAN,
                    ..good
                },
                "peak_cd_m2",
            ),
            (
                PanelModel {
                    black_cd_m2: -0.1,
                    ..good
                },
                "black_cd_m2",
            ),
            (
                PanelModel {
                    black_cd_m2: 10.1,
                    ..good
                },
                "black_cd_m2",
            ),
            (
                PanelModel {
                    ambient_cd_m2: 1001.0,
                    ..good
                },
                "ambient_cd_m2",
            ),
            (
                PanelModel {
                    transfer: Transfer::Gamma(0.9),
                    ..good
                },
                "transfer.gamma",
            ),
        ] {
            let error = bad.validate().unwrap_err();
            assert_eq!(error.field, field);
            assert!(error.to_string().contains(field));
        }
    }
}
