//! The exact integer form of the pipeline, by sections 9 and 10 of `docs/pipeline.md`.
//!
//! Where the f64 stages beside it say what is meant, this says which integers come out. Every number
//! is an `i64` and every rounding is one of two written-out divisions, so that no rule hides in a
//! shift or a narrow type. [`answer`] takes and gives lines of the protocol of `docs/vectors.md`.
//!
//! ```
//! use glowsill_oracle::exact::answer;
//! // A veil of a fifth of (255, 0, 0) over grey 100: (51·255 + 204·100)/255 = 131, and 80.
//! assert_eq!(answer("overlay 2 1 51 3 255 0 0 1 100"), Ok("3 131 80 80".to_owned()));
//! ```

mod draw;
mod packed;
mod pipeline;
mod plan;
mod scale;
mod sense;
mod words;

pub use words::answer;

/// Rounded toward minus infinity; `b` is positive.
pub(crate) fn floor(a: i64, b: i64) -> i64 {
    a.div_euclid(b)
}

/// To the nearest, halves upward; `b` is positive.
pub(crate) fn rnd(a: i64, b: i64) -> i64 {
    floor(a + floor(b, 2), b)
}

/// A number that is used as a place in a list; negative ones, which no rule makes, give 0.
pub(crate) fn place(n: i64) -> usize {
    usize::try_from(n).unwrap_or(0)
}

/// The length of a list as a number.
pub(crate) fn length(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_go_upward_for_negative_numbers_too() {
        assert_eq!((rnd(5, 2), rnd(-5, 2), rnd(-3, 2)), (3, -2, -1));
        assert_eq!((rnd(7, 5), rnd(8, 5), rnd(-7, 5)), (1, 2, -1));
        assert_eq!((floor(-1, 4), floor(7, 4)), (-1, 1));
    }
}
