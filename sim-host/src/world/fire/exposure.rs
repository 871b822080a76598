//! What a wall meets on its fire side, against time.
//!
//! A curve gives the temperature of gas and of radiating surroundings, taken equal, and a coefficient
//! of convection: 25 W m⁻² K⁻¹, 50 for the hydrocarbon curve (EN 1991-1-2, from memory, not seen). What
//! a computed fire does is handed over as a [`History`].

use std::cmp::Ordering;

use std::fmt;
use std::str::FromStr;

use super::warning::FireError;
use crate::profile_file::source::nearest;
use crate::temperature::Kelvin;
use crate::world::conduction::Boundary;

const CELSIUS_0: f64 = 273.15;
/// Coefficient of convection of nominal curves, W m⁻² K⁻¹.
pub const NOMINAL_W_M2K: f64 = 25.0;
/// Coefficient of convection of the hydrocarbon curve, W m⁻² K⁻¹.
pub const HYDROCARBON_W_M2K: f64 = 50.0;

/// What acts on the fire side at one instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FireSide {
    /// Temperature of the gas at the face, kelvin.
    pub gas_k: f64,
    /// Temperature of the black surroundings that radiate on it, kelvin.
    pub radiant_k: f64,
    /// Coefficient of convection, W m⁻² K⁻¹.
    pub convection_w_m2k: f64,
    /// Flux that falls on the face besides, such as a flame's, W/m².
    pub incident_w_m2: f64,
}

impl FireSide {
    /// As a boundary of a face of this emissivity, which is also its absorptivity.
    #[must_use]
    pub fn boundary(&self, emissivity: f64) -> Boundary {
        Boundary {
            gas_k: self.gas_k,
            convection_w_m2k: self.convection_w_m2k,
            radiant_k: self.radiant_k,
            emissivity,
            flux_w_m2: emissivity * self.incident_w_m2,
            spray: None,
        }
    }

    fn curve(kelvin: f64, convection_w_m2k: f64) -> Self {
        Self {
            gas_k: kelvin,
            radiant_k: kelvin,
            convection_w_m2k,
            incident_w_m2: 0.0,
        }
    }

    fn blend(&self, other: &Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Self {
            gas_k: mix(self.gas_k, other.gas_k),
            radiant_k: mix(self.radiant_k, other.radiant_k),
            convection_w_m2k: mix(self.convection_w_m2k, other.convection_w_m2k),
            incident_w_m2: mix(self.incident_w_m2, other.incident_w_m2),
        }
    }
}

/// Something that a wall can be exposed to.
pub trait Exposure: Send + Sync {
    /// What it is, for people.
    fn title(&self) -> String;

    /// What acts at a time in seconds, 0 or later.
    fn fire_side(&self, t_s: f64) -> FireSide;
}

/// ISO 834 standard curve, 20 + 345 log₁₀(8t + 1) °C, t in minutes (EN 1991-1-2 equation 3.4, seen).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Iso834;

impl Iso834 {
    /// Temperature at a time in seconds, kelvin.
    ///
    /// ```
    /// use glowsill::world::fire::exposure::Iso834;
    /// assert!((Iso834::gas_k(600.0) - 273.15 - 678.427).abs() < 1e-3);
    /// ```
    #[must_use]
    pub fn gas_k(t_s: f64) -> f64 {
        CELSIUS_0 + 20.0 + 345.0 * (8.0 * t_s.max(0.0) / 60.0 + 1.0).log10()
    }
}

impl Exposure for Iso834 {
    fn title(&self) -> String {
        "ISO 834 standard curve".to_owned()
    }

    fn fire_side(&self, t_s: f64) -> FireSide {
        FireSide::curve(Self::gas_k(t_s), NOMINAL_W_M2K)
    }
}

