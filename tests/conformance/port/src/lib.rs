#![no_std]
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "vectors are checked before they come here; what is none must stop the test"
)]
//! Answers the protocol's requests with core, through its public interface alone.
//!
//! It needs a heap and nothing else, so that the vectors can be run on the machine that core is made
//! for. [`answer`] takes and gives the numbers of a line of `docs/vectors.md`.

extern crate alloc;

mod frames;
mod packed;

use alloc::vec;
use alloc::vec::Vec;

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered};
use glowsill_core::profile::{Band, BandPlan, ColourPlan, Fill, GainPlan, Overlay, ScaleLaw};
use glowsill_core::stage::overlay::TintCurve;
use glowsill_core::stage::statistics::{bin_of, edge_of};
use glowsill_core::units::Temperature;

use crate::frames::{Drawn, Session, fit, rgb, run};

struct Request<'a>(&'a [i64]);

impl Request<'_> {
    fn number(&mut self) -> i64 {
        let (number, rest) = self.0.split_first().unwrap();
        self.0 = rest;
        *number
    }

    fn size(&mut self) -> usize {
        fit(self.number())
    }

    fn list(&mut self) -> Vec<i64> {
        let length = self.size();
        let (list, rest) = self.0.split_at(length);
        self.0 = rest;
        list.to_vec()
    }
}

#[derive(Default)]
struct Answer(Vec<i64>);

impl Answer {
    fn number(mut self, n: impl Into<i64>) -> Self {
        self.0.push(n.into());
        self
    }

    fn list(mut self, list: &[i64]) -> Self {
        self = self.number(i64::try_from(list.len()).unwrap());
        self.0.extend_from_slice(list);
        self
    }
}

/// Answers a request, the numbers behind its word; `None` for a word that is no stage.
///
/// ```
/// // Stage "temperature": shift 8, the list of 257 knots, the list of counts.
/// let mut request = vec![8, 257];
/// request.extend((0..257).map(|knot| 256 * knot));
/// request.extend([1, 9600]);
/// request[258] = 65_535;
/// assert_eq!(glowsill_core_port::answer("temperature", &request), Some(vec![1, 9600]));
/// ```
///
/// # Panics
/// If the numbers are no request of that stage.
#[must_use]
pub fn answer(word: &str, request: &[i64]) -> Option<Vec<i64>> {
    let from = Request(request);
    let answer = match word {
        "correct" => correct(from),
        "temperature" => temperature(from),
        "merge" => merge(from),
        "switch" => switch(from),
        "statistics" => statistics(from),
        "bins" => bins(from),
        "scale" => scale(from),
        "bands" => bands(from),
        "overlay" => overlay(from),
        "pseudo" => pseudo(from),
        "panel" => panel(from),
        "pack" => packed::pack(from),
        "unpack" => packed::unpack(from),
        "pipeline" => pipeline(from, false),
        "digest" => pipeline(from, true),
        _ => return None,
    };
    Some(answer.0)
}

fn identity_with(saturation: u16) -> Calibration {
    Calibration::new(8, Calibration::identity().knots(), saturation).unwrap()
}

/// A low gain of 1/32 K throughout shows which high-gain samples are valid: a valid one is hotter.
fn correct(mut from: Request<'_>) -> Answer {
    let (width, saturation) = (from.size(), from.number());
    let (gain, offset, defects, raw) = (from.list(), from.list(), from.list(), from.list());
    let high = identity_with(fit(saturation));
    let mut session = Session {
        tables: [gain, offset, Vec::new(), Vec::new()],
        defects,
        high: Some(high),
        ..Session::plain(width, raw.len() / width)
    };
    let alone = run(&session, &[(&raw, &[])]).remove(0);
    let cold = [Temperature::from_bits(1); KNOTS];
    session.low = Some(Calibration::new(8, cold, u16::MAX).unwrap());
    session.spec.gain = GainPlan::PerPixel {
        blend_from: Temperature::from_bits(65_503),
        blend_to: Temperature::from_bits(65_535),
        dispute_k32: 6400,
    };
    let both = run(&session, &[(&raw, &vec![1; raw.len()])]).remove(0);
    let samples: Vec<i64> = alone
        .codes
        .iter()
        .zip(&both.codes)
        .map(|(&alone, &both)| match (alone, both) {
            (0, _) => 0,
            (code, 1) if code != 1 => 65_535,
            // The identity table reads counts from 65409 on one code low.
            (code, _) => code + i64::from(code > 65_408),
        })
        .collect();
    Answer::default()
        .list(&samples)
        .number(alone.record.replaced)
}

