//! Pictures that follow each other in time, as one animated PNG (APNG, third edition of the PNG
//! specification): frames are written as they come, so that memory holds one of them at a time.
//!
//! Every frame is whole and without loss; the animation repeats without end. The same frames and times
//! give the same bytes. A viewer that knows no animation shows the first frame.
//!
//! ```
//! use glowsill::animation::{Animation, Delay};
//! let mut file = Vec::new();
//! let mut animation = Animation::new(&mut file, (2, 1), 2, "two frames").unwrap();
//! animation.frame(&[0, 0, 0, 255, 255, 255], Delay::of(1.0 / 30.0).unwrap()).unwrap();
//! animation.frame(&[255, 0, 0, 0, 0, 255], Delay::of(2.0).unwrap()).unwrap();
//! animation.finish().unwrap();
//! assert_eq!(file[..4], *b"\x89PNG");
//! ```

use std::fmt;
use std::io::Write;

use png::{BitDepth, BlendOp, ColorType, Compression, DisposeOp, Encoder, Writer};

use crate::world::rounding::floor_index;

/// Shortest and longest time of a frame, seconds.
const LIMITS_S: (f64, f64) = (0.001, 65_535.0);
const MOST: u32 = 65_535;

/// How long a frame stands, as the fraction of seconds that the file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Delay {
    /// Numerator, 1 to 65535.
    pub numerator: u16,
    /// Denominator, 1 to 65535.
    pub denominator: u16,
}

/// A time that a frame cannot have.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{0} s from one picture to the next is outside 0.001 s to 65535 s")]
pub struct DelayError(pub f64);

impl Delay {
    /// The fraction nearest to a time in seconds among its continued fraction's; off by less than a
    /// 65,535th of the time. Times such as 1/30 s, 0.04 s, 100/2997 s or 40 s are exact.
    ///
    /// # Errors
    /// [`DelayError`] outside 0.001 s to 65535 s.
    ///
    /// ```
    /// use glowsill::animation::Delay;
    /// let delay = Delay::of(1.0 / 30.0).unwrap();
    /// assert_eq!((delay.numerator, delay.denominator), (1, 30));
    /// ```
    pub fn of(seconds: f64) -> Result<Self, DelayError> {
        if !(LIMITS_S.0..=LIMITS_S.1).contains(&seconds) {
            return Err(DelayError(seconds));
        }
        let (mut before, mut now) = ((0, 1), (1, 0));
        let mut rest = seconds;
        loop {
            let whole = u32::try_from(floor_index(rest + 1e-9, 65_535)).unwrap_or(MOST);
            let next = (whole * now.0 + before.0, whole * now.1 + before.1);
            if next.0 > MOST || next.1 > MOST {
                break;
            }
            (before, now) = (now, next);
            let left = rest - f64::from(whole);
            // What is left is rounding alone.
            if left < 1e-7 {
                break;
            }
            rest = 1.0 / left;
        }
        let part = |number: u32| u16::try_from(number).unwrap_or(u16::MAX);
        Ok(Self {
            numerator: part(now.0),
            denominator: part(now.1),
        })
    }

    /// The time, seconds.
    #[must_use]
    pub fn seconds(self) -> f64 {
        f64::from(self.numerator) / f64::from(self.denominator)
    }
}

/// An animation that cannot be written.
#[derive(Debug, thiserror::Error)]
#[error(transparent)]
pub struct AnimationError(#[from] png::EncodingError);

/// An animated PNG being written.
pub struct Animation<W: Write> {
    writer: Writer<W>,
}

impl<W: Write> fmt::Debug for Animation<W> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Animation").finish_non_exhaustive()
    }
}

impl<W: Write> Animation<W> {
    /// Begins an animation of a size (columns, rows) and a number of frames, two or more, with a comment
    /// that the file carries (Latin-1 letters).
    ///
    /// # Errors
    /// [`AnimationError`] when the file cannot be written, or there are no frames or no pixels.
    pub fn new(
        file: W,
        size: (u32, u32),
        frames: u32,
        comment: &str,
    ) -> Result<Self, AnimationError> {
        let mut encoder = Encoder::new(file, size.0, size.1);
        encoder.set_color(ColorType::Rgb);
        encoder.set_depth(BitDepth::Eight);
        encoder.set_compression(Compression::Fast);
        encoder.set_animated(frames, 0)?;
        encoder.set_dispose_op(DisposeOp::None)?;
        encoder.set_blend_op(BlendOp::Source)?;
        // A frame too many or too few is an error, not a damaged file.
        encoder.validate_sequence(true);
        encoder.add_text_chunk("Comment".to_owned(), comment.to_owned())?;
        Ok(Self {
            writer: encoder.write_header()?,
        })
    }

    /// Adds a frame, three bytes a pixel (red, green, blue), row by row, and how long it stands.
    ///
    /// # Errors
    /// [`AnimationError`] when the file cannot be written, the pixels are not as many as the size has, or
    /// all frames are there.
    pub fn frame(&mut self, rgb: &[u8], delay: Delay) -> Result<(), AnimationError> {
        self.writer
            .set_frame_delay(delay.numerator, delay.denominator)?;
        self.writer.write_image_data(rgb)?;
        Ok(())
    }

    /// Ends the file.
    ///
    /// # Errors
    /// [`AnimationError`] when it cannot be written or frames are missing.
    pub fn finish(self) -> Result<(), AnimationError> {
        Ok(self.writer.finish()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Arithmetic by hand.
    #[test]
    fn times_become_fractions() {
        for (seconds, fraction) in [
            (1.0 / 30.0, (1, 30)),
            (2.0 / 30.0, (1, 15)),
            (0.04, (1, 25)),
            (1.0 / 29.97, (100, 2997)),
            (0.5, (1, 2)),
            (90.0, (90, 1)),
            (1.5, (3, 2)),
            (40.0 / 3.0, (40, 3)),
            (0.001, (1, 1000)),
            (65_535.0, (65_535, 1)),
            (3.0 * (1.0 / 30.0) / 20.0, (1, 200)),
        ] {
            let delay = Delay::of(seconds).unwrap();
            assert_eq!(
                (delay.numerator, delay.denominator),
                fraction,
                "{seconds} s"
            );
        }
        for seconds in [0.0, -1.0, 0.000_9, 65_536.0, f64::NAN, f64::INFINITY] {
            assert!(Delay::of(seconds).is_err(), "{seconds}");
        }
    }

    #[test]
    fn any_time_is_met_to_a_65535th() {
        let mut seconds = 0.001;
        while seconds < 65_000.0 {
            let found = Delay::of(seconds).unwrap().seconds();
            assert!(
                (found / seconds - 1.0).abs() < 1.0 / 65_535.0,
                "{seconds} {found}"
            );
            seconds *= 1.003_7;
        }
    }

    #[test]
    fn a_frame_too_few_or_too_many_is_refused() {
        let delay = Delay::of(1.0).unwrap();
        let begin = || Animation::new(Vec::new(), (1, 1), 2, "test").unwrap();
        let mut short = begin();
        short.frame(&[1, 2, 3], delay).unwrap();
        assert!(short.finish().is_err());
        let mut long = begin();
        long.frame(&[1, 2, 3], delay).unwrap();
        long.frame(&[1, 2, 3], delay).unwrap();
        assert!(long.frame(&[1, 2, 3], delay).is_err());
        assert!(begin().frame(&[1, 2], delay).is_err());
    }
}
