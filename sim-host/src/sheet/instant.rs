//! Instants as people write them: `3s`, `1.5 s`, or `frame 90`.

use std::fmt;
use std::str::FromStr;

use super::SheetError;
use crate::source::Source;
use crate::world::rounding::floor_index;

/// A moment of a source, as written.
///
/// ```
/// use glowsill::sheet::instant::Instant;
/// assert_eq!("3s".parse(), Ok(Instant::Seconds(3.0)));
/// assert_eq!("frame 90".parse(), Ok(Instant::Frame(90)));
/// assert!("later".parse::<Instant>().is_err());
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Instant {
    /// Seconds after the first frame.
    Seconds(f64),
    /// Number of the frame, from 0.
    Frame(usize),
}

impl FromStr for Instant {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let trimmed = text.trim();
        let form = || {
            format!(
                "'{text}' is not an instant: write seconds, such as 3s, or a frame, such as \"frame 90\""
            )
        };
        if let Some(number) = trimmed.strip_prefix("frame") {
            let number = number.trim_start_matches([' ', '-']);
            return number.parse().map(Self::Frame).map_err(|_| form());
        }
        let number = trimmed.strip_suffix('s').ok_or_else(form)?.trim_end();
        if number.starts_with('-') {
            return Err(format!(
                "'{text}' lies before the first frame: instants count from 0s"
            ));
        }
        let digits = number.chars().all(|c| c.is_ascii_digit() || c == '.');
        match number.parse::<f64>() {
            Ok(seconds) if digits && seconds.is_finite() => Ok(Self::Seconds(seconds)),
            _ => Err(form()),
        }
    }
}

impl fmt::Display for Instant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Seconds(seconds) => write!(f, "{seconds}s"),
            Self::Frame(frame) => write!(f, "frame {frame}"),
        }
    }
}

impl Instant {
    /// The nearest frame of a source; `option` names the option of the command line in errors.
    ///
    /// # Errors
    /// [`SheetError::OutOfRange`] beyond the last frame.
    pub fn frame(self, source: &Source, option: &'static str) -> Result<usize, SheetError> {
        let last = source.length().saturating_sub(1);
        let frame = match self {
            Self::Frame(frame) => frame,
            Self::Seconds(seconds) => {
                floor_index(seconds / source.frame_seconds() + 0.5, usize::MAX)
            }
        };
        if frame > last {
            return Err(SheetError::OutOfRange {
                option,
                asked: self.to_string(),
                source_name: source.name().to_owned(),
                last,
                last_s: seconds(source, last),
            });
        }
        Ok(frame)
    }
}

/// Seconds of a frame after the first.
#[must_use]
pub fn seconds(source: &Source, frame: usize) -> f64 {
    source.seconds(frame)
}

/// Seconds without needless places: `3 s`, `2.5 s`, `0.03 s`.
#[must_use]
pub fn say_seconds(seconds: f64) -> String {
    let text = format!("{seconds:.2}");
    format!("{} s", text.trim_end_matches('0').trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn instants_are_seconds_or_frames_and_nothing_else() {
        for (text, instant) in [
            ("30s", Instant::Seconds(30.0)),
            (" 1.5 s ", Instant::Seconds(1.5)),
            ("frame 0", Instant::Frame(0)),
            ("frame90", Instant::Frame(90)),
        ] {
            assert_eq!(text.parse(), Ok(instant), "{text}");
        }
        for text in [
            "", "3", "s", "-1s", "1e3s", "frame", "frame x", "NaNs", "infs",
        ] {
            assert!(text.parse::<Instant>().is_err(), "{text}");
        }
        let before = "-1s".parse::<Instant>().unwrap_err();
        assert!(before.contains("count from 0s"), "{before}");
        assert_eq!(say_seconds(3.0), "3 s");
        assert_eq!(say_seconds(2.5), "2.5 s");
        assert_eq!(say_seconds(100.0), "100 s");
    }

    // Thirty frames a second by hand: 3 s is frame 90; 333.3 s is frame 9999, which is not there.
    #[test]
    fn seconds_find_the_nearest_frame_or_the_limits() {
        let source = Source::open("uniform", Some((8, 8))).unwrap();
        assert_eq!(Instant::Seconds(3.0).frame(&source, "--at").unwrap(), 90);
        assert_eq!(Instant::Seconds(0.02).frame(&source, "--at").unwrap(), 1);
        let error = Instant::Seconds(400.0).frame(&source, "--at").unwrap_err();
        let text = error.to_string();
        for words in ["--at 400s", "0 s to 333.27 s", "frame 9998"] {
            assert!(text.contains(words), "{text}");
        }
    }
}
