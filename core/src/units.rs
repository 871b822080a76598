//! Absolute temperature as the pipeline carries it.
//!
//! | type | shape | unit | range |
//! | --- | --- | --- | --- |
//! | [`Temperature`] | `U11F5`, 16 bits | 1/32 K, absolute | 0 to 2,047.97 K |
//!
//! Code 0 is kept for "no valid sample" ([`Temperature::INVALID`]). Degrees Celsius and Fahrenheit
//! exist only at the edges, as whole milli-degrees, so that no float enters this crate.

use fixed::types::U11F5;
use serde::{Deserialize, Serialize};

use crate::fixedpoint;

/// Apparent temperature, absolute, in steps of 1/32 K.
///
/// ```
/// use glowsill_core::units::Temperature;
/// let onset = Temperature::from_millicelsius(150_000).unwrap();
/// assert_eq!(onset, Temperature::from_millifahrenheit(302_000).unwrap());
/// assert_eq!(onset.to_millikelvin(), 423_156); // 423.15 K to the nearest 1/32 K
/// ```
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Temperature(u16);

/// A temperature outside 1/32 K to 2,047.97 K was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TemperatureRangeError {
    /// What was asked for, in thousandths of a kelvin.
    pub millikelvin: i64,
}

impl core::fmt::Display for TemperatureRangeError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(
            f,
            "temperature {} mK is outside the representable range, {} to {} mK",
            self.millikelvin,
            Temperature::MIN.to_millikelvin(),
            Temperature::MAX.to_millikelvin()
        )
    }
}

impl core::error::Error for TemperatureRangeError {}

impl Temperature {
    /// Code 0: the pixel has no valid sample.
    pub const INVALID: Self = Self(0);
    /// Lowest valid temperature, 1/32 K.
    pub const MIN: Self = Self(1);
    /// Highest valid temperature, 2,047.97 K.
    pub const MAX: Self = Self(u16::MAX);

    /// Takes the code itself, in 1/32 K. Every `u16` is a temperature or [`Self::INVALID`].
    #[must_use]
    pub const fn from_bits(bits: u16) -> Self {
        Self(bits)
    }

    /// Gives the code, in 1/32 K.
    #[must_use]
    pub const fn to_bits(self) -> u16 {
        self.0
    }

    /// Gives the temperature as the fixed-point number it is, in kelvin.
    ///
    /// ```
    /// use glowsill_core::units::Temperature;
    /// assert_eq!(Temperature::from_bits(9600).to_fixed(), 300);
    /// ```
    #[must_use]
    pub const fn to_fixed(self) -> U11F5 {
        U11F5::from_bits(self.0)
    }

    /// Rounds a temperature in thousandths of a kelvin to the nearest 1/32 K.
    ///
    /// # Errors
    /// [`TemperatureRangeError`] below 1/32 K and above 2,047.97 K.
    pub const fn from_millikelvin(millikelvin: i64) -> Result<Self, TemperatureRangeError> {
        match fixedpoint::ratio_to_u16_round(millikelvin, 4, 125) {
            Some(bits) if bits > 0 => Ok(Self(bits)),
            _ => Err(TemperatureRangeError { millikelvin }),
        }
    }

    /// Rounds a temperature in thousandths of a degree Celsius to the nearest 1/32 K.
    ///
    /// # Errors
    /// As [`Self::from_millikelvin`].
    pub const fn from_millicelsius(millicelsius: i32) -> Result<Self, TemperatureRangeError> {
        Self::from_millikelvin(fixedpoint::widen_i32(millicelsius) + 273_150)
    }

    /// Rounds a temperature in thousandths of a degree Fahrenheit to the nearest 1/32 K.
    ///
    /// The rounding is made once, from the exact ratio, so 302 °F and 150 °C give one code.
    ///
    /// # Errors
    /// As [`Self::from_millikelvin`].
    pub const fn from_millifahrenheit(millifahrenheit: i32) -> Result<Self, TemperatureRangeError> {
        // T/K = (F + 459.67) * 5/9, so code = (mF + 459670) * 5/9 * 32/1000 = (mF + 459670) * 4/225.
        let above_zero = fixedpoint::widen_i32(millifahrenheit) + 459_670;
        match fixedpoint::ratio_to_u16_round(above_zero, 4, 225) {
            Some(bits) if bits > 0 => Ok(Self(bits)),
            _ => Err(TemperatureRangeError {
                millikelvin: above_zero * 5 / 9,
            }),
        }
    }

