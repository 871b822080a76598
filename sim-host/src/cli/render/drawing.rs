//! The files of `glowsill render`, written as the frames come: a picture each, the animation, the video.

use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use glowsill_core::record::FrameRecord;
use image::RgbImage;
use serde::Serialize;

use crate::animation::{Animation, AnimationError, Delay};
use crate::cli::{CAUTION, CliError};
use crate::measure::reading::real;
use crate::run::Display;
use crate::source::{Lens, Source};
use crate::video::{Pace, Video, VideoError};

/// Name of the animation.
pub(super) const ANIMATION: &str = "animation.png";
/// Name of the video.
pub(super) const VIDEO: &str = "animation.mp4";

/// The frames to be drawn and how long each stands.
pub(super) struct Timing {
    frames: Vec<usize>,
    /// Frames of the source from each to the next; the last stands as long as the one before it.
    gaps: Vec<usize>,
    /// Seconds of a gap of one.
    step_s: f64,
    speed: f64,
}

impl Timing {
    /// For frames in order, so many times faster than real.
    ///
    /// # Errors
    /// [`CliError::Pace`] when pictures follow each other too fast or too slowly for an animation.
    pub(super) fn of(frames: &[usize], source: &Source, speed: f64) -> Result<Self, CliError> {
        let mut gaps: Vec<usize> = frames.windows(2).map(|pair| pair[1] - pair[0]).collect();
        gaps.extend(gaps.last().copied());
        let timing = Self {
            frames: frames.to_vec(),
            gaps,
            step_s: source.frame_seconds() / speed,
            speed,
        };
        for gap in &timing.gaps {
            timing.delay(*gap)?;
        }
        Ok(timing)
    }

    fn delay(&self, gap: usize) -> Result<Delay, CliError> {
        let pace = |cause| CliError::Pace {
            speed: self.speed,
            cause,
        };
        Delay::of(real(gap) * self.step_s).map_err(pace)
    }

    /// Whether there is anything that moves.
    fn moves(&self) -> bool {
        self.frames.len() > 1
    }
}

/// One picture, as `records.json` lists it.
#[derive(Serialize)]
pub(super) struct Picture {
    pub(super) file: String,
    frame: usize,
    seconds: f64,
}

/// An animation or a video, as `records.json` lists it.
#[derive(Serialize)]
pub(super) struct Film {
    pub(super) file: &'static str,
    pictures: usize,
    seconds: f64,
    speed: f64,
}

impl Film {
    /// How long it lasts, for people.
    pub(super) fn words(&self) -> String {
        let (file, seconds) = (self.file, self.seconds);
        if (self.speed - 1.0).abs() < 1e-9 {
            let hint = if seconds > 60.0 {
                " (--speed 20 makes it 20 times shorter)"
            } else {
                ""
            };
            format!("{file} lasts {seconds:.1} s in real time{hint}.")
        } else {
            format!(
                "{file} lasts {seconds:.1} s at {} times real time.",
                self.speed
            )
        }
    }
}

/// What was written.
pub(super) struct Drawn {
    pub(super) pictures: Vec<Picture>,
    pub(super) records: Vec<FrameRecord>,
    pub(super) animation: Option<Film>,
    pub(super) video: Option<Film>,
    pub(super) video_failed: Option<VideoError>,
}

/// Shows the frames that the display needs, and writes those that are wanted as they come.
pub(super) struct Drawing<'a> {
    source: &'a Source,
    folder: &'a Path,
    timing: &'a Timing,
    by_time: bool,
    animation: Option<Animation<BufWriter<File>>>,
    video: Option<(Video, Pace)>,
    video_failed: Option<VideoError>,
    pictures: Vec<Picture>,
    records: Vec<FrameRecord>,
}

