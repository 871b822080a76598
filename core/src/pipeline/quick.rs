//! The quick form: 32 neighbours together, and what a proof spares is not computed.
//!
//! Every row is cut into chunks of 32 pixels. Where a proof covers a chunk, its corrected counts are
//! drawn and counted by the cells of the frame ([`cells`](crate::stage::cells)); the rest of a row,
//! and chunks that no proof covers, are done pixel by pixel ([`each`](super::each)). The proofs, each
//! exact for all gains and offsets of the tables:
//!
//! | of a chunk is known | then |
//! | --- | --- |
//! | counts only a valid sample can have ([`sense`](crate::stage::sense)) | no marks, no clamps |
//! | all high samples raw-saturated, all low ones valid | high gain is not corrected |
//! | all high counts below the transition, raw low counts that cannot dispute | low gain is not corrected |
//! | all counts below every band's threshold | grey, band memory 0 |
//! | all counts among those met in this frame | their cells are made, the extremes stay |

use super::each;
use super::mingled;
use super::rows::{Calm, Lane, Setup, Tally, column};
use super::{Frame, Pipeline};
use crate::calibration::Calibration;
use crate::fixedpoint::{
    CELLS, add_count, cell_grey, cell_index, cell_seen, cell_step, grey_q8_to_u8_round, index_u16,
    word_place,
};
use crate::panel::{PanelFormat, ShadeTables};
use crate::record::GainInUse;
use crate::stage::cells::{Cells, CountTables};
use crate::stage::colour::ColourTable;
use crate::stage::correct::DefectRows;
use crate::stage::scale::{GreyLaw, ScaleControl};
use crate::stage::sense::{self, CHUNK, Samples};
use crate::stage::statistics::Statistics;
use crate::units::Temperature;

/// What a row is made from.
pub(super) struct Row<'r> {
    pub(super) setup: &'r Setup<'r>,
    pub(super) scale: &'r ScaleControl,
    pub(super) law: GreyLaw,
    pub(super) gain: GainInUse,
    pub(super) y: u16,
    pub(super) high: Option<Lane<'r>>,
    pub(super) low: Option<Lane<'r>>,
    pub(super) high_above: Option<Lane<'r>>,
    pub(super) low_above: Option<Lane<'r>>,
    pub(super) defects: Option<DefectRows<'r>>,
    pub(super) watched: Option<Temperature>,
    pub(super) keeps_codes: bool,
}

/// What a row adds to.
pub(super) struct Sums<'s> {
    pub(super) statistics: &'s mut Statistics,
    pub(super) tally: &'s mut Tally,
}

/// The planes of a chunk: counts or codes, greys, band memory, picture.
pub(super) struct Chunk<'c, Pixel> {
    pub(super) codes: &'c mut [u16; CHUNK],
    greys: &'c mut [u16; CHUNK],
    pub(super) bands: &'c mut [u8; CHUNK],
    pub(super) out: &'c mut [Pixel; CHUNK],
}

impl<Pixel> Chunk<'_, Pixel> {
    fn planes(&mut self) -> each::Planes<'_, Pixel> {
        (self.codes, self.greys, self.bands, self.out)
    }

    /// A part of the chunk.
    pub(super) fn part(&mut self, span: core::ops::Range<usize>) -> each::Planes<'_, Pixel> {
        (
            self.codes.get_mut(span.clone()).unwrap_or_default(),
            self.greys.get_mut(span.clone()).unwrap_or_default(),
            self.bands.get_mut(span.clone()).unwrap_or_default(),
            self.out.get_mut(span).unwrap_or_default(),
        )
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
        tables,
        bands,
        keeps_codes,
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
            setup,
            scale,
            law,
            gain,
            y,
            high: high.and_then(|raw| high_lane(raw, start)),
            low: low.and_then(|raw| low_lane(raw, start)),
            high_above: above.and_then(|start| high_lane(&*rows.high_above, start)),
            low_above: above.and_then(|start| low_lane(&*rows.low_above, start)),
            defects,
            watched: control.watches(&setup.profile.spec().gain),
            keeps_codes: *keeps_codes,
        };
        let mut sums = Sums { statistics, tally };
        let planes = (&mut *rows.temperature, &mut *rows.grey_q8, bands, out);
        chunks::<P>(&row, tables.as_deref_mut(), planes, &mut sums);
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

