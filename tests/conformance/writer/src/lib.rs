//! Makes the text of every file in `tests/conformance/vectors/`.
//!
//! Expected values are hand tables, or the oracle's: in exact integers, or in f64 with a tolerance.
//! Every hand table is also put to the oracle's exact form; a disagreement stops the writer.

mod draw;
mod packed;
mod scale;
mod sense;
mod stage;
mod statistics;
mod whole;

use stage::Stage;

/// Identifiers that were used once and are gone; they are never used again.
const RETIRED: [&str; 0] = [];

fn stages() -> Result<Vec<Stage>, String> {
    Ok(vec![
        sense::correct()?,
        sense::temperature()?,
        sense::merge()?,
        sense::switch()?,
        statistics::statistics()?,
        statistics::bins()?,
        scale::percentile()?,
        scale::scale()?,
        scale::plateau()?,
        draw::bands()?,
        draw::overlay()?,
        draw::pseudo()?,
        draw::panel()?,
        packed::pack()?,
        packed::unpack()?,
        whole::record()?,
        whole::pipeline()?,
        whole::large()?,
    ])
}

/// Name and text of every file, the manifest last.
///
/// # Errors
/// A sentence that names the vector whose hand table and exact form disagree, or that cannot be made.
pub fn files() -> Result<Vec<(String, String)>, String> {
    let stages = stages()?;
    let mut files = Vec::new();
    let mut entries = Vec::new();
    for stage in &stages {
        let name = format!("{}.json", stage.name());
        entries.push(format!(
            "    {{ \"file\": \"{name}\", \"vectors\": {} }}",
            stage.len()
        ));
        files.push((name, stage.text()));
    }
    let retired: Vec<String> = RETIRED.iter().map(|id| format!("\"{id}\"")).collect();
    let manifest = format!(
        "{{\n  \"format\": \"glowsill-vector-manifest\",\n  \"files\": [\n{}\n  ],\n  \"retired\": [{}]\n}}\n",
        entries.join(",\n"),
        retired.join(", ")
    );
    files.push(("manifest.json".to_owned(), manifest));
    Ok(files)
}