/// Hydrocarbon curve, 1080 (1 − 0.325 e^(−0.167t) − 0.675 e^(−2.5t)) + 20 °C, t in minutes (EN 1991-1-2
/// equation 3.6; its value at 10 min seen).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Hydrocarbon;

impl Hydrocarbon {
    /// Temperature at a time in seconds, kelvin.
    #[must_use]
    pub fn gas_k(t_s: f64) -> f64 {
        let t = t_s.max(0.0) / 60.0;
        let rise = 1.0 - 0.325 * (-0.167 * t).exp() - 0.675 * (-2.5 * t).exp();
        CELSIUS_0 + 20.0 + 1080.0 * rise
    }
}

impl Exposure for Hydrocarbon {
    fn title(&self) -> String {
        "hydrocarbon curve of EN 1991-1-2".to_owned()
    }

    fn fire_side(&self, t_s: f64) -> FireSide {
        FireSide::curve(Self::gas_k(t_s), HYDROCARBON_W_M2K)
    }
}

/// External fire curve, 660 (1 − 0.687 e^(−0.32t) − 0.313 e^(−3.8t)) + 20 °C, t in minutes (EN 1991-1-2
/// equation 3.5; its value at 10 min seen).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct External;

impl External {
    /// Temperature at a time in seconds, kelvin.
    #[must_use]
    pub fn gas_k(t_s: f64) -> f64 {
        let t = t_s.max(0.0) / 60.0;
        let rise = 1.0 - 0.687 * (-0.32 * t).exp() - 0.313 * (-3.8 * t).exp();
        CELSIUS_0 + 20.0 + 660.0 * rise
    }
}

impl Exposure for External {
    fn title(&self) -> String {
        "external fire curve of EN 1991-1-2".to_owned()
    }

    fn fire_side(&self, t_s: f64) -> FireSide {
        FireSide::curve(Self::gas_k(t_s), NOMINAL_W_M2K)
    }
}

/// ASTM E119 standard curve by its table, straight between the points, level after the last.
///
/// Source: points in °F as printed in a public record beside the ISO curve (seen); 68 °F at the start.
/// In the first five minutes, where the table has no point, the straight line is a choice of this
/// project.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct E119;

/// Minutes and °F.
const E119_POINTS: [(f64, f64); 10] = [
    (0.0, 68.0),
    (5.0, 1000.0),
    (10.0, 1300.0),
    (20.0, 1462.0),
    (30.0, 1550.0),
    (45.0, 1638.0),
    (60.0, 1700.0),
    (90.0, 1792.0),
    (120.0, 1850.0),
    (240.0, 2000.0),
];

impl E119 {
    /// Temperature at a time in seconds, kelvin.
    #[must_use]
    pub fn gas_k(t_s: f64) -> f64 {
        let t = t_s.max(0.0) / 60.0;
        let pair = E119_POINTS.windows(2).find(|pair| t < pair[1].0);
        let fahrenheit = pair.map_or(E119_POINTS[E119_POINTS.len() - 1].1, |pair| {
            let ((from, low), (to, high)) = (pair[0], pair[1]);
            low + (t - from) / (to - from) * (high - low)
        });
        (fahrenheit + 459.67) / 1.8
    }
}

impl Exposure for E119 {
    fn title(&self) -> String {
        "ASTM E119 standard curve, by its table".to_owned()
    }

    fn fire_side(&self, t_s: f64) -> FireSide {
        FireSide::curve(Self::gas_k(t_s), NOMINAL_W_M2K)
    }
}

/// One temperature from the start on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Constant {
    /// The temperature of gas and surroundings.
    pub kelvin: Kelvin,
}

impl Exposure for Constant {
    fn title(&self) -> String {
        format!("constant {}", self.kelvin)
    }

    fn fire_side(&self, _t_s: f64) -> FireSide {
        FireSide::curve(self.kelvin.0, NOMINAL_W_M2K)
    }
}

/// What a computed fire did, straight between its entries, level before the first and after the last.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    title: String,
    entries: Vec<(f64, FireSide)>,
}

