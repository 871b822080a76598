//! `docs/porting.md`: its tables are the core's own sizes, and its C compiles.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use std::path::{Path, PathBuf};
use std::process::Command;

use glowsill_c::{STORAGE_BYTES, TABLES_BYTES, glowsill_memory_bytes, glowsill_scratch_words};

const SIZES: [(u16, u16); 3] = [(160, 120), (320, 240), (640, 480)];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn page() -> String {
    std::fs::read_to_string(root().join("docs/porting.md")).unwrap()
}

/// A number with a comma between thousands.
fn grouped(number: usize) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

fn line(width: u16, height: u16, cells: &[String]) -> String {
    format!("| {width}x{height} | {} |", cells.join(" | "))
}

fn must_hold(line: &str) {
    assert!(
        page().lines().any(|found| found == line),
        "docs/porting.md must have the line\n{line}"
    );
}

#[test]
fn the_memory_tables_are_what_the_core_asks_for() {
    for (width, height) in SIZES {
        let (w, pixels) = (usize::from(width), usize::from(width) * usize::from(height));
        let bands = glowsill_memory_bytes(width, height);
        let scratch = 2 * glowsill_scratch_words(width, height);
        let corrections = 2 * pixels * (size_of::<u16>() + size_of::<i16>());
        let (rows_in, rows_out) = (2 * 2 * 2 * w, 2 * 2 * w);
        let (words, planes) = (2 * pixels, 2 * 2 * pixels);
        let cells = [
            bands,
            scratch,
            corrections,
            pixels,
            rows_in,
            rows_out,
            words,
            3 * pixels,
        ];
        must_hold(&line(width, height, &cells.map(grouped)));
        let least = bands + scratch + STORAGE_BYTES;
        let cells = [
            least + rows_in + rows_out,
            least + rows_in + rows_out + corrections,
            least + words + planes + corrections,
        ];
        must_hold(&line(width, height, &cells.map(grouped)));
    }
    assert!(page().contains(&format!("at most {} bytes", grouped(STORAGE_BYTES))));
    assert!(page().contains(&format!("count tables ({} bytes", grouped(TABLES_BYTES))));
}

#[test]
fn the_times_follow_from_the_formula() {
    for (width, height) in SIZES {
        let instructions = f64::from(width) * f64::from(height) * 80.0;
        let cells = [
            (100.0, 1.0),
            (100.0, 1.5),
            (200.0, 1.5),
            (480.0, 1.5),
            (480.0, 3.0),
        ]
        .map(|(megahertz, cycles)| format!("{:.1}", instructions * cycles / megahertz / 1e3));
        must_hold(&line(width, height, &cells));
    }
}

#[test]
fn every_c_example_compiles_without_a_warning() {
    let page = page();
    let mut count = 0;
    for (i, part) in page.split("```c\n").skip(1).enumerate() {
        let (source, _) = part.split_once("\n```").unwrap();
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
        let path = folder.join(format!("porting_{i}.c"));
        std::fs::write(&path, format!("{source}\n")).unwrap();
        let output = Command::new("cc")
            .args([
                "-std=c99",
                "-O1",
                "-Wall",
                "-Wextra",
                "-Werror",
                "-pedantic",
                "-c",
            ])
            .arg("-I")
            .arg(root().join("core/c/include"))
            .arg("-o")
            .arg(folder.join(format!("porting_{i}.o")))
            .arg(&path)
            .output()
            .unwrap_or_else(|error| {
                panic!("cannot run the C compiler `cc`: {error}. Install one, for instance gcc")
            });
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        count += 1;
    }
    assert_eq!(count, 3, "C examples of the page");
}
