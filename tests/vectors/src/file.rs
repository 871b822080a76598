//! Vector files and their manifest.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::Value;

use crate::{GeneratorError, expand};

/// Number of the file form that this package reads.
const VERSION: u32 = 1;

/// What a file of vectors can be refused for.
#[derive(Debug, thiserror::Error)]
pub enum VectorFileError {
    /// Not JSON of the form.
    #[error("{name}: {cause}. Write it with the vector writer, never by hand")]
    Form {
        /// Name of the file.
        name: String,
        /// What the JSON reader said.
        cause: serde_json::Error,
    },
    /// Another form.
    #[error(
        "{name}: version {found}; this program reads {VERSION}. Use the program of the same release"
    )]
    Version {
        /// Name of the file.
        name: String,
        /// Its version.
        found: u32,
    },
    /// A vector lacks a field of its request or answer.
    #[error("{id}: field '{field}' is missing. Write the file with the vector writer")]
    Missing {
        /// The vector.
        id: String,
        /// The field.
        field: String,
    },
    /// A list cannot be made.
    #[error("{id}, field '{field}': {cause}")]
    List {
        /// The vector.
        id: String,
        /// The field.
        field: String,
        /// Why not.
        cause: GeneratorError,
    },
}

/// Number of vectors a file must hold, and the identifiers that are gone.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// Always `glowsill-vector-manifest`.
    pub format: String,
    /// Files in the order of the pipeline.
    pub files: Vec<ManifestEntry>,
    /// Identifiers that were used once and are never used again.
    pub retired: Vec<String>,
}

/// One file of the manifest.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ManifestEntry {
    /// File name.
    pub file: String,
    /// Vectors in it, at least 1.
    pub vectors: usize,
}

/// The vectors of one stage.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VectorFile {
    /// Always `glowsill-vectors`.
    pub format: String,
    /// Version of the file form.
    pub version: u32,
    /// Name of the stage; also the file's.
    pub stage: String,
    /// What the stage is.
    pub about: String,
    /// First word of the request line.
    pub word: String,
    /// Fields of a request, in order.
    pub request: Vec<String>,
    /// Fields of an answer, in order.
    pub answer: Vec<String>,
    /// Per flag, which mistake its vectors catch.
    pub notes: BTreeMap<String, String>,
    /// The vectors.
    pub vectors: Vec<Vector>,
}

/// Where expected values come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// A table calculated by hand.
    Hand,
    /// The oracle's exact integer form.
    OracleExact,
    /// The oracle in f64, rounded to whole codes.
    OracleF64,
}

/// How far an answer may be off.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Tolerance {
    /// Every number is the expected one.
    Exact,
    /// Numbers of the named fields may be off by so much; all others are exact.
    Codes {
        /// Greatest difference per field.
        within: BTreeMap<String, i64>,
    },
}

impl Tolerance {
    /// Greatest difference of a number of a field.
    #[must_use]
    pub fn of(&self, field: &str) -> i64 {
        match self {
            Self::Exact => 0,
            Self::Codes { within } => within.get(field).copied().unwrap_or(0),
        }
    }
}

/// One case with its expected answer.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vector {
    /// Identifier, never reused.
    pub id: String,
    /// What the case is.
    pub comment: String,
    /// Which mistakes it catches; the file's notes say what each means.
    pub flags: Vec<String>,
    /// Where the expected values come from.
    pub source: Source,
    /// How far an answer may be off.
    pub tolerance: Tolerance,
    /// Request, by field.
    pub inputs: BTreeMap<String, Value>,
    /// Answer, by field.
    pub expected: BTreeMap<String, Value>,
}

impl VectorFile {
    /// Reads a file's text.
    ///
    /// # Errors
    /// [`VectorFileError`] if it is not of the form.
    pub fn parse(name: &str, text: &str) -> Result<Self, VectorFileError> {
        let file: Self = serde_json::from_str(text).map_err(|cause| VectorFileError::Form {
            name: name.to_owned(),
            cause,
        })?;
        if file.version != VERSION {
            return Err(VectorFileError::Version {
                name: name.to_owned(),
                found: file.version,
            });
        }
        Ok(file)
    }

