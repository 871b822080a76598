//! The whole pipeline, frame by frame.

use super::draw;
use super::length;
use super::plan::{Bands, Calibration, ColourPlan, Gain, Overlay, Scale};
use super::rnd;
use super::scale::{ScaleState, extreme};
use super::sense::{self, InUse, Pixel, Sample, Switch, Table};

/// Everything that stays for a session.
#[derive(Clone, Debug)]
pub(crate) struct Session {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) gain: Gain,
    pub(crate) high: Option<Calibration>,
    pub(crate) low: Option<Calibration>,
    /// High gain's gain and offset, then low gain's.
    pub(crate) tables: [Vec<i64>; 4],
    pub(crate) defects: Vec<i64>,
    pub(crate) scale: Scale,
    pub(crate) colour: ColourPlan,
    pub(crate) overlay: Overlay,
    pub(crate) panel: i64,
}

/// One drawn frame.
#[derive(Clone, Debug, Default)]
pub(crate) struct Drawn {
    pub(crate) record: Vec<i64>,
    pub(crate) codes: Vec<i64>,
    pub(crate) greys: Vec<i64>,
    pub(crate) bands: Vec<i64>,
    pub(crate) words: Vec<i64>,
}

/// The pipeline with its memory.
#[derive(Clone, Debug)]
pub(crate) struct Machine {
    session: Session,
    switch: Switch,
    scale: ScaleState,
    bands: Vec<i64>,
    frame: i64,
}

/// The counts of a record that single pixels add to.
#[derive(Clone, Debug, Default)]
struct Counts {
    from_low: i64,
    saturated: i64,
    disputed: i64,
    replaced: i64,
    coloured: i64,
    in_band: [i64; 7],
}

impl Machine {
    pub(crate) fn new(session: Session) -> Self {
        Self {
            switch: Switch::new(),
            scale: ScaleState::new(session.scale),
            bands: vec![0; session.width * session.height],
            frame: 0,
            session,
        }
    }

    /// Samples of a state and where they are means; dead throughout without calibration.
    fn samples(&self, low: bool, raw: &[i64]) -> (Vec<Sample>, Vec<bool>) {
        let session = &self.session;
        let calibration = if low { &session.low } else { &session.high };
        let [hg, ho, lg, lo] = &session.tables;
        let (gain, offset) = if low { (lg, lo) } else { (hg, ho) };
        match calibration {
            Some(calibration) => sense::correct(
                raw,
                session.width,
                calibration.saturation,
                Table { gain, offset },
                &session.defects,
            ),
            None => (
                vec![Sample::Dead; self.bands.len()],
                vec![false; self.bands.len()],
            ),
        }
    }

    fn merge(&self, in_use: InUse, high: &[i64], low: &[i64], counts: &mut Counts) -> Vec<i64> {
        let session = &self.session;
        let (high, high_replaced) = self.samples(false, high);
        let (low, low_replaced) = self.samples(true, low);
        let pixel = |i: usize| match (in_use, session.gain, &session.high, &session.low) {
            (InUse::PerPixel, Gain::PerPixel { from, to, dispute }, Some(h), Some(l)) => (
                sense::both((from, to, dispute), (h, high[i]), (l, low[i])),
                high_replaced[i] || low_replaced[i],
            ),
            (InUse::High, _, Some(h), _) => (sense::single(h, high[i], false), high_replaced[i]),
            (InUse::Low, _, _, Some(l)) => (sense::single(l, low[i], true), low_replaced[i]),
            _ => (Pixel::default(), false),
        };
        let mut codes = Vec::new();
        for (pixel, replaced) in (0..self.bands.len()).map(pixel) {
            counts.from_low += i64::from(pixel.from_low);
            counts.saturated += i64::from(pixel.saturated);
            counts.disputed += i64::from(pixel.disputed);
            counts.replaced += i64::from(replaced);
            codes.push(pixel.code);
        }
        codes
    }

    /// Draws a frame; the plane of a state without calibration is empty.
    pub(crate) fn frame(&mut self, high: &[i64], low: &[i64]) -> Drawn {
        let in_use = self.switch.in_use(&self.session.gain);
        let ends = self.scale.ends();
        let mut counts = Counts::default();
        let mut drawn = Drawn::default();
        if in_use == InUse::Blank {
            let none = vec![0; self.bands.len()];
            drawn.codes.clone_from(&none);
            drawn.greys.clone_from(&none);
            drawn.words = none;
        } else {
            drawn.codes = self.merge(in_use, high, low, &mut counts);
            for i in 0..drawn.codes.len() {
                let (grey, word) = self.pixel(i, drawn.codes[i], &mut counts);
                drawn.greys.push(grey);
                drawn.words.push(word);
            }
        }
        drawn.bands.clone_from(&self.bands);
        drawn.record = self.record(in_use, ends, &counts, &drawn.codes);
        self.switch.after(&self.session.gain, &drawn.codes);
        if in_use != InUse::Blank {
            self.scale.after(&drawn.codes);
        }
        self.frame += 1;
        drawn
    }

    /// Grey (0 of an invalid pixel) and word of one pixel; moves its band.
    fn pixel(&mut self, i: usize, code: i64, counts: &mut Counts) -> (i64, i64) {
        let (x, y) = (
            length(i % self.session.width),
            length(i / self.session.width),
        );
        if code == 0 {
            self.bands[i] = 0;
            return (0, draw::word(self.session.panel, draw::checker(x, y), x, y));
        }
        let grey = self.scale.grey(code);
        let level = rnd(grey, 256);
        let colour = match &self.session.colour {
            ColourPlan::Grey => [level; 3],
            ColourPlan::Pseudo(stops) => {
                counts.coloured += 1;
                draw::pseudo(stops, level)
            }
            ColourPlan::Bands(plan) => {
                self.bands[i] = draw::band(plan, self.bands[i], code);
                coloured(
                    plan,
                    self.session.overlay,
                    self.bands[i],
                    (code, level),
                    counts,
                )
            }
        };
        (grey, draw::word(self.session.panel, colour, x, y))
    }

    fn record(&self, in_use: InUse, ends: [i64; 2], counts: &Counts, codes: &[i64]) -> Vec<i64> {
        let seen = length(codes.iter().filter(|t| **t != 0).count());
        let pixels = length(codes.len());
        let invalid = if in_use == InUse::Blank {
            0
        } else {
            pixels - seen
        };
        let mut record = vec![self.frame, in_use.write(), ends[0], ends[1], pixels, seen];
        record.extend([counts.from_low, counts.coloured]);
        record.extend(counts.in_band);
        for hottest in [true, false] {
            record.extend(extreme(codes, self.session.width, hottest).unwrap_or([0; 3]));
        }
        record.extend([counts.saturated, invalid, counts.disputed, counts.replaced]);
        record
    }
}

fn coloured(
    plan: &Bands,
    overlay: Overlay,
    band: i64,
    (code, level): (i64, i64),
    counts: &mut Counts,
) -> [i64; 3] {
    if band == 0 {
        return [level; 3];
    }
    counts.coloured += 1;
    let colour = draw::band_colour(plan, band, code);
    if draw::is_ceiling(plan, band) {
        counts.in_band[6] += 1;
        return colour;
    }
    counts.in_band[super::place(band - 1)] += 1;
    draw::overlay(overlay, colour, level)
}
