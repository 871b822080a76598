//! What a sensor is made of, its limits, and the calibration it would be shipped with.

use serde::{Deserialize, Serialize};

use crate::world::radiometry::{Band, RadianceTable, RadiometryError};
use crate::world::rounding::{count_f64, to_u16};

/// Temperature at which the noise figures hold, in kelvin.
const NETD_AT_K: f64 = 300.0;
/// Share of the count range below the count of no light.
const PEDESTAL: f64 = 0.05;
/// Share of the count range at which a gain state counts as saturated.
const SATURATION: f64 = 0.95;

/// A sensor that cannot be made or used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SensorError {
    /// A field of the model is outside its limits.
    #[error("sensor {field} = {value} is outside {low} to {high} {unit}")]
    Field {
        /// Which field.
        field: &'static str,
        /// Its value.
        value: f64,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
        /// Unit of the value and the limits.
        unit: &'static str,
    },
    /// The size is not one a sensor can have.
    #[error("sensor of {width} x {height} pixels: make it 1 x 1 to 1280 x 1024")]
    Size {
        /// Width asked for.
        width: usize,
        /// Height asked for.
        height: usize,
    },
    /// A picture of another size was exposed.
    #[error("picture of {} x {} pixels on a sensor of {} x {}: render the scene at the size of the sensor", got.0, got.1, want.0, want.1)]
    Image {
        /// Width and height of the picture.
        got: (usize, usize),
        /// Width and height of the sensor.
        want: (usize, usize),
    },
    /// The band or a temperature has no radiance.
    #[error(transparent)]
    Radiometry(#[from] RadiometryError),
}

/// A dual-gain long-wave bolometer sensor.
///
/// The default is a middle-of-the-road uncooled sensor; the figures are assumptions (common
/// practice, no published source), not those of any product.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SensorModel {
    /// Spectral band.
    pub band: Band,
    /// Standard deviation of the optical blur, pixels, 0 to 10.
    pub blur_sigma_px: f64,
    /// Time constant of the bolometer, frames, 0 (none) to 100.
    pub lag_frames: f64,
    /// Noise-equivalent temperature difference of high gain at 300 K, kelvin, 0 to 10. It includes
    /// the noise of rounding to counts.
    pub netd_high_k: f64,
    /// As `netd_high_k`, for low gain.
    pub netd_low_k: f64,
    /// Standard deviation of the fixed pattern that correction leaves in high gain, kelvin at
    /// 300 K, 0 to 10.
    pub fixed_pattern_high_k: f64,
    /// As `fixed_pattern_high_k`, for low gain.
    pub fixed_pattern_low_k: f64,
    /// Standard deviation of the raw per-pixel gain, ratio, 0 to 0.02.
    pub gain_spread: f64,
    /// Standard deviation of the raw per-pixel offset, share of the count range, 0 to 0.01.
    pub offset_spread: f64,
    /// Bits of a count, 14 to 16.
    pub bits: u8,
    /// Apparent temperature at which high gain saturates, kelvin, 320 to 600.
    pub high_saturation_k: f64,
    /// Apparent temperature at which low gain saturates, kelvin, 600 to 1700.
    pub low_top_k: f64,
    /// Share of defective pixels, 0 to 0.05.
    pub defect_share: f64,
    /// Both gains see the same instant; otherwise low gain sees the frame before.
    pub simultaneous: bool,
    /// What low gain reads too much by its calibration, kelvin, -20 to 20.
    pub low_offset_k: f64,
}

impl Default for SensorModel {
    fn default() -> Self {
        Self {
            band: Band::LONG_WAVE,
            blur_sigma_px: 0.6,
            lag_frames: 0.35,
            netd_high_k: 0.040,
            netd_low_k: 0.300,
            fixed_pattern_high_k: 0.020,
            fixed_pattern_low_k: 0.150,
            gain_spread: 0.01,
            offset_spread: 0.005,
            bits: 14,
            high_saturation_k: 428.15,
            low_top_k: 973.15,
            defect_share: 0.001,
            simultaneous: true,
            low_offset_k: 1.0,
        }
    }
}

impl SensorModel {
    /// A sensor without blur, lag, noise, pattern, defects or mismatch; 16 bits.
    #[must_use]
    pub fn ideal() -> Self {
        Self {
            blur_sigma_px: 0.0,
            lag_frames: 0.0,
            netd_high_k: 0.0,
            netd_low_k: 0.0,
            fixed_pattern_high_k: 0.0,
            fixed_pattern_low_k: 0.0,
            gain_spread: 0.0,
            offset_spread: 0.0,
            bits: 16,
            defect_share: 0.0,
            low_offset_k: 0.0,
            ..Self::default()
        }
    }

