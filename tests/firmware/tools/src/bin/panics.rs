//! Lists where a program can panic: the places that its panics would name.
//!
//! A place in the source stands in read-only data as the address and length of a file name, a line and
//! a column. What no code can reach, the linker has dropped.

use std::collections::BTreeSet;
use std::error::Error;
use std::path::PathBuf;

use object::{Object, ObjectSection};

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args_os()
        .nth(1)
        .map(PathBuf::from)
        .ok_or("usage: panics ELF")?;
    let bytes = std::fs::read(path)?;
    let file = object::File::parse(&*bytes)?;
    let mut sections = Vec::new();
    for section in file.sections() {
        if matches!(section.name(), Ok(".rodata" | ".data" | ".text")) {
            sections.push((section.address(), section.data()?));
        }
    }
    let text_at = |address: u64, length: usize| {
        sections.iter().find_map(|(start, data)| {
            let from = usize::try_from(address.checked_sub(*start)?).ok()?;
            std::str::from_utf8(data.get(from..from.checked_add(length)?)?).ok()
        })
    };
    let mut places = BTreeSet::new();
    for (_, data) in &sections {
        let words: Vec<u32> = data
            .chunks_exact(4)
            .map(|word| {
                word.iter()
                    .rev()
                    .fold(0, |number, byte| number << 8 | u32::from(*byte))
            })
            .collect();
        for place in words.windows(4) {
            let &[address, length, line, column] = place else {
                continue;
            };
            if !(4..400).contains(&length)
                || !(1..100_000).contains(&line)
                || !(1..400).contains(&column)
            {
                continue;
            }
            if let Some(file) = text_at(address.into(), usize::try_from(length)?)
                && file.ends_with(".rs")
            {
                let from = file
                    .rfind("/src/")
                    .map_or(0, |at| file[..at].rfind('/').map_or(0, |at| at + 1));
                places.insert(format!("{}:{line}:{column}", &file[from..]));
            }
        }
    }
    for place in &places {
        println!("  {place}");
    }
    println!("{} places can be reached", places.len());
    Ok(())
}
