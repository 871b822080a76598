//! Numbers with units, as reports and messages show them.

use crate::temperature::Kelvin;

/// Shows a number with about three significant places, without a needless fraction.
///
/// ```
/// use glowsill::requirement::show_number;
/// assert_eq!(show_number(3.0, "frames"), "3");
/// assert_eq!(show_number(0.0, "JND"), "0");
/// assert_eq!(show_number(-0.1234, "JND"), "-0.123");
/// assert_eq!(show_number(152.34, "K"), "152.3");
/// ```
#[must_use]
pub fn show_number(value: f64, unit: &str) -> String {
    let size = value.abs();
    let counted =
        unit.starts_with("count") || unit.starts_with("frames") || unit.starts_with("1 =");
    if size < 1e-12 || (counted && value.fract() == 0.0) {
        return format!(
            "{:.0}",
            value.abs().copysign(if size < 1e-12 { 1.0 } else { value })
        );
    }
    let places = match size {
        s if unit == "°C" || s >= 100.0 => 1,
        s if s >= 1.0 => 2,
        s if s >= 0.001 => 3,
        // Two significant places, as long as they are readable.
        s => match (4..10).find(|places| s * 10f64.powi(*places) >= 10.0) {
            Some(places) => usize::try_from(places).unwrap_or(9),
            None => return format!("{value:.1e}"),
        },
    };
    format!("{value:.places$}")
}

/// Shows a value with its unit; a temperature in °C also in °F.
///
/// ```
/// use glowsill::requirement::show_value;
/// assert_eq!(show_value(150.0, "°C"), "150.0 °C (302.0 °F)");
/// assert_eq!(show_value(1.0, "JND"), "1.00 JND");
/// ```
#[must_use]
pub fn show_value(value: f64, unit: &str) -> String {
    match unit {
        "°C" => Kelvin::from_celsius(value).to_string(),
        "ratio" => show_number(value, unit),
        YES_NO => if value >= 0.5 { "yes" } else { "no" }.to_owned(),
        _ => with_unit(&show_number(value, unit), unit),
    }
}

/// Shows a difference or a half-width in the unit; a difference of temperatures in °C is in kelvin.
///
/// ```
/// use glowsill::requirement::show_difference;
/// assert_eq!(show_difference(2.5, "°C"), "2.50 K");
/// ```
#[must_use]
pub fn show_difference(value: f64, unit: &str) -> String {
    match unit {
        "°C" => format!("{} K", show_number(value, "K")),
        "ratio" | YES_NO => show_number(value, unit),
        _ => with_unit(&show_number(value, unit), unit),
    }
}

/// Unit of a quantity that is yes (1) or no (0).
pub const YES_NO: &str = "1 = yes";

/// A number and its unit: one of something is no plural, and a count is a number alone.
fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "count" => number.to_owned(),
        "frames" if number == "1" => "1 frame".to_owned(),
        _ => format!("{number} {unit}"),
    }
}

/// Shows the half-width of an interval with two significant places; `None` where there is none.
///
/// ```
/// use glowsill::requirement::show_interval;
/// assert_eq!(show_interval(0.000136, "ratio").unwrap(), "± 0.00014");
/// assert_eq!(show_interval(0.05, "°C").unwrap(), "± 0.050 K (0.090 °F)");
/// assert_eq!(show_interval(0.0, "JND"), None);
/// ```
#[must_use]
pub fn show_interval(half: f64, unit: &str) -> Option<String> {
    if !(half.is_finite() && half > 0.0) {
        return None;
    }
    let short = |value: f64| {
        let places = (0..9).find(|places| value * 10f64.powi(*places) >= 9.95);
        let places = usize::try_from(places.unwrap_or(9)).unwrap_or(9);
        format!("{value:.places$}")
    };
    Some(match unit {
        "°C" | "K" => format!("± {} K ({} °F)", short(half), short(half * 1.8)),
        "ratio" | YES_NO => format!("± {}", short(half)),
        _ => format!("± {}", with_unit(&short(half), unit)),
    })
}

/// A condition in words: `5 K difference` for `delta_t` of `5 K`.
///
/// ```
/// use glowsill::requirement::condition_words;
/// assert_eq!(condition_words("delta_t", "5 K"), "5 K difference");
/// assert_eq!(condition_words("vision", "deutan"), "deutan vision");
/// assert_eq!(condition_words("other_key", "x"), "other key: x");
/// ```
#[must_use]
pub fn condition_words(key: &str, value: &str) -> String {
    match key {
        "delta_t" => format!("{value} difference"),
        "frequency" => format!("bars of {value}"),
        "place" => format!("place: {value}"),
        "emissivity" => format!("emissivity {value}"),
        "vision" => format!("{value} vision"),
        "pair" => format!("colours {value}"),
        "band" if value == "ceiling" => "the ceiling".to_owned(),
        "band" => format!("band {value}"),
        "mark" => format!("{value} mark"),
        "source" => format!("{value} source"),
        "scene" => format!("{value} scene"),
        _ => format!("{}: {value}", key.replace('_', " ")),
    }
}
