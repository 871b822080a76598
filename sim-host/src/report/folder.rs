//! The folder a report goes to: tried before the work, filled aside, made visible at the end.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::unfinished::{self, Listed};
use super::{ReportError, failed, manifest};

/// A text by which this program knows a page of its own.
const PAGE: &str = "<meta name=\"generator\" content=\"glowsill\">";

/// Files at the top of a report, with a text by which this program knows its own.
pub(super) const MARKERS: [(&str, &str); 3] = [
    ("report.html", PAGE),
    ("junit.xml", "<testsuites name=\"glowsill"),
    ("report.json", "\"format\": \"glowsill-report\""),
];

/// A folder being prepared for a report. Dropped without [`OutputFolder::commit`], it leaves nothing behind.
#[derive(Debug)]
pub struct OutputFolder {
    target: PathBuf,
    last: String,
    staging: TempDir,
    listed: Listed,
}

impl OutputFolder {
    /// Tries the folder before any work is done: makes its parents, and a place beside or inside it where the
    /// report is put together.
    ///
    /// # Errors
    /// [`ReportError::Folder`] when it cannot be written or is a file, [`ReportError::Foreign`] when a file
    /// that would be replaced was not written by this program.
    pub fn prepare(folder: &Path) -> Result<Self, ReportError> {
        Self::prepare_for(folder, &MARKERS, "report.json")
    }

    /// As [`Self::prepare`], for other files at the top: their names with a text by which this program knows
    /// its own, and the one that appears last.
    ///
    /// # Errors
    /// As [`Self::prepare`].
    pub fn prepare_for(
        folder: &Path,
        markers: &[(&str, &str)],
        last: &str,
    ) -> Result<Self, ReportError> {
        if folder.exists() && !folder.is_dir() {
            return Err(ReportError::Folder {
                path: folder.to_owned(),
                reason: "is a file, and a folder is needed".to_owned(),
                next: "give the name of a folder",
            });
        }
        for (name, marker) in markers {
            let path = folder.join(name);
            if path.exists() && !begins_with_marker(&path, marker) {
                return Err(ReportError::Foreign { path });
            }
        }
        // Inside a folder that exists, because its parent may not be ours to write in.
        let place = if folder.is_dir() {
            folder.to_owned()
        } else {
            let parent = folder
                .parent()
                .filter(|parent| !parent.as_os_str().is_empty());
            parent.unwrap_or(Path::new(".")).to_owned()
        };
        fs::create_dir_all(&place).map_err(|error| failed(&place, &error))?;
        let mut builder = tempfile::Builder::new();
        builder.prefix(".unfinished-report-");
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o777));
        let mut list = unfinished::hold();
        let staging = builder
            .tempdir_in(&place)
            .map_err(|error| failed(folder, &error))?;
        let listed = Listed::new(&mut list, staging.path());
        Ok(Self {
            target: folder.to_owned(),
            last: last.to_owned(),
            staging,
            listed,
        })
    }

    /// As [`Self::prepare`], for a sheet: `STEM.html`, `STEM.png` and `STEM.json`, which appears last.
    ///
    /// # Errors
    /// As [`Self::prepare`].
    pub fn prepare_sheet(folder: &Path, stem: &str) -> Result<Self, ReportError> {
        let [page, picture, json] = ["html", "png", "json"].map(|end| format!("{stem}.{end}"));
        // A picture carries no mark of its maker: it is ours where our page stands beside it.
        let picture = folder.join(picture);
        if picture.exists() && !folder.join(&page).exists() {
            return Err(ReportError::Foreign { path: picture });
        }
        let format = format!("\"format\": \"glowsill-{stem}\"");
        Self::prepare_for(folder, &[(&page, PAGE), (&json, &format)], &json)
    }

    /// Where the report's files are to be written.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.staging.path()
    }

    /// Makes the files appear in the folder, `report.json` last. Pictures that an earlier report wrote and this one
    /// does not are removed, unless they were changed since; files that no report wrote stay as they are.
    ///
    /// # Errors
    /// [`ReportError::Folder`] when a file cannot be moved. `report.json` is then missing from the folder.
    pub fn commit(self) -> Result<(), ReportError> {
        self.commit_over(&[])
    }

    /// As [`Self::commit`]; besides, files of these names in the folder are removed if none of the new ones has
    /// the name.
    ///
    /// # Errors
    /// As [`Self::commit`].
    pub fn commit_over(self, earlier_files: &[String]) -> Result<(), ReportError> {
        let Self {
            target,
            last: name,
            staging,
            listed,
        } = self;
        // Moving is short: an interrupt waits for it, so that it leaves the old report or the new one.
        let mut list = unfinished::hold();
        listed.settle(&mut list);
        if !target.exists() {
            let from = staging.keep();
            return fs::rename(&from, &target).map_err(|error| {
                // The files were never visible under their own name, so nothing of value is lost.
                let _ = fs::remove_dir_all(&from);
                failed(&target, &error)
            });
        }
        let last = target.join(&name);
        let earlier = manifest::read(&last);
        if last.exists() {
            fs::remove_file(&last).map_err(|error| failed(&last, &error))?;
        }
        manifest::remove_stale(&earlier, &target, staging.path());
        for stale in earlier_files {
            if !staging.path().join(stale).exists() {
                // A file that is gone already needs no removing.
                let _ = fs::remove_file(target.join(stale));
            }
        }
        let finished = staging.path().join(&name);
        move_into(staging.path(), &target, &finished)?;
        if finished.exists() {
            fs::rename(&finished, &last).map_err(|error| failed(&last, &error))?;
        }
        staging.close().map_err(|error| failed(&target, &error))
    }
}

fn begins_with_marker(path: &Path, marker: &str) -> bool {
    let mut start = vec![];
    let read = fs::File::open(path).and_then(|file| file.take(4096).read_to_end(&mut start));
    read.is_ok() && String::from_utf8_lossy(&start).contains(marker)
}

/// Moves every file but one, folder by folder.
fn move_into(from: &Path, to: &Path, but: &Path) -> Result<(), ReportError> {
    fs::create_dir_all(to).map_err(|error| failed(to, &error))?;
    for entry in fs::read_dir(from).map_err(|error| failed(from, &error))? {
        let entry = entry.map_err(|error| failed(from, &error))?;
        let (source, target) = (entry.path(), to.join(entry.file_name()));
        if source == but {
            continue;
        }
        if source.is_dir() {
            move_into(&source, &target, but)?;
        } else {
            fs::rename(&source, &target).map_err(|error| failed(&target, &error))?;
        }
    }
    Ok(())
}
