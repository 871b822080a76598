//! The values of a scenario file: what may be left out, and texts with a unit.

use glam::DVec3;

use super::Read;
use crate::profile_file::source::{Source, Table, nearest};
use crate::temperature::Kelvin;
use crate::world::conduction::{Assembly, assembly, assembly_library};
use crate::world::rounding::floor_index;

const PLACE: (f64, f64) = (-200.0, 200.0);
pub(super) const TEMPERATURE: &str =
    "a temperature, \"-40 C\" to \"60 C\", such as \"20 C\" or \"68 F\"";
pub(super) const TIME: &str = "a time, such as \"90 s\" or \"2 min\"";
pub(super) const THICKNESS: &str = "a thickness, \"0.1 mm\" to \"1 m\", such as \"12.5 mm\"";

pub(super) fn plain(text: &str) -> Result<String, String> {
    if text.trim().is_empty() {
        Err("is empty".to_owned())
    } else {
        Ok(text.to_owned())
    }
}

pub(super) fn optional<T>(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    allowed: &str,
    convert: impl Fn(&str) -> Result<T, String>,
) -> Read<Option<T>> {
    if table.takes(key) {
        table.text(s, key, allowed, convert).map(Some)
    } else {
        Ok(None)
    }
}

pub(super) fn optional_bool(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
) -> Read<bool> {
    if table.takes(key) {
        table.word(s, key, &[("yes", true), ("no", false)])
    } else {
        Ok(false)
    }
}

pub(super) fn list(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
) -> Read<Vec<String>> {
    if table.takes(key) {
        table.texts(s, key, "texts in brackets", plain)
    } else {
        Ok(Vec::new())
    }
}

pub(super) fn number_or(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    limits: (f64, f64),
    unit: &str,
    default: f64,
) -> Read<f64> {
    if table.takes(key) {
        table.number(s, key, limits, unit)
    } else {
        Ok(default)
    }
}

pub(super) fn whole(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    default: u64,
) -> Read<u64> {
    if !table.takes(key) {
        return Ok(default);
    }
    let value = table.number(s, key, (0.0, 1e9), "(whole)")?;
    if value.fract() == 0.0 {
        u64::try_from(floor_index(value, 1_000_000_000)).map_or(Ok(default), Ok)
    } else {
        Err(table.error(
            s,
            key,
            format!("= {value} is not whole"),
            "a whole number, 0 to 1e9",
        ))
    }
}

pub(super) fn some_tables<'t, 'a>(
    table: &mut Table<'t, 'a>,
    s: &mut Source<'_>,
    key: &'static str,
) -> Read<Vec<Table<'t, 'a>>> {
    if table.takes(key) {
        table.tables(s, key)
    } else {
        Ok(Vec::new())
    }
}

pub(super) fn place(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
) -> Read<DVec3> {
    Ok(DVec3::from_array(table.numbers(s, key, PLACE, "m")?))
}

pub(super) fn size(text: &str) -> Result<(usize, usize), String> {
    let form = || "is not a size: write columns x rows, such as \"320x240\"".to_owned();
    let (columns, rows) = text.split_once('x').ok_or_else(form)?;
    let number = |part: &str| part.trim().parse::<usize>().map_err(|_| form());
    let size = (number(columns)?, number(rows)?);
    if (8..=1280).contains(&size.0) && (8..=1024).contains(&size.1) {
        Ok(size)
    } else {
        Err("is out of its limits".to_owned())
    }
}

/// A number with one of some units, each with its factor.
pub(super) fn measured(text: &str, units: &[(&str, f64)]) -> Result<f64, String> {
    let shown: Vec<_> = units.iter().map(|(unit, _)| *unit).collect();
    let form = || format!("is not a number with a unit ({})", shown.join(", "));
    let text = text.trim();
    let split = text
        .find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c)))
        .ok_or_else(form)?;
    let (number, unit) = text.split_at(split);
    let number: f64 = number.parse().map_err(|_| form())?;
    let factor = units.iter().find(|(name, _)| *name == unit.trim());
    factor.map(|(_, factor)| number * factor).ok_or_else(form)
}

/// A time as people write it, `"90 s"` or `"1.5 min"`, in seconds.
///
/// # Errors
/// What is wrong, to complete "field = value".
pub fn seconds(text: &str) -> Result<f64, String> {
    seconds_within(text, 0.0, 36_000.0)
}

pub(super) fn seconds_within(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let value = measured(text, &[("s", 1.0), ("min", 60.0), ("h", 3600.0)])?;
    if (low..=high).contains(&value) {
        Ok(value)
    } else {
        Err("is out of its limits".to_owned())
    }
}

pub(super) fn kelvin(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let value = text.parse::<Kelvin>().map_err(|error| error.to_string())?;
    if (low..=high).contains(&value.0) {
        Ok(value.0)
    } else {
        Err(format!("is outside {} to {}", Kelvin(low), Kelvin(high)))
    }
}

pub(super) fn weather(text: &str) -> Result<f64, String> {
    kelvin(text, 233.15, 333.15)
}

pub(super) fn thickness(text: &str) -> Result<f64, String> {
    let value = measured(text, &[("mm", 1e-3), ("cm", 1e-2), ("m", 1.0)])?;
    if (1e-4..=1.0).contains(&value) {
        Ok(value)
    } else {
        Err("is out of its limits".to_owned())
    }
}

pub(super) fn assembly_names() -> String {
    let names: Vec<_> = assembly_library().iter().map(|one| one.name).collect();
    names.join(", ")
}

pub(super) fn known_assembly(text: &str) -> Result<Assembly, String> {
    assembly(text).cloned().map_err(|_| {
        let names: Vec<_> = assembly_library().iter().map(|one| one.name).collect();
        nearest(text, &names).map_or_else(
            || "is no assembly".to_owned(),
            |near| format!("is no assembly; did you mean \"{near}\"?"),
        )
    })
}
