//! Chunks that are drawn by cells, whatever the gain state.
//!
//! Cells are read, shown and counted, and asked afterwards whether they could answer. Where a count was
//! not met before, the chunk is taken back, its counts are met, and it is drawn again; where one cannot
//! be met, the caller does the chunk in another way.

use core::sync::atomic::{Ordering, compiler_fence};

use super::each;
use super::quick::{Chunk, Row, Source, Sums};
use super::rows::column;
use crate::fixedpoint::{
    CELLS, add_count, cell_grey, cell_has_step, cell_index, cell_is_unmet, cell_met_as, cell_seen,
    cell_step, cell_unmet, cell_unseen, grey_q8_to_u8_round, index_u16, place_start,
    two_point_place, word_place,
};
use crate::panel::{PanelFormat, ShadeTables};
use crate::stage::sense::{CHUNK, Samples, correct, extremes, for_each_place};
use crate::stage::statistics::Statistics;

/// Pixels of a chunk.
const CHUNK_PIXELS: u32 = 32;
/// A chunk is drawn in grey, then its counts are met, then a band is found: at most.
const TRIES: usize = 3;

/// How far a chunk was drawn.
#[derive(Clone, Copy, Debug)]
struct Drawn {
    pixels: usize,
    /// Bits of the cells that stopped it; none if it is whole.
    stop: u32,
}

impl Drawn {
    const WHOLE: Self = Self {
        pixels: CHUNK,
        stop: 0,
    };

    #[inline(always)]
    const fn is_whole(self) -> bool {
        self.stop == 0
    }
}

/// What follows when a chunk was not drawn whole.
enum Next {
    Again,
    Drawn,
    GiveUp,
}

