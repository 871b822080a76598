//! Pairs: two 16-bit numbers in one word, asked together whether they lie in a window.

/// One in each half of a word.
const BOTH: u32 = 0x0001_0001;
/// The top bit of each half.
const TOPS: u32 = 0x8000_8000;

/// Two neighbours in one word.
#[inline(always)]
const fn pair(a: u16, b: u16) -> u32 {
    a as u32 | (b as u32) << 16
}

/// An interval of 16-bit numbers, in the form that two numbers at a time are held against.
///
/// Sums do not carry from one half to the other while every number is below 32,768; a greater one
/// is seen by its own top bit and is outside every window.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    from: u16,
    to: u16,
    reach_from: u32,
    pass_to: u32,
}

impl Window {
    /// The interval from `from` to `to`, both inside; nothing above 32,767 is ever inside.
    #[inline]
    pub(crate) const fn new(from: u16, to: u16) -> Self {
        let from = if from > 0x8000 { 0x8000 } else { from };
        let to = if to > 0x7FFF { 0x7FFF } else { to };
        Self {
            from,
            to,
            reach_from: (0x8000 - from as u32) * BOTH,
            pass_to: (0x7FFF - to as u32) * BOTH,
        }
    }

    /// Its ends.
    #[inline]
    pub(crate) const fn ends(self) -> (u16, u16) {
        (self.from, self.to)
    }
}

/// Gathers whether every number of a row lies in a window.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Within {
    reached: u32,
    passed: u32,
}

impl Within {
    pub(crate) const NONE_SEEN: Self = Self {
        reached: TOPS,
        passed: 0,
    };

    /// Takes in two numbers.
    #[inline(always)]
    pub(crate) const fn see(&mut self, window: Window, a: u16, b: u16) {
        let word = pair(a, b);
        self.reached &= word.wrapping_add(window.reach_from);
        self.passed |= word | word.wrapping_add(window.pass_to);
    }

    /// Whether all of them were inside.
    #[inline]
    pub(crate) const fn all(self) -> bool {
        self.reached & !self.passed & TOPS == TOPS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn within(window: Window, a: u16, b: u16) -> bool {
        let mut within = Within::NONE_SEEN;
        within.see(window, a, b);
        within.all()
    }

    #[test]
    fn windows_are_exact_in_both_halves_and_at_every_corner() {
        let corners = [
            0u16, 1, 2, 99, 100, 101, 16_383, 16_384, 32_766, 32_767, 32_768, 32_769, 65_534,
            65_535,
        ];
        for from in corners {
            for to in corners {
                let window = Window::new(from, to);
                for a in corners {
                    for b in corners {
                        let inside = |x: u16| from <= x && x <= to && x < 32_768;
                        assert_eq!(
                            within(window, a, b),
                            inside(a) && inside(b),
                            "{a} and {b} in {from}..={to}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn one_number_outside_is_not_forgotten() {
        let window = Window::new(10, 20);
        let mut within = Within::NONE_SEEN;
        for (a, b) in [(10, 20), (15, 15), (20, 21), (12, 12)] {
            within.see(window, a, b);
        }
        assert!(!within.all());
    }
}
