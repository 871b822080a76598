//! The second implementation, in C: sound it passes everything; each mistake built in is caught.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use glowsill_vectors::compare;

use crate::vector_files;

/// Mistakes that `-DDEFECT=n` builds in, n from 1, and the flag whose note must name each.
const DEFECTS: [(u32, &str); 39] = [
    (1, "correct-round-down"),
    (2, "correct-clamp"),
    (3, "correct-saturation-after"),
    (4, "correct-defect-edge-wrap"),
    (5, "correct-defect-chain"),
    (6, "lookup-shift-16-bit"),
    (7, "lookup-half-down"),
    (8, "merge-dispute-colder"),
    (9, "merge-half-weight"),
    (10, "merge-floor-negative"),
    (11, "switch-empty-frame"),
    (12, "extremes-first"),
    (13, "percentile-not-interpolated"),
    (14, "scale-speeds-swapped"),
    (15, "scale-approach-rounding"),
    (16, "plateau-slope"),
    (17, "plateau-not-centred"),
    (18, "scale-widen"),
    (19, "scale-top-wraps"),
    (20, "bands-onset-exclusive"),
    (21, "bands-hysteresis-forgotten"),
    (22, "bands-ramp-position"),
    (23, "tint-16-bit"),
    (24, "veil-256"),
    (25, "pseudo-stops"),
    (26, "panel-truncated"),
    (27, "panel-dither-transposed"),
    (28, "pack-crc"),
    (29, "unpack-varint"),
    (30, "unpack-crc"),
    (31, "scale-same-frame"),
    (32, "bands-invalid-memory"),
    (33, "record-checker"),
    (34, "pipeline-grey-round"),
    (35, "pipeline-onset-in-grey"),
    (36, "record-ceiling-slot"),
    (37, "pipeline-ceiling-overlay"),
    (38, "record-replaced-twice"),
    (39, "pipeline-blank-memory"),
];

fn sources() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("c")
}

/// Compiles the program; a missing compiler fails the test.
fn compile(defect: u32, folder: &Path) -> PathBuf {
    let program = folder.join(format!("port-{defect}"));
    let output = Command::new("cc")
        .args([
            "-std=c99",
            "-O1",
            "-Wall",
            "-Wextra",
            "-Wpedantic",
            "-Werror",
        ])
        .arg(format!("-DDEFECT={defect}"))
        .arg("-o")
        .arg(&program)
        .args(["main.c", "sense.c", "scale.c", "draw.c", "packed.c"])
        .current_dir(sources())
        .output();
    let output = output.unwrap_or_else(|error| {
        panic!(
            "cannot run the C compiler `cc`: {error}. Install one: `apt-get install gcc libc6-dev` \
             (Debian, Ubuntu), `dnf install gcc` (Fedora), `xcode-select --install` (macOS)"
        )
    });
    assert!(
        output.status.success(),
        "defect {defect}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    program
}

/// Answers of a program to request lines, one each.
fn answers(program: &Path, requests: Vec<String>) -> Vec<String> {
    let mut child = Command::new(program)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    let writer = std::thread::spawn(move || {
        for request in requests {
            // A program that ended early is seen by its missing answers.
            let _ = writeln!(input, "{request}");
        }
    });
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let answers = lines.map(Result::unwrap).collect();
    writer.join().unwrap();
    assert!(
        child.wait().unwrap().success(),
        "{} failed",
        program.display()
    );
    answers
}

/// Identifiers and flags of the vectors that a program gets wrong.
fn wrong(program: &Path) -> (Vec<String>, BTreeSet<String>) {
    let files = vector_files();
    let all: Vec<_> = files
        .iter()
        .flat_map(|file| file.vectors.iter().map(move |vector| (file, vector)))
        .collect();
    let requests = all
        .iter()
        .map(|(file, vector)| file.request_line(vector).unwrap());
    let answers = answers(program, requests.collect());
    assert_eq!(answers.len(), all.len(), "answers of {}", program.display());
    let (mut ids, mut flags) = (Vec::new(), BTreeSet::new());
    for ((file, vector), answer) in all.into_iter().zip(answers) {
        if let Some(mismatch) = compare(file, vector, &answer).unwrap() {
            ids.push(format!("{}: {mismatch}", vector.id));
            flags.extend(vector.flags.iter().cloned());
        }
    }
    (ids, flags)
}

// Source: docs/pipeline.md, read a second time; the vectors are by hand or from the oracle.
#[test]
fn the_second_implementation_passes_every_vector() {
    let folder = tempfile::tempdir().unwrap();
    let (ids, _) = wrong(&compile(0, folder.path()));
    assert!(ids.is_empty(), "{}", ids.join("\n"));
}

#[test]
fn every_mistake_is_caught_by_a_vector_that_names_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut missed = Vec::new();
    for (defect, flag) in DEFECTS {
        let (ids, flags) = wrong(&compile(defect, folder.path()));
        if !flags.contains(flag) {
            missed.push(format!("{defect} ({flag}): wrong are {ids:?}"));
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

#[test]
fn every_defect_of_the_source_is_in_the_list() {
    let mut built_in = BTreeSet::new();
    for entry in std::fs::read_dir(sources()).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        let directives = text
            .lines()
            .filter(|line| line.trim_start().starts_with('#'));
        for line in directives {
            let number = line
                .split("DEFECT == ")
                .nth(1)
                .or(line.split("DEFECT != ").nth(1));
            built_in.extend(number.map(|n| n.trim().parse::<u32>().unwrap()));
            assert!(
                !line.contains("float") && !line.contains("math.h"),
                "{line}"
            );
        }
        for word in ["double", "float ", "malloc", "calloc"] {
            assert!(!text.contains(word), "{word} in the C program");
        }
    }
    assert_eq!(
        built_in,
        DEFECTS.iter().map(|(defect, _)| *defect).collect()
    );
}
