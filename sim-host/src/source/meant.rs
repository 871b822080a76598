//! What a person may have meant by a name that is no source.

use std::path::{Component, Path, PathBuf};

use crate::profile_file::source::nearest;
use crate::world::scenario;
use crate::world::target::target_names;

/// ` Did you mean 'workshop'?`, or nothing when nothing is near.
pub(super) fn sentence(text: &str) -> String {
    let near = name(text).or_else(|| path(Path::new(text)));
    near.map_or_else(String::new, |near| format!(" Did you mean '{near}'?"))
}

/// The nearest target or scenario; capitals, blanks and low lines do not count.
fn name(text: &str) -> Option<String> {
    let written = text.trim().to_lowercase().replace([' ', '_'], "-");
    let known: Vec<_> = target_names()
        .into_iter()
        .chain(scenario::names())
        .collect();
    nearest(&written, &known).map(str::to_owned)
}

/// The path with each part that does not exist replaced by the nearest one that does.
fn path(text: &Path) -> Option<String> {
    let mut found = PathBuf::new();
    for part in text.components() {
        let next = found.join(part);
        let is_named = matches!(part, Component::Normal(_));
        found = if is_named && !next.exists() {
            let part = part.as_os_str().to_str()?;
            found.join(neighbour(&found, part)?)
        } else {
            next
        };
    }
    let usable = found.is_dir() || found.extension().is_some_and(|ending| ending == "toml");
    usable.then(|| found.display().to_string())
}

/// What stands in a folder under the nearest name.
fn neighbour(folder: &Path, written: &str) -> Option<String> {
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .ok()?
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    names.sort();
    let known: Vec<&str> = names.iter().map(String::as_str).collect();
    nearest(written, &known).map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_in_names_of_targets_and_scenarios_are_understood() {
        for (written, meant) in [
            ("workshp", "workshop"),
            ("Workshop", "workshop"),
            ("slow_ramp", "slow-ramp"),
            ("three_partition", "three-partitions"),
            ("sawdust bins", "sawdust-bins"),
        ] {
            assert_eq!(sentence(written), format!(" Did you mean '{meant}'?"));
        }
        assert_eq!(sentence("a-name-near-nothing-at-all"), "");
    }

    #[test]
    fn every_part_of_a_path_may_hold_a_slip() {
        let folder = tempfile::tempdir().unwrap();
        let recording = folder.path().join("recordings").join("first-bin");
        std::fs::create_dir_all(&recording).unwrap();
        std::fs::write(recording.join("room.toml"), "").unwrap();
        let written = folder.path().join("recording").join("frist-bin");
        assert_eq!(
            sentence(written.to_str().unwrap()),
            format!(" Did you mean '{}'?", recording.display())
        );
        let written = written.join("rom.toml");
        let meant = recording.join("room.toml");
        assert_eq!(
            sentence(written.to_str().unwrap()),
            format!(" Did you mean '{}'?", meant.display())
        );
        let far = folder.path().join("quite-another-thing");
        assert_eq!(sentence(far.to_str().unwrap()), "");
    }
}
