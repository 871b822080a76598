//! One profile at two instants: why the edges darkened, in pictures, curves and sentences.

mod gain;
mod histogram;
mod noise;
mod page;
mod transfer;
mod words;

use glowsill_core::profile::{Profile, ScaleLaw, WholeFramePlan};
use glowsill_core::record::GainInUse;
use image::RgbImage;
use serde::Serialize;

pub use noise::Noise;
pub use transfer::Transfer;

use super::view::{MarkState, View, marks_seen, onset};
use super::{Card, SCHEMA_VERSION, SheetError, film, instant, unseen};
use crate::measure::Settings;
use crate::measure::reading::real;
use crate::profile_file::LoadedProfile;
use crate::run::Shown;
use crate::source::Source;
use crate::temperature::Kelvin;
use crate::world::image::Image;
use crate::world::scene::Mark;
use noise::{WINDOW, Window, still};

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
    /// Noise of still background pixels; none when too few stand still.
    pub noise: Option<Noise>,
    /// What the whole-frame plan shows.
    pub whole_frame_view: View,
    /// The noise of the same pixels with the whole-frame plan.
    pub whole_frame_noise: Option<Noise>,
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
    /// The background of the first instant.
    pub background: Background,
    /// First and second instant.
    pub instants: [Side; 2],
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

/// A mark's name, and its separation at each frame where it is in view.
type MarkCourse = (String, Vec<(usize, Option<f64>)>);

/// What is gathered while the displays run.
struct Run<'a> {
    source: &'a Source,
    loaded: &'a LoadedProfile,
    twin: &'a Profile,
    settings: &'a Settings,
    windows: [Window; 2],
    /// The scene at the start of the window of noise.
    before: Option<Image<f64>>,
    background: Option<(Background, Vec<usize>)>,
    sides: Vec<Side>,
    courses: Vec<MarkCourse>,
    switched: Option<usize>,
    blank: usize,
}

impl<'a> Run<'a> {
    fn new(
        source: &'a Source,
        loaded: &'a LoadedProfile,
        twin: &'a Profile,
        settings: &'a Settings,
    ) -> Self {
        Self {
            source,
            loaded,
            twin,
            settings,
            windows: [Window::default(), Window::default()],
            before: None,
            background: None,
            sides: Vec::new(),
            courses: Vec::new(),
            switched: None,
            blank: 0,
        }
    }

    fn when(&self, frame: usize) -> When {
        When {
            frame,
            seconds: instant::seconds(self.source, frame),
        }
    }

    /// Follows marks, gain state and noise from frame to frame.
    fn follow(
        &mut self,
        moment: &film::Moment<'_, '_>,
        instants: [usize; 2],
    ) -> Result<(), SheetError> {
        let [own, whole] = moment.displays else {
            return Ok(());
        };
        for seen in marks_seen(own.last(), moment.marks, self.settings) {
            let point = (moment.frame, seen.separation_jnd);
            match self.courses.iter_mut().find(|course| course.0 == seen.name) {
                Some(course) => course.1.push(point),
                None => self.courses.push((seen.name, vec![point])),
            }
        }
        match whole.last().record.gain {
            GainInUse::Blank => self.blank += 1,
            GainInUse::Low if self.switched.is_none() => self.switched = Some(moment.frame),
            _ => {}
        }
        let starts = instants.map(|instant| (instant + 1).saturating_sub(WINDOW));
        if starts.contains(&moment.frame) {
            self.windows = [Window::default(), Window::default()];
            self.before = moment.scene.cloned();
        }
        let inside =
            |(start, instant): (&usize, &usize)| (*start..=*instant).contains(&moment.frame);
        if starts.iter().zip(&instants).any(inside) {
            self.windows[0].push(own.last());
            self.windows[1].push(whole.last());
        }
        Ok(())
    }

    /// Keeps everything of an instant.
    fn keep(&mut self, moment: &film::Moment<'_, '_>) -> Result<(), SheetError> {
        let [own, whole] = moment.displays else {
            return Ok(());
        };
        let (own, whole) = (own.last(), whole.last());
        let spec = &self.loaded.spec;
        let at = self.when(moment.frame);
        let onset = onset(spec);
        if self.background.is_none() {
            self.background = Some(background(own, moment.marks, onset));
        }
        let Some((background, region)) = &self.background else {
            return Ok(());
        };
        let pictures = self.before.as_ref().zip(moment.scene);
        let region = still(region, pictures);
        let kelvin: Vec<f64> = (0..own.temperature.len())
            .filter_map(|i| own.kelvin(i))
            .collect();
        let transfer = Transfer::of(spec, own);
        let low = gain::in_low_gain(&self.loaded.profile, moment.tables, moment.counts, own)?;
        let view = View::of(spec, own, moment.marks, self.settings);
        let whole_frame_view = View::of(self.twin.spec(), whole, moment.marks, self.settings);
        let when = instant::say_seconds(at.seconds);
        let side = Side {
            at,
            share_above_onset: onset.map(|onset| {
                let above = kelvin.iter().filter(|kelvin| **kelvin >= onset.0).count();
                real(above) / real(kelvin.len()).max(1.0)
            }),
            background_grey_share: transfer.share(background.low.0, background.high.0),
            noise: self.windows[0].noise(&region),
            whole_frame_noise: self.windows[1].noise(&region),
            look: Look {
                card: view.card(spec, own, &format!("{when} (frame {})", at.frame), &when),
                whole_frame_card: whole_frame_view.card(
                    self.twin.spec(),
                    whole,
                    &format!("{when}, whole-frame plan"),
                    &when,
                ),
                striped: gain::striped(&own.image(), &low),
                transfer,
                kelvin,
            },
            view,
            whole_frame_view,
        };
        self.sides.push(side);
        Ok(())
    }

