//! Reference data for the checks of fire and walls, read without glowsill.
//!
//! `data/README.md` says where every file comes from.

use std::path::PathBuf;

/// Reads a table of `data/`: the rows after the header, comments left out, cut at commas.
///
/// # Panics
/// If the file cannot be read or has no row: a check without data must not pass.
#[must_use]
pub fn rows(file: &str) -> Vec<Vec<String>> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("data")
        .join(file);
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(cause) => panic!("{}: {cause}", path.display()),
    };
    let rows: Vec<_> = text
        .lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .skip(1)
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect();
    assert!(!rows.is_empty(), "{file} has no rows");
    rows
}

/// Reads a number.
///
/// # Panics
/// If it is none.
#[must_use]
pub fn number(text: &str) -> f64 {
    match text.trim().parse() {
        Ok(number) => number,
        Err(_) => panic!("'{text}' is not a number"),
    }
}

/// Conductivity, density and specific heat of the materials of `data/conduction_materials.json`.
///
/// # Panics
/// If the material is not known.
#[must_use]
pub fn textbook_material(name: &str) -> [f64; 3] {
    match name {
        "concrete" => [1.4, 2300.0, 880.0],
        "gypsum" => [0.17, 800.0, 1090.0],
        "pine" => [0.12, 510.0, 1380.0],
        "steel" => [45.8, 7850.0, 460.0],
        _ => panic!("no material '{name}'"),
    }
}

/// The number after `key=` in `key=value;key=value`.
///
/// # Panics
/// If the key is missing.
#[must_use]
pub fn parameter(text: &str, key: &str) -> f64 {
    let found = text
        .split(';')
        .find_map(|part| part.strip_prefix(key)?.strip_prefix('='));
    match found {
        Some(value) => number(value),
        None => panic!("no {key} in '{text}'"),
    }
}
