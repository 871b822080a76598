//! Agreement: where low gain cannot dispute what high gain says.
//!
//! **Purpose.** Lets low gain be left alone where it has no say, without losing a dispute.
//! **Input**: temperatures that high gain gave. **Output**: a window of raw low counts within which no
//! pixel's two states differ by more than the dispute limit, whatever its gain and offset in the
//! table. **Memory**: 2 KiB, made once a session.

use crate::calibration::Calibration;
use crate::fixedpoint::{Window, page_128, page_bounds};
use crate::stage::sense::Reach;

/// Pages of 128 codes (4 K).
const PAGES: usize = 512;
/// Low gain may always dispute.
const NEVER: (u16, u16) = (u16::MAX, 0);

/// Raw low counts that agree with high gain, by pages of high-gain temperature.
#[derive(Clone, Debug)]
pub(crate) struct Agreement {
    /// Least and greatest raw count that agree with every code of the page.
    pages: [(u16, u16); PAGES],
    /// How far codes may lie from a guess so that a window remains: a quarter of the dispute limit.
    reach: u16,
}

impl Agreement {
    /// For a plan without two states.
    pub(crate) const fn none() -> Self {
        Self {
            pages: [NEVER; PAGES],
            reach: u16::MAX,
        }
    }

    /// For high-gain codes of up to `highest`; above it low gain is asked anyway.
    pub(crate) fn new(low: &Calibration, reach: Reach, dispute_k32: u16, highest: u16) -> Self {
        let mut this = Self {
            pages: [NEVER; PAGES],
            reach: dispute_k32 / 4,
        };
        let coldest = |raw| low.code(reach.corrected(raw).0);
        let hottest = |raw| low.code(reach.corrected(raw).1);
        // Both ends only rise from page to page.
        let last = low.saturation() - 1;
        let (mut least, mut most) = (1, 0);
        for (page, entry) in this
            .pages
            .iter_mut()
            .enumerate()
            .take(page_128(highest) + 1)
        {
            let (from, to) = page_bounds(page);
            least = first_from(least, last, |raw| {
                coldest(raw) >= to.saturating_sub(dispute_k32)
            });
            most = first_from(most, last, |raw| {
                hottest(raw.saturating_add(1)) > from.saturating_add(dispute_k32)
            });
            *entry = (least, most.min(last));
        }
        this
    }

    /// How far codes may lie from a guess.
    pub(crate) const fn reach(&self) -> u16 {
        self.reach
    }

    /// Window of raw low counts that agree with all codes from `from` to `to`.
    #[inline]
    pub(crate) fn window(&self, (from, to): (u16, u16)) -> Window {
        let (least, _) = self.pages[page_128(to)];
        let (_, most) = self.pages[page_128(from)];
        Window::new(least, most)
    }
}

/// Least number from `from` to `last` that something holds for, which then holds for all greater
/// ones; `last + 1` if there is none.
fn first_from(from: u16, last: u16, holds: impl Fn(u16) -> bool) -> u16 {
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
    fn nothing_inside_a_window_can_dispute_and_the_window_is_not_empty() {
        let knots = core::array::from_fn(|i| Temperature::from_bits((7000 + i * 100) as u16));
        let low = Calibration::new(6, knots, 16_000).unwrap();
        let table = Correction {
            gain_q14: &[16_000, 16_700],
            offset: &[-20, 20],
        };
        let reach = Reach::of(Some(table));
        let agreement = Agreement::new(&low, reach, 640, 12_100);
        let mut inside = 0;
        for code in (7000..12_100u16).step_by(3) {
            let (least, most) = agreement.window((code, code)).ends();
            for raw in (least..=most).step_by(7) {
                inside += 1;
                for gain in table.gain_q14 {
                    for offset in table.offset {
                        let counts = crate::fixedpoint::two_point_q14_round(raw, *gain, *offset);
                        let tl = low.code(counts);
                        assert!(tl.abs_diff(code) <= 640, "{code}: {raw} is {tl}");
                    }
                }
            }
        }
        assert!(inside > 1000, "{inside}");
        let (least, most) = agreement.window((13_000, 13_000)).ends();
        assert!(least > most);
    }
}