    /// Gives thousandths of a kelvin, rounded to the nearest.
    #[must_use]
    pub const fn to_millikelvin(self) -> i64 {
        fixedpoint::div_round_i64(fixedpoint::widen_u16(self.0) * 125, 4)
    }

    /// Gives thousandths of a degree Celsius, rounded to the nearest.
    #[must_use]
    pub const fn to_millicelsius(self) -> i64 {
        self.to_millikelvin() - 273_150
    }

    /// Whether the pixel has a valid sample.
    #[must_use]
    pub const fn is_valid(self) -> bool {
        self.0 != 0
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for Temperature {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(f, "{} mK", self.to_millikelvin());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_are_written_literals() {
        assert_eq!(
            Temperature::from_millikelvin(300_000).unwrap().to_bits(),
            9600
        );
        assert_eq!(Temperature::from_millicelsius(0).unwrap().to_bits(), 8741); // 273.15 * 32 = 8740.8
        assert_eq!(Temperature::from_millikelvin(31).unwrap().to_bits(), 1);
        assert_eq!(
            Temperature::from_millikelvin(2_047_968).unwrap().to_bits(),
            65_535
        );
        assert!(Temperature::from_millikelvin(2_047_985).is_err());
        assert!(Temperature::from_millikelvin(15).is_err());
        assert!(Temperature::from_millikelvin(-1).is_err());
        assert!(Temperature::from_millicelsius(i32::MIN).is_err());
        assert!(Temperature::from_millifahrenheit(i32::MAX).is_err());
    }

    #[test]
    fn fahrenheit_and_celsius_at_their_ends() {
        // 302 °F is 150 °C, 423.15 K, code 13,540.8; -40 is the same on both scales.
        let fahrenheit = |value| Temperature::from_millifahrenheit(value).map(Temperature::to_bits);
        assert_eq!(fahrenheit(302_000), Ok(13_541));
        assert_eq!(
            Temperature::from_millifahrenheit(-40_000),
            Temperature::from_millicelsius(-40_000)
        );
        // Absolute zero is code 0, which is no temperature; -500 °F is 22.4056 K below it.
        assert_eq!(
            fahrenheit(-459_670),
            Err(TemperatureRangeError { millikelvin: 0 })
        );
        assert_eq!(
            fahrenheit(-500_000),
            Err(TemperatureRangeError {
                millikelvin: -22_405
            })
        );
        // 9600/32 = 300 K; 8741/32 = 273.15625 K.
        assert_eq!(Temperature::from_bits(9600).to_millicelsius(), 26_850);
        assert_eq!(Temperature::from_bits(8741).to_millicelsius(), 6);
        assert!(!Temperature::INVALID.is_valid() && Temperature::MIN.is_valid());
        let told = std::format!("{}", TemperatureRangeError { millikelvin: -5 });
        assert!(told.contains("-5"), "{told}");
    }

    #[test]
    fn every_code_survives_millikelvin() {
        for bits in 1..=u16::MAX {
            let t = Temperature::from_bits(bits);
            assert_eq!(
                Temperature::from_millikelvin(t.to_millikelvin()).unwrap(),
                t
            );
        }
    }

    // Common practice, no published source: trade onsets are stated in both scales.
    #[test]
    fn trade_onsets_agree_between_the_scales() {
        let f = |x| Temperature::from_millifahrenheit(x).unwrap();
        let c = |x| Temperature::from_millicelsius(x).unwrap();
        assert_eq!(f(302_000), c(150_000));
        assert_eq!(f(150_000), c(65_556)); // 65.6 °C is the rounded form
    }
}
