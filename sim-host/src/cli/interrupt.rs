//! What a command does when it is interrupted (Ctrl-C, SIGTERM): it takes away what is unfinished and ends.

use super::{CliError, output};
use crate::report::discard_unfinished;

/// Exit code after an interrupt: 128 and the number of SIGINT, as shells count it. Common practice.
const INTERRUPTED: i32 = 130;

/// From now on an interrupt removes what is unfinished of `what`; once a run.
pub(super) fn watch(what: &'static str) -> Result<(), CliError> {
    ctrlc::set_handler(move || {
        let _held = discard_unfinished();
        output::warning(&format!(
            "interrupted: what was unfinished of {what} is removed"
        ));
        std::process::exit(INTERRUPTED);
    })?;
    Ok(())
}
