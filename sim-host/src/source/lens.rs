//! From what stands before the display to counts on it: the simulated sensor, and stored counts as they are.

use super::Frame;
use crate::run::{Display, RunError, SensorTables, Shown};
use crate::world::image::Image;
use crate::world::sensor::Sensor;

/// Raw counts of the gain states that there are, row-major.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counts {
    /// High gain.
    pub high: Option<Vec<u16>>,
    /// Low gain.
    pub low: Option<Vec<u16>>,
}

impl Counts {
    /// Shows them on a display.
    ///
    /// # Errors
    /// [`RunError::Frame`] when they do not fit the display.
    pub fn show<'d>(&self, display: &'d mut Display<'_>) -> Result<&'d Shown, RunError> {
        display.show(self.high.as_deref(), self.low.as_deref())
    }
}

/// The simulated sensor before a source, and what the pipeline must know of the counts.
pub struct Lens {
    pub(super) sensor: Sensor,
    pub(super) tables: SensorTables,
}

impl Lens {
    /// Calibrations, corrections and defects for the pipeline.
    #[must_use]
    pub fn tables(&self) -> &SensorTables {
        &self.tables
    }

    /// The counts of a frame: temperatures go through the sensor, counts pass.
    ///
    /// The sensor has lag and noise, so frames are exposed once each, in turn.
    ///
    /// # Errors
    /// [`RunError::Sensor`] when the picture does not fit the sensor.
    pub fn expose(&mut self, frame: Frame) -> Result<Counts, RunError> {
        match frame {
            Frame::Counts(counts) => Ok(counts),
            Frame::Apparent { image, .. } => self.sense(&image),
        }
    }

    /// The counts that the simulated sensor gives of a picture of apparent temperatures in kelvin.
    ///
    /// # Errors
    /// As [`Self::expose`].
    pub fn sense(&mut self, apparent: &Image<f64>) -> Result<Counts, RunError> {
        let exposure = self.sensor.expose(apparent)?;
        Ok(Counts {
            high: Some(exposure.high),
            low: Some(exposure.low),
        })
    }
}