impl History {
    /// Entries of a time in seconds and what acts then, times rising.
    ///
    /// # Errors
    /// [`FireError::History`] if there is none or a time does not rise.
    pub fn new(title: impl Into<String>, entries: Vec<(f64, FireSide)>) -> Result<Self, FireError> {
        if entries.is_empty() {
            return Err(FireError::History(0));
        }
        let rises =
            |pair: &[(f64, FireSide)]| pair[0].0.partial_cmp(&pair[1].0) == Some(Ordering::Less);
        let wrong = entries.windows(2).position(|pair| !rises(pair));
        match wrong {
            Some(index) => Err(FireError::History(index + 1)),
            None => Ok(Self {
                title: title.into(),
                entries,
            }),
        }
    }
}

impl Exposure for History {
    fn title(&self) -> String {
        self.title.clone()
    }

    fn fire_side(&self, t_s: f64) -> FireSide {
        let after = self.entries.partition_point(|(time, _)| *time <= t_s);
        if after == 0 {
            return self.entries[0].1;
        }
        let (from, first) = self.entries[after - 1];
        match self.entries.get(after) {
            Some((to, second)) => first.blend(second, (t_s - from) / (to - from)),
            None => first,
        }
    }
}

/// A curve by its name on the command line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve {
    /// `iso834`
    Iso834,
    /// `e119`
    E119,
    /// `hydrocarbon`
    Hydrocarbon,
    /// `external`
    External,
    /// `constant:600C`
    Constant(Kelvin),
}

impl Curve {
    fn exposure(&self) -> Box<dyn Exposure> {
        match *self {
            Self::Iso834 => Box::new(Iso834),
            Self::E119 => Box::new(E119),
            Self::Hydrocarbon => Box::new(Hydrocarbon),
            Self::External => Box::new(External),
            Self::Constant(kelvin) => Box::new(Constant { kelvin }),
        }
    }
}

impl Exposure for Curve {
    fn title(&self) -> String {
        self.exposure().title()
    }

    fn fire_side(&self, t_s: f64) -> FireSide {
        self.exposure().fire_side(t_s)
    }
}

fn unknown(text: &str) -> FireError {
    let (word, rest) = text.split_once(':').unwrap_or((text, ""));
    let known = [
        "iso834",
        "e119",
        "hydrocarbon",
        "external",
        "constant",
        "scenario",
    ];
    let meant = nearest(word, &known).map_or_else(String::new, |near| match near {
        "constant" | "scenario" if rest.is_empty() => String::new(),
        "constant" | "scenario" => format!(". Did you mean {near}:{rest}?"),
        _ => format!(". Did you mean {near}?"),
    });
    FireError::UnknownExposure {
        text: text.to_owned(),
        meant,
    }
}

impl FromStr for Curve {
    type Err = FireError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text {
            "iso834" => Ok(Self::Iso834),
            "e119" => Ok(Self::E119),
            "hydrocarbon" => Ok(Self::Hydrocarbon),
            "external" => Ok(Self::External),
            _ => {
                let written = text
                    .strip_prefix("constant:")
                    .ok_or_else(|| unknown(text))?;
                let kelvin: Kelvin = written.parse().map_err(|cause| FireError::Temperature {
                    text: text.to_owned(),
                    cause,
                })?;
                if kelvin.0 > 1800.05 {
                    return Err(FireError::TooHot(kelvin));
                }
                Ok(Self::Constant(kelvin))
            }
        }
    }
}

impl fmt::Display for Curve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Iso834 => write!(f, "iso834"),
            Self::E119 => write!(f, "e119"),
            Self::Hydrocarbon => write!(f, "hydrocarbon"),
            Self::External => write!(f, "external"),
            Self::Constant(kelvin) => write!(f, "constant:{:.2}C", kelvin.celsius()),
        }
    }
}
