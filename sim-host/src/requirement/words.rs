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
        _ => return format!("{value:.2e}"),
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
        "1 = yes" => if value >= 0.5 { "yes" } else { "no" }.to_owned(),
        _ => format!("{} {unit}", show_number(value, unit)),
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
        "ratio" | "1 = yes" => show_number(value, unit),
        _ => format!("{} {unit}", show_number(value, unit)),
    }
}
