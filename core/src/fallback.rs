//! Fallback: the profile that is shown when the stored one is damaged.
//!
//! It is built in, so nothing can damage it, and plain, so that no habit of another profile is
//! needed to read it: grey over the middle 96 % of the scene, one colour from 160 °C (320 °F) on,
//! laid over the grey so that detail stays visible. The pipeline strikes its picture out
//! ([`crate::health::Cause::ProfileFallback`]): it is better than none, not as good as the right one.

use heapless::{String, Vec};

use crate::packed::PackedError;
use crate::panel::Rgb888;
use crate::pipeline::SensorConfig;
use crate::profile::{
    Band, BandPlan, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw, ScalePlan,
};
use crate::units::Temperature;

/// Name of the built-in profile.
pub const NAME: &str = "Built-in safe profile";

impl Profile {
    /// The built-in profile for the gain states a sensor has a calibration of.
    ///
    /// ```
    /// use glowsill_core::{pipeline::SensorConfig, profile::Profile};
    /// let safe = Profile::safe(&SensorConfig::default());
    /// assert_eq!(safe.onset().unwrap().to_millikelvin(), 433_156); // 160 °C to 1/32 K
    /// ```
    #[must_use]
    pub fn safe(sensor: &SensorConfig<'_>) -> Self {
        let gain = match (sensor.high.is_some(), sensor.low.is_some()) {
            (true, true) => GainPlan::PerPixel {
                blend_from: Temperature::from_bits(12_101), // 105 °C
                blend_to: Temperature::from_bits(13_061),   // 135 °C
                dispute_k32: 640,
            },
            (false, true) => GainPlan::LowOnly,
            _ => GainPlan::HighOnly,
        };
        let mut name = String::new();
        // The literals fit their capacities.
        let _ = name.push_str(NAME);
        let mut bands = Vec::new();
        let _ = bands.push(Band {
            start: Temperature::from_bits(13_861), // 160 °C
            colour: Rgb888::new(235, 210, 0),
            fill: Fill::Flat,
        });
        Self(ProfileSpec {
            name,
            gain,
            scale: ScalePlan {
                law: ScaleLaw::Percentile {
                    low_permille: 20,
                    high_permille: 980,
                },
                start_low: Temperature::from_bits(9061), // 10 °C
                start_high: Temperature::from_bits(12_581), // 120 °C
                frames_to_hotter: 24,
                frames_to_colder: 48,
                min_span_k32: 1920,
                max_grey_per_kelvin: 4,
            },
            colour: ColourPlan::Bands(BandPlan {
                bands,
                hysteresis_k32: 128,
                ramp_end: None,
                ceiling: None,
            }),
            overlay: Overlay::Veil { opacity: 64 },
        })
    }

    /// Reads a stored profile; gives the built-in one, and why, if the bytes are damaged.
    ///
    /// Hand the pipeline [`crate::health::Cause::ProfileFallback`] then: see
    /// [`crate::pipeline::Pipeline::raise`].
    #[must_use]
    pub fn from_bytes_or_safe(
        bytes: &[u8],
        sensor: &SensorConfig<'_>,
    ) -> (Self, Option<PackedError>) {
        match Self::from_bytes(bytes) {
            Ok(profile) => (profile, None),
            Err(error) => (Self::safe(sensor), Some(error)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Calibration;

    #[test]
    fn it_is_within_the_limits_for_every_sensor() {
        let table = Calibration::identity();
        for (high, low) in [(true, true), (true, false), (false, true), (false, false)] {
            let sensor = SensorConfig {
                high: high.then_some(&table),
                low: low.then_some(&table),
                ..SensorConfig::default()
            };
            let safe = Profile::safe(&sensor);
            assert_eq!(Profile::new(safe.spec().clone()).unwrap(), safe);
            assert_eq!(safe.spec().name, NAME);
        }
    }

    #[test]
    fn damaged_bytes_give_the_reason_and_the_built_in_profile() {
        let (profile, reason) = Profile::from_bytes_or_safe(b"gsil", &SensorConfig::default());
        assert_eq!(profile, Profile::safe(&SensorConfig::default()));
        assert!(matches!(reason, Some(PackedError::Truncated { .. })));
    }
}