fn temperature(mut from: Request<'_>) -> Answer {
    let (shift, knots, counts) = (from.number(), from.list(), from.list());
    let list: Vec<i64> = [shift, 1].into_iter().chain(knots).collect();
    let table = frames::calibration(&list).unwrap();
    let codes = counts
        .iter()
        .map(|c| table.temperature(fit(*c)).to_bits().into());
    Answer::default().list(&codes.collect::<Vec<i64>>())
}

fn merge(mut from: Request<'_>) -> Answer {
    let gain = frames::gain(&from.list());
    let (high, low) = (
        frames::calibration(&from.list()),
        frames::calibration(&from.list()),
    );
    let (of_high, of_low) = (from.list(), from.list());
    let mut session = Session {
        high,
        low,
        ..Session::plain(of_high.len().max(of_low.len()), 1)
    };
    session.spec.gain = gain;
    let drawn = run(&session, &[(&of_high, &of_low)]).remove(0);
    let r = &drawn.record;
    let answer = Answer::default().list(&drawn.codes).number(r.from_low);
    answer.number(r.saturated).number(r.disputed)
}

/// Frames of temperature codes through a session of high gain.
fn from_codes(session: &Session, codes: &[i64]) -> Vec<Drawn> {
    let planes: Vec<(&[i64], &[i64])> = codes
        .chunks_exact(session.width * session.height)
        .map(|frame| (frame, frame))
        .collect();
    run(session, &planes)
}

fn gather(drawn: &[Drawn], plane: impl Fn(&Drawn) -> Vec<i64>) -> Vec<i64> {
    drawn.iter().flat_map(plane).collect()
}

fn switch(mut from: Request<'_>) -> Answer {
    let (gain, pixels, codes) = (frames::gain(&from.list()), from.size(), from.list());
    let mut session = Session::plain(pixels, 1);
    session.low.clone_from(&session.high);
    session.spec.gain = gain;
    let drawn = from_codes(&session, &codes);
    Answer::default().list(&drawn.iter().map(Drawn::gain).collect::<Vec<_>>())
}

fn statistics(mut from: Request<'_>) -> Answer {
    let (width, codes) = (from.size(), from.list());
    let drawn = from_codes(&Session::plain(width, codes.len() / width), &codes).remove(0);
    let r = &drawn.record;
    let answer = Answer::default().number(r.valid);
    answer
        .list(&frames::spot(r.hottest))
        .list(&frames::spot(r.coldest))
}

fn bins(mut from: Request<'_>) -> Answer {
    let bins: Vec<usize> = from.list().iter().map(|t| bin_of(fit(*t))).collect();
    let numbers: Vec<i64> = bins.iter().map(|k| i64::try_from(*k).unwrap()).collect();
    let edges: Vec<i64> = bins.iter().map(|k| edge_of(*k).into()).collect();
    Answer::default().list(&numbers).list(&edges)
}

fn scale(mut from: Request<'_>) -> Answer {
    let (scale, pixels, codes) = (frames::scale(&from.list()), from.size(), from.list());
    let mut session = Session::plain(pixels, 1);
    session.spec.scale = scale;
    let drawn = from_codes(&session, &codes);
    let ends = |end: fn(&Drawn) -> Temperature| gather(&drawn, |d| vec![end(d).to_bits().into()]);
    Answer::default()
        .list(&ends(|d| d.record.scale_low))
        .list(&ends(|d| d.record.scale_high))
        .list(&gather(&drawn, |d| d.greys.clone()))
}

fn split(word: i64) -> [i64; 3] {
    [word >> 16, (word >> 8) & 255, word & 255]
}

fn bands(mut from: Request<'_>) -> Answer {
    let (colour, pixels, codes) = (frames::colour(&from.list()), from.size(), from.list());
    let mut session = Session::plain(pixels, 1);
    session.spec.colour = colour;
    let drawn = from_codes(&session, &codes);
    let bands = gather(&drawn, |d| d.bands.clone());
    let words = gather(&drawn, |d| d.words.clone());
    let colours = bands.iter().zip(words);
    let colours = colours.flat_map(|(band, word)| if *band == 0 { [0; 3] } else { split(word) });
    Answer::default()
        .list(&bands)
        .list(&colours.collect::<Vec<_>>())
}