    /// Checks every field.
    ///
    /// # Errors
    /// [`SensorError::Field`] naming the field, its value and its limits;
    /// [`SensorError::Radiometry`] for an impossible band.
    pub fn check(&self) -> Result<(), SensorError> {
        Band::new(self.band.short_um, self.band.long_um)?;
        let fields = [
            ("band.short_um", self.band.short_um, 2.0, 20.0, "um"),
            ("band.long_um", self.band.long_um, 2.0, 20.0, "um"),
            ("blur_sigma_px", self.blur_sigma_px, 0.0, 10.0, "pixels"),
            ("lag_frames", self.lag_frames, 0.0, 100.0, "frames"),
            ("netd_high_k", self.netd_high_k, 0.0, 10.0, "K"),
            ("netd_low_k", self.netd_low_k, 0.0, 10.0, "K"),
            (
                "fixed_pattern_high_k",
                self.fixed_pattern_high_k,
                0.0,
                10.0,
                "K",
            ),
            (
                "fixed_pattern_low_k",
                self.fixed_pattern_low_k,
                0.0,
                10.0,
                "K",
            ),
            ("gain_spread", self.gain_spread, 0.0, 0.02, "(ratio)"),
            (
                "offset_spread",
                self.offset_spread,
                0.0,
                0.01,
                "(share of the range)",
            ),
            ("bits", f64::from(self.bits), 14.0, 16.0, "bits"),
            (
                "high_saturation_k",
                self.high_saturation_k,
                320.0,
                600.0,
                "K",
            ),
            ("low_top_k", self.low_top_k, 600.0, 1700.0, "K"),
            (
                "defect_share",
                self.defect_share,
                0.0,
                0.05,
                "(share of the pixels)",
            ),
            ("low_offset_k", self.low_offset_k, -20.0, 20.0, "K"),
        ];
        for (field, value, low, high, unit) in fields {
            if !(value >= low && value <= high) {
                return Err(SensorError::Field {
                    field,
                    value,
                    low,
                    high,
                    unit,
                });
            }
        }
        Ok(())
    }

    /// The largest count.
    pub(super) fn ceiling(&self) -> u16 {
        to_u16(self.range() - 1.0, 1, u16::MAX)
    }

    fn range(&self) -> f64 {
        f64::from(self.bits).exp2()
    }

    /// Part of the distance to the new radiance that the bolometer covers in one frame.
    pub(super) fn lag_step(&self) -> f64 {
        if self.lag_frames > 0.0 {
            -(-1.0 / self.lag_frames).exp_m1()
        } else {
            1.0
        }
    }

    pub(super) fn scales(&self) -> (GainScale, GainScale) {
        let scale = |top_k| {
            let pedestal = (PEDESTAL * self.range()).round();
            let saturation = (SATURATION * self.range()).round();
            GainScale {
                pedestal,
                saturation,
                counts_per_radiance: (saturation - pedestal) / self.band.radiance(top_k),
            }
        };
        (scale(self.high_saturation_k), scale(self.low_top_k))
    }

    /// A temperature difference at 300 K, in counts.
    pub(super) fn counts_at_300k(&self, scale: &GainScale, kelvin: f64) -> f64 {
        kelvin * self.band.radiance_slope(NETD_AT_K) * scale.counts_per_radiance
    }

    /// Standard deviation of the noise to add, in counts, so that with the 1/12 of rounding the
    /// whole is the set figure.
    pub(super) fn noise_counts(&self, scale: &GainScale, netd_k: f64) -> f64 {
        (self.counts_at_300k(scale, netd_k).powi(2) - 1.0 / 12.0)
            .max(0.0)
            .sqrt()
    }

    /// The calibrations of high and low gain, in this order.
    ///
    /// Low gain carries `low_offset_k`. Its knots lie up to 10 K apart at room temperature, which
    /// bends it by about 0.1 K there.
    ///
    /// # Errors
    /// As [`SensorModel::check`].
    pub fn calibrations(&self) -> Result<(CalibrationTable, CalibrationTable), SensorError> {
        self.check()?;
        let table = RadianceTable::new(self.band);
        let (high, low) = self.scales();
        let shift = self.bits - 8;
        Ok((
            high.calibration(&table, shift, 0.0),
            low.calibration(&table, shift, self.low_offset_k),
        ))
    }
}

/// Counts linear in radiance, from the pedestal (no light) to saturation.
#[derive(Clone, Copy, Debug)]
pub(super) struct GainScale {
    pedestal: f64,
    saturation: f64,
    counts_per_radiance: f64,
}

impl GainScale {
    pub(super) fn count(&self, radiance: f64) -> f64 {
        self.pedestal + radiance * self.counts_per_radiance
    }

    fn calibration(&self, table: &RadianceTable, shift: u8, offset_k: f64) -> CalibrationTable {
        let knots = (0..=256_usize).map(|i| {
            let count = count_f64(i) * f64::from(shift).exp2();
            let radiance = (count - self.pedestal) / self.counts_per_radiance;
            // Below the least radiance that can be inverted there is no temperature: code 0.
            table
                .temperature(radiance)
                .map_or(0, |k| to_u16((k + offset_k) * 32.0, 0, u16::MAX))
        });
        CalibrationTable {
            shift,
            knots: knots.collect(),
            saturation: to_u16(self.saturation, 1, u16::MAX),
        }
    }
}

/// Counts → temperature: 257 knots at counts `i << shift`, linear between them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CalibrationTable {
    /// Counts between knots as a power of two: 6, 7 or 8 for 14, 15 or 16 bits.
    pub shift: u8,
    /// 257 temperature codes of 1/32 K that never fall.
    pub knots: Vec<u16>,
    /// Raw count from which a sample is saturated.
    pub saturation: u16,
}

impl CalibrationTable {
    /// Counts of 16 bits that are themselves codes of 1/32 K.
    #[must_use]
    pub fn identity() -> Self {
        let knots = (0..=256_usize)
            .map(|i| to_u16(count_f64(i) * 256.0, 0, u16::MAX))
            .collect();
        Self {
            shift: 8,
            knots,
            saturation: u16::MAX,
        }
    }

    /// Temperature of a count, in kelvin; counts beyond the last knot give the last knot.
    #[must_use]
    pub fn kelvin(&self, count: u16) -> f64 {
        let i = usize::from(count >> self.shift.min(15));
        let fraction = f64::from(count) / f64::from(self.shift).exp2() - count_f64(i);
        let knot = |i: usize| {
            self.knots
                .get(i)
                .or(self.knots.last())
                .map_or(0.0, |&k| f64::from(k))
        };
        (knot(i) + fraction * (knot(i + 1) - knot(i))) / 32.0
    }
}
