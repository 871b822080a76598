//! The reports that are being put together, so that an interrupt can remove them.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

static UNFINISHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Nothing is discarded while the guard lives.
pub(super) fn hold() -> MutexGuard<'static, Vec<PathBuf>> {
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A folder on the list for as long as this lives.
#[derive(Debug)]
pub(super) struct Listed(PathBuf);

impl Listed {
    /// Puts a folder on the list, under a guard taken before the folder was made.
    pub(super) fn new(list: &mut MutexGuard<'static, Vec<PathBuf>>, folder: &Path) -> Self {
        list.push(folder.to_owned());
        Self(folder.to_owned())
    }

    /// Takes the folder off the list: from now on it is being moved to its place.
    pub(super) fn settle(&self, list: &mut MutexGuard<'static, Vec<PathBuf>>) {
        list.retain(|folder| *folder != self.0);
    }
}

impl Drop for Listed {
    fn drop(&mut self) {
        self.settle(&mut hold());
    }
}

/// Removes every report that is not finished; for an interrupt, shortly before the program ends.
///
/// A report that is just being moved to its place is waited for. While the guard lives, no report is begun or moved:
/// keep it until the program ends.
#[must_use = "a report could be begun once the guard is gone"]
pub fn discard_unfinished() -> MutexGuard<'static, Vec<PathBuf>> {
    let mut list = hold();
    for folder in list.drain(..) {
        // Another thread may still be writing into it: what it adds is removed in the next round.
        for _ in 0..50 {
            if fs::remove_dir_all(&folder).is_ok() || !folder.exists() {
                break;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
    }
    list
}
