//! Temperatures as people write and read them: °C, °F or K in, °C and °F out.

use std::fmt;
use std::str::FromStr;

use glowsill_core::units::Temperature;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

/// Absolute temperature in kelvin, at the edges of the program.
///
/// ```
/// use glowsill::temperature::Kelvin;
/// let t: Kelvin = "302 F".parse().unwrap();
/// assert!((t.celsius() - 150.0).abs() < 1e-9);
/// assert_eq!(t.to_string(), "150.0 °C (302.0 °F)");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Kelvin(pub f64);

/// A temperature that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TemperatureError {
    /// No number, or no unit.
    #[error(
        "'{0}' is not a temperature: write a number and a unit, such as 150C, \"302 °F\" or 423.15K"
    )]
    Form(String),
    /// At or below absolute zero, not finite, or above 2,000 K.
    #[error("'{0}' is outside 0 K (-273.15 °C) to 2000 K (1726.85 °C, 3140.33 °F)")]
    Range(String),
}

impl Kelvin {
    /// From degrees Celsius.
    #[must_use]
    pub fn from_celsius(celsius: f64) -> Self {
        Self(celsius + 273.15)
    }

    /// In degrees Celsius.
    #[must_use]
    pub fn celsius(self) -> f64 {
        self.0 - 273.15
    }

    /// In degrees Fahrenheit.
    #[must_use]
    pub fn fahrenheit(self) -> f64 {
        self.celsius() * 1.8 + 32.0
    }
}

/// The temperature that a code of 1/32 K stands for; the code of no sample gives 0 K.
///
/// ```
/// use glowsill::temperature::Kelvin;
/// use glowsill_core::units::Temperature;
/// assert_eq!(Kelvin::from(Temperature::from_bits(12_256)).0, 383.0);
/// ```
impl From<Temperature> for Kelvin {
    fn from(code: Temperature) -> Self {
        Self(f64::from(code.to_bits()) / 32.0)
    }
}

impl FromStr for Kelvin {
    type Err = TemperatureError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let form = || TemperatureError::Form(text.to_owned());
        let trimmed = text.trim();
        let split = trimmed
            .find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c)))
            .ok_or_else(form)?;
        let (number, unit) = trimmed.split_at(split);
        let value: f64 = number.parse().map_err(|_| form())?;
        let kelvin = match unit.trim().trim_start_matches('°').trim() {
            "C" | "c" => value + 273.15,
            "F" | "f" => (value + 459.67) / 1.8,
            "K" | "k" => value,
            _ => return Err(form()),
        };
        if kelvin > 0.0 && kelvin <= 2000.0 {
            Ok(Self(kelvin))
        } else {
            Err(TemperatureError::Range(text.to_owned()))
        }
    }
}

impl fmt::Display for Kelvin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} °C ({:.1} °F)", self.celsius(), self.fahrenheit())
    }
}

impl<'de> Deserialize<'de> for Kelvin {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}

/// In JSON a temperature is an object with `kelvin`, `celsius` and `fahrenheit`.
impl Serialize for Kelvin {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct;
        let mut object = serializer.serialize_struct("Kelvin", 3)?;
        object.serialize_field("kelvin", &self.0)?;
        object.serialize_field("celsius", &self.celsius())?;
        object.serialize_field("fahrenheit", &self.fahrenheit())?;
        object.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_and_spellings() {
        for text in [
            "150C",
            "150 C",
            "150 °C",
            "302F",
            "302 °F",
            "423.15K",
            " 423.15 k ",
        ] {
            assert!(
                (text.parse::<Kelvin>().unwrap().0 - 423.15).abs() < 1e-9,
                "{text}"
            );
        }
        assert!((("-40F").parse::<Kelvin>().unwrap().celsius() + 40.0).abs() < 1e-9);
    }

    #[test]
    fn bad_temperatures_say_what_to_write() {
        for text in ["", "150", "C", "1e3C", "150X", "--5C", "NaN C", "inf K"] {
            let error = text.parse::<Kelvin>().unwrap_err();
            assert!(
                matches!(error, TemperatureError::Form(_)),
                "{text}: {error}"
            );
        }
        for text in ["-300C", "0K", "-1K", "5000C"] {
            let error = text.parse::<Kelvin>().unwrap_err();
            assert!(
                matches!(error, TemperatureError::Range(_)),
                "{text}: {error}"
            );
        }
    }
}
