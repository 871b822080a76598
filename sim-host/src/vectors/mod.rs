//! Checks a foreign implementation of the pipeline against the conformance vectors.
//!
//! The vectors are part of the program, so that it works without this repository. A program under
//! test reads a request line and writes an answer line, see `docs/vectors.md`.

mod embedded;
mod program;

pub use embedded::{VectorSetError, all, stages};
pub use program::{Limits, Program, ProgramError};

use glowsill_vectors::{Mismatch, Vector, VectorFile, VectorFileError, compare};

/// How one vector went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The answer is the expected one.
    Passed,
    /// The program says that it does not do this stage.
    Unsupported,
    /// The answer is wrong; the sentence says how.
    Wrong(String),
    /// There was no answer of whole numbers; the sentence says why. Says nothing of the stage.
    NoAnswer(String),
}

/// What is asked of the progress of a check: called before each vector.
pub type Watch<'a> = &'a mut dyn FnMut(&Vector);

/// Why a check could not be made.
#[derive(Debug, thiserror::Error)]
pub enum CheckError {
    /// The program cannot be run.
    #[error(transparent)]
    Program(#[from] ProgramError),
    /// The vectors cannot be read.
    #[error(transparent)]
    Vectors(#[from] VectorFileError),
}

/// Puts the vectors of some files to a program, in order; a program that ends or hangs is started
/// again for the next vector.
///
/// # Errors
/// [`CheckError`] if the program cannot be started, or fails to answer too often.
pub fn check<'f>(
    command: &str,
    limits: Limits,
    files: &'f [VectorFile],
    watch: Watch<'_>,
) -> Result<Vec<(&'f VectorFile, &'f Vector, Outcome)>, CheckError> {
    let mut program = Program::start(command, limits)?;
    let mut results = Vec::new();
    for file in files {
        for vector in &file.vectors {
            watch(vector);
            let outcome = match program.ask(file.request_line(vector)?) {
                Ok(answer) => match compare(file, vector, &answer)? {
                    None => Outcome::Passed,
                    Some(Mismatch::Unsupported) => Outcome::Unsupported,
                    Some(mismatch @ Mismatch::NotNumbers { .. }) => {
                        Outcome::NoAnswer(mismatch.to_string())
                    }
                    Some(mismatch) => Outcome::Wrong(mismatch.to_string()),
                },
                Err(silence) => {
                    program.restart()?;
                    Outcome::NoAnswer(silence.to_string())
                }
            };
            results.push((file, vector, outcome));
        }
    }
    Ok(results)
}
