//! Shades: the frame's grey by temperature, tabulated.
//!
//! **Purpose.** One load in place of a scale's clamps, product and rounding. **Input**: the frame's
//! scale. **Output**: 8-bit grey, the same for every code as the scale's own. **Latency**: none.
//! **Memory**: 16 KiB, made when a frame begins; a scale that did not move is not made again.
//! **Limits**: a linear scale of up to 511 K; a wider one, or one with a curve, is computed pixel by
//! pixel.

use crate::fixedpoint::{Thresholds, cell_of, codes_above, q13_to_code_floor};
use crate::stage::scale::GreyLaw;

/// Codes that the table covers.
const CELLS: usize = 16_384;

/// Grey by temperature code, of one frame.
#[derive(Clone, Debug)]
pub(crate) struct Shades {
    table: [u8; CELLS],
    base: u16,
    made_for: Option<GreyLaw>,
}

impl Shades {
    pub(crate) const fn new() -> Self {
        Self {
            table: [0; CELLS],
            base: 0,
            made_for: None,
        }
    }

    /// Makes the table of a frame.
    pub(crate) fn make(&mut self, law: GreyLaw) {
        if self.made_for == Some(law) {
            return;
        }
        let (low_q13, slope_q24) = (law.low_q13(), law.slope_q24());
        let base = q13_to_code_floor(low_q13);
        // The last cell must lie at or above the end, because it stands for all above it.
        self.made_for = None;
        if !law.is_linear() || codes_above(low_q13, law.span_q13(), base) >= CELLS {
            return;
        }
        self.base = base;
        let mut thresholds = Thresholds::new(slope_q24);
        let (mut rest, mut done) = (&mut self.table[..], 0);
        for grey in 0..255 {
            // Beyond the end nothing rises; rounding of the slope alone could ask for more.
            let distance = thresholds.distance();
            if distance > law.span_q13() {
                rest.fill(grey);
                self.made_for = Some(law);
                return;
            }
            let until = codes_above(low_q13, distance, base);
            let (run, behind) = rest.split_at_mut((until - done).min(rest.len()));
            run.fill(grey);
            (rest, done) = (behind, until);
            thresholds.advance();
        }
        rest.fill(255);
        self.made_for = Some(law);
    }

    /// The table, if the frame's scale has one.
    #[inline]
    pub(crate) fn ready(&self) -> Option<Ready<'_>> {
        self.made_for.is_some().then_some(Ready {
            table: &self.table,
            base: self.base,
        })
    }
}

/// A table that holds the frame's greys.
#[derive(Clone, Copy)]
pub(crate) struct Ready<'s> {
    table: &'s [u8; CELLS],
    base: u16,
}

impl Ready<'_> {
    /// Grey of a code.
    #[inline(always)]
    pub(crate) fn grey(self, code: u16) -> u8 {
        self.table[cell_of(code, self.base, CELLS)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixedpoint::grey_q8_to_u8_round;

    #[test]
    fn every_code_has_the_scale_s_own_grey() {
        let mut shades = std::boxed::Box::new(Shades::new());
        let ends = [
            (0, 64 << 8),
            (9000 << 8, 10_000 << 8),
            ((9000 << 8) + 1, (9064 << 8) + 77),
            ((9333 << 8) + 200, (9333 << 8) + 200 + 16_384),
            ((8000 << 8) + 129, (24_380 << 8) + 3),
            (1 << 8, 16_382 << 8),
            (65_000 << 8, 66_000 << 8),
            ((300 << 8) + 255, (16_383 << 8) + 13_131),
        ];
        for (low, high) in ends {
            let law = GreyLaw::linear_between(low, high);
            shades.make(law);
            let ready = shades.ready().unwrap();
            for code in 0..=u16::MAX {
                assert_eq!(
                    ready.grey(code),
                    grey_q8_to_u8_round(law.linear(code)),
                    "{code} between {low} and {high}"
                );
            }
        }
    }

    #[test]
    fn a_scale_too_wide_has_no_table() {
        let mut shades = std::boxed::Box::new(Shades::new());
        shades.make(GreyLaw::linear_between(0, 64 << 8));
        shades.make(GreyLaw::linear_between(100 << 8, 20_000 << 8));
        assert!(shades.ready().is_none());
    }
}
