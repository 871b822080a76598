//! Pictures that follow each other in time, as an mp4 made by the program `ffmpeg` where there is one.
//!
//! Frames are handed over as they come, at one rate: a frame that stands longer is handed over more than
//! once. The mp4 is for showing: it loses colours and detail; the PNG files are what the display shows.

use std::ffi::OsStr;
use std::fs::File;
use std::io::{Read, Seek, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};

use crate::animation::{Delay, DelayError};
use crate::measure::reading::real;
use crate::world::rounding::floor_index;

/// A frame is handed over at least every so often, seconds: players stumble over slower ones. Common
/// practice.
const LONGEST_S: f64 = 0.1;

/// A video that cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum VideoError {
    /// There is no ffmpeg.
    #[error(
        "--video needs the program ffmpeg, and none is on the PATH: install it (apt install ffmpeg, dnf install \
         ffmpeg-free, brew install ffmpeg), or leave --video out: animation.png holds the same pictures"
    )]
    Missing,
    /// The program cannot be started or spoken to.
    #[error(
        "cannot run ffmpeg: {0}. Mend it, or leave --video out: animation.png holds the same pictures"
    )]
    Program(#[from] std::io::Error),
    /// The program ended without a video.
    #[error(
        "ffmpeg ended with {status} and said: {said}. Mend what it names, or leave --video out: animation.png holds \
         the same pictures"
    )]
    Ended {
        /// How it ended.
        status: ExitStatus,
        /// The last line that it said.
        said: String,
    },
    /// Pictures follow each other too fast or too slowly.
    #[error(transparent)]
    Delay(#[from] DelayError),
}

/// Sees whether there is an ffmpeg, before work is done for it.
///
/// # Errors
/// [`VideoError::Missing`] or [`VideoError::Program`].
pub fn available() -> Result<(), VideoError> {
    ffmpeg(["-version"])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .map(|_| ())
        .map_err(not_started)
}

fn ffmpeg<A: AsRef<OsStr>>(arguments: impl IntoIterator<Item = A>) -> Command {
    let mut command = Command::new("ffmpeg");
    command.args(arguments);
    command
}

fn not_started(cause: std::io::Error) -> VideoError {
    if cause.kind() == std::io::ErrorKind::NotFound {
        VideoError::Missing
    } else {
        VideoError::Program(cause)
    }
}

fn greatest_common(a: usize, b: usize) -> usize {
    if b == 0 { a } else { greatest_common(b, a % b) }
}

/// One rate for frames that stand for different times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Time from one frame handed over to the next.
    pub period: Delay,
    /// Steps of the source that a period lasts, as steps over periods.
    steps: usize,
    periods: usize,
}

impl Pace {
    /// For times that are whole numbers of steps of `step_s` seconds: the longest period that measures
    /// them all, cut into equal parts of at most 0.1 s.
    ///
    /// # Errors
    /// [`DelayError`] when the period is outside 0.001 s to 65535 s.
    ///
    /// ```
    /// use glowsill::video::Pace;
    /// // Pictures that stand for 0.2 s and 0.3 s, 30 steps a second: one every 0.1 s.
    /// let pace = Pace::of(&[6, 9], 1.0 / 30.0).unwrap();
    /// assert_eq!((pace.period.numerator, pace.period.denominator), (1, 10));
    /// assert_eq!((pace.times(6), pace.times(9)), (2, 3));
    /// ```
    pub fn of(steps: &[usize], step_s: f64) -> Result<Self, DelayError> {
        let common = steps.iter().copied().fold(0, greatest_common).max(1);
        let whole_s = real(common) * step_s;
        let periods = floor_index((whole_s / LONGEST_S - 1e-9).ceil(), 1_000_000).max(1);
        Ok(Self {
            period: Delay::of(whole_s / real(periods))?,
            steps: common,
            periods,
        })
    }

    /// How often a frame that stands for so many steps is handed over.
    #[must_use]
    pub fn times(self, steps: usize) -> usize {
        steps / self.steps * self.periods
    }
}

