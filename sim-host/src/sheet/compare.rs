//! The same instants under several profiles, side by side.

use glowsill_core::profile::Profile;
use serde::Serialize;

use super::legend::{self, Legend, SharedColour};
use super::scale::{GreyLaw, law_words};
use super::view::{View, threshold_words};
use super::{Block, Card, Kind, SCHEMA_VERSION, Sheet, SheetError, film, instant, unseen};
use crate::measure::Settings;
use crate::profile_file::LoadedProfile;
use crate::source::Source;

/// What every profile shows at one instant.
#[derive(Clone, Debug, Serialize)]
pub struct AtInstant {
    /// Number of the frame, from 0.
    pub frame: usize,
    /// Seconds after the first frame.
    pub seconds: f64,
    /// The views, in the order of the profiles.
    pub views: Vec<View>,
    #[serde(skip)]
    cards: Vec<Card>,
}

/// A comparison, as `compare.json` holds it.
#[derive(Clone, Debug, Serialize)]
pub struct Comparison {
    /// Always `glowsill-compare`.
    pub format: &'static str,
    /// Version of the form.
    pub version: u32,
    /// What was looked at.
    pub source: String,
    /// Columns and rows.
    pub size: [usize; 2],
    /// Seconds from one frame to the next.
    pub frame_seconds: f64,
    /// Seed of the simulated noise.
    pub seed: u64,
    /// Separation below which a mark counts as lost, JND.
    pub visible_jnd: f64,
    /// Names of the profiles.
    pub profiles: Vec<String>,
    /// What the colours of each profile mean, in the same order.
    pub legends: Vec<Legend>,
    /// Colours that start at different temperatures.
    pub shared_colours: Vec<SharedColour>,
    /// How each profile shares out grey, in words, in the same order.
    pub scale_laws: Vec<String>,
    /// The instants, in the order of time.
    pub instants: Vec<AtInstant>,
    /// Which frames every display was shown.
    pub feeding: String,
    /// Limits of the model that the source left; none of targets and recordings.
    pub warnings: Vec<String>,
    /// What the imager cannot see.
    pub unseen: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// Shows a source to every profile and keeps what stands there at the frames asked for.
///
/// `progress` is called after each frame.
///
/// # Errors
/// [`SheetError`] when the source cannot be read or a display cannot be run.
pub fn compare(
    source: &Source,
    profiles: &[LoadedProfile],
    frames: &[usize],
    settings: &Settings,
    progress: impl Fn(),
) -> Result<Comparison, SheetError> {
    let mut wanted = frames.to_vec();
    wanted.sort_unstable();
    wanted.dedup();
    let running: Vec<&Profile> = profiles.iter().map(|loaded| &loaded.profile).collect();
    let feed = source.feed(&wanted);
    let legends: Vec<Legend> = profiles
        .iter()
        .map(|loaded| Legend::of(&loaded.spec))
        .collect();
    let mut instants = Vec::new();
    film::run(source, &running, &feed, settings.seed, |moment| {
        progress();
        if wanted.binary_search(&moment.frame).is_err() {
            return Ok(());
        }
        let seconds = instant::seconds(source, moment.frame);
        let when = instant::say_seconds(seconds);
        let (mut views, mut cards) = (Vec::new(), Vec::new());
        for ((loaded, legend), display) in profiles.iter().zip(&legends).zip(moment.displays) {
            let shown = display.last();
            let view = View::of(&loaded.spec, shown, moment.marks, settings);
            cards.push(view.card(&loaded.spec, legend, shown, loaded.name(), &when));
            views.push(view);
        }
        instants.push(AtInstant {
            frame: moment.frame,
            seconds,
            views,
            cards,
        });
        Ok(())
    })?;
    let (width, height) = source.size();
    Ok(Comparison {
        format: "glowsill-compare",
        version: SCHEMA_VERSION,
        source: source.name().to_owned(),
        size: [width, height],
        frame_seconds: source.frame_seconds(),
        seed: settings.seed,
        visible_jnd: settings.visible_jnd,
        profiles: profiles
            .iter()
            .map(|loaded| loaded.name().to_owned())
            .collect(),
        shared_colours: legend::shared(&legends),
        legends,
        scale_laws: profiles
            .iter()
            .map(|loaded| law_words(loaded.spec.scale.law))
            .collect(),
        instants,
        feeding: source.feeding().to_owned(),
        warnings: source.warnings().to_vec(),
        unseen: unseen::of(source),
        cautions: super::cautions(),
    })
}

impl Comparison {
    /// The comparison as a sheet.
    #[must_use]
    pub fn sheet(&self, settings: &Settings) -> Sheet {
        let quoted: Vec<String> = self.profiles.iter().map(|name| quote(name)).collect();
        let mut blocks = vec![super::first(
            legend::cautions(&self.legends),
            &self.warnings,
        )];
        for at in &self.instants {
            blocks.push(Block::Heading(
                instant::say_seconds(at.seconds),
                format!("frame {}", at.frame),
            ));
            blocks.push(Block::Cards(at.cards.clone()));
        }
        blocks.extend(super::limits(&self.warnings));
        blocks.push(Block::Heading("How to read it".to_owned(), String::new()));
        blocks.push(Block::Sentences(self.notes(settings)));
        Sheet {
            kind: Kind::Compare,
            title: format!("What each profile shows: {}", self.source),
            lead: format!(
                "The same frames under {}. {}",
                quoted.join(", "),
                self.feeding
            ),
            blocks,
        }
        .closed(&self.unseen)
    }

    fn notes(&self, settings: &Settings) -> Vec<String> {
        let views = || self.instants.iter().flat_map(|at| &at.views);
        let any = |law: GreyLaw| views().any(|view| view.grey_law == law);
        let mut notes = vec![
            "White and black are the apparent temperatures at the ends of the grey scale when the frame was drawn."
                .to_owned(),
        ];
        if any(GreyLaw::Equalised) {
            notes.push(
                "Of an equalised scale the same are called upper and lower end: grey is shared out by how often \
                 temperatures occur, so that the ends alone do not say how much grey the background gets."
                    .to_owned(),
            );
        }
        if any(GreyLaw::Start) {
            notes.push(
                "The first frame is drawn with the start values of the scale, because the scale follows the frame \
                 before. It says little about how the display shows this scene: look at a later instant."
                    .to_owned(),
            );
        }
        let laws = self.profiles.iter().zip(&self.scale_laws);
        notes.extend(laws.map(|(name, law)| format!("Grey under {}: {law}.", quote(name))));
        if self.legends.iter().any(|legend| !legend.bands.is_empty()) {
            notes.push(
                "A legend shows each colour as the profile states it; over the picture it may be darker or lighter, \
                 as the grey behind it is."
                    .to_owned(),
            );
        }
        if views().any(|view| !view.marks.is_empty()) {
            notes.push(threshold_words(settings));
        }
        notes
    }
}

fn quote(name: &str) -> String {
    format!("\u{201c}{name}\u{201d}")
}
