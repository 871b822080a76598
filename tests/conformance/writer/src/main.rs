//! Writes `tests/conformance/vectors/`; the only way its files are made.

use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../vectors");
    let files = match glowsill_vector_writer::files() {
        Ok(files) => files,
        Err(error) => {
            eprintln!("error: {error}");
            return ExitCode::FAILURE;
        }
    };
    for (name, text) in files {
        if let Err(error) = std::fs::write(folder.join(&name), &text) {
            eprintln!("error: cannot write {name}: {error}");
            return ExitCode::FAILURE;
        }
        println!("{name}: {} bytes", text.len());
    }
    ExitCode::SUCCESS
}
