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
use super::rows::{Calm, Lane, Setup, Tally, column};
use super::{Frame, Pipeline};
use crate::calibration::Calibration;
use crate::fixedpoint::{
    cell_grey, cell_index, cell_seen, cell_step, grey_q8_to_u8_round, word_place,
};
use crate::panel::PanelFormat;
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
    keeps_codes: bool,
}

/// What a row adds to.
pub(super) struct Sums<'s> {
    pub(super) statistics: &'s mut Statistics,
    pub(super) tally: &'s mut Tally,
}

/// The planes of a chunk: counts or codes, band memory, picture.
struct Chunk<'c, Pixel> {
    codes: &'c mut [u16; CHUNK],
    bands: &'c mut [u8; CHUNK],
    out: &'c mut [Pixel; CHUNK],
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
        let sums = Sums { statistics, tally };
        let planes = (&mut *rows.temperature, &mut *rows.grey_q8, bands, out);
        chunks::<P>(&row, tables.as_deref_mut(), planes, sums);
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
    mut tables: Option<&mut CountTables>,
    (codes, greys, bands, out): (&mut [u16], &mut [u16], &mut [u8], &mut [P::Pixel]),
    mut sums: Sums<'_>,
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
    let rest_at = code_chunks.len() * CHUNK;
    let planes = code_chunks
        .iter_mut()
        .zip(grey_chunks)
        .zip(band_chunks)
        .zip(out_chunks);
    for (number, (((codes, greys), bands), out)) in planes.enumerate() {
        let mut chunk = Chunk { codes, bands, out };
        if let Some(tables) = &mut tables
            && !row.has_defect(number * CHUNK)
            && let Some(taken) = row.take(number, tables, chunk.codes)
        {
            if taken.is_low {
                sums.tally.merge.from_low += CHUNK_PIXELS;
            }
            sums.statistics.valid += CHUNK_PIXELS;
            taken.draw::<P>(row, number * CHUNK, &mut chunk, greys, &mut sums);
            continue;
        }
        let planes = (
            &mut chunk.codes[..],
            &mut greys[..],
            &mut chunk.bands[..],
            &mut chunk.out[..],
        );
        each::draw::<P>(row, number * CHUNK, planes, &mut sums);
    }
    if !code_rest.is_empty() {
        let planes = (code_rest, grey_rest, band_rest, out_rest);
        each::draw::<P>(row, rest_at, planes, &mut sums);
    }
}

/// A chunk of corrected counts that a proof covers.
struct Taken<'t> {
    is_low: bool,
    range: (u16, u16),
    calm: Calm,
    calibration: &'t Calibration,
    cells: &'t mut Cells,
}

impl<'r> Row<'r> {
    /// Corrects a chunk if a proof covers it; the counts stand in `counts` then.
    #[inline]
    fn take<'t>(
        &self,
        chunk: usize,
        tables: &'t mut CountTables,
        counts: &mut [u16; CHUNK],
    ) -> Option<Taken<'t>>
    where
        'r: 't,
    {
        let CountTables { high, low, .. } = tables;
        match self.gain {
            GainInUse::PerPixel => {
                let lane = self.high.as_ref()?;
                let high_samples = lane.samples(chunk)?;
                let low_samples = self.low.as_ref()?.samples(chunk)?;
                if high_samples.raw[0] >= lane.saturation {
                    if !sense::raw_within(high_samples.raw, (lane.saturation, u16::MAX)) {
                        return None;
                    }
                    let met = low.met();
                    return self.low_taken(low)?.correct(low_samples, met, counts);
                }
                let agreement = &self.setup.quick.agreement;
                let (near, reach) = (sense::correct_first(high_samples), agreement.reach());
                let expected = (
                    high.met().0.max(near.saturating_sub(reach)),
                    high.met().1.min(near.saturating_add(reach)),
                );
                let taken = self
                    .high_taken(high)?
                    .correct(high_samples, expected, counts)?;
                sense::raw_within(low_samples.raw, agreement.raw_low(taken.range)).then_some(taken)
            }
            GainInUse::High => {
                let (samples, met) = (self.high.as_ref()?.samples(chunk)?, high.met());
                self.high_taken(high)?.correct(samples, met, counts)
            }
            GainInUse::Low => {
                let (samples, met) = (self.low.as_ref()?.samples(chunk)?, low.met());
                self.low_taken(low)?.correct(samples, met, counts)
            }
            GainInUse::Blank => None,
        }
    }

    fn high_taken<'t>(&self, cells: &'t mut Cells) -> Option<Taken<'t>>
    where
        'r: 't,
    {
        Some(Taken {
            is_low: false,
            range: (0, 0),
            calm: self.setup.quick.high?,
            calibration: self.setup.sensor.high?,
            cells,
        })
    }

    fn low_taken<'t>(&self, cells: &'t mut Cells) -> Option<Taken<'t>>
    where
        'r: 't,
    {
        Some(Taken {
            is_low: true,
            range: (0, 0),
            calm: self.setup.quick.low?,
            calibration: self.setup.sensor.low?,
            cells,
        })
    }

    /// Whether a defective pixel lies in the chunk at a column.
    #[inline]
    fn has_defect(&self, x: usize) -> bool {
        self.defects
            .and_then(|defects| defects.here.get(x..x + CHUNK))
            .is_some_and(|map| map.iter().fold(0, |all, defect| all | defect) != 0)
    }
}

