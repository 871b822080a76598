//! Agreement: where low gain cannot dispute what high gain says.
//!
//! **Purpose.** Lets low gain be left alone where it has no say, without losing a dispute.
//! **Input**: counts that high gain gave. **Output**: an interval of raw low counts within which no
//! pixel's two states differ by more than the dispute limit, whatever its gain and offset in the
//! table. **Memory**: 2 KiB, made once a session.

use crate::calibration::Calibration;
use crate::fixedpoint::{BLOCK, CELLS, Window, block_bounds, block_of, index_u16};
use crate::stage::sense::Reach;

/// Blocks of 64 counts of high gain.
const BLOCKS: usize = 256;
/// Low gain may always dispute.
const NEVER: (u16, u16) = (u16::MAX, 0);

/// Raw low counts that agree with high gain, by blocks of its counts.
#[derive(Clone, Debug)]
pub(crate) struct Agreement {
    /// Least and greatest raw count that agree with every count of the block.
    blocks: [(u16, u16); BLOCKS],
    /// Raw counts that agree with as many counts as a window has, from the first of a block on.
    windows: [Option<Window>; BLOCKS],
}

/// High-gain counts of a window, and of a wide one.
pub(crate) const WINDOW: usize = 512;
pub(crate) const WIDE: usize = 1024;

impl Agreement {
    /// For a plan without two states.
    pub(crate) const fn none() -> Self {
        Self {
            blocks: [NEVER; BLOCKS],
            windows: [None; BLOCKS],
        }
    }

    /// For high-gain counts of up to `highest`; above it low gain is asked anyway.
    pub(crate) fn new(
        (high, low): (&Calibration, &Calibration),
        low_reach: Reach,
        dispute_k32: u16,
        highest: u16,
    ) -> Self {
        let mut this = Self::none();
        let coldest = |raw| low.code(low_reach.corrected(raw).0);
        let hottest = |raw| low.code(low_reach.corrected(raw).1);
        // Both ends only rise from block to block.
        let last = low.saturation().saturating_sub(1);
        let (mut least, mut most) = (1, 0);
        let highest = block_of(highest);
        let blocks = (0..BLOCKS).zip(&mut this.blocks);
        for (block, entry) in blocks.take(highest.saturating_add(1)) {
            let (first, end) = block_bounds(block);
            let (from, to) = (high.code(first), high.code(end));
            least = first_from(least, last, |raw| {
                coldest(raw) >= to.saturating_sub(dispute_k32)
            });
            most = first_from(most, last, |raw| {
                hottest(raw.saturating_add(1)) > from.saturating_add(dispute_k32)
            });
            *entry = (least, most.min(last));
        }
        this.windows = core::array::from_fn(|block| {
            // No count above the highest block is looked up.
            let end = block.saturating_add(WINDOW / BLOCK - 1).min(highest);
            let (first, last) = (block_bounds(block).0, block_bounds(end).1);
            Window::inside(this.raw_low((first, last)))
        });
        this
    }

    /// The first count of the window in the middle of which a count stands, and the raw low counts
    /// that agree with all counts of the window, if there are any.
    #[inline(always)]
    pub(crate) fn window(&self, near: u16) -> (u16, Option<Window>) {
        const BEFORE: u16 = 256 - 32;
        const _: () = assert!(WINDOW == 2 * 256 && BLOCK == 2 * 32);
        let most = index_u16(CELLS - WINDOW);
        let block = block_of(near.saturating_sub(BEFORE).min(most));
        (block_bounds(block).0, self.windows[block & (BLOCKS - 1)])
    }

    /// The same of a wide window; of its counts, those of a span are met at most.
    pub(crate) fn wide_window(&self, near: u16, span: (u16, u16)) -> (u16, Option<Window>) {
        let side = index_u16(WIDE);
        let most = index_u16(CELLS - WIDE);
        let from = near.saturating_sub(side / 2).min(most);
        let (least, greatest) = (from.max(span.0), from.saturating_add(side - 1).min(span.1));
        let agreeing = if least <= greatest {
            Window::inside(self.raw_low((least, greatest)))
        } else {
            None
        };
        (from, agreeing)
    }

