//! The quick form: 32 neighbours together, and what a proof spares is not computed.
//!
//! Every row is cut into chunks of 32 pixels; the rest of it, and chunks that no proof covers, are
//! done pixel by pixel. The proofs, each exact for all gains and offsets of the tables:
//!
//! | of a chunk is known | then |
//! | --- | --- |
//! | codes only a valid sample can have ([`sense`](crate::stage::sense)) | no marks, no clamps |
//! | all high samples raw-saturated, all low ones valid | high gain is not corrected |
//! | all high codes below the transition, raw low counts that cannot dispute | low gain is not corrected |
//! | all codes below every band's threshold | grey, band memory 0 |
//! | all codes inside the extremes so far | the extremes stay |
//! | all codes in one zone of the histogram | no zone is looked for |

use super::draw;
use super::rows::{Lane, Setup, Tally, column};
use super::{Frame, Pipeline};
use crate::fixedpoint::{Window, grey_q8_to_u8_round, word_place};
use crate::panel::{PanelFormat, WORDS};
use crate::record::GainInUse;
use crate::stage::colour::{BandTable, ColourTable};
use crate::stage::correct::{self, DefectRows};
use crate::stage::merge;
use crate::stage::scale::{GreyLaw, ScaleControl};
use crate::stage::sense::{CHUNK, Samples, Sense, raw_within};
use crate::stage::shades::Shades;
use crate::stage::statistics::{FINE, Statistics};
use crate::units::Temperature;

/// What a row is made from.
struct Row<'r> {
    gain: GainInUse,
    law: GreyLaw,
    y: u16,
    high: Option<Lane<'r>>,
    low: Option<Lane<'r>>,
    high_above: Option<Lane<'r>>,
    low_above: Option<Lane<'r>>,
    defects: Option<DefectRows<'r>>,
    watched: Option<Temperature>,
}

/// Intervals of codes in which a chunk asks nothing more: the extremes stay, the zone is known, and
/// in the cold one there is neither colour nor transition.
#[derive(Clone, Copy)]
struct Calm {
    cold: (u16, u16),
    hot: (u16, u16),
}

impl Calm {
    fn new(setup: &Setup<'_>, gain: GainInUse, statistics: &Statistics) -> Self {
        let (coldest, hottest) = statistics.range();
        let quick = &setup.quick;
        let sure = |sense: &Option<Sense<'_>>| sense.as_ref().map_or((1, 0), Sense::sure);
        let (high, low) = (sure(&quick.high), sure(&quick.low));
        let (cold_sure, hot_sure) = match gain {
            GainInUse::PerPixel => (high, low),
            GainInUse::Low => (low, low),
            _ => (high, high),
        };
        let mut below = FINE.end - 1;
        if gain == GainInUse::PerPixel
            && let Some(transition) = setup.transition
        {
            below = below.min(transition.from());
        }
        if let ColourTable::Bands(table) = &setup.colour {
            below = below.min(table.coldest_coloured().saturating_sub(1));
        }
        Self {
            cold: (
                FINE.start.max(coldest).max(cold_sure.0),
                below.min(hottest).min(cold_sure.1),
            ),
            hot: (
                FINE.end.max(coldest).max(hot_sure.0),
                hottest.min(hot_sure.1),
            ),
        }
    }
}

/// Computes a chunk's codes and gives an interval that holds all of them, if every sample is known to
/// be valid: the window asked for, or else the exact one.
fn sense(
    state: &Sense<'_>,
    samples: Samples<'_>,
    asked: (u16, u16),
    codes: &mut [u16; CHUNK],
) -> Option<(u16, u16)> {
    let window = Window::new(asked.0, asked.1);
    if state.codes(samples, window, codes) {
        return Some(window.ends());
    }
    let exact = codes.iter().fold((u16::MAX, 0), |(least, most), &code| {
        (code.min(least), code.max(most))
    });
    let (from, to) = state.sure();
    (exact.0 >= from && exact.1 <= to).then_some(exact)
}