impl Taken<'_> {
    #[inline]
    fn correct(
        mut self,
        samples: Samples<'_>,
        expected: (u16, u16),
        counts: &mut [u16; CHUNK],
    ) -> Option<Self> {
        self.range = sense::correct(samples, expected, counts);
        let (from, to) = self.calm.span;
        (from <= self.range.0 && self.range.1 <= to).then_some(self)
    }

    /// Counts and draws the chunk at a column.
    #[inline]
    fn draw<P: PanelFormat>(
        self,
        row: &Row<'_>,
        x: usize,
        chunk: &mut Chunk<'_, P::Pixel>,
        greys: &mut [u16; CHUNK],
        sums: &mut Sums<'_>,
    ) {
        let met = self.cells.met();
        if self.range.0 < met.0 || met.1 < self.range.1 {
            meet(
                self.cells,
                self.range,
                self.calibration,
                row,
                x,
                chunk.codes,
                sums.statistics,
            );
        }
        let code = |counts| self.calibration.code(counts);
        if let Some(watched) = row.watched
            && code(self.range.1) > watched.to_bits()
        {
            sums.statistics.add_watched(&chunk.codes.map(code), watched);
        }
        let at = (column(x), row.y);
        let setup = row.setup;
        match &setup.colour {
            ColourTable::Bands(table) if self.range.1 >= self.calm.coloured_from => {
                if !setup.quick.is_flat {
                    // A ramp's colour follows from the code itself.
                    *chunk.codes = chunk.codes.map(code);
                    sums.statistics.count(chunk.codes);
                    each::draw_codes::<P>(
                        row,
                        x,
                        (chunk.codes, greys, chunk.bands, chunk.out),
                        sums.tally,
                    );
                    return;
                }
                draw_bands::<P>(setup, table.next(), self.cells, at, chunk);
                count_bands(chunk.bands, &mut sums.tally.by_band);
            }
            colour => {
                if let ColourTable::PseudoColour(_) = colour {
                    sums.tally.coloured += CHUNK_PIXELS;
                }
                *chunk.bands = [0; CHUNK];
                draw_grey::<P>(setup, self.cells, at, chunk);
            }
        }
        if row.keeps_codes {
            *chunk.codes = chunk.codes.map(code);
        }
    }
}

/// Takes counts in that the frame has not met yet.
#[inline(never)]
fn meet(
    cells: &mut Cells,
    range: (u16, u16),
    calibration: &Calibration,
    row: &Row<'_>,
    x: usize,
    counts: &[u16; CHUNK],
    statistics: &mut Statistics,
) {
    let shade = |code| {
        let grey = grey_q8_to_u8_round(row.scale.grey(row.law, code));
        (grey, row.setup.colour.step(code))
    };
    cells.meet(range, calibration, shade);
    let ends = (calibration.code(range.0), calibration.code(range.1));
    let (coldest, hottest) = statistics.range();
    if ends.0 < coldest || ends.1 > hottest {
        let codes = counts.map(|counts| calibration.code(counts));
        statistics.add_extremes((column(x), row.y), &codes, ends);
    }
}

#[inline(always)]
fn draw_grey<P: PanelFormat>(
    setup: &Setup<'_>,
    cells: &mut Cells,
    (x, y): (u16, u16),
    chunk: &mut Chunk<'_, P::Pixel>,
) {
    for ((x, &counts), pixel) in (x..).zip(&*chunk.codes).zip(&mut *chunk.out) {
        let cell = &mut cells.cells[cell_index(counts)];
        *cell = cell_seen(*cell);
        *pixel = P::shade(&setup.quick.shades, word_place(0, cell_grey(*cell)), x, y);
    }
}

#[inline(always)]
fn draw_bands<P: PanelFormat>(
    setup: &Setup<'_>,
    next: &[u8; 128],
    cells: &mut Cells,
    (x, y): (u16, u16),
    chunk: &mut Chunk<'_, P::Pixel>,
) {
    let planes = chunk.codes.iter().zip(&mut *chunk.bands);
    for ((x, (&counts, band)), pixel) in (x..).zip(planes).zip(&mut *chunk.out) {
        let cell = &mut cells.cells[cell_index(counts)];
        *cell = cell_seen(*cell);
        *band = next[cell_step(*cell, *band)];
        let place = word_place(*band, cell_grey(*cell));
        *pixel = P::shade(&setup.quick.shades, place, x, y);
    }
}

fn count_bands(bands: &[u8; CHUNK], by_band: &mut [u32; 8]) {
    let first = bands[0];
    if bands.iter().fold(0, |all, band| all | (band ^ first)) == 0 {
        by_band[usize::from(first & 7)] += CHUNK_PIXELS;
        return;
    }
    for band in bands {
        by_band[usize::from(band & 7)] += 1;
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
