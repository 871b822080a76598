//! `include/glowsill.h` is what the sources say.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use std::path::Path;

const COMMAND: &str = "GLOWSILL_WRITE_HEADER=1 cargo test -p glowsill-c --test header";

fn generated(root: &Path) -> String {
    let config = cbindgen::Config::from_file(root.join("cbindgen.toml")).unwrap();
    let mut builder = cbindgen::Builder::new().with_config(config);
    // The order of the header: constants and structures, then the calls.
    for file in ["types", "status", "queries", "init", "display", "frames"] {
        builder = builder.with_src(root.join(format!("src/{file}.rs")));
    }
    let mut text = Vec::new();
    builder.generate().unwrap().write(&mut text);
    String::from_utf8(text).unwrap()
}

#[test]
fn the_header_is_what_the_sources_say() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let path = root.join("include/glowsill.h");
    let generated = generated(root);
    if std::env::var_os("GLOWSILL_WRITE_HEADER").is_some() {
        std::fs::write(&path, &generated).unwrap();
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    let first = generated
        .lines()
        .zip(committed.lines().chain(std::iter::repeat("(end of file)")))
        .enumerate()
        .find(|(_, (wanted, found))| wanted != found);
    assert!(
        committed == generated,
        "core/c/include/glowsill.h is not what core/c/src says ({}). Make it anew: {COMMAND}",
        first.map_or(
            "it is longer".to_owned(),
            |(line, (wanted, found))| format!("line {}: '{found}' instead of '{wanted}'", line + 1)
        )
    );
}

#[test]
fn every_exported_function_is_in_the_header_once() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let header = std::fs::read_to_string(root.join("include/glowsill.h")).unwrap();
    let mut functions = 0;
    for file in std::fs::read_dir(root.join("src")).unwrap() {
        let source = std::fs::read_to_string(file.unwrap().path()).unwrap();
        for (at, _) in source.match_indices("extern \"C\" fn ") {
            let name: String = source[at + 14..]
                .chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_')
                .collect();
            let declared = header.matches(&format!("{name}(")).count();
            assert!(declared >= 1, "{name} is declared {declared} times");
            functions += 1;
        }
    }
    assert_eq!(functions, 26, "functions of the interface");
}
