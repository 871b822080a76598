//! Cells: the frame's answer to every count, and how often it was given.
//!
//! **Purpose.** One load in place of temperature, scale, rounding and the search for a bin and a band.
//! **Input**: corrected counts of one gain state. **Output**: grey and step of bands; at the end of
//! the frame, the histogram. **Latency**: none; cells are made for the frame's scale when a count
//! first needs them. **Memory**: 64 KiB a gain state, lent by the caller. **Limits**: counts of 14
//! bits; a cell counts to 524,287 and is emptied before.

use crate::calibration::Calibration;
use crate::fixedpoint::{
    BLOCK, CELL_MOST, CELLS, add_count, block_of, cell_count, cell_emptied, cell_met, cell_new,
};
use crate::stage::scale::GreyLaw;
use crate::stage::statistics::{BINS, Statistics, bin_of, edge_of};

/// Blocks of the cells of one state.
const BLOCKS: usize = CELLS / BLOCK;
/// An interval without a count.
const NOTHING: (u16, u16) = (u16::MAX, 0);

/// Tables that the quick form of the pipeline works with, 128 KiB, lent by the caller.
///
/// They hold whole numbers alone, so any bytes are tables; [`Pipeline::with_tables`] forgets what they
/// say. `glowsill-c` relies on it.
///
/// [`Pipeline::with_tables`]: crate::pipeline::Pipeline::with_tables
///
/// ```
/// use glowsill_core::pipeline::CountTables;
/// assert_eq!(size_of::<CountTables>() / 1024, 128);
/// ```
#[derive(Clone, Debug)]
pub struct CountTables {
    pub(crate) high: Cells,
    pub(crate) low: Cells,
    /// Pixels counted since the cells were emptied.
    counted: u32,
    gathered: Gathered,
    /// Scale that cells were made for, as far as any are.
    made_for: GreyLaw,
}

/// What was counted by cells in a frame.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Gathered {
    /// Pixels, all of them valid.
    pub(crate) pixels: u32,
    /// Those of low gain.
    pub(crate) from_low: u32,
}

impl CountTables {
    /// Empty tables; they hold nothing of a session.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            high: Cells::new(),
            low: Cells::new(),
            counted: 0,
            gathered: Gathered {
                pixels: 0,
                from_low: 0,
            },
            made_for: GreyLaw::NONE,
        }
    }

    /// Forgets everything.
    pub(crate) fn forget(&mut self) {
        for cells in [&mut self.high, &mut self.low] {
            cells.cells.fill(cell_new(0, 0));
            (cells.made, cells.met) = ((0, 0), NOTHING);
            cells.coloured = 0;
        }
        (self.counted, self.made_for) = (0, GreyLaw::NONE);
    }

    /// Forgets what was made for another scale, and what was counted.
    pub(crate) fn begin(&mut self, law: GreyLaw) {
        let is_kept = law.is_linear() && self.made_for == law;
        for cells in [&mut self.high, &mut self.low] {
            // Counts of a frame that was not ended are dropped.
            cells.drop_counts();
            if !is_kept {
                cells.made = (0, 0);
            }
        }
        (self.counted, self.gathered) = (0, Gathered::default());
        self.made_for = law;
    }

    /// Makes room for a row: no cell may run over.
    pub(crate) fn begin_row(
        &mut self,
        width: u32,
        calibrations: [Option<&Calibration>; 2],
        statistics: &mut Statistics,
        watched: Option<u16>,
    ) {
        if self.counted.saturating_add(width) > CELL_MOST {
            self.gather(calibrations, statistics, watched);
        }
        add_count(&mut self.counted, width);
    }

    /// Ends a frame: moves what was counted into its statistics, and gives how many pixels that were.
    pub(crate) fn end(
        &mut self,
        calibrations: [Option<&Calibration>; 2],
        statistics: &mut Statistics,
        watched: Option<u16>,
    ) -> Gathered {
        self.gather(calibrations, statistics, watched);
        self.gathered
    }

    fn gather(
        &mut self,
        [high, low]: [Option<&Calibration>; 2],
        statistics: &mut Statistics,
        watched: Option<u16>,
    ) {
        let watched = watched.unwrap_or(u16::MAX);
        let mut gather = |cells: &mut Cells, calibration: Option<&Calibration>| {
            calibration.map_or(0, |table| cells.gather(table, statistics, watched))
        };
        let (from_high, from_low) = (gather(&mut self.high, high), gather(&mut self.low, low));
        add_count(&mut self.gathered.from_low, from_low);
        add_count(&mut self.gathered.pixels, from_high.wrapping_add(from_low));
        self.counted = 0;
    }
}

impl Default for CountTables {
    fn default() -> Self {
        Self::new()
    }
}

/// The cells of one gain state.
#[derive(Clone, Debug)]
pub(crate) struct Cells {
    /// By counts; see [`cell_new`].
    pub(crate) cells: [u32; CELLS],
    /// Blocks whose cells are made for the frame's scale, from the first up to the second.
    made: (usize, usize),
    /// Counts met since the cells were emptied: their cells are made, and the extremes know them. All
    /// other cells say that they are not met.
    met: (u16, u16),
    /// Not 0 if the last pixels drawn by them had a band, so that the next ones may, too.
    pub(crate) coloured: u8,
}

