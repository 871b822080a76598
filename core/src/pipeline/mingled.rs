//! The quick form where both gain states, or pixels that nothing is known of, stand in one chunk: the
//! edge of something hot.
//!
//! What the proofs of [`quick`](super::quick) ask of 32 neighbours is asked of each pixel here; runs of
//! pixels that answer no are done by [`each`](super::each).

use super::each;
use super::quick::{Both, Chunk, Row, Sums};
use crate::fixedpoint::{
    add_count, cell_grey, cell_index, cell_is_unmet, cell_seen, cell_step, index_u16, word_place,
};
use crate::panel::PanelFormat;
use crate::stage::colour::ColourTable;
use crate::stage::sense::{CHUNK, Samples, correct_at};

/// Draws the chunk at a column, if its colours follow from cells.
#[inline(never)]
pub(super) fn draw<P: PanelFormat>(
    row: &Row<'_>,
    (high, low): (Samples<'_>, Samples<'_>),
    sources: &mut Both<'_>,
    x: usize,
    chunk: &mut Chunk<'_, P::Pixel>,
    sums: &mut Sums<'_>,
) -> bool {
    let is_cellular = row.next.is_some() || !matches!(row.setup.colour, ColourTable::Bands(_));
    let (Some(lane), true) = (row.high, is_cellular) else {
        return false;
    };
    let quick = &row.setup.quick;
    let mut waiting = 0..0;
    for i in 0..CHUNK {
        let is_low = high.raw[i] >= lane.saturation;
        let (source, counts) = if is_low {
            (&mut sources.low, correct_at(low, i))
        } else {
            (&mut sources.high, correct_at(high, i))
        };
        let mut is_sure = true;
        if !is_low {
            let (least, most) = quick.agreement.raw_low((counts, counts));
            is_sure = least <= low.raw[i] && low.raw[i] <= most;
        }
        let is_new = cell_is_unmet(source.cells.cells[cell_index(counts)]);
        if is_new {
            is_sure &= source.span.0 <= counts && counts <= source.span.1;
        }
        if !is_sure {
            waiting.end = i + 1;
            continue;
        }
        if !waiting.is_empty() {
            let at = x.wrapping_add(waiting.start);
            each::draw::<P>(row, at, chunk.part(waiting), sums);
        }
        waiting = i + 1..i + 1;
        if is_new {
            let at = x.wrapping_add(i);
            row.meet(source, (counts, counts), at, &[counts], sums.statistics);
        }
        let cell = &mut source.cells.cells[cell_index(counts)];
        *cell = cell_seen(*cell);
        let band = match row.next {
            Some(next) => next[cell_step(*cell, chunk.bands[i])],
            None => 0,
        };
        chunk.bands[i] = band;
        add_count(&mut sums.tally.by_band[usize::from(band & 7)], 1);
        let place = word_place(band, cell_grey(*cell));
        let at = index_u16(x.wrapping_add(i));
        chunk.out[i] = P::shade(&quick.shades, place, at, row.y);
        if row.keeps_codes {
            chunk.codes[i] = source.calibration.code(counts);
        }
    }
    if !waiting.is_empty() {
        let at = x.wrapping_add(waiting.start);
        each::draw::<P>(row, at, chunk.part(waiting), sums);
    }
    true
}
