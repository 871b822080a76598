//! Measures: defined quantities with unit and method. `docs/measures/` is normative.

pub mod catalogue;
pub mod colour_order;
pub mod detail;
pub mod dimming;
pub mod flash;
pub mod latency;
pub mod onset;
pub mod reading;
pub mod seam;
pub mod steadiness;

use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

use glowsill_core::profile::Profile;
use serde::{Deserialize, Serialize};

use crate::photometry::panel_model::PanelModel;
use crate::run::RunError;
use crate::world::radiometry::RadiometryError;
use crate::world::sensor::SensorModel;

/// Frame rate that turns frames into seconds, Hz. Common practice, no published source.
pub const FRAME_HZ: f64 = 25.0;

/// What the measures are made under.
#[derive(Clone, Debug, Serialize)]
pub struct Settings {
    /// Seed of every random draw.
    pub seed: u64,
    /// The glass.
    pub panel: PanelModel,
    /// The sensor.
    pub sensor: SensorModel,
    /// Separation below which a mark counts as lost, JND. The project's own limit.
    pub visible_jnd: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            seed: 1,
            panel: PanelModel::default(),
            sensor: SensorModel::default(),
            visible_jnd: 3.0,
        }
    }
}

/// A measure that could not be made.
#[derive(Debug, thiserror::Error)]
pub enum MeasureError {
    /// The pipeline or the sensor refused.
    #[error(transparent)]
    Run(#[from] RunError),
    /// A temperature has no counterpart.
    #[error(transparent)]
    Radiometry(#[from] RadiometryError),
    /// The flash count refused.
    #[error(transparent)]
    Flash(#[from] crate::photometry::flash::FlashError),
}

/// Makes one measure of one profile.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run; what a profile merely lacks is a quantity
/// without a value, with the reason in its note.
pub fn run(id: MeasureId, profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    match id {
        MeasureId::Onset => onset::measure(profile, settings),
        MeasureId::Detail => detail::measure(profile, settings),
        MeasureId::Dimming => dimming::measure(profile, settings),
        MeasureId::Seam => seam::measure(profile, settings),
        MeasureId::Steadiness => steadiness::measure(profile, settings),
        MeasureId::ColourOrder => Ok(colour_order::measure(profile.spec())),
        MeasureId::Latency => latency::measure(profile, settings),
    }
}

/// The measures, in the order they are reported.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MeasureId {
    /// Apparent temperature at which colour starts.
    Onset,
    /// Separation of bars behind colour.
    Detail,
    /// Loss of marks as a hot source grows.
    Dimming,
    /// The transition between the two gain states.
    Seam,
    /// Grey pumping and flashes.
    Steadiness,
    /// Distances and luminance order of the colours.
    ColourOrder,
    /// Frames from a step to the display's response.
    Latency,
}

impl MeasureId {
    /// Every measure.
    pub const ALL: [Self; 7] = [
        Self::Onset,
        Self::Detail,
        Self::Dimming,
        Self::Seam,
        Self::Steadiness,
        Self::ColourOrder,
        Self::Latency,
    ];

    /// The name used on the command line, in files and in reports.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Onset => "onset",
            Self::Detail => "detail",
            Self::Dimming => "dimming",
            Self::Seam => "seam",
            Self::Steadiness => "steadiness",
            Self::ColourOrder => "colour-order",
            Self::Latency => "latency",
        }
    }
}

impl fmt::Display for MeasureId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for MeasureId {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Self::ALL
            .into_iter()
            .find(|id| id.name() == text)
            .ok_or_else(|| {
                let names: Vec<_> = Self::ALL.iter().map(|id| id.name()).collect();
                format!(
                    "'{text}' is not a measure: choose one of {}",
                    names.join(", ")
                )
            })
    }
}