impl Row<'_> {
    /// Computes the codes of the chunk at a column if a proof covers it; gives an interval that holds
    /// all of them. `codes` still has those of the row above, which tell what to expect.
    #[inline]
    fn sense(
        &self,
        x: usize,
        setup: &Setup<'_>,
        calm: Calm,
        codes: &mut [u16; CHUNK],
        tally: &mut Tally,
    ) -> Option<(u16, u16)> {
        let near = codes[CHUNK / 2];
        let quick = &setup.quick;
        let asked = if near >= FINE.end {
            calm.hot
        } else {
            calm.cold
        };
        match self.gain {
            GainInUse::PerPixel => {
                let (high_lane, low_lane) = (self.high.as_ref()?, self.low.as_ref()?);
                let (high, low) = (high_lane.samples(x)?, low_lane.samples(x)?);
                let saturation = high_lane.saturation;
                if high.raw[0] >= saturation {
                    if !raw_within(high.raw, Window::new(saturation, u16::MAX)) {
                        return None;
                    }
                    let range = sense(quick.low.as_ref()?, low, calm.hot, codes)?;
                    tally.merge.from_low += CHUNK_PIXELS;
                    return Some(range);
                }
                let reach = quick.agreement.reach();
                let asked = (
                    calm.cold.0.max(near.saturating_sub(reach)),
                    calm.cold.1.min(near.saturating_add(reach)),
                );
                let range = sense(quick.high.as_ref()?, high, asked, codes)?;
                let no_blend = range.1 <= setup.transition?.from();
                (no_blend && raw_within(low.raw, quick.agreement.window(range))).then_some(range)
            }
            GainInUse::High => sense(
                quick.high.as_ref()?,
                self.high.as_ref()?.samples(x)?,
                asked,
                codes,
            ),
            GainInUse::Low => {
                let range = sense(
                    quick.low.as_ref()?,
                    self.low.as_ref()?.samples(x)?,
                    asked,
                    codes,
                )?;
                tally.merge.from_low += CHUNK_PIXELS;
                Some(range)
            }
            GainInUse::Blank => None,
        }
    }

    /// Whether a defective pixel lies in the chunk at a column.
    #[inline]
    fn has_defect(&self, x: usize, len: usize) -> bool {
        self.defects
            .and_then(|defects| defects.here.get(x..x + len))
            .is_some_and(|map| map.iter().fold(0, |all, defect| all | defect) != 0)
    }

    /// Computes the codes of up to 32 pixels one by one.
    #[inline(never)]
    fn sense_each(&self, x: usize, setup: &Setup<'_>, codes: &mut [u16], tally: &mut Tally) {
        let (mut high, mut low) = ([0; CHUNK], [0; CHUNK]);
        let len = codes.len().min(CHUNK);
        let lanes = [
            (self.high, self.high_above, &mut high),
            (self.low, self.low_above, &mut low),
        ];
        let mut replaced = [false; CHUNK];
        for (lane, above, counts) in lanes {
            let Some(lane) = lane else { continue };
            let (counts, _) = counts.split_at_mut(len);
            lane.correct(x, counts);
            let Some(defects) = self.defects else {
                continue;
            };
            let here = defects.here.iter().skip(x).zip(counts.iter_mut());
            for ((at, (defect, counts)), replaced) in here.enumerate().zip(&mut replaced) {
                if *defect != 0 {
                    let mean = correct::replacement(
                        x + at,
                        defects,
                        |x| lane.counts(x),
                        |x| above.and_then(|lane| lane.counts(x)),
                    );
                    *replaced |= mean.is_some();
                    *counts = mean.unwrap_or(correct::DEAD);
                }
            }
        }
        tally.replaced += replaced.iter().map(|any| u32::from(*any)).sum::<u32>();
        let (high, low) = (high.split_at(len).0, low.split_at(len).0);
        merge::row(
            self.gain,
            setup.states(),
            setup.transition,
            (high, low),
            codes,
            &mut tally.merge,
        );
    }
}

const CHUNK_PIXELS: u32 = 32;

