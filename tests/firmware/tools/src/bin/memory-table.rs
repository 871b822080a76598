//! Makes the tables of `docs/microcontroller.md` from the program `memory`: its sections, and what it
//! printed; compares them with the page, or writes them into it.
//!
//! A number may be 5 % above or below the page's, or 64 bytes where that is more.

use std::error::Error;
use std::fmt::Write as _;
use std::io::Read;
use std::path::PathBuf;
use std::process::ExitCode;

use object::{Object, ObjectSection};

const BEGIN: &str = "<!-- tests/firmware/run.sh memory --write -->";
const END: &str = "<!-- end -->";

/// A number with a blank every three digits.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

fn sections(elf: &[u8]) -> Result<String, Box<dyn Error>> {
    let file = object::File::parse(elf)?;
    let mut text = String::from("| section | bytes | where |\n| --- | --- | --- |\n");
    let mut flash = 0;
    for (name, place) in [
        (".text", "flash"),
        (".rodata", "flash"),
        (".data", "flash and RAM"),
    ] {
        let size = file
            .section_by_name(name)
            .map_or(0, |section| section.size());
        flash += size;
        writeln!(text, "| `{name}` | {} | {place} |", grouped(size))?;
    }
    writeln!(text, "| together | {} | flash |", grouped(flash))?;
    let lent = file
        .section_by_name(".bss")
        .map_or(0, |section| section.size());
    writeln!(
        text,
        "| `.bss` | {} | RAM: what this program lends, for 640x480 |",
        grouped(lent)
    )?;
    Ok(text)
}

fn sessions(printed: &str) -> Result<String, Box<dyn Error>> {
    let mut text = String::from(
        "| picture | gain plan | band memory | scratch | correction tables | calibrations | rows | stack | RAM together |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    let mut count = 0;
    let mut pipeline = 0;
    for line in printed
        .lines()
        .filter_map(|line| line.strip_prefix("session "))
    {
        let words: Vec<&str> = line.split(' ').collect();
        let number = |name: &str| -> Result<u64, Box<dyn Error>> {
            let at = words
                .iter()
                .position(|word| *word == name)
                .ok_or(format!("no {name} in '{line}'"))?;
            Ok(words
                .get(at + 1)
                .ok_or(format!("no number of {name}"))?
                .parse()?)
        };
        let parts = [
            "band-memory",
            "scratch",
            "tables",
            "calibrations",
            "rows",
            "stack",
        ];
        let plan = if number("states")? == 2 {
            "per pixel"
        } else {
            "high only"
        };
        write!(
            text,
            "| {}x{} | {plan} |",
            number("width")?,
            number("height")?
        )?;
        let mut sum = 0;
        for part in parts {
            sum += number(part)?;
            write!(text, " {} |", grouped(number(part)?))?;
        }
        writeln!(text, " {} |", grouped(sum))?;
        pipeline = number("pipeline")?;
        count += 1;
    }
    if count != 6 {
        return Err(format!("{count} sessions were measured; expected 6").into());
    }
    writeln!(
        text,
        "\nOf the stack, `Pipeline` itself is {} bytes.",
        grouped(pipeline)
    )?;
    Ok(text)
}

/// Whether two texts are the same but for numbers that are near.
fn near(a: &str, b: &str) -> bool {
    let (a, b): (Vec<&str>, Vec<&str>) = (
        a.split_whitespace().collect(),
        b.split_whitespace().collect(),
    );
    let number = |word: &str| word.replace(',', "").parse::<u64>().ok();
    a.len() == b.len()
        && a.iter().zip(&b).all(|(a, b)| match (number(a), number(b)) {
            (Some(a), Some(b)) => a.abs_diff(b) * 20 <= b.max(1280),
            _ => a == b,
        })
}

fn main() -> Result<ExitCode, Box<dyn Error>> {
    let arguments: Vec<_> = std::env::args_os().skip(1).collect();
    let [elf, page, rest @ ..] = &*arguments else {
        return Err("usage: memory-table ELF PAGE [--write] < PRINTED".into());
    };
    let page = PathBuf::from(page);
    let mut printed = String::new();
    std::io::stdin().read_to_string(&mut printed)?;
    let made = format!(
        "{}\n{}",
        sections(&std::fs::read(elf)?)?,
        sessions(&printed)?
    );
    let text = std::fs::read_to_string(&page)?;
    let (before, behind) = text
        .split_once(BEGIN)
        .ok_or(format!("no '{BEGIN}' in the page"))?;
    let (old, after) = behind
        .split_once(END)
        .ok_or(format!("no '{END}' in the page"))?;
    print!("{made}");
    if rest.iter().any(|word| word == "--write") {
        std::fs::write(&page, format!("{before}{BEGIN}\n{made}{END}{after}"))?;
        return Ok(ExitCode::SUCCESS);
    }
    if near(&made, old) {
        return Ok(ExitCode::SUCCESS);
    }
    println!(
        "{} says otherwise, by more than 5 %:\n{old}",
        page.display()
    );
    println!("If the change is meant: tests/firmware/run.sh memory --write");
    Ok(ExitCode::FAILURE)
}
