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
/// A number outside makes the top bit of one of two differences: of its distance above the lower end,
/// or of its distance below the upper one. Only such a difference borrows from the other half.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    from: u32,
    to: u32,
}

impl Window {
    /// The interval from `from` to `to`, both inside; nothing above 32,767 is ever inside, and
    /// nothing at all if `from` lies above `to`.
    #[inline]
    pub(crate) const fn new((from, to): (u16, u16)) -> Self {
        let to = if to > 0x7FFF { 0x7FFF } else { to };
        // An interval without numbers: none is at least 1 and at most 0.
        let (from, to) = if from > to { (1, 0) } else { (from, to) };
        Self {
            from: from as u32 * BOTH,
            to: to as u32 * BOTH,
        }
    }
}

/// Gathers whether every number of a row lies in a window.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Within(u32);

impl Within {
    pub(crate) const NONE_SEEN: Self = Self(0);

    /// Takes in two numbers.
    #[inline(always)]
    pub(crate) const fn see(&mut self, window: Window, a: u16, b: u16) {
        let word = pair(a, b);
        self.0 |= word.wrapping_sub(window.from) | window.to.wrapping_sub(word);
    }

    /// Whether all of them were inside.
    #[inline]
    pub(crate) const fn all(self) -> bool {
        self.0 & TOPS == 0
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
                let window = Window::new((from, to));
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
        let window = Window::new((10, 20));
        let mut within = Within::NONE_SEEN;
        for (a, b) in [(10, 20), (15, 15), (20, 21), (12, 12)] {
            within.see(window, a, b);
        }
        assert!(!within.all());
    }
}
