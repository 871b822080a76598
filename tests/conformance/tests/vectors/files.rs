//! The files themselves: written by the writer, of the schema, identifiers unique, nothing too large.

use std::collections::BTreeSet;

use crate::{folder, manifest, vector_files};

const MOST_BYTES: usize = 200_000;

#[test]
fn the_files_are_those_of_the_writer_byte_for_byte() {
    let mut expected: BTreeSet<String> = BTreeSet::new();
    for (name, text) in glowsill_vector_writer::files().unwrap() {
        let found = std::fs::read_to_string(folder().join(&name)).unwrap_or_default();
        assert!(
            found == text,
            "{name} is not what the writer writes: cargo run -p glowsill-vector-writer"
        );
        assert!(text.len() <= MOST_BYTES, "{name} has {} bytes", text.len());
        expected.insert(name);
    }
    expected.insert("vectors.schema.json".to_owned());
    let found: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(found, expected);
}

#[test]
fn the_files_are_of_the_schema() {
    let read = |name: &str| -> serde_json::Value {
        serde_json::from_str(&std::fs::read_to_string(folder().join(name)).unwrap()).unwrap()
    };
    let validator = jsonschema::validator_for(&read("vectors.schema.json")).unwrap();
    for entry in manifest().files {
        let file = read(&entry.file);
        let errors: Vec<String> = validator
            .iter_errors(&file)
            .map(|error| format!("{} at {}", error, error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{}: {}", entry.file, errors.join("\n"));
    }
    let mut broken = read("bins.json");
    broken["vectors"][0]["tolerance"]["kind"] = "about".into();
    assert!(!validator.is_valid(&broken), "the schema refuses nothing");
}

#[test]
fn identifiers_are_unique_and_flags_have_notes_that_are_used() {
    let retired: BTreeSet<String> = manifest().retired.into_iter().collect();
    let mut seen = BTreeSet::new();
    let mut flags_of_all = BTreeSet::new();
    for file in vector_files() {
        let mut used = BTreeSet::new();
        for vector in &file.vectors {
            assert!(
                vector.id.starts_with(&format!("{}-", file.stage)),
                "{}",
                vector.id
            );
            assert!(
                seen.insert(vector.id.clone()),
                "{} is there twice",
                vector.id
            );
            assert!(!retired.contains(&vector.id), "{} is retired", vector.id);
            for flag in &vector.flags {
                assert!(
                    file.notes.contains_key(flag),
                    "{}: {flag} has no note",
                    vector.id
                );
                used.insert(flag.clone());
            }
            let names = |map: &std::collections::BTreeMap<String, serde_json::Value>| {
                map.keys().cloned().collect::<BTreeSet<String>>()
            };
            assert_eq!(
                names(&vector.inputs),
                file.request.iter().cloned().collect()
            );
            assert_eq!(
                names(&vector.expected),
                file.answer.iter().cloned().collect()
            );
        }
        let noted: BTreeSet<String> = file.notes.keys().cloned().collect();
        assert_eq!(noted, used, "{}: a note that no vector has", file.stage);
        for flag in noted {
            assert!(
                flags_of_all.insert(flag.clone()),
                "{flag} stands in two files"
            );
        }
    }
}

#[test]
fn the_writer_knows_nothing_of_core() {
    let output = std::process::Command::new(env!("CARGO"))
        .args([
            "tree",
            "--offline",
            "-p",
            "glowsill-vector-writer",
            "--edges",
            "all",
            "--prefix",
            "none",
        ])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let tree = String::from_utf8(output.stdout).unwrap();
    assert!(tree.starts_with("glowsill-vector-writer "), "{tree}");
    assert!(!tree.contains("glowsill-core"), "{tree}");
}

/// Rows of the tables of docs/vectors.md that start with a name in code style.
fn documented(text: &str, name: &str) -> Option<String> {
    let start = format!("| `{name}` |");
    text.lines()
        .find(|line| line.starts_with(&start))
        .map(str::to_owned)
}

#[test]
fn the_page_states_every_word_with_its_fields_in_order() {
    let page = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/vectors.md");
    let page = std::fs::read_to_string(page).unwrap();
    for file in vector_files() {
        assert!(
            page.contains(&format!("`{}`", file.stage)),
            "{}",
            file.stage
        );
        let row = documented(&page, &file.word).expect("a row of the table of words");
        let cells: Vec<&str> = row.trim_matches('|').split('|').collect();
        let fields = |cell: &str| -> Vec<String> {
            let plain = |field: &str| field.trim_matches([' ', '[', ']']).to_owned();
            cell.split(',').map(plain).collect()
        };
        assert_eq!(fields(cells[2]), file.answer, "{}", file.word);
        if file.word != "digest" {
            assert_eq!(fields(cells[1]), file.request, "{}", file.word);
        }
    }
}
