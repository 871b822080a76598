//! The oracle must know nothing of the code it judges.
#![allow(clippy::unwrap_used, reason = "test code")]

use std::path::{Path, PathBuf};
use std::process::Command;

fn oracle() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../oracle")
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn the_oracle_names_core_nowhere_in_manifest_or_code() {
    let manifest = std::fs::read_to_string(oracle().join("Cargo.toml")).unwrap();
    let dependencies: Vec<&str> = manifest
        .lines()
        .skip_while(|line| !line.contains("dependencies]"))
        .filter(|line| line.contains("glowsill"))
        .collect();
    assert_eq!(dependencies, [""; 0]);
    let mut files = Vec::new();
    sources(&oracle().join("src"), &mut files);
    assert!(
        files.len() > 8,
        "a file a stage was expected, found {files:?}"
    );
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        assert!(
            !text.contains("glowsill_core"),
            "{} uses core",
            file.display()
        );
        assert!(
            !text.contains("#[path"),
            "{} borrows a file",
            file.display()
        );
        assert!(
            !text.contains("include!"),
            "{} borrows a file",
            file.display()
        );
    }
}

#[test]
fn the_oracle_does_not_depend_on_core_through_anything_else() {
    let output = Command::new(env!("CARGO"))
        .args([
            "tree",
            "--offline",
            "-p",
            "glowsill-oracle",
            "--edges",
            "all",
            "--prefix",
            "none",
        ])
        .current_dir(oracle())
        .output()
        .unwrap();
    let tree = String::from_utf8(output.stdout).unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(tree.starts_with("glowsill-oracle "), "{tree}");
    assert!(!tree.contains("glowsill-core"), "{tree}");
}
