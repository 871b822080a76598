//! Cells: the frame's answer to every count, and how often it was given.
//!
//! **Purpose.** One load in place of temperature, scale, rounding and the search for a bin and a band.
//! **Input**: corrected counts of one gain state. **Output**: grey and step of bands; at the end of
//! the frame, the histogram. **Latency**: none; cells are made for the frame's scale when a count
//! first needs them. **Memory**: 64 KiB a gain state, lent by the caller. **Limits**: counts of 14
//! bits; a cell counts to 65,535 and is emptied before.

use crate::calibration::Calibration;
use crate::fixedpoint::{CELL_MOST, CELLS, cell_count, cell_emptied, cell_new, whole_blocks};
use crate::stage::scale::GreyLaw;
use crate::stage::statistics::{BINS, bin_of};

/// An interval without a count.
const NOTHING: (u16, u16) = (u16::MAX, 0);

/// Tables that the quick form of the pipeline works with, 128 KiB, lent by the caller.
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
    made_for: Option<GreyLaw>,
}

impl CountTables {
    /// Empty tables; they hold nothing of a session.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            high: Cells::new(),
            low: Cells::new(),
            counted: 0,
            made_for: None,
        }
    }

    /// Forgets everything.
    pub(crate) fn forget(&mut self) {
        for cells in [&mut self.high, &mut self.low] {
            cells.cells.fill(0);
            (cells.made, cells.met) = (NOTHING, NOTHING);
        }
        (self.counted, self.made_for) = (0, None);
    }

    /// Forgets what was made for another scale, and what was counted.
    pub(crate) fn begin(&mut self, law: GreyLaw) {
        let is_kept = law.is_linear() && self.made_for == Some(law);
        for cells in [&mut self.high, &mut self.low] {
            // Counts of a frame that was not ended are dropped.
            cells.empty(|_, _| {});
            cells.met = NOTHING;
            if !is_kept {
                cells.made = NOTHING;
            }
        }
        self.counted = 0;
        self.made_for = Some(law);
    }

    /// Makes room for a row: no cell may run over.
    pub(crate) fn begin_row(
        &mut self,
        width: u32,
        calibrations: [Option<&Calibration>; 2],
        histogram: &mut [u32; BINS],
    ) {
        if self.counted + width > CELL_MOST {
            self.gather(calibrations, histogram);
        }
        self.counted += width;
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
                cells.empty(|counts, times| {
                    if let Some(bin) = histogram.get_mut(bin_of(calibration.code(counts))) {
                        *bin += times;
                    }
                });
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
    /// Counts whose cells are made for the frame's scale.
    made: (u16, u16),
    /// Counts met in this frame: their cells are made, and the extremes know them.
    met: (u16, u16),
}

impl Cells {
    const fn new() -> Self {
        Self {
            cells: [0; CELLS],
            made: NOTHING,
            met: NOTHING,
        }
    }

    /// Counts met in this frame, from the first to the second.
    #[inline]
    pub(crate) const fn met(&self) -> (u16, u16) {
        self.met
    }

    /// Takes an interval of counts in; `shade` gives the cell of a temperature code.
    pub(crate) fn meet(
        &mut self,
        range: (u16, u16),
        calibration: &Calibration,
        shade: impl Fn(u16) -> (u8, u8),
    ) {
        self.met = hull(self.met, range);
        let (from, to) = whole_blocks(range);
        if self.made == NOTHING {
            self.make((from, to), calibration, &shade);
            self.made = (from, to);
            return;
        }
        let (first, last) = self.made;
        if from < first {
            self.make((from, first - 1), calibration, &shade);
        }
        if to > last {
            self.make((last + 1, to), calibration, &shade);
        }
        self.made = hull(self.made, (from, to));
    }

    fn make(
        &mut self,
        (from, to): (u16, u16),
        calibration: &Calibration,
        shade: impl Fn(u16) -> (u8, u8),
    ) {
        let cells = self.cells.iter_mut().skip(usize::from(from));
        let (mut last, mut made) = (0, 0);
        for (counts, cell) in (from..=to).zip(cells) {
            let code = calibration.code(counts);
            if code != last {
                let (grey, step) = shade(code);
                (last, made) = (code, cell_new(grey, step));
            }
            *cell = made;
        }
    }

    /// Empties the cells; `take` is given counts and how often they were seen.
    fn empty(&mut self, mut take: impl FnMut(u16, u32)) {
        let (from, to) = self.met;
        let cells = self.cells.iter_mut().skip(usize::from(from));
        for (counts, cell) in (from..=to).zip(cells) {
            let times = cell_count(*cell);
            if times > 0 {
                take(counts, times);
                *cell = cell_emptied(*cell);
            }
        }
    }
}

fn hull(a: (u16, u16), b: (u16, u16)) -> (u16, u16) {
    (a.0.min(b.0), a.1.max(b.1))
}
