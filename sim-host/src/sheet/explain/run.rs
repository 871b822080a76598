//! What is gathered of two displays, the profile's own and its whole-frame twin, while they run.

use glowsill_core::profile::{Profile, ScaleLaw, WholeFramePlan};
use glowsill_core::record::GainInUse;

use super::noise::{Eye, WINDOW, Window};
use super::still::{background, course, still};
use super::{
    AfterStart, Background, Explanation, Look, Side, Transfer, When, WholeFrame, gain, words,
};
use crate::measure::Settings;
use crate::measure::reading::real;
use crate::profile_file::LoadedProfile;
use crate::run::Shown;
use crate::sheet::legend::Legend;
use crate::sheet::scale::{GreyLaw, law_words};
use crate::sheet::view::{View, marks_seen, onset};
use crate::sheet::{self, SCHEMA_VERSION, SheetError, film, instant, unseen};
use crate::source::Source;
use crate::world::image::Image;

/// A mark's name, and its separation at each frame where it is in view.
type MarkCourse = (String, Vec<(usize, Option<f64>)>);

/// What is gathered while the displays run.
pub(super) struct Run<'a> {
    source: &'a Source,
    loaded: &'a LoadedProfile,
    twin: &'a Profile,
    settings: &'a Settings,
    legend: Legend,
    eye: Eye,
    windows: [Window; 2],
    /// The scene at the start of the window of noise.
    before: Option<Image<f64>>,
    background: Option<(Background, Vec<usize>)>,
    sides: Vec<Side>,
    after_start: Option<AfterStart>,
    courses: Vec<MarkCourse>,
    switched: Option<usize>,
    blank: usize,
}

impl<'a> Run<'a> {
    pub(super) fn new(
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
            legend: Legend::of(&loaded.spec),
            eye: Eye::before(&settings.panel),
            windows: [Window::default(), Window::default()],
            before: None,
            background: None,
            sides: Vec::new(),
            after_start: None,
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
    pub(super) fn follow(
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
        self.look_after_start(moment.frame, own.last());
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

    /// Reads the first frame after a first instant that was drawn with the start values of the scale.
    fn look_after_start(&mut self, frame: usize, own: &Shown) {
        let started = matches!(self.sides.as_slice(), [one] if one.view.grey_law == GreyLaw::Start);
        if let Some((background, _)) = &self.background
            && started
            && self.after_start.is_none()
            && own.record.gain != GainInUse::Blank
        {
            let transfer = Transfer::of(&self.loaded.spec, own);
            self.after_start = Some(AfterStart {
                at: self.when(frame),
                background_grey_share: transfer.share(background.low.0, background.high.0),
            });
        }
    }

    /// Keeps everything of an instant.
    pub(super) fn keep(&mut self, moment: &film::Moment<'_, '_>) -> Result<(), SheetError> {
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
        let [noise, whole_frame_noise] =
            [0, 1].map(|which| self.windows[which].noise(&region, &self.eye));
        let side = Side {
            at,
            share_above_onset: onset.map(|onset| {
                let above = kelvin.iter().filter(|kelvin| **kelvin >= onset.0).count();
                real(above) / real(kelvin.len()).max(1.0)
            }),
            background_grey_share: transfer.share(background.low.0, background.high.0),
            straight_grey_share: Transfer::between(view.scale_low, view.scale_high)
                .share(background.low.0, background.high.0),
            noise: noise.ok(),
            noise_missing: noise.err(),
            whole_frame_noise: whole_frame_noise.ok(),
            whole_frame_noise_missing: whole_frame_noise.err(),
            look: Look {
                card: view.card(
                    spec,
                    &self.legend,
                    own,
                    &format!("{when} (frame {})", at.frame),
                    &when,
                ),
                whole_frame_card: whole_frame_view.card(
                    self.twin.spec(),
                    &self.legend,
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

    pub(super) fn finish(
        self,
        plan: WholeFramePlan,
        put_in: bool,
    ) -> Result<Explanation, SheetError> {
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
            scale_law: law_words(self.loaded.spec.scale.law),
            law: self.loaded.spec.scale.law,
            legend: self.legend,
            background,
            instants,
            after_start: self.after_start,
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
            cautions: sheet::cautions(),
        };
        explanation.sentences = words::sentences(&explanation);
        Ok(explanation)
    }
}
