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
    /// Colder than [`Kelvin::COLDEST`] or hotter than [`Kelvin::HOTTEST`].
    #[error("'{0}' is outside {range}: write a temperature inside it", range = Kelvin::RANGE)]
    Range(String),
}

impl Kelvin {
    /// Coldest temperature taken or given anywhere: the lowest code of 1/32 K.
    pub const COLDEST: Self = Self(1.0 / 32.0);
    /// Hottest temperature taken or given anywhere: the highest code of 1/32 K in 16 bits.
    pub const HOTTEST: Self = Self(65_535.0 / 32.0);
    /// [`Self::COLDEST`] to [`Self::HOTTEST`] in three units, rounded inward.
    pub const RANGE: &str =
        "-273.11 °C to 1774.81 °C (-459.61 °F to 3226.67 °F; 0.04 K to 2047.96 K)";

    /// Whether the temperature lies in [`Self::COLDEST`] to [`Self::HOTTEST`].
    #[must_use]
    pub fn in_range(self) -> bool {
        (Self::COLDEST..=Self::HOTTEST).contains(&self)
    }

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

    /// In whole degrees of both scales, for narrow places.
    ///
    /// ```
    /// use glowsill::temperature::Kelvin;
    /// assert_eq!(Kelvin::from_celsius(110.0).whole(), "110 °C (230 °F)");
    /// ```
    #[must_use]
    pub fn whole(self) -> String {
        format!("{:.0} °C ({:.0} °F)", self.celsius(), self.fahrenheit())
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
        let mut number = trimmed.to_owned();
        let unit = number.pop().ok_or_else(form)?;
        let number = number.trim_end().trim_end_matches('°').trim_end();
        // `parse` would also take words such as "inf" and "NaN".
        if !number
            .chars()
            .all(|c| c.is_ascii_digit() || "+-.eE".contains(c))
        {
            return Err(form());
        }
        let value: f64 = number.parse().map_err(|_| form())?;
        let kelvin = Self(match unit {
            'C' | 'c' => value + 273.15,
            'F' | 'f' => (value + 459.67) / 1.8,
            'K' | 'k' => value,
            _ => return Err(form()),
        });
        if kelvin.in_range() {
            Ok(kelvin)
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
        for text in [
            "1774.81C",
            "3226.67F",
            "2047.96K",
            "-273.11 C",
            "-459.61F",
            "0.04K",
            "1.5e3 C",
        ] {
            assert!(text.parse::<Kelvin>().is_ok(), "{text}");
        }
        assert!((("-40F").parse::<Kelvin>().unwrap().celsius() + 40.0).abs() < 1e-9);
    }

    #[test]
    fn bad_temperatures_say_what_to_write() {
        for text in ["", "150", "C", "e3C", "150X", "--5C", "NaN C", "inf K"] {
            let error = text.parse::<Kelvin>().unwrap_err();
            assert!(
                matches!(error, TemperatureError::Form(_)),
                "{text}: {error}"
            );
        }
        for text in [
            "-300C", "0K", "-1K", "5000C", "1e9C", "1e300 C", "1e999 F", "-1e300C", "1775C",
            "3227F",
        ] {
            let error = text.parse::<Kelvin>().unwrap_err();
            assert!(
                matches!(error, TemperatureError::Range(_)),
                "{text}: {error}"
            );
            // Source: definition of the scales: 2047.96 K = 1774.81 °C = 3226.658 °F.
            assert!(error.to_string().contains("1774.81 °C"), "{error}");
            assert!(error.to_string().contains("3226.67 °F"), "{error}");
        }
    }
}
