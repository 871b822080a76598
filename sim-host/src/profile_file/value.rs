//! Values of a profile file as people write them: temperatures, differences, shares, colours.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::Field;
use glowsill_core::units::Temperature;

use crate::temperature::Kelvin;

/// Rounds to the nearest whole number; what does not fit stops at the ends.
#[allow(
    clippy::cast_possible_truncation,
    reason = "the one place where a written number becomes a code; `as` saturates and NaN is refused before"
)]
fn whole_round(value: f64) -> i64 {
    value.round() as i64
}

fn u16_round(value: f64) -> Option<u16> {
    u16::try_from(whole_round(value)).ok()
}

/// An absolute temperature: `"110 C"`, `"230 °F"`, `"383.15 K"`.
pub(super) fn temperature(text: &str) -> Result<Temperature, String> {
    let kelvin: Kelvin = text.parse().map_err(|error| format!("{error}"))?;
    Temperature::from_millikelvin(whole_round(kelvin.0 * 1000.0)).map_err(|error| error.to_string())
}

/// A temperature difference in kelvin, `"15 K"`, as 1/32 K. A difference written in °C or °F is
/// refused, because the offset between the scales would be taken for part of it.
pub(super) fn difference_k32(text: &str) -> Result<u16, String> {
    let form =
        || "is not a temperature difference: write a number and K, such as \"15 K\"".to_owned();
    let number = text.trim().strip_suffix(['K', 'k']).ok_or_else(form)?;
    let kelvin: f64 = number.trim().parse().map_err(|_| form())?;
    if !(kelvin.is_finite() && kelvin >= 0.0) {
        return Err("is not a difference of 0 K or more".to_owned());
    }
    u16_round(kelvin * 32.0).ok_or_else(|| "is above 2047 K".to_owned())
}

fn percent(text: &str) -> Result<f64, String> {
    let form = || "is not a share: write a number and %, such as \"0.5 %\"".to_owned();
    let number = text.trim().strip_suffix('%').ok_or_else(form)?;
    let value: f64 = number.trim().parse().map_err(|_| form())?;
    if (0.0..=100.0).contains(&value) {
        Ok(value)
    } else {
        Err("is outside 0 % to 100 %".to_owned())
    }
}

/// A share in steps of 0.1 %, as thousandths.
pub(super) fn permille(text: &str) -> Result<u16, String> {
    let steps = percent(text)? * 10.0;
    if (steps - steps.round()).abs() > 1e-6 {
        return Err("is finer than the step of 0.1 %".to_owned());
    }
    u16_round(steps).ok_or_else(|| "is outside 0 % to 100 %".to_owned())
}

/// A share rounded to 1/256.
pub(super) fn share_q8(text: &str) -> Result<u16, String> {
    u16_round(percent(text)? * 2.56).ok_or_else(|| "is outside 0 % to 100 %".to_owned())
}

/// A colour in display codes, `"#ff9600"`.
pub(super) fn colour(text: &str) -> Result<Rgb888, String> {
    let form =
        || "is not a colour: write # and six hexadecimal digits, such as \"#ff9600\"".to_owned();
    let digits = text
        .strip_prefix('#')
        .filter(|d| d.len() == 6 && d.is_ascii())
        .ok_or_else(form)?;
    let channel = |at: usize| u8::from_str_radix(&digits[at..at + 2], 16).map_err(|_| form());
    if !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Err(form());
    }
    Ok(Rgb888::new(channel(0)?, channel(2)?, channel(4)?))
}

/// Writes a temperature with as few decimals of °C as give the same code back.
pub(super) fn write_temperature(value: Temperature) -> String {
    let celsius = Kelvin::from(value).celsius();
    (0..=3)
        .map(|decimals| format!("{celsius:.decimals$} C"))
        .find(|text| temperature(text) == Ok(value))
        .unwrap_or_else(|| format!("{} K", Kelvin::from(value).0))
}

pub(super) fn write_difference(k32: u16) -> String {
    format!("{} K", f64::from(k32) / 32.0)
}

pub(super) fn write_permille(permille: u16) -> String {
    format!("{} %", f64::from(permille) / 10.0)
}

pub(super) fn write_share_q8(share: u16) -> String {
    format!("{} %", f64::from(share) / 2.56)
}

pub(super) fn write_colour(colour: Rgb888) -> String {
    format!("#{:02x}{:02x}{:02x}", colour.r, colour.g, colour.b)
}

/// A count with its word: `1 frame`, `2 frames`.
pub(crate) fn plural(count: i32, word: &str) -> String {
    if count == 1 {
        format!("1 {word}")
    } else {
        format!("{count} {word}s")
    }
}

/// A limit of a field, in the units people use.
pub(super) fn limit(field: Field, code: i32) -> String {
    use glowsill_core::profile::Unit;
    match field.unit() {
        Unit::Temperature => Kelvin(f64::from(code) / 32.0).to_string(),
        Unit::Difference => {
            let kelvin = f64::from(code) / 32.0;
            format!("{kelvin} K ({:.1} °F)", kelvin * 1.8)
        }
        Unit::Permille => format!("{} %", f64::from(code) / 10.0),
        Unit::Frames => plural(code, "frame"),
        Unit::Number => match field {
            Field::Name => plural(code, "byte"),
            Field::Weight => format!("{:.0} %", f64::from(code) / 2.56),
            _ => code.to_string(),
        },
    }
}
