//! The quick form where both gain states, or pixels that nothing is known of, stand in one chunk: the
//! edge of something hot.
//!
//! What the proofs of [`quick`](super::quick) ask of 32 neighbours is asked of each pixel here; runs of
//! pixels that answer no are done by [`each`](super::each).

use super::each;
use super::quick::{Chunk, Row, Sums};
use super::rows::Lane;
use crate::fixedpoint::{cell_grey, cell_index, cell_seen, cell_step, index_u16, word_place};
use crate::panel::PanelFormat;
use crate::record::GainInUse;
use crate::stage::cells::CountTables;
use crate::stage::colour::ColourTable;
use crate::stage::sense::{CHUNK, Samples, correct_at};

/// A pixel whose state is certain.
#[derive(Clone, Copy)]
struct Sure {
    is_low: bool,
    counts: u16,
}

/// Draws the chunk at a column.
#[inline(never)]
pub(super) fn draw<P: PanelFormat>(
    row: &Row<'_>,
    tables: &mut CountTables,
    x: usize,
    chunk: &mut Chunk<'_, P::Pixel>,
    sums: &mut Sums<'_>,
) {
    let is_cellular = match &row.setup.colour {
        ColourTable::Bands(_) => row.setup.quick.is_flat,
        ColourTable::GreyOnly | ColourTable::PseudoColour(_) => true,
    };
    let (Some(high), Some(low), GainInUse::PerPixel, true) = (
        samples(row.high, x),
        samples(row.low, x),
        row.gain,
        is_cellular,
    ) else {
        each::draw::<P>(row, x, chunk.part(0..CHUNK), sums);
        return;
    };
    let mut waiting = 0..0;
    for i in 0..CHUNK {
        let Some(sure) = row.sure(high, low, i) else {
            waiting.end = i + 1;
            continue;
        };
        if !waiting.is_empty() {
            each::draw::<P>(row, x + waiting.start, chunk.part(waiting), sums);
        }
        waiting = i + 1..i + 1;
        row.draw_sure::<P>(sure, tables, x + i, chunk.part(i..i + 1), sums);
    }
    if !waiting.is_empty() {
        each::draw::<P>(row, x + waiting.start, chunk.part(waiting), sums);
    }
}

/// Samples of the chunk at a column.
fn samples(lane: Option<Lane<'_>>, x: usize) -> Option<Samples<'_>> {
    lane?.samples(x / CHUNK)
}

impl Row<'_> {
    /// The state and the corrected counts of a pixel of a chunk, if they are certain.
    #[inline(always)]
    fn sure(&self, high: Samples<'_>, low: Samples<'_>, i: usize) -> Option<Sure> {
        let quick = &self.setup.quick;
        let is_low = high.raw[i] >= self.high.as_ref()?.saturation;
        let (calm, samples) = if is_low {
            (quick.low?, low)
        } else {
            (quick.high?, high)
        };
        let counts = correct_at(samples, i);
        if counts < calm.span.0 || counts > calm.span.1 {
            return None;
        }
        if !is_low {
            let (least, most) = quick.agreement.raw_low((counts, counts));
            if low.raw[i] < least || low.raw[i] > most {
                return None;
            }
        }
        Some(Sure { is_low, counts })
    }

    /// Counts and draws one pixel by its cell.
    #[inline(always)]
    fn draw_sure<P: PanelFormat>(
        &self,
        Sure { is_low, counts }: Sure,
        tables: &mut CountTables,
        x: usize,
        planes: each::Planes<'_, P::Pixel>,
        sums: &mut Sums<'_>,
    ) {
        let setup = self.setup;
        let (cells, calibration) = if is_low {
            (&mut tables.low, setup.sensor.low)
        } else {
            (&mut tables.high, setup.sensor.high)
        };
        let ([code], _, [band], [pixel], Some(calibration)) =
            (planes.0, planes.1, planes.2, planes.3, calibration)
        else {
            return;
        };
        let met = cells.met();
        if counts < met.0 || met.1 < counts {
            self.meet(
                cells,
                (counts, counts),
                calibration,
                x,
                &[counts],
                sums.statistics,
            );
        }
        sums.statistics.valid += 1;
        sums.tally.merge.from_low += u32::from(is_low);
        let cell = &mut cells.cells[cell_index(counts)];
        *cell = cell_seen(*cell);
        *band = match &setup.colour {
            ColourTable::Bands(table) => table.next()[cell_step(*cell, *band)],
            ColourTable::PseudoColour(_) => {
                sums.tally.coloured += 1;
                0
            }
            ColourTable::GreyOnly => 0,
        };
        sums.tally.by_band[usize::from(*band & 7)] += 1;
        let place = word_place(*band, cell_grey(*cell));
        *pixel = P::shade(&setup.quick.shades, place, index_u16(x), self.y);
        if self.keeps_codes {
            *code = calibration.code(counts);
        }
    }
}
