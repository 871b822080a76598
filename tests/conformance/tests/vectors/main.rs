//! The conformance vectors: their files, core, and the second implementation in C.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code"
)]

mod c_port;
mod files;

use std::path::{Path, PathBuf};

use glowsill_vectors::{Manifest, VectorFile, compare};

pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors")
}

pub(crate) fn manifest() -> Manifest {
    serde_json::from_str(&std::fs::read_to_string(folder().join("manifest.json")).unwrap()).unwrap()
}

/// Every file of the manifest; a missing one, or another count of vectors, is a failure.
pub(crate) fn vector_files() -> Vec<VectorFile> {
    let manifest = manifest();
    assert!(!manifest.files.is_empty());
    let read = |entry: &glowsill_vectors::ManifestEntry| {
        let text = std::fs::read_to_string(folder().join(&entry.file)).unwrap();
        let file = VectorFile::parse(&entry.file, &text).unwrap();
        assert!(entry.vectors > 0, "{} may not be empty", entry.file);
        assert_eq!(
            file.vectors.len(),
            entry.vectors,
            "vectors in {}",
            entry.file
        );
        file
    };
    manifest.files.iter().map(read).collect()
}

fn answer_line(line: &str) -> String {
    let (word, numbers) = line.split_once(' ').unwrap();
    let numbers: Vec<i64> = numbers.split(' ').map(|n| n.parse().unwrap()).collect();
    glowsill_core_port::answer(word, &numbers).map_or("unsupported".to_owned(), |answer| {
        let words: Vec<String> = answer.iter().map(i64::to_string).collect();
        words.join(" ")
    })
}

// Source: the vectors, by hand or from the oracle's exact form; each says which.
#[test]
fn core_passes_every_vector() {
    let mut wrong = Vec::new();
    let mut passed = 0;
    for file in vector_files() {
        for vector in &file.vectors {
            let answer = answer_line(&file.request_line(vector).unwrap());
            match compare(&file, vector, &answer).unwrap() {
                None => passed += 1,
                Some(mismatch) => wrong.push(format!("{}: {mismatch}", vector.id)),
            }
        }
    }
    assert!(wrong.is_empty(), "{passed} passed\n{}", wrong.join("\n"));
    let stated: usize = manifest().files.iter().map(|entry| entry.vectors).sum();
    assert_eq!(passed, stated);
}