    /// Raw low counts that agree with all high-gain counts from `from` to `to`.
    #[inline]
    pub(crate) fn raw_low(&self, (from, to): (u16, u16)) -> (u16, u16) {
        (self.blocks[block_of(to)].0, self.blocks[block_of(from)].1)
    }
}

/// Least number from `from` to `last` that something holds for, which then holds for all greater
/// ones; `last + 1` if there is none.
pub(crate) fn first_from(from: u16, last: u16, holds: impl Fn(u16) -> bool) -> u16 {
    let (mut low, mut high) = (from, last.saturating_add(1));
    while low < high {
        let middle = low.midpoint(high);
        if holds(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stage::correct::Correction;
    use crate::units::Temperature;

    #[test]
    fn nothing_inside_an_interval_can_dispute_and_it_is_not_empty() {
        let line = |start: usize, rise: usize| {
            let knots = core::array::from_fn(|i| Temperature::from_bits((start + i * rise) as u16));
            Calibration::new(6, knots, 16_000).unwrap()
        };
        let (high, low) = (line(7000, 26), line(7000, 100));
        let table = Correction {
            gain_q14: &[16_000, 16_700],
            offset: &[-20, 20],
        };
        let reach = Reach::of(Some(table));
        let agreement = Agreement::new((&high, &low), reach, 640, 12_500);
        let mut inside = 0;
        for counts in (0..12_500u16).step_by(3) {
            let code = high.code(counts);
            let (least, most) = agreement.raw_low((counts, counts));
            for raw in (least..=most).step_by(7) {
                inside += 1;
                for gain in table.gain_q14 {
                    for offset in table.offset {
                        let tl =
                            low.code(crate::fixedpoint::two_point_q14_round(raw, *gain, *offset));
                        assert!(tl.abs_diff(code) <= 640, "{code}: {raw} is {tl}");
                    }
                }
            }
        }
        assert!(inside > 1000, "{inside}");
        let (least, most) = agreement.raw_low((13_000, 13_000));
        assert!(least > most);
    }

    /// For many limits, so that some windows are as wide as what agrees.
    #[test]
    fn nothing_inside_a_window_can_dispute_any_of_its_counts() {
        let line = |start: usize, rise: usize| {
            let knots = core::array::from_fn(|i| Temperature::from_bits((start + i * rise) as u16));
            Calibration::new(6, knots, 16_000).unwrap()
        };
        let (high, low) = (line(7000, 26), line(7000, 100));
        let table = Correction {
            gain_q14: &[16_300, 16_450],
            offset: &[-3, 3],
        };
        let span = (200, 12_500);
        let mut inside = 0;
        for dispute_k32 in (300..1300).step_by(7) {
            let reach = Reach::of(Some(table));
            let agreement = Agreement::new((&high, &low), reach, dispute_k32, span.1);
            for near in [5000, 5031, 12_300] {
                let windows = [
                    (agreement.window(near), WINDOW),
                    (agreement.wide_window(near, span), WIDE),
                ];
                for ((from, window), side) in windows {
                    let Some(window) = window else { continue };
                    assert!(from < near && near < from + side as u16 - 1);
                    let ends = [from + 1, (from + side as u16 - 2).min(span.1)];
                    for raw in (1..4000u16).filter(|raw| window.holds(&[*raw, *raw])) {
                        inside += 1;
                        for (gain, offset) in table.gain_q14.iter().zip(table.offset) {
                            let counts =
                                crate::fixedpoint::two_point_q14_round(raw, *gain, *offset);
                            for end in ends {
                                let apart = low.code(counts).abs_diff(high.code(end));
                                assert!(apart <= dispute_k32, "{end} and {raw}: {apart}");
                            }
                        }
                    }
                }
            }
        }
        assert!(inside > 1000, "{inside}");
    }
}