/// A session whose pixel of code 1000 + 32 G is drawn with grey G.
fn greys(session: &mut Session, greys: &[i64]) -> Vec<i64> {
    session.spec.scale.law = ScaleLaw::Fixed;
    session.spec.scale.start_low = Temperature::from_bits(1000);
    session.spec.scale.start_high = Temperature::from_bits(1000 + 255 * 32);
    let codes: Vec<i64> = greys.iter().map(|g| 1000 + 32 * g).collect();
    let drawn = from_codes(session, &codes).remove(0);
    drawn.words.iter().flat_map(|word| split(*word)).collect()
}

fn overlay(mut from: Request<'_>) -> Answer {
    let (plan, colour, of) = (
        frames::overlay(&from.list()),
        rgb(&from.list()),
        from.list(),
    );
    if let Overlay::Tint { knee, lift } = plan {
        let curve = TintCurve::new(knee, lift);
        let tinted = of.iter().flat_map(|g| {
            let c = curve.apply(colour, fit(*g));
            [c.r, c.g, c.b].map(i64::from)
        });
        return Answer::default().list(&tinted.collect::<Vec<_>>());
    }
    let mut session = Session::plain(of.len(), 1);
    session.spec.overlay = plan;
    session.spec.colour = ColourPlan::Bands(BandPlan {
        bands: [Band {
            start: Temperature::from_bits(1),
            colour,
            fill: Fill::Flat,
        }]
        .into_iter()
        .collect(),
        hysteresis_k32: 0,
        ramp_end: None,
        ceiling: None,
    });
    Answer::default().list(&greys(&mut session, &of))
}

fn pseudo(mut from: Request<'_>) -> Answer {
    let (stops, of) = (from.list(), from.list());
    let mut session = Session::plain(of.len(), 1);
    let stops = stops.chunks_exact(3).map(rgb).collect();
    session.spec.colour = ColourPlan::PseudoColour { stops };
    Answer::default().list(&greys(&mut session, &of))
}

fn panel(mut from: Request<'_>) -> Answer {
    let (format, x, y, colours) = (from.number(), from.list(), from.list(), from.list());
    let places = x.iter().zip(&y).zip(colours.chunks_exact(3));
    let words = places.map(|((x, y), c)| {
        let (x, y) = (fit(*x), fit(*y));
        match format {
            0 => (c[0] << 16) | (c[1] << 8) | c[2],
            1 => PanelRgb565::pack(rgb(c), x, y).into(),
            _ => PanelRgb565Dithered::pack(rgb(c), x, y).into(),
        }
    });
    Answer::default().list(&words.collect::<Vec<_>>())
}

fn crc32(list: &[i64], bytes: usize) -> i64 {
    let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);
    let mut digest = crc.digest();
    for n in list {
        digest.update(&n.to_le_bytes()[..bytes]);
    }
    digest.finalize().into()
}

fn pipeline(mut from: Request<'_>, digest: bool) -> Answer {
    let (width, height) = (from.size(), from.size());
    let mut session = Session::plain(width, height);
    session.spec.gain = frames::gain(&from.list());
    session.high = frames::calibration(&from.list());
    session.low = frames::calibration(&from.list());
    session.tables = core::array::from_fn(|_| from.list());
    session.defects = from.list();
    session.spec.scale = frames::scale(&from.list());
    session.spec.colour = frames::colour(&from.list());
    session.spec.overlay = frames::overlay(&from.list());
    session.panel = from.number();
    let counts = from.list();
    let plane = width * height;
    let (of_high, of_low) = (
        if session.high.is_some() { plane } else { 0 },
        if session.low.is_some() { plane } else { 0 },
    );
    let planes: Vec<(&[i64], &[i64])> = counts
        .chunks_exact(of_high + of_low)
        .map(|frame| frame.split_at(of_high))
        .collect();
    let drawn = run(&session, &planes);
    let answer = Answer::default().list(&gather(&drawn, Drawn::record));
    if digest {
        return answer.list(&gather(&drawn, |d| {
            vec![
                crc32(&d.codes, 2),
                crc32(&d.greys, 2),
                crc32(&d.bands, 1),
                crc32(&d.words, 4),
            ]
        }));
    }
    answer
        .list(&gather(&drawn, |d| d.codes.clone()))
        .list(&gather(&drawn, |d| d.greys.clone()))
        .list(&gather(&drawn, |d| d.bands.clone()))
        .list(&gather(&drawn, |d| d.words.clone()))
}
