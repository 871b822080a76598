//! Writing to the terminal; a closed pipe ends the output quietly.

use std::fmt::Display;
use std::io::Write;

/// Writes a line to standard output.
pub(super) fn line(text: impl Display) {
    // A reader that closed the pipe, such as `head`, has seen enough.
    let _ = writeln!(std::io::stdout().lock(), "{text}");
}

/// Writes a line that does not stop the run.
pub(super) fn warning(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "warning: {text}");
}

/// Writes an error to standard error.
pub(super) fn error(text: impl Display) {
    // Nobody is left to tell when standard error is closed.
    let _ = writeln!(std::io::stderr().lock(), "error: {text}");
}