impl Cells {
    const fn new() -> Self {
        Self {
            cells: [cell_new(0, 0); CELLS],
            made: (0, 0),
            met: NOTHING,
            coloured: 0,
        }
    }

    /// The `SIDE` cells from a count on; none if there are fewer.
    #[inline]
    pub(crate) fn window<const SIDE: usize>(&mut self, from: u16) -> Option<&mut [u32; SIDE]> {
        self.cells
            .get_mut(usize::from(from)..)?
            .first_chunk_mut::<SIDE>()
    }

    /// Takes an interval of counts in; `shade` gives grey and step of a temperature code.
    pub(crate) fn meet(
        &mut self,
        range: (u16, u16),
        calibration: &Calibration,
        shade: &dyn Fn(u16) -> (u8, u8),
    ) {
        let before = self.met;
        let met = hull(before, range);
        let (from, to) = (block_of(met.0), block_of(met.1) + 1);
        let (first, end) = self.made;
        if first == end {
            self.make(from, to, calibration, shade);
            self.made = (from, to);
        } else {
            self.make(from, first, calibration, shade);
            self.make(end, to, calibration, shade);
            self.made = (first.min(from), end.max(to));
        }
        if before == NOTHING {
            self.change(met, cell_met);
        } else {
            self.change((met.0, before.0), cell_met);
            self.change((before.1, met.1), cell_met);
        }
        self.met = met;
    }

    /// Changes the cells of an interval of counts.
    fn change(&mut self, (from, to): (u16, u16), change: impl Fn(u32) -> u32) {
        if let Some(cells) = self.cells.get_mut(usize::from(from)..=usize::from(to)) {
            cells.iter_mut().for_each(|cell| *cell = change(*cell));
        }
    }

    /// Makes the cells of some blocks. Grey and step never fall with temperature: where they are the
    /// same at both ends of eight counts, they are the same between.
    #[inline(never)]
    fn make(
        &mut self,
        from: usize,
        to: usize,
        calibration: &Calibration,
        shade: &dyn Fn(u16) -> (u8, u8),
    ) {
        let made = |code| {
            let (grey, step) = shade(code);
            cell_new(grey, step)
        };
        let blocks = (0..BLOCKS).zip(self.cells.as_chunks_mut::<BLOCK>().0);
        for (knot, block) in blocks.take(to).skip(from) {
            let mut codes = calibration.block(knot);
            let mut first = made(codes.code());
            for eight in block.as_chunks_mut::<8>().0 {
                let end = made(codes.ahead(8));
                if first == end {
                    *eight = [first; 8];
                    codes.pass(8);
                } else {
                    let (mut last, mut shown) = (codes.code(), first);
                    for cell in eight {
                        let code = codes.code();
                        if code != last {
                            (last, shown) = (code, made(code));
                        }
                        *cell = shown;
                        codes.pass(1);
                    }
                }
                first = end;
            }
        }
    }

    /// Empties the cells unread.
    fn drop_counts(&mut self) {
        if self.met != NOTHING {
            self.change(self.met, cell_emptied);
            self.met = NOTHING;
        }
    }

    /// Empties the cells into the statistics, and gives how many pixels they counted.
    fn gather(
        &mut self,
        calibration: &Calibration,
        statistics: &mut Statistics,
        watched: u16,
    ) -> u32 {
        if self.met == NOTHING {
            return 0;
        }
        let before = statistics.valid;
        let (from, to) = (block_of(self.met.0), block_of(self.met.1) + 1);
        let blocks = (0..BLOCKS).zip(self.cells.as_chunks_mut::<BLOCK>().0);
        let mut add = Add::NOTHING;
        for (knot, block) in blocks.take(to).skip(from) {
            let mut codes = calibration.block(knot);
            for cell in block {
                let code = codes.code();
                if u32::from(code) >= add.end {
                    add.to(statistics);
                    add = Add::from(code, watched);
                }
                add_count(&mut add.pixels, cell_count(*cell));
                *cell = cell_emptied(*cell);
                codes.pass(1);
            }
        }
        add.to(statistics);
        self.met = NOTHING;
        statistics.valid.wrapping_sub(before)
    }
}

/// Pixels of one bin on one side of the watched code, gathered to be added.
struct Add {
    bin: usize,
    is_above: bool,
    pixels: u32,
    /// First code that does not belong here.
    end: u32,
}

impl Add {
    const NOTHING: Self = Self {
        bin: 0,
        is_above: false,
        pixels: 0,
        end: 0,
    };

    fn from(code: u16, watched: u16) -> Self {
        let bin = bin_of(code).min(BINS - 1);
        let (edge, is_above) = (edge_of(bin + 1), code > watched);
        Self {
            bin,
            is_above,
            pixels: 0,
            end: if is_above {
                edge
            } else {
                edge.min(u32::from(watched) + 1)
            },
        }
    }

    fn to(&self, statistics: &mut Statistics) {
        if let Some(count) = statistics.histogram.get_mut(self.bin) {
            add_count(count, self.pixels);
        }
        add_count(&mut statistics.valid, self.pixels);
        if self.is_above {
            add_count(&mut statistics.above_watched, self.pixels);
        }
    }
}

fn hull(a: (u16, u16), b: (u16, u16)) -> (u16, u16) {
    (a.0.min(b.0), a.1.max(b.1))
}