#[inline(never)]
fn chunks<P: PanelFormat>(
    row: &Row<'_>,
    mut tables: Option<&mut CountTables>,
    (codes, greys, bands, out): each::Planes<'_, P::Pixel>,
    sums: &mut Sums<'_>,
) {
    if let Some(tables) = &mut tables {
        tables.begin_row(
            u32::from(row.setup.geometry.width()),
            row.setup.calibrations(),
            &mut sums.statistics.histogram,
        );
    }
    let (code_chunks, code_rest) = codes.as_chunks_mut::<CHUNK>();
    let (band_chunks, band_rest) = bands.as_chunks_mut::<CHUNK>();
    let (out_chunks, out_rest) = out.as_chunks_mut::<CHUNK>();
    let (grey_chunks, grey_rest) = greys.as_chunks_mut::<CHUNK>();
    let count = code_chunks.len();
    let rest_at = count.wrapping_mul(CHUNK);
    let planes = code_chunks
        .iter_mut()
        .zip(grey_chunks)
        .zip(band_chunks)
        .zip(out_chunks);
    for (number, (((codes, greys), bands), out)) in (0..count).zip(planes) {
        let x = number.wrapping_mul(CHUNK);
        let mut chunk = Chunk {
            codes,
            greys,
            bands,
            out,
        };
        match &mut tables {
            Some(tables) if !row.has_defect(x) => match row.take(number, tables, chunk.codes) {
                Some(taken) => row.draw_taken::<P>(taken, tables, x, &mut chunk, sums),
                None => mingled::draw::<P>(row, tables, x, &mut chunk, sums),
            },
            _ => each::draw::<P>(row, x, chunk.planes(), sums),
        }
    }
    if !code_rest.is_empty() {
        let planes = (code_rest, grey_rest, band_rest, out_rest);
        each::draw::<P>(row, rest_at, planes, sums);
    }
}

/// What is known of a chunk of corrected counts that a proof covers: the gain state, and an interval
/// that holds all counts.
#[derive(Clone, Copy)]
struct Taken {
    is_low: bool,
    range: (u16, u16),
}

impl Row<'_> {
    /// Corrects a chunk if a proof covers it; the counts stand in `counts` then.
    #[inline(never)]
    fn take(&self, chunk: usize, tables: &CountTables, counts: &mut [u16; CHUNK]) -> Option<Taken> {
        let quick = &self.setup.quick;
        match self.gain {
            GainInUse::PerPixel => {
                let lane = self.high.as_ref()?;
                let high = lane.samples(chunk)?;
                let low = self.low.as_ref()?.samples(chunk)?;
                if high.raw[0] >= lane.saturation {
                    if !sense::raw_within(high.raw, (lane.saturation, u16::MAX)) {
                        return None;
                    }
                    return take_all(true, quick.low?, low, tables.low.met(), counts);
                }
                if high.raw[CHUNK - 1] >= lane.saturation {
                    return None;
                }
                let met = tables.high.met();
                let (near, reach) = (sense::correct_at(high, 0), quick.agreement.reach());
                let expected = (
                    met.0.max(near.saturating_sub(reach)),
                    met.1.min(near.saturating_add(reach)),
                );
                let taken = take_all(false, quick.high?, high, expected, counts)?;
                sense::raw_within(low.raw, quick.agreement.raw_low(taken.range)).then_some(taken)
            }
            GainInUse::High => {
                let samples = self.high.as_ref()?.samples(chunk)?;
                take_all(false, quick.high?, samples, tables.high.met(), counts)
            }
            GainInUse::Low => {
                let samples = self.low.as_ref()?.samples(chunk)?;
                take_all(true, quick.low?, samples, tables.low.met(), counts)
            }
            GainInUse::Blank => None,
        }
    }

    /// Whether a defective pixel lies in the chunk at a column.
    #[inline]
    fn has_defect(&self, x: usize) -> bool {
        self.defects
            .and_then(|defects| defects.here.get(x..x.wrapping_add(CHUNK)))
            .is_some_and(|map| map.iter().fold(0, |all, defect| all | defect) != 0)
    }

    /// Counts and draws the chunk at a column.
    #[inline(never)]
    fn draw_taken<P: PanelFormat>(
        &self,
        taken: Taken,
        tables: &mut CountTables,
        x: usize,
        chunk: &mut Chunk<'_, P::Pixel>,
        sums: &mut Sums<'_>,
    ) {
        let (setup, at) = (self.setup, (column(x), self.y));
        let state = if taken.is_low {
            add_count(&mut sums.tally.merge.from_low, CHUNK_PIXELS);
            (&mut tables.low, setup.sensor.low, setup.quick.low)
        } else {
            (&mut tables.high, setup.sensor.high, setup.quick.high)
        };
        let (cells, Some(calibration), Some(calm)) = state else {
            return;
        };
        add_count(&mut sums.statistics.valid, CHUNK_PIXELS);
        let (range, met) = (taken.range, cells.met());
        if range.0 < met.0 || met.1 < range.1 {
            self.meet(cells, range, calibration, x, chunk.codes, sums.statistics);
        }
        let code = |counts| calibration.code(counts);
        if let Some(watched) = self.watched
            && code(range.1) > watched.to_bits()
        {
            sums.statistics.add_watched(&chunk.codes.map(code), watched);
        }
        match &setup.colour {
            ColourTable::Bands(table) if range.1 >= calm.coloured_from => {
                if !setup.quick.is_flat {
                    // A ramp's colour follows from the code itself.
                    *chunk.codes = chunk.codes.map(code);
                    sums.statistics.count(chunk.codes);
                    each::draw_codes::<P>(self, x, chunk.planes(), sums.tally);
                    return;
                }
                let tables = (&setup.quick.shades, table.next());
                let planes = (&*chunk.codes, &mut *chunk.bands, &mut *chunk.out);
                draw_bands::<P>(tables, &mut cells.cells, at, planes);
                count_bands(chunk.bands, &mut sums.tally.by_band);
            }
            colour => {
                if let ColourTable::PseudoColour(_) = colour {
                    add_count(&mut sums.tally.coloured, CHUNK_PIXELS);
                }
                *chunk.bands = [0; CHUNK];
                let planes = (&*chunk.codes, &mut *chunk.out);
                draw_grey::<P>(&setup.quick.shades, &mut cells.cells, at, planes);
            }
        }
        if self.keeps_codes {
            *chunk.codes = chunk.codes.map(code);
        }
    }

    /// Takes counts in that the frame has not met yet; `counts` stand from a column on.
    #[inline(never)]
    pub(super) fn meet(
        &self,
        cells: &mut Cells,
        range: (u16, u16),
        calibration: &Calibration,
        x: usize,
        counts: &[u16],
        statistics: &mut Statistics,
    ) {
        cells.meet(range, calibration, |code| {
            let grey = grey_q8_to_u8_round(self.scale.grey(self.law, code));
            (grey, self.setup.colour.step(code))
        });
        let ends = (calibration.code(range.0), calibration.code(range.1));
        let (coldest, hottest) = statistics.range();
        if ends.0 < coldest || ends.1 > hottest {
            let mut codes = [0; CHUNK];
            for (code, counts) in codes.iter_mut().zip(counts) {
                *code = calibration.code(*counts);
            }
            let (codes, _) = codes.split_at(counts.len().min(CHUNK));
            statistics.add_extremes((column(x), self.y), codes, ends);
        }
    }
}