/// One measured number.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Quantity {
    /// Dotted name inside the measure, such as `rising`; `docs/measures` lists them.
    pub name: String,
    /// What it was measured under, such as `place = centre`, `emissivity = 0.95`.
    pub conditions: BTreeMap<String, String>,
    /// The value; `None` when it could not be measured, with the reason in `note`.
    pub value: Option<f64>,
    /// Unit, as shown: `K`, `JND`, `JND/s`, `frames`, `°C`, `ratio`, `count`.
    pub unit: String,
    /// Half-width of the 95 % interval, in the same unit.
    pub uncertainty: Option<f64>,
    /// Free text: why not evaluated, what was exempt.
    pub note: Option<String>,
}

impl Quantity {
    /// A value without conditions.
    #[must_use]
    pub fn new(name: &str, value: f64, unit: &str) -> Self {
        Self {
            name: name.to_owned(),
            conditions: BTreeMap::new(),
            value: value.is_finite().then_some(value),
            unit: unit.to_owned(),
            uncertainty: None,
            note: None,
        }
    }

    /// A quantity that could not be measured, and why.
    #[must_use]
    pub fn absent(name: &str, unit: &str, why: &str) -> Self {
        Self {
            value: None,
            note: Some(why.to_owned()),
            ..Self::new(name, 0.0, unit)
        }
    }

    /// Adds a condition.
    #[must_use]
    pub fn under(mut self, key: &str, value: impl fmt::Display) -> Self {
        self.conditions.insert(key.to_owned(), value.to_string());
        self
    }

    /// Adds the half-width of the 95 % interval.
    #[must_use]
    pub fn within(mut self, half_width: f64) -> Self {
        self.uncertainty = Some(half_width);
        self
    }

    /// Adds a note.
    #[must_use]
    pub fn noting(mut self, note: impl Into<String>) -> Self {
        self.note = Some(note.into());
        self
    }
}

/// A picture kept as evidence.
#[derive(Clone, Debug)]
pub struct Picture {
    /// File name without folder or ending: lower case, digits, hyphens.
    pub stem: String,
    /// What it shows.
    pub caption: String,
    /// The pixels.
    pub image: image::RgbImage,
}

/// A line of a plot.
#[derive(Clone, Debug, Serialize)]
pub struct Series {
    /// Name in the legend.
    pub name: String,
    /// Points in order of x.
    pub points: Vec<(f64, f64)>,
}

/// A plot kept as evidence.
#[derive(Clone, Debug, Serialize)]
pub struct Plot {
    /// File name without folder or ending.
    pub stem: String,
    /// What it shows.
    pub title: String,
    /// Label of the x axis, with unit.
    pub x_label: String,
    /// Label of the y axis, with unit.
    pub y_label: String,
    /// The lines.
    pub series: Vec<Series>,
    /// Named vertical lines: position on x, label.
    pub marks: Vec<(f64, String)>,
    /// Named horizontal line, such as the visibility limit: position on y, label.
    pub limits: Vec<(f64, String)>,
}

impl Outcome {
    /// An outcome that has found nothing yet.
    #[must_use]
    pub fn new(measure: MeasureId) -> Self {
        Self {
            measure,
            quantities: Vec::new(),
            pictures: Vec::new(),
            plots: Vec::new(),
            findings: Vec::new(),
        }
    }

    /// Adds quantities (name, unit) that could not be measured, all for the same reason.
    fn absent(&mut self, quantities: &[(&str, &str)], why: &str) {
        let absent = quantities
            .iter()
            .map(|(name, unit)| Quantity::absent(name, unit, why));
        self.quantities.extend(absent);
    }
}

/// Everything one measure found for one profile.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Which measure.
    pub measure: MeasureId,
    /// The numbers.
    pub quantities: Vec<Quantity>,
    /// The pictures.
    pub pictures: Vec<Picture>,
    /// The plots.
    pub plots: Vec<Plot>,
    /// Sentences computed from the numbers.
    pub findings: Vec<String>,
}