impl<'a> Drawing<'a> {
    /// Begins the animation, when there is more than one frame, and the video.
    ///
    /// # Errors
    /// [`CliError`] when a file cannot be written or the video program does not start.
    pub(super) fn begin(
        source: &'a Source,
        folder: &'a Path,
        timing: &'a Timing,
        by_time: bool,
        video: bool,
    ) -> Result<Self, CliError> {
        let size = source.size();
        let mut drawing = Self {
            source,
            folder,
            timing,
            by_time,
            animation: None,
            video: None,
            video_failed: None,
            pictures: Vec::new(),
            records: Vec::new(),
        };
        if !timing.moves() {
            return Ok(drawing);
        }
        let path = drawing.place();
        let file = File::create(&path).map_err(CliError::writing(&path))?;
        let [columns, rows, frames] = [size.0, size.1, timing.frames.len()]
            .map(|number| u32::try_from(number).unwrap_or(u32::MAX));
        let comment = format!("{CAUTION} {} times real time.", timing.speed);
        let begun = Animation::new(BufWriter::new(file), (columns, rows), frames, &comment);
        drawing.animation = Some(begun.map_err(drawing.animating())?);
        if video {
            let pace = Pace::of(&timing.gaps, timing.step_s).map_err(VideoError::from)?;
            let started = Video::start(&folder.join(VIDEO), size, pace, &comment)?;
            drawing.video = Some((started, pace));
        }
        Ok(drawing)
    }

    fn place(&self) -> PathBuf {
        self.folder.join(ANIMATION)
    }

    fn animating(&self) -> impl FnOnce(AnimationError) -> CliError + use<> {
        let path = self.place();
        move |cause| CliError::Animation { path, cause }
    }

    /// Shows the next frame; if it is wanted, writes it.
    ///
    /// # Errors
    /// [`CliError`] when the frame cannot be read, shown or written.
    pub(super) fn frame(
        &mut self,
        frame: usize,
        lens: &mut Lens,
        display: &mut Display<'_>,
    ) -> Result<(), CliError> {
        let counts = lens.expose(self.source.frame(frame)?)?;
        let shown = counts.show(display)?;
        let Ok(index) = self.timing.frames.binary_search(&frame) else {
            return Ok(());
        };
        let seconds = self.source.seconds(frame);
        let name = if self.by_time {
            format!("at-{seconds:07.2}s.png")
        } else {
            format!("frame-{frame:04}.png")
        };
        let path = self.folder.join(&name);
        let image = shown.image();
        image
            .save(&path)
            .map_err(|cause| CliError::Picture { path, cause })?;
        self.pictures.push(Picture {
            file: name,
            frame,
            seconds,
        });
        self.records.push(shown.record);
        match self.timing.gaps.get(index) {
            Some(gap) => self.moving(&image, *gap),
            None => Ok(()),
        }
    }

    fn moving(&mut self, image: &RgbImage, gap: usize) -> Result<(), CliError> {
        let delay = self.timing.delay(gap)?;
        let failed = self.animating();
        if let Some(animation) = &mut self.animation {
            animation.frame(image.as_raw(), delay).map_err(failed)?;
        }
        if let Some((video, pace)) = &mut self.video
            && let Err(cause) = video.frame(image.as_raw(), pace.times(gap))
        {
            // The pictures do not need it.
            self.video = None;
            self.video_failed = Some(cause);
        }
        Ok(())
    }

    fn film(&self, file: &'static str) -> Result<Film, CliError> {
        let delays = self.timing.gaps.iter().map(|gap| self.timing.delay(*gap));
        let delays: Vec<Delay> = delays.collect::<Result<_, _>>()?;
        Ok(Film {
            file,
            pictures: delays.len(),
            seconds: delays.into_iter().map(Delay::seconds).sum(),
            speed: self.timing.speed,
        })
    }

    /// Ends the files; animation and video of a run that is not whole are removed.
    ///
    /// # Errors
    /// [`CliError`] when the animation cannot be ended.
    pub(super) fn end(mut self, whole: bool) -> Result<Drawn, CliError> {
        let mut films = (None, None);
        if let Some(animation) = self.animation.take() {
            if whole {
                animation.finish().map_err(self.animating())?;
                films.0 = Some(self.film(ANIMATION)?);
            } else {
                drop(animation);
                let path = self.place();
                std::fs::remove_file(&path).map_err(CliError::writing(&path))?;
            }
        }
        if let Some((video, _)) = self.video.take()
            && whole
        {
            match video.finish() {
                Ok(()) => films.1 = Some(self.film(VIDEO)?),
                Err(cause) => self.video_failed = Some(cause),
            }
        }
        Ok(Drawn {
            pictures: self.pictures,
            records: self.records,
            animation: films.0,
            video: films.1,
            video_failed: self.video_failed,
        })
    }
}