fn take_all(
    is_low: bool,
    calm: Calm,
    samples: Samples<'_>,
    expected: (u16, u16),
    counts: &mut [u16; CHUNK],
) -> Option<Taken> {
    let range = sense::correct(samples, expected, counts);
    let (from, to) = calm.span;
    (from <= range.0 && range.1 <= to).then_some(Taken { is_low, range })
}

#[inline(never)]
fn draw_grey<P: PanelFormat>(
    shades: &ShadeTables,
    cells: &mut [u32; CELLS],
    (x, y): (u16, u16),
    (counts, out): (&[u16; CHUNK], &mut [P::Pixel; CHUNK]),
) {
    for i in 0..CHUNK {
        let cell = &mut cells[cell_index(counts[i])];
        *cell = cell_seen(*cell);
        out[i] = P::shade(
            shades,
            word_place(0, cell_grey(*cell)),
            x.wrapping_add(index_u16(i)),
            y,
        );
    }
}

#[inline(never)]
fn draw_bands<P: PanelFormat>(
    (shades, next): (&ShadeTables, &[u8; 128]),
    cells: &mut [u32; CELLS],
    (x, y): (u16, u16),
    (counts, bands, out): (&[u16; CHUNK], &mut [u8; CHUNK], &mut [P::Pixel; CHUNK]),
) {
    for i in 0..CHUNK {
        let cell = &mut cells[cell_index(counts[i])];
        *cell = cell_seen(*cell);
        bands[i] = next[cell_step(*cell, bands[i])];
        let place = word_place(bands[i], cell_grey(*cell));
        out[i] = P::shade(shades, place, x.wrapping_add(index_u16(i)), y);
    }
}

fn count_bands(bands: &[u8; CHUNK], by_band: &mut [u32; 8]) {
    let first = [bands[0]; 4];
    let quads = bands.as_chunks::<4>().0;
    let odd = quads.iter().fold(0, |odd, quad| {
        odd | (u32::from_ne_bytes(*quad) ^ u32::from_ne_bytes(first))
    });
    if odd == 0 {
        add_count(&mut by_band[usize::from(first[0] & 7)], CHUNK_PIXELS);
        return;
    }
    for band in bands {
        add_count(&mut by_band[usize::from(band & 7)], 1);
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