    /// The line that a program under test reads for a vector, without line end.
    ///
    /// # Errors
    /// [`VectorFileError`] if a field is missing or a list cannot be made.
    pub fn request_line(&self, vector: &Vector) -> Result<String, VectorFileError> {
        let mut line = self.word.clone();
        for (_, numbers, is_list) in fields(&vector.id, &self.request, &vector.inputs)? {
            push(&mut line, &numbers, is_list);
        }
        Ok(line)
    }

    /// The line that is expected for a vector, without line end.
    ///
    /// # Errors
    /// As [`Self::request_line`].
    pub fn answer_line(&self, vector: &Vector) -> Result<String, VectorFileError> {
        let mut line = String::new();
        for (_, numbers, is_list) in self.expected(vector)? {
            push(&mut line, &numbers, is_list);
        }
        Ok(line.trim_start().to_owned())
    }

    /// Name, numbers, and whether they are a list, of each expected field.
    pub(crate) fn expected(&self, vector: &Vector) -> Result<Vec<Field>, VectorFileError> {
        fields(&vector.id, &self.answer, &vector.expected)
    }

    /// What the flags of a vector mean.
    #[must_use]
    pub fn notes_of<'a>(&'a self, vector: &'a Vector) -> Vec<(&'a str, &'a str)> {
        let note = |flag: &'a String| Some((flag.as_str(), self.notes.get(flag)?.as_str()));
        vector.flags.iter().filter_map(note).collect()
    }
}

pub(crate) type Field = (String, Vec<i64>, bool);

fn fields(
    id: &str,
    names: &[String],
    values: &BTreeMap<String, Value>,
) -> Result<Vec<Field>, VectorFileError> {
    names
        .iter()
        .map(|field| {
            let value = values.get(field).ok_or_else(|| VectorFileError::Missing {
                id: id.to_owned(),
                field: field.clone(),
            })?;
            match value.as_i64() {
                Some(number) => Ok((field.clone(), vec![number], false)),
                None => match expand(value) {
                    Ok(list) => Ok((field.clone(), list, true)),
                    Err(cause) => Err(VectorFileError::List {
                        id: id.to_owned(),
                        field: field.clone(),
                        cause,
                    }),
                },
            }
        })
        .collect()
}

fn push(line: &mut String, numbers: &[i64], is_list: bool) {
    let mut number = |n: &str| {
        line.push(' ');
        line.push_str(n);
    };
    if is_list {
        number(&numbers.len().to_string());
    }
    for n in numbers {
        number(&n.to_string());
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "test code")]
pub(crate) mod tests {
    use super::*;

    pub(crate) const TEXT: &str = r#"{
        "format": "glowsill-vectors", "version": 1, "stage": "s", "about": "a", "word": "w",
        "request": ["n", "list"], "answer": ["out", "sum"],
        "notes": {"wrap": "the sum wraps"},
        "vectors": [{
            "id": "s-001", "comment": "c", "flags": ["wrap"], "source": "hand",
            "tolerance": {"kind": "codes", "within": {"out": 1}},
            "inputs": {"list": [4, {"repeat": [2, -5]}], "n": 3},
            "expected": {"out": [10, 20], "sum": 30}
        }]
    }"#;

    #[test]
    fn lines_are_in_the_stated_order_with_counted_lists() {
        let file = VectorFile::parse("s.json", TEXT).unwrap();
        let vector = &file.vectors[0];
        assert_eq!(file.request_line(vector).unwrap(), "w 3 3 4 -5 -5");
        assert_eq!(file.answer_line(vector).unwrap(), "2 10 20 30");
        assert_eq!(file.notes_of(vector), [("wrap", "the sum wraps")]);
    }

    #[test]
    fn a_foreign_form_is_refused() {
        let other = TEXT.replace("\"version\": 1", "\"version\": 2");
        let error = VectorFile::parse("s.json", &other).unwrap_err().to_string();
        assert!(error.contains("version 2"), "{error}");
        let surplus = TEXT.replace("\"about\"", "\"abut\"");
        assert!(VectorFile::parse("s.json", &surplus).is_err());
        let mut file = VectorFile::parse("s.json", TEXT).unwrap();
        file.request.push("more".to_owned());
        let error = file.request_line(&file.vectors[0]).unwrap_err().to_string();
        assert!(error.contains("'more'"), "{error}");
    }
}
