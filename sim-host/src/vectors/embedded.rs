//! The vectors as part of the program.

use glowsill_vectors::{Manifest, VectorFile, VectorFileError};

macro_rules! embed {
    ($($name:literal),+ $(,)?) => {
        &[$(($name, include_str!(concat!("../../../tests/conformance/vectors/", $name)))),+]
    };
}

const MANIFEST: &str = include_str!("../../../tests/conformance/vectors/manifest.json");

const FILES: &[(&str, &str)] = embed!(
    "correct.json",
    "temperature.json",
    "merge.json",
    "switch.json",
    "statistics.json",
    "bins.json",
    "percentile.json",
    "scale.json",
    "plateau.json",
    "bands.json",
    "overlay.json",
    "pseudo.json",
    "panel.json",
    "pack.json",
    "unpack.json",
    "record.json",
    "pipeline.json",
    "large.json",
);

/// The vectors in the program are not those of its manifest.
#[derive(Debug, thiserror::Error)]
pub enum VectorSetError {
    /// A file cannot be read.
    #[error(transparent)]
    File(#[from] VectorFileError),
    /// The manifest cannot be read.
    #[error("manifest.json: {0}. Please report this: it is a defect of glowsill")]
    Manifest(serde_json::Error),
    /// Files or counts differ.
    #[error(
        "{file}: {found} vectors, the manifest states {stated}. Please report this: it is a defect of glowsill"
    )]
    Count {
        /// Which file.
        file: String,
        /// Vectors there.
        found: usize,
        /// Vectors that should be there.
        stated: usize,
    },
    /// There is no such stage.
    #[error("there is no stage '{asked}'; the stages are: {}", .known.join(", "))]
    Stage {
        /// What was asked for.
        asked: String,
        /// The stages.
        known: Vec<String>,
    },
}

/// Every file, in the order of the pipeline.
///
/// # Errors
/// [`VectorSetError`] if a file is missing, empty, or has another count than the manifest states.
pub fn all() -> Result<Vec<VectorFile>, VectorSetError> {
    let manifest: Manifest = serde_json::from_str(MANIFEST).map_err(VectorSetError::Manifest)?;
    let mut files = Vec::new();
    for entry in &manifest.files {
        let text = FILES.iter().find(|(name, _)| *name == entry.file);
        let file = text
            .map(|(name, text)| VectorFile::parse(name, text))
            .transpose()?;
        let found = file.as_ref().map_or(0, |file| file.vectors.len());
        if found != entry.vectors || found == 0 {
            return Err(VectorSetError::Count {
                file: entry.file.clone(),
                found,
                stated: entry.vectors,
            });
        }
        files.extend(file);
    }
    if files.len() != FILES.len() {
        return Err(VectorSetError::Count {
            file: "manifest.json".to_owned(),
            found: FILES.len(),
            stated: files.len(),
        });
    }
    Ok(files)
}

/// The files of the named stages, or every file if none is named.
///
/// # Errors
/// As [`all`], and [`VectorSetError::Stage`] for a stage that is not there.
pub fn stages(only: &[String]) -> Result<Vec<VectorFile>, VectorSetError> {
    let files = all()?;
    if let Some(asked) = only
        .iter()
        .find(|name| files.iter().all(|file| file.stage != **name))
    {
        return Err(VectorSetError::Stage {
            asked: asked.clone(),
            known: files.into_iter().map(|file| file.stage).collect(),
        });
    }
    let wanted = |file: &VectorFile| only.is_empty() || only.contains(&file.stage);
    Ok(files.into_iter().filter(wanted).collect())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "test code")]
mod tests {
    use super::*;

    #[test]
    fn the_program_holds_every_file_of_the_manifest() {
        let files = all().unwrap();
        assert_eq!(files.len(), FILES.len());
        assert!(files.iter().map(|file| file.vectors.len()).sum::<usize>() >= 100);
    }

    #[test]
    fn an_unknown_stage_is_refused_with_the_known_ones() {
        let error = stages(&["colours".to_owned()]).unwrap_err().to_string();
        assert!(
            error.contains("'colours'") && error.contains("bands"),
            "{error}"
        );
        assert_eq!(stages(&["bins".to_owned()]).unwrap().len(), 1);
    }
}
