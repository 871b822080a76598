//! What an earlier report wrote, so that its pictures can go and nothing else does.

use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::pictures;

const CRC: crc::Crc<u32> = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);

/// A picture as `report.json` lists it under `files`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Written {
    /// Path inside the report's folder.
    file: String,
    /// Length.
    bytes: usize,
    /// CRC-32 (ISO-HDLC, as in PNG) of the whole file, eight hexadecimal digits.
    crc32: String,
}

impl Written {
    pub(super) fn of(picture: &pictures::File) -> Self {
        Self::new(&picture.file, &picture.png)
    }

    fn new(file: &str, bytes: &[u8]) -> Self {
        Self {
            file: file.to_owned(),
            bytes: bytes.len(),
            crc32: format!("{:08x}", CRC.checksum(bytes)),
        }
    }

    /// Removes the file if it is still as it was written; what was changed since is somebody's work and stays.
    fn remove(&self, folder: &Path) {
        let named_by_us = self.file.strip_prefix("pictures/").is_some_and(|name| {
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
            name.strip_suffix(".png")
                .is_some_and(|stem| stem.chars().all(plain))
        });
        if !named_by_us {
            return;
        }
        let path = folder.join(&self.file);
        if fs::read(&path).is_ok_and(|bytes| Self::new(&self.file, &bytes) == *self) {
            // A picture too many is no reason to lose the report.
            let _ = fs::remove_file(&path);
        }
    }
}

/// What the report in this `report.json` wrote; nothing when it cannot be read or is of an older form.
pub(super) fn read(report_json: &Path) -> Vec<Written> {
    #[derive(Deserialize)]
    struct Listing {
        files: Vec<Written>,
    }
    let text = fs::read(report_json).unwrap_or_default();
    serde_json::from_slice::<Listing>(&text).map_or_else(|_| Vec::new(), |listing| listing.files)
}

/// Removes from the folder what an earlier report wrote and the new one, not yet moved in, does not replace.
pub(super) fn remove_stale(earlier: &[Written], folder: &Path, new: &Path) {
    for written in earlier {
        if !new.join(&written.file).exists() {
            written.remove(folder);
        }
    }
}