/// Takes a row of samples of the states in use and draws it.
pub(super) fn row<P: PanelFormat>(
    pipeline: &mut Pipeline<'_>,
    (gain, law, y): (GainInUse, GreyLaw, u16),
    (high, low): (Option<&[u16]>, Option<&[u16]>),
    out: &mut [P::Pixel],
) {
    let Pipeline {
        setup,
        rows,
        statistics,
        tally,
        gain: control,
        scale,
        shades,
        bands,
        ..
    } = pipeline;
    let width = usize::from(setup.geometry.width());
    let start = usize::from(y) * width;
    let Some(bands) = bands.get_mut(start..start + width) else {
        return;
    };
    let sensor = &setup.sensor;
    let above = start.checked_sub(width);
    let defects = sensor.defects.and_then(|map| {
        Some(DefectRows {
            here: map.get(start..start + width)?,
            above: above.and_then(|above| map.get(above..start)),
        })
    });
    {
        let high_lane = |raw, start| {
            let saturation = sensor.high?.saturation();
            Some(Lane::new(raw, sensor.high_correction, saturation, start))
        };
        let low_lane = |raw, start| {
            let saturation = sensor.low?.saturation();
            Some(Lane::new(raw, sensor.low_correction, saturation, start))
        };
        let row = Row {
            gain,
            law,
            y,
            high: high.and_then(|raw| high_lane(raw, start)),
            low: low.and_then(|raw| low_lane(raw, start)),
            high_above: above.and_then(|start| high_lane(&*rows.high_above, start)),
            low_above: above.and_then(|start| low_lane(&*rows.low_above, start)),
            defects,
            watched: control.watches(&setup.profile.spec().gain),
        };
        let parts = (&mut *rows.temperature, &mut *rows.grey_q8);
        chunks::<P>(
            &row,
            setup,
            (scale, shades),
            parts,
            bands,
            out,
            (statistics, tally),
        );
    }
    if defects.is_some() {
        // The row below may need these as neighbours.
        for (row, kept) in [(high, &mut *rows.high_above), (low, &mut *rows.low_above)] {
            if let Some(row) = row
                && row.len() == kept.len()
            {
                kept.copy_from_slice(row);
            }
        }
    }
}

fn chunks<P: PanelFormat>(
    row: &Row<'_>,
    setup: &Setup<'_>,
    (scale, shades): (&ScaleControl, &Shades),
    (codes, greys): (&mut [u16], &mut [u16]),
    bands: &mut [u8],
    out: &mut [P::Pixel],
    (statistics, tally): (&mut Statistics, &mut Tally),
) {
    let words = P::words(&setup.quick.words);
    let mut calm = Calm::new(setup, row.gain, statistics);
    let (code_chunks, code_rest) = codes.as_chunks_mut::<CHUNK>();
    let (band_chunks, band_rest) = bands.as_chunks_mut::<CHUNK>();
    let (out_chunks, out_rest) = out.as_chunks_mut::<CHUNK>();
    let places = (0..).step_by(CHUNK);
    let each = |x: usize,
                codes: &mut [u16],
                bands: &mut [u8],
                out: &mut [P::Pixel],
                greys: &mut [u16],
                statistics: &mut Statistics,
                tally: &mut Tally| {
        row.sense_each(x, setup, codes, tally);
        statistics.add_row((column(x), row.y), codes, row.watched);
        if let Some(greys) = greys.get_mut(x..x + codes.len()) {
            scale.apply_row(row.law, codes, greys);
            draw::draw::<P>(setup, (column(x), row.y), (codes, greys), bands, out, tally);
        }
    };
    let mut rest_at = 0;
    for (((x, codes), bands), out) in places.zip(code_chunks).zip(band_chunks).zip(out_chunks) {
        rest_at = x + CHUNK;
        let range = if row.has_defect(x, CHUNK) {
            None
        } else {
            row.sense(x, setup, calm, codes, tally)
        };
        let Some(range) = range else {
            each(x, codes, bands, out, greys, statistics, tally);
            calm = Calm::new(setup, row.gain, statistics);
            continue;
        };
        statistics.valid += CHUNK_PIXELS;
        let (coldest, hottest) = statistics.range();
        if range.0 < coldest || range.1 > hottest {
            statistics.add_extremes((column(x), row.y), codes, range);
            calm = Calm::new(setup, row.gain, statistics);
        }
        if let Some(watched) = row.watched
            && range.1 > watched.to_bits()
        {
            statistics.add_watched(codes, watched);
        }
        match words {
            Some(words) => {
                let by_word = ByWord::<P> {
                    setup,
                    words,
                    scale,
                    shades,
                    law: row.law,
                };
                if by_word.draw(range, codes, bands, out, statistics, tally) {
                    continue;
                }
            }
            None => {
                statistics.count_general(codes);
            }
        }
        if let Some(greys) = greys.get_mut(x..x + CHUNK) {
            scale.apply_row(row.law, codes, greys);
            draw::draw::<P>(setup, (column(x), row.y), (codes, greys), bands, out, tally);
        }
    }
    if !code_rest.is_empty() {
        each(
            rest_at, code_rest, band_rest, out_rest, greys, statistics, tally,
        );
    }
}

