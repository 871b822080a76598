//! Judging the line that a program under test answers.

use std::fmt;

use crate::{Vector, VectorFile, VectorFileError};

/// How an answer is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mismatch {
    /// The program said `unsupported`.
    Unsupported,
    /// The answer is no line of whole numbers.
    NotNumbers {
        /// What was answered, cut to a few words.
        found: String,
    },
    /// A list has another length.
    Length {
        /// The field.
        field: String,
        /// Numbers expected.
        expected: usize,
        /// Number answered where the count stands.
        found: i64,
    },
    /// The answer ends inside a field.
    Short {
        /// The field.
        field: String,
    },
    /// The answer goes on behind its last field.
    Long {
        /// Numbers too many.
        surplus: usize,
    },
    /// Numbers differ.
    Number {
        /// Field of the first one.
        field: String,
        /// Its place in the field, from 0.
        index: usize,
        /// Expected.
        expected: i64,
        /// Answered.
        found: i64,
        /// Difference that would have passed.
        allowed: i64,
        /// How many numbers of the whole answer differ.
        differing: usize,
    },
}

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unsupported => f.write_str("the program does not support this stage"),
            Self::NotNumbers { found } => {
                write!(
                    f,
                    "the answer '{found}' is not whole numbers with blanks between"
                )
            }
            Self::Length {
                field,
                expected,
                found,
            } => write!(
                f,
                "{field}: {expected} numbers expected, the answer counts {found}"
            ),
            Self::Short { field } => write!(f, "the answer ends inside {field}"),
            Self::Long { surplus } => write!(f, "the answer goes on for {surplus} more numbers"),
            Self::Number {
                field,
                index,
                expected,
                found,
                allowed,
                differing,
            } => {
                write!(f, "{field}[{index}]: {expected} expected, {found} answered")?;
                if *allowed > 0 {
                    write!(f, " (at most {allowed} off)")?;
                }
                if *differing > 1 {
                    write!(f, "; {differing} numbers differ")?;
                }
                Ok(())
            }
        }
    }
}

/// Compares an answered line with what a vector expects: `None` is agreement.
///
/// # Errors
/// [`VectorFileError`] if the vector itself cannot be read.
pub fn compare(
    file: &VectorFile,
    vector: &Vector,
    answer: &str,
) -> Result<Option<Mismatch>, VectorFileError> {
    let answer = answer.trim();
    if answer == "unsupported" {
        return Ok(Some(Mismatch::Unsupported));
    }
    let numbers: Result<Vec<i64>, _> = answer.split_ascii_whitespace().map(str::parse).collect();
    let Ok(numbers) = numbers else {
        let found = answer.chars().take(60).collect();
        return Ok(Some(Mismatch::NotNumbers { found }));
    };
    let mut rest = numbers.into_iter();
    let mut first: Option<Mismatch> = None;
    let mut count = 0;
    for (field, expected, is_list) in file.expected(vector)? {
        if is_list {
            let Some(found) = rest.next() else {
                return Ok(Some(first.unwrap_or(Mismatch::Short { field })));
            };
            if usize::try_from(found) != Ok(expected.len()) {
                return Ok(Some(first.unwrap_or(Mismatch::Length {
                    field,
                    expected: expected.len(),
                    found,
                })));
            }
        }
        let allowed = vector.tolerance.of(&field);
        for (index, expected) in expected.into_iter().enumerate() {
            let Some(found) = rest.next() else {
                return Ok(Some(first.unwrap_or(Mismatch::Short { field })));
            };
            if found.abs_diff(expected) > allowed.unsigned_abs() {
                count += 1;
                first.get_or_insert_with(|| Mismatch::Number {
                    field: field.clone(),
                    index,
                    expected,
                    found,
                    allowed,
                    differing: 0,
                });
            }
        }
    }
    if let Some(Mismatch::Number { differing, .. }) = &mut first {
        *differing = count;
    }
    let surplus = rest.count();
    Ok(first.or((surplus > 0).then_some(Mismatch::Long { surplus })))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "test code")]
mod tests {
    use super::*;
    use crate::file::tests::TEXT;

    fn judge(answer: &str) -> Option<Mismatch> {
        let file = VectorFile::parse("s.json", TEXT).unwrap();
        compare(&file, &file.vectors[0], answer).unwrap()
    }

    #[test]
    fn the_tolerance_is_kept_per_field() {
        assert_eq!(judge("2 10 20 30"), None);
        assert_eq!(judge(" 2 11 19 30\r"), None);
        assert_eq!(
            judge("2 12 22 31").unwrap().to_string(),
            "out[0]: 10 expected, 12 answered (at most 1 off); 3 numbers differ"
        );
        assert_eq!(
            judge("2 10 20 31").unwrap().to_string(),
            "sum[0]: 30 expected, 31 answered"
        );
    }

    #[test]
    fn what_is_no_answer_is_named() {
        assert_eq!(judge("unsupported"), Some(Mismatch::Unsupported));
        assert!(matches!(
            judge("2 ten 20 30"),
            Some(Mismatch::NotNumbers { .. })
        ));
        assert!(matches!(
            judge("3 10 20 30 40"),
            Some(Mismatch::Length { found: 3, .. })
        ));
        assert!(matches!(judge("2 10 20"), Some(Mismatch::Short { .. })));
        assert!(matches!(judge(""), Some(Mismatch::Short { .. })));
        assert!(matches!(
            judge("2 10 20 30 1"),
            Some(Mismatch::Long { surplus: 1 })
        ));
    }
}
