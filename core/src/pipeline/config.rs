//! What a pipeline is built for: the size of the picture and the sensor.

use crate::calibration::Calibration;
use crate::error::ConfigError;
use crate::health::HealthPlan;
use crate::stage::correct::Correction;

/// Size of the picture, 8x8 to 1280x1024 pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Geometry {
    width: u16,
    height: u16,
}

impl Geometry {
    /// 320 by 240 pixels.
    pub const DEFAULT: Self = Self {
        width: 320,
        height: 240,
    };

    /// Checks a size.
    ///
    /// # Errors
    /// [`ConfigError::Geometry`] outside 8x8 to 1280x1024.
    pub const fn new(width: u16, height: u16) -> Result<Self, ConfigError> {
        if width < 8 || width > 1280 {
            return Err(ConfigError::Geometry {
                field: "width",
                value: width,
                min: 8,
                max: 1280,
            });
        }
        if height < 8 || height > 1024 {
            return Err(ConfigError::Geometry {
                field: "height",
                value: height,
                min: 8,
                max: 1024,
            });
        }
        Ok(Self { width, height })
    }

    /// Columns.
    #[must_use]
    pub const fn width(self) -> u16 {
        self.width
    }

    /// Rows.
    #[must_use]
    pub const fn height(self) -> u16 {
        self.height
    }

    /// Pixels.
    #[must_use]
    pub fn pixels(self) -> usize {
        usize::from(self.width) * usize::from(self.height)
    }
}

/// What the pipeline must know of the sensor. Fixed for a session.
#[derive(Clone, Copy, Debug, Default)]
pub struct SensorConfig<'a> {
    /// Calibration of the sensitive state.
    pub high: Option<&'a Calibration>,
    /// Calibration of the wide-range state.
    pub low: Option<&'a Calibration>,
    /// Per-pixel correction of the sensitive state.
    pub high_correction: Option<Correction<'a>>,
    /// Per-pixel correction of the wide-range state.
    pub low_correction: Option<Correction<'a>>,
    /// Check sum of the sensitive state's correction, [`Correction::crc32`], as it was stored.
    pub high_crc: Option<u32>,
    /// Check sum of the wide-range state's correction.
    pub low_crc: Option<u32>,
    /// Defect map, one byte a pixel; 0 is a sound pixel.
    pub defects: Option<&'a [u8]>,
    /// From when on something is wrong.
    pub health: HealthPlan,
}
