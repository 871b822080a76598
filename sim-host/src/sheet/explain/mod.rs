//! One profile at two instants: why the edges darkened, in pictures, curves and sentences.

mod figures;
mod gain;
mod histogram;
mod noise;
mod page;
mod run;
mod still;
mod transfer;
mod words;

use glowsill_core::profile::{ScaleLaw, WholeFramePlan};
use image::RgbImage;
use serde::Serialize;

pub use noise::{Noise, NotMeasured};
pub use transfer::Transfer;

use super::legend::Legend;
use super::view::{MarkState, View};
use super::{Card, SheetError, film};
use crate::measure::Settings;
use crate::profile_file::LoadedProfile;
use crate::source::Source;
use crate::temperature::Kelvin;
use run::Run;

/// A frame and its time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct When {
    /// Number of the frame, from 0.
    pub frame: usize,
    /// Seconds after the first frame.
    pub seconds: f64,
}

/// What stands at one of the two instants.
#[derive(Clone, Debug, Serialize)]
pub struct Side {
    /// The instant.
    pub at: When,
    /// What the profile shows.
    pub view: View,
    /// Share of the pixels with a temperature that are at or above the onset, 0 to 1; none without onset.
    pub share_above_onset: Option<f64>,
    /// Share of the grey range that the temperatures of the background of the first instant get, 0 to 1.
    pub background_grey_share: f64,
    /// Share that they would get from a straight line between the ends of the scale, 0 to 1.
    pub straight_grey_share: f64,
    /// Noise of still background pixels.
    pub noise: Option<Noise>,
    /// Why there is none.
    pub noise_missing: Option<NotMeasured>,
    /// What the whole-frame plan shows.
    pub whole_frame_view: View,
    /// The noise of the same pixels with the whole-frame plan.
    pub whole_frame_noise: Option<Noise>,
    /// Why there is none.
    pub whole_frame_noise_missing: Option<NotMeasured>,
    #[serde(skip)]
    look: Look,
}

/// What is drawn of an instant.
#[derive(Clone, Debug)]
struct Look {
    card: Card,
    whole_frame_card: Card,
    striped: RgbImage,
    transfer: Transfer,
    kelvin: Vec<f64>,
}

/// The background: what was below the onset and no mark at the first instant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Background {
    /// 5th percentile of its apparent temperatures.
    pub low: Kelvin,
    /// 95th percentile.
    pub high: Kelvin,
    /// Its pixels.
    pub pixels: usize,
}

/// What the scale does after a first instant that is the first frame, which no frame was measured for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AfterStart {
    /// The next frame that was shown.
    pub at: When,
    /// Share of the grey range that the background gets in it, 0 to 1.
    pub background_grey_share: f64,
}

/// A mark from the first frame to the second instant.
#[derive(Clone, Debug, Serialize)]
pub struct Course {
    /// What it is.
    pub name: String,
    /// Separation at both instants, JND; none where it is out of view.
    pub separation_jnd: [Option<f64>; 2],
    /// What that means at both instants.
    pub state: [MarkState; 2],
    /// From when on it stays below the threshold, up to the second instant; none if it is visible then or
    /// was lost already at the first.
    pub lost_from: Option<When>,
    /// Seconds and separation of every frame.
    #[serde(skip)]
    points: Vec<(f64, f64)>,
}

/// What a whole-frame plan does on the same frames.
#[derive(Clone, Debug, Serialize)]
pub struct WholeFrame {
    /// The plan.
    pub plan: WholeFramePlan,
    /// Whether it was put in the place of the profile's own.
    pub put_in: bool,
    /// First frame in low gain.
    pub switched: Option<When>,
    /// Frames without a picture, up to the second instant.
    pub blank_frames: usize,
    /// Their seconds.
    pub blank_seconds: f64,
}

/// An explanation, as `explain.json` holds it.
#[derive(Clone, Debug, Serialize)]
pub struct Explanation {
    /// Always `glowsill-explain`.
    pub format: &'static str,
    /// Version of the form.
    pub version: u32,
    /// What was looked at.
    pub source: String,
    /// The profile.
    pub profile: String,
    /// Columns and rows.
    pub size: [usize; 2],
    /// Seconds from one frame to the next.
    pub frame_seconds: f64,
    /// Seed of the simulated noise.
    pub seed: u64,
    /// Separation below which a mark counts as lost, JND.
    pub visible_jnd: f64,
    /// Whether grey is shared out by how often temperatures occur, so that the ends of the scale say less.
    pub equalised: bool,
    /// How grey is shared out, in words.
    pub scale_law: String,
    #[serde(skip)]
    law: ScaleLaw,
    /// What the colours mean.
    pub legend: Legend,
    /// The background of the first instant.
    pub background: Background,
    /// First and second instant.
    pub instants: [Side; 2],
    /// The scale after the first frame; none when the first instant is a later one, or the scale is fixed.
    pub after_start: Option<AfterStart>,
    /// The marks; none in a recording.
    pub marks: Vec<Course>,
    /// The same frames with a whole-frame gain plan.
    pub whole_frame: WholeFrame,
    /// What happened, in sentences computed from the numbers above.
    pub sentences: Vec<String>,
    /// Which frames every display was shown.
    pub feeding: String,
    /// Limits of the model that the source left; none of targets and recordings.
    pub warnings: Vec<String>,
    /// What the imager cannot see.
    pub unseen: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// Shows a source to a profile up to the second instant and explains what changed between the two.
///
/// `frames` are the first and the second instant; `progress` is called after each frame.
///
/// # Errors
/// [`SheetError::Order`] when the second is not after the first, or what stops the display or the source.
pub fn explain(
    source: &Source,
    loaded: &LoadedProfile,
    frames: [usize; 2],
    settings: &Settings,
    progress: impl Fn(),
) -> Result<Explanation, SheetError> {
    let [first, second] = frames;
    if second <= first {
        return Err(SheetError::Order {
            first: format!("frame {first}"),
            second: format!("frame {second}"),
        });
    }
    let (twin, plan, put_in) = gain::whole_frame(&loaded.profile, source.frame_seconds())?;
    let mut run = Run::new(source, loaded, &twin, settings);
    film::run(
        source,
        &[&loaded.profile, &twin],
        &source.feed(&frames),
        settings.seed,
        |moment| {
            progress();
            run.follow(&moment, frames)?;
            if frames.contains(&moment.frame) {
                run.keep(&moment)?;
            }
            Ok(())
        },
    )?;
    run.finish(plan, put_in)
}