/// An mp4 being made; dropped unfinished, it stops the program and removes the file.
#[derive(Debug)]
pub struct Video {
    child: Child,
    said: File,
    path: PathBuf,
    finished: bool,
}

impl Video {
    /// Starts ffmpeg for frames of a size (columns, rows) that follow each other at a pace.
    ///
    /// # Errors
    /// [`VideoError`] when it does not start.
    pub fn start(
        path: &Path,
        size: (usize, usize),
        pace: Pace,
        comment: &str,
    ) -> Result<Self, VideoError> {
        let said = tempfile::tempfile()?;
        let Delay {
            numerator,
            denominator,
        } = pace.period;
        let child = ffmpeg(["-hide_banner", "-loglevel", "error", "-y"])
            .args(["-f", "rawvideo", "-pixel_format", "rgb24", "-video_size"])
            .arg(format!("{}x{}", size.0, size.1))
            .args(["-framerate", &format!("{denominator}/{numerator}")])
            // The usual form of colour needs even sizes.
            .args(["-i", "-", "-vf", "pad=ceil(iw/2)*2:ceil(ih/2)*2"])
            .args(["-pix_fmt", "yuv420p", "-movflags", "+faststart"])
            .args(["-metadata", &format!("comment={comment}"), "-f", "mp4"])
            .arg(path)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(said.try_clone()?)
            .spawn()
            .map_err(not_started)?;
        Ok(Self {
            child,
            said,
            path: path.to_owned(),
            finished: false,
        })
    }

    /// Hands a frame over so many times; three bytes a pixel (red, green, blue), row by row.
    ///
    /// # Errors
    /// [`VideoError`] when ffmpeg has ended or takes nothing.
    pub fn frame(&mut self, rgb: &[u8], times: usize) -> Result<(), VideoError> {
        for _ in 0..times {
            let pipe = self.child.stdin.as_mut();
            let taken = pipe.map_or(Ok(()), |pipe| pipe.write_all(rgb));
            if let Err(cause) = taken {
                // It closes its input when it ends; what it said tells more than a broken pipe.
                return Err(match self.end() {
                    Err(ended) => ended,
                    Ok(()) => VideoError::Program(cause),
                });
            }
        }
        Ok(())
    }

    /// Waits until the file is written.
    ///
    /// # Errors
    /// [`VideoError::Ended`] with what ffmpeg said when there is no video.
    pub fn finish(mut self) -> Result<(), VideoError> {
        self.end()?;
        self.finished = true;
        Ok(())
    }

    fn end(&mut self) -> Result<(), VideoError> {
        drop(self.child.stdin.take());
        let status = self.child.wait()?;
        if status.success() {
            return Ok(());
        }
        let mut said = String::new();
        self.said.rewind()?;
        self.said.read_to_string(&mut said)?;
        let last = said.lines().rev().find(|line| !line.trim().is_empty());
        Err(VideoError::Ended {
            status,
            said: last.unwrap_or("nothing").trim().to_owned(),
        })
    }
}

impl Drop for Video {
    fn drop(&mut self) {
        if !self.finished {
            // It may have ended by itself.
            let _ = self.child.kill();
            let _ = self.child.wait();
            let _ = std::fs::remove_file(&self.path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Arithmetic by hand; 30 steps a second.
    #[test]
    fn frames_that_stand_long_are_handed_over_again() {
        let of = |steps: &[usize]| Pace::of(steps, 1.0 / 30.0).unwrap();
        let one = of(&[1, 1, 1]);
        assert_eq!((one.period.numerator, one.period.denominator), (1, 30));
        assert_eq!(one.times(1), 1);
        // 30 s and 90 s: ten a second, 300 and 900 times.
        let slow = of(&[900, 2700]);
        assert_eq!((slow.period.numerator, slow.period.denominator), (1, 10));
        assert_eq!((slow.times(900), slow.times(2700)), (300, 900));
        // 20 s and 7 steps have only single steps in common.
        let odd = of(&[600, 7]);
        assert_eq!((odd.times(600), odd.times(7)), (600, 7));
        assert!(Pace::of(&[1], 1e-6).is_err());
    }
}
