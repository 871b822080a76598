//! Cells: the frame's answer to every count, and how often it was given.
//!
//! **Purpose.** One load in place of temperature, scale, rounding and the search for a bin and a band.
//! **Input**: corrected counts of one gain state. **Output**: grey and step of bands; at the end of
//! the frame, the histogram. **Latency**: none; cells are made for the frame's scale when a count
//! first needs them. **Memory**: 64 KiB a gain state, lent by the caller. **Limits**: counts of 14
//! bits; a cell counts to 1,048,575 and is emptied before.

use crate::calibration::Calibration;
use crate::fixedpoint::{
    BLOCK, CELL_MOST, CELLS, add_count, block_of, cell_count, cell_emptied, cell_new,
};
use crate::stage::scale::GreyLaw;
use crate::stage::statistics::{BINS, bin_of, edge_of};

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
    /// Scale that cells were made for, as far as any are.
    made_for: GreyLaw,
}

impl CountTables {
    /// Empty tables; they hold nothing of a session.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            high: Cells::new(),
            low: Cells::new(),
            counted: 0,
            made_for: GreyLaw::NONE,
        }
    }

    /// Forgets everything.
    pub(crate) fn forget(&mut self) {
        for cells in [&mut self.high, &mut self.low] {
            cells.cells.fill(0);
            (cells.made, cells.met) = ((0, 0), NOTHING);
        }
        (self.counted, self.made_for) = (0, GreyLaw::NONE);
    }

    /// Forgets what was made for another scale, and what was counted.
    pub(crate) fn begin(&mut self, law: GreyLaw) {
        let is_kept = law.is_linear() && self.made_for == law;
        for cells in [&mut self.high, &mut self.low] {
            // Counts of a frame that was not ended are dropped.
            for (_, block) in cells.blocks_met() {
                block
                    .iter_mut()
                    .for_each(|cell| *cell = cell_emptied(*cell));
            }
            cells.met = NOTHING;
            if !is_kept {
                cells.made = (0, 0);
            }
        }
        self.counted = 0;
        self.made_for = law;
    }

    /// Makes room for a row: no cell may run over.
    pub(crate) fn begin_row(
        &mut self,
        width: u32,
        calibrations: [Option<&Calibration>; 2],
        histogram: &mut [u32; BINS],
    ) {
        if self.counted.saturating_add(width) > CELL_MOST {
            self.gather(calibrations, histogram);
        }
        add_count(&mut self.counted, width);
    }

    /// Ends a frame: moves what was counted into the histogram.
    pub(crate) fn end(
        &mut self,
        calibrations: [Option<&Calibration>; 2],
        histogram: &mut [u32; BINS],
    ) {
        self.gather(calibrations, histogram);
        self.high.met = NOTHING;
        self.low.met = NOTHING;
    }

    fn gather(&mut self, [high, low]: [Option<&Calibration>; 2], histogram: &mut [u32; BINS]) {
        for (cells, calibration) in [(&mut self.high, high), (&mut self.low, low)] {
            if let Some(calibration) = calibration {
                cells.gather(calibration, histogram);
            }
        }
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
    /// Counts met in this frame: their cells are made, and the extremes know them.
    met: (u16, u16),
}

impl Cells {
    const fn new() -> Self {
        Self {
            cells: [0; CELLS],
            made: (0, 0),
            met: NOTHING,
        }
    }

    /// Counts met in this frame, from the first to the second.
    #[inline]
    pub(crate) const fn met(&self) -> (u16, u16) {
        self.met
    }

    /// Takes an interval of counts in; `shade` gives grey and step of a temperature code.
    pub(crate) fn meet(
        &mut self,
        range: (u16, u16),
        calibration: &Calibration,
        shade: impl Fn(u16) -> (u8, u8),
    ) {
        self.met = hull(self.met, range);
        let (from, to) = (block_of(range.0), block_of(range.1) + 1);
        let (first, end) = self.made;
        if first == end {
            self.make(from, to, calibration, &shade);
            self.made = (from, to);
            return;
        }
        self.make(from, first, calibration, &shade);
        self.make(end, to, calibration, &shade);
        self.made = (first.min(from), end.max(to));
    }

    fn make(
        &mut self,
        from: usize,
        to: usize,
        calibration: &Calibration,
        shade: impl Fn(u16) -> (u8, u8),
    ) {
        let blocks = (0..BLOCKS).zip(self.cells.as_chunks_mut::<BLOCK>().0);
        let (mut last, mut made) = (0, 0);
        for (knot, block) in blocks.take(to).skip(from) {
            for (code, cell) in calibration.block(knot).zip(block) {
                if code != last {
                    let (grey, step) = shade(code);
                    (last, made) = (code, cell_new(grey, step));
                }
                *cell = made;
            }
        }
    }

    /// The blocks that hold counts met in this frame.
    fn blocks_met(&mut self) -> impl Iterator<Item = (usize, &mut [u32; BLOCK])> {
        let (from, to) = match self.met {
            (from, to) if from <= to => (block_of(from), block_of(to) + 1),
            _ => (0, 0),
        };
        let blocks = (0..BLOCKS).zip(self.cells.as_chunks_mut::<BLOCK>().0);
        blocks.take(to).skip(from)
    }

    /// Empties the cells into the histogram.
    fn gather(&mut self, calibration: &Calibration, histogram: &mut [u32; BINS]) {
        let (mut bin, mut sum, mut end) = (0, 0u32, 0);
        for (knot, block) in self.blocks_met() {
            for (code, cell) in calibration.block(knot).zip(block) {
                let times = cell_count(*cell);
                if times == 0 {
                    continue;
                }
                *cell = cell_emptied(*cell);
                if u32::from(code) >= end {
                    add_count(&mut histogram[bin], sum);
                    bin = bin_of(code).min(BINS - 1);
                    (sum, end) = (0, edge_of(bin + 1));
                }
                add_count(&mut sum, times);
            }
        }
        add_count(&mut histogram[bin], sum);
    }
}

fn hull(a: (u16, u16), b: (u16, u16)) -> (u16, u16) {
    (a.0.min(b.0), a.1.max(b.1))
}