impl Row<'_> {
    /// Counts and draws the chunk at a column, if all of its counts can be met and stand among the
    /// `SIDE` counts from `from` on, the first and the last left out.
    #[inline(always)]
    pub(super) fn by_cells<P: PanelFormat, const SIDE: usize>(
        &self,
        source: &mut Source<'_>,
        from: u16,
        samples: Samples<'_>,
        x: usize,
        chunk: &mut Chunk<'_, P::Pixel>,
        sums: &mut Sums<'_>,
    ) -> bool {
        let (shades, at) = (&self.setup.quick.shades, (column(x), self.y));
        let start = place_start(from);
        for _ in 0..TRIES {
            let mut is_coloured = source.cells.coloured != 0;
            let Some(window) = source.cells.window::<SIDE>(from) else {
                return false;
            };
            let ends = fence(window);
            let drawn = match self.next {
                Some(next) if is_coloured => {
                    let before = *chunk.bands;
                    let planes = (&mut *chunk.bands, &mut *chunk.out);
                    let tables = (shades, next);
                    let drawn = draw_bands::<P, SIDE>(tables, window, samples, start, at, planes);
                    if drawn.is_whole() {
                        is_coloured = count_bands(chunk.bands, &mut sums.tally.by_band);
                    } else {
                        *chunk.bands = before;
                    }
                    drawn
                }
                _ => {
                    let out = &mut *chunk.out;
                    let drawn = draw_grey::<P, SIDE>(shades, window, samples, start, at, out);
                    if drawn.is_whole() {
                        *chunk.bands = [0; CHUNK];
                    }
                    drawn
                }
            };
            open(window, ends);
            if drawn.is_whole() {
                source.cells.coloured = u8::from(is_coloured);
                if self.keeps_codes {
                    let code = |counts| source.calibration.code(counts);
                    *chunk.codes = correct(samples).map(code);
                }
                return true;
            }
            let window = (from, from.saturating_add(index_u16(SIDE - 1)));
            match self.settle::<P>(source, drawn, (window, samples), x, chunk, sums) {
                Next::Again => {}
                Next::Drawn => return true,
                Next::GiveUp => return false,
            }
        }
        false
    }

    /// Takes back what was drawn of a chunk, and sees to it that the next try gets further.
    #[inline(never)]
    fn settle<P: PanelFormat>(
        &self,
        source: &mut Source<'_>,
        drawn: Drawn,
        ((first, last), samples): ((u16, u16), Samples<'_>),
        x: usize,
        chunk: &mut Chunk<'_, P::Pixel>,
        sums: &mut Sums<'_>,
    ) -> Next {
        let counts = correct(samples);
        let is_met = !cell_is_unmet(drawn.stop);
        for counts in counts.iter().take(drawn.pixels) {
            let cell = &mut source.cells.cells[cell_index(*counts.max(&first).min(&last))];
            *cell = cell_unseen(*cell);
        }
        if is_met && self.next.is_some() {
            source.cells.coloured = 1;
            return Next::Again;
        }
        let (range, span) = (extremes(&counts), source.span);
        let (least, most) = (
            span.0.max(first.saturating_add(1)),
            span.1.min(last.saturating_sub(1)),
        );
        if range.0 < least || most < range.1 {
            return Next::GiveUp;
        }
        self.meet(source, range, x, &counts, sums.statistics);
        if !is_met {
            return Next::Again;
        }
        // A ramp's colour follows from the code itself.
        *chunk.codes = counts.map(|counts| source.calibration.code(counts));
        sums.statistics.count(chunk.codes);
        add_count(&mut sums.statistics.valid, CHUNK_PIXELS);
        if let Some(watched) = self.watched {
            sums.statistics.add_watched(chunk.codes, watched);
        }
        if source.is_low {
            add_count(&mut sums.tally.merge.from_low, CHUNK_PIXELS);
        }
        each::draw_codes::<P>(self, x, chunk.planes(), sums.tally);
        Next::Drawn
    }

    /// Takes counts in that the frame has not met yet; `counts` stand from a column on.
    #[inline(never)]
    pub(super) fn meet(
        &self,
        source: &mut Source<'_>,
        range: (u16, u16),
        x: usize,
        counts: &[u16],
        statistics: &mut Statistics,
    ) {
        let calibration = source.calibration;
        source.cells.meet(range, calibration, &|code| {
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

/// Makes the ends of a window, where counts beyond it stand, say that they are not met; gives what
/// they were.
#[inline(always)]
fn fence<const SIDE: usize>(window: &mut [u32; SIDE]) -> (u32, u32) {
    let ends = (window[0], window[SIDE - 1]);
    // The ends of all counts are never met.
    if SIDE < CELLS {
        (window[0], window[SIDE - 1]) = (cell_unmet(ends.0), cell_unmet(ends.1));
    }
    ends
}

/// Takes a fence away.
#[inline(always)]
fn open<const SIDE: usize>(window: &mut [u32; SIDE], (first, last): (u32, u32)) {
    if SIDE < CELLS {
        window[0] = cell_met_as(window[0], first);
        window[SIDE - 1] = cell_met_as(window[SIDE - 1], last);
    }
}

/// Draws and counts in grey, up to pixels of which a cell is not met or has a step.
#[inline(never)]
fn draw_grey<P: PanelFormat, const SIDE: usize>(
    shades: &ShadeTables,
    cells: &mut [u32; SIDE],
    samples: Samples<'_>,
    start: u32,
    (x, y): (u16, u16),
    out: &mut [P::Pixel; CHUNK],
) -> Drawn {
    for_each_place!(
        SIDE,
        samples,
        start,
        |i, at, bits| {
            let cell = &mut cells[at];
            bits |= *cell;
            let place = word_place(0, cell_grey(*cell));
            out[i] = P::shade(shades, place, x.wrapping_add(index_u16(i)), y);
            *cell = cell_seen(*cell);
        },
        {
            if cell_is_unmet(bits) || cell_has_step(bits) {
                return Drawn {
                    pixels: i + 1,
                    stop: bits,
                };
            }
        }
    );
    Drawn::WHOLE
}

/// Draws and counts in bands, up to pixels of which a cell is not met.
#[inline(never)]
fn draw_bands<P: PanelFormat, const SIDE: usize>(
    (shades, next): (&ShadeTables, &[u8; 128]),
    cells: &mut [u32; SIDE],
    samples: Samples<'_>,
    start: u32,
    (x, y): (u16, u16),
    (bands, out): (&mut [u8; CHUNK], &mut [P::Pixel; CHUNK]),
) -> Drawn {
    for_each_place!(
        SIDE,
        samples,
        start,
        |i, at, bits| {
            let cell = &mut cells[at];
            bits |= *cell;
            bands[i] = next[cell_step(*cell, bands[i])];
            let place = word_place(bands[i], cell_grey(*cell));
            out[i] = P::shade(shades, place, x.wrapping_add(index_u16(i)), y);
            *cell = cell_seen(*cell);
        },
        {
            if cell_is_unmet(bits) {
                return Drawn {
                    pixels: i + 1,
                    stop: bits,
                };
            }
        }
    );
    Drawn::WHOLE
}

/// Counts the pixels of each band; gives whether any has one.
fn count_bands(bands: &[u8; CHUNK], by_band: &mut [u32; 8]) -> bool {
    let first = [bands[0]; 4];
    let quads = bands.as_chunks::<4>().0;
    let odd = quads.iter().fold(0, |odd, quad| {
        odd | (u32::from_ne_bytes(*quad) ^ u32::from_ne_bytes(first))
    });
    if odd == 0 {
        add_count(&mut by_band[usize::from(first[0] & 7)], CHUNK_PIXELS);
        return first[0] != 0;
    }
    for band in bands {
        add_count(&mut by_band[usize::from(band & 7)], 1);
    }
    true
}