    fn finish(self, plan: WholeFramePlan, put_in: bool) -> Result<Explanation, SheetError> {
        let switched = self.switched.map(|frame| self.when(frame));
        let (source, settings) = (self.source, self.settings);
        let sides: Result<[Side; 2], _> = self.sides.try_into();
        let (Ok(instants), Some((background, _))) = (sides, self.background) else {
            return Err(SheetError::Order {
                first: "the first".to_owned(),
                second: "the second".to_owned(),
            });
        };
        let ends = [instants[0].at, instants[1].at];
        let marks = self
            .courses
            .into_iter()
            .map(|(name, points)| course(name, &points, ends, source, settings.visible_jnd))
            .collect();
        let (width, height) = source.size();
        let mut explanation = Explanation {
            format: "glowsill-explain",
            version: SCHEMA_VERSION,
            source: source.name().to_owned(),
            profile: self.loaded.name().to_owned(),
            size: [width, height],
            frame_seconds: source.frame_seconds(),
            seed: settings.seed,
            visible_jnd: settings.visible_jnd,
            equalised: matches!(self.loaded.spec.scale.law, ScaleLaw::Plateau { .. }),
            background,
            instants,
            marks,
            whole_frame: WholeFrame {
                plan,
                put_in,
                switched,
                blank_frames: self.blank,
                blank_seconds: real(self.blank) * source.frame_seconds(),
            },
            sentences: Vec::new(),
            feeding: source.feeding().to_owned(),
            warnings: source.warnings().to_vec(),
            unseen: unseen::of(source),
            cautions: super::cautions(),
        };
        explanation.sentences = words::sentences(&explanation);
        Ok(explanation)
    }
}

/// What is below the onset and no mark: its 5th and 95th percentile, and its pixels.
fn background(shown: &Shown, marks: &[Mark], onset: Option<Kelvin>) -> (Background, Vec<usize>) {
    let is_mark = |i: usize| {
        marks
            .iter()
            .any(|mark| mark.mask.get(i).copied().unwrap_or(false))
    };
    let below = |i: usize| {
        shown
            .kelvin(i)
            .filter(|kelvin| onset.is_none_or(|onset| *kelvin < onset.0))
    };
    let region: Vec<usize> = (0..shown.temperature.len())
        .filter(|i| !is_mark(*i) && below(*i).is_some())
        .collect();
    let mut kelvin: Vec<f64> = region.iter().filter_map(|i| below(*i)).collect();
    kelvin.sort_by(f64::total_cmp);
    let at = |percent: usize| {
        Kelvin(
            kelvin
                .get(kelvin.len() * percent / 100)
                .copied()
                .unwrap_or(0.0),
        )
    };
    let background = Background {
        low: at(5),
        high: at(95),
        pixels: region.len(),
    };
    (background, region)
}

fn course(
    name: String,
    points: &[(usize, Option<f64>)],
    ends: [When; 2],
    source: &Source,
    visible_jnd: f64,
) -> Course {
    let separation_jnd = ends.map(|end| {
        let found = points.iter().find(|point| point.0 == end.frame);
        found.and_then(|point| point.1)
    });
    let state = separation_jnd.map(|jnd| match jnd {
        None => MarkState::OutOfView,
        Some(jnd) if jnd < visible_jnd => MarkState::Lost,
        Some(_) => MarkState::Visible,
    });
    // The frame after the last one in which it was seen, between the two instants.
    let last_seen = points
        .iter()
        .rev()
        .find(|point| point.1.is_some_and(|jnd| jnd >= visible_jnd))
        .map(|point| point.0);
    let lost_from = match (state, last_seen) {
        ([_, MarkState::Lost], Some(seen)) if seen >= ends[0].frame => {
            let after = points.iter().map(|point| point.0).find(|at| *at > seen);
            after.map(|frame| When {
                frame,
                seconds: instant::seconds(source, frame),
            })
        }
        _ => None,
    };
    Course {
        name,
        separation_jnd,
        state,
        lost_from,
        points: points
            .iter()
            .map(|(frame, jnd)| (instant::seconds(source, *frame), jnd.unwrap_or(f64::NAN)))
            .collect(),
    }
}
