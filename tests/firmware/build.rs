//! Turns the conformance vectors into a form that a microcontroller reads without a parser.
//!
//! All numbers are signed variable-length ones: groups of seven bits, low group first, with the sign
//! in the lowest bit. First how many vectors the manifest states; then, of each vector, its name and
//! its word (length, bytes), the numbers of the request line (count, numbers), and the numbers of
//! the expected line in runs (how many runs; of each the greatest difference, the count, the numbers).

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use glowsill_vectors::{Manifest, Vector, VectorFile, expand};

fn number(out: &mut Vec<u8>, number: i64) {
    let mut rest = ((number << 1) ^ (number >> 63)).cast_unsigned();
    while rest > 127 {
        out.push(rest.to_le_bytes()[0] | 128);
        rest >>= 7;
    }
    out.push(rest.to_le_bytes()[0]);
}

fn length(out: &mut Vec<u8>, length: usize) -> Result<(), Box<dyn Error>> {
    number(out, i64::try_from(length)?);
    Ok(())
}

fn numbers(out: &mut Vec<u8>, list: &[i64]) -> Result<(), Box<dyn Error>> {
    length(out, list.len())?;
    list.iter().for_each(|n| number(out, *n));
    Ok(())
}

fn text(out: &mut Vec<u8>, text: &str) -> Result<(), Box<dyn Error>> {
    length(out, text.len())?;
    out.extend(text.bytes());
    Ok(())
}

fn vector(out: &mut Vec<u8>, file: &VectorFile, vector: &Vector) -> Result<(), Box<dyn Error>> {
    text(out, &vector.id)?;
    text(out, &file.word)?;
    let line = file.request_line(vector)?;
    let request: Result<Vec<i64>, _> = line.split(' ').skip(1).map(str::parse).collect();
    numbers(out, &request?)?;
    let mut runs: Vec<(i64, Vec<i64>)> = Vec::new();
    for field in &file.answer {
        let value = vector
            .expected
            .get(field)
            .ok_or("an expected field is missing")?;
        if let Some(number) = value.as_i64() {
            runs.push((vector.tolerance.of(field), vec![number]));
        } else {
            let list = expand(value)?;
            runs.push((0, vec![i64::try_from(list.len())?]));
            runs.push((vector.tolerance.of(field), list));
        }
    }
    length(out, runs.len())?;
    for (allowed, list) in runs {
        number(out, allowed);
        numbers(out, &list)?;
    }
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = Path::new("../conformance/vectors");
    println!("cargo::rerun-if-changed={}", folder.display());
    println!("cargo::rerun-if-changed=memory.x");
    // The table of the log's texts, for the one program that has them.
    println!("cargo::rustc-link-arg-bin=log=-Tdefmt.x");
    let manifest: Manifest =
        serde_json::from_str(&fs::read_to_string(folder.join("manifest.json"))?)?;
    let mut out = Vec::new();
    length(
        &mut out,
        manifest.files.iter().map(|entry| entry.vectors).sum(),
    )?;
    for entry in &manifest.files {
        let file = VectorFile::parse(&entry.file, &fs::read_to_string(folder.join(&entry.file))?)?;
        for one in &file.vectors {
            vector(&mut out, &file, one)?;
        }
    }
    let target = PathBuf::from(std::env::var("OUT_DIR")?).join("vectors.bin");
    Ok(fs::write(target, out)?)
}