/// Drawing by tables of panel words.
struct ByWord<'d, P: PanelFormat> {
    setup: &'d Setup<'d>,
    words: &'d [P::Pixel; WORDS],
    scale: &'d ScaleControl,
    shades: &'d Shades,
    law: GreyLaw,
}

impl<P: PanelFormat> ByWord<'_, P> {
    /// Counts and draws a chunk of valid codes that lie in a range; counts only, and gives `false`,
    /// where a colour follows from more than band and grey.
    #[inline]
    fn draw(
        &self,
        range: (u16, u16),
        codes: &[u16; CHUNK],
        bands: &mut [u8; CHUNK],
        out: &mut [P::Pixel; CHUNK],
        statistics: &mut Statistics,
        tally: &mut Tally,
    ) -> bool {
        let is_fine = range.0 >= FINE.start && range.1 < FINE.end;
        let is_coarse = range.0 >= FINE.end;
        let banded = match &self.setup.colour {
            ColourTable::Bands(table) if range.1 >= table.coldest_coloured() => Some(table),
            ColourTable::PseudoColour(_) => {
                tally.coloured += CHUNK_PIXELS;
                None
            }
            _ => None,
        };
        if banded.is_some() && !self.setup.quick.is_flat {
            statistics.count_general(codes);
            return false;
        }
        let words = self.words;
        let Some(shades) = self.shades.ready() else {
            statistics.count_general(codes);
            let grey = |code| grey_q8_to_u8_round(self.scale.grey(self.law, code));
            match banded {
                None => draw_grey(codes, bands, out, words, grey, |_, _| {}),
                Some(table) => {
                    draw_bands(
                        table,
                        codes,
                        bands,
                        out,
                        words,
                        grey,
                        |_| {},
                        &mut tally.by_band,
                    );
                }
            }
            return true;
        };
        let grey = |code| shades.grey(code);
        match banded {
            None if is_fine => {
                let quick = &mut statistics.quick;
                quick.note(false);
                draw_grey(codes, bands, out, words, grey, |code, turn| {
                    quick.add_fine(code, turn);
                });
            }
            None => {
                statistics.count_general(codes);
                draw_grey(codes, bands, out, words, grey, |_, _| {});
            }
            Some(table) if is_coarse => {
                let quick = &mut statistics.quick;
                quick.note(true);
                draw_bands(
                    table,
                    codes,
                    bands,
                    out,
                    words,
                    grey,
                    |code| quick.add_coarse(code),
                    &mut tally.by_band,
                );
            }
            Some(table) => {
                statistics.count_general(codes);
                draw_bands(
                    table,
                    codes,
                    bands,
                    out,
                    words,
                    grey,
                    |_| {},
                    &mut tally.by_band,
                );
            }
        }
        true
    }
}

#[inline(always)]
fn draw_grey<Pixel: Copy>(
    codes: &[u16; CHUNK],
    bands: &mut [u8; CHUNK],
    out: &mut [Pixel; CHUNK],
    words: &[Pixel; WORDS],
    grey: impl Fn(u16) -> u8,
    mut count: impl FnMut(u16, usize),
) {
    *bands = [0; CHUNK];
    for (codes, out) in codes
        .as_chunks::<4>()
        .0
        .iter()
        .zip(out.as_chunks_mut::<4>().0)
    {
        for (turn, (&code, pixel)) in codes.iter().zip(out).enumerate() {
            count(code, turn);
            *pixel = words[word_place(0, grey(code))];
        }
    }
}

#[allow(clippy::too_many_arguments, reason = "the chunk's planes, one by one")]
#[inline(always)]
fn draw_bands<Pixel: Copy>(
    table: &BandTable,
    codes: &[u16; CHUNK],
    bands: &mut [u8; CHUNK],
    out: &mut [Pixel; CHUNK],
    words: &[Pixel; WORDS],
    grey: impl Fn(u16) -> u8,
    mut count: impl FnMut(u16),
    by_band: &mut [u32; 8],
) {
    for ((&code, band), pixel) in codes.iter().zip(bands).zip(out) {
        count(code);
        *band = table.band_by_page(code, *band) & 7;
        by_band[usize::from(*band & 7)] += 1;
        *pixel = words[word_place(*band, grey(code))];
    }
}

impl Frame<'_, '_> {
    /// Greys of the row just drawn, for a trace.
    pub(super) fn grey_row(&mut self) {
        let law = self.law;
        let Pipeline { scale, rows, .. } = &mut *self.pipeline;
        scale.apply_row(law, rows.temperature, rows.grey_q8);
    }
}
