//! Decodes a defmt log and checks that the core told of every fault: its start, and its end where it ends.
//!
//! The causes are written down here once more, as a person would look for them.

use std::error::Error;
use std::io::Read;
use std::path::PathBuf;
use std::process::ExitCode;

use defmt_decoder::{DecodeError, Table};

/// Causes that must be told of, and whether they end.
const CAUSES: [(&str, bool); 9] = [
    ("stale", true),
    ("frozen", true),
    ("rows missing", true),
    ("high gain stuck", true),
    ("low gain stuck", true),
    ("gains disagree", true),
    ("saturated", true),
    ("correction damaged", false),
    ("profile damaged", false),
];

fn decoded(elf: &[u8], log: &[u8]) -> Result<Vec<String>, Box<dyn Error>> {
    let table = Table::parse(elf)?.ok_or("the program has no defmt texts")?;
    let mut decoder = table.new_stream_decoder();
    decoder.received(log);
    let mut lines = Vec::new();
    loop {
        match decoder.decode() {
            Ok(frame) => {
                let level = frame.level().map_or("-", |level| level.as_str());
                lines.push(format!("{level}: {}", frame.display_message()));
            }
            Err(DecodeError::UnexpectedEof) => return Ok(lines),
            Err(DecodeError::Malformed) => lines.push("a frame cannot be decoded".to_owned()),
        }
    }
}

fn main() -> Result<ExitCode, Box<dyn Error>> {
    let elf = std::env::args_os()
        .nth(1)
        .map(PathBuf::from)
        .ok_or("usage: log-check ELF < LOG")?;
    let mut log = Vec::new();
    std::io::stdin().read_to_end(&mut log)?;
    let lines = decoded(&std::fs::read(elf)?, &log)?;
    for line in &lines {
        println!("{line}");
    }
    let mut missing = 0;
    let mut want = |line: String| {
        if !lines.contains(&line) {
            println!("not in the log: {line}");
            missing += 1;
        }
    };
    for (cause, ends) in CAUSES {
        want(format!("warn: health: {cause} starts"));
        if ends {
            want(format!("info: health: {cause} ends"));
        }
    }
    let malformed = lines
        .iter()
        .filter(|line| line.contains("cannot be decoded"))
        .count();
    println!(
        "{} events decoded, {malformed} not, {missing} missing",
        lines.len() - malformed
    );
    Ok(if missing + malformed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}
