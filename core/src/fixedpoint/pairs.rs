//! Pairs: two 16-bit numbers in one word, asked together whether they lie in a window.

use core::num::NonZeroU16;

/// One in each half of a word.
const BOTH: u32 = 0x0001_0001;
/// Where two numbers a word are cheaper than a number a lane.
const HAS_PAIRS: bool = cfg!(target_arch = "arm");

/// A window of 16-bit numbers as wide as a power of two.
///
/// A number's distance from its lower end has a bit above the width exactly if the number lies
/// outside: below the window the distance wraps past the top. Of two numbers in one word only a
/// number outside borrows from the other half, and it is told anyway.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    from: u16,
    /// Bits that only the distance of a number outside has.
    outside: NonZeroU16,
}

impl Window {
    /// The 32,768 numbers from `from` on, if there are so many.
    #[inline]
    pub(crate) const fn at_least(from: u16) -> Option<Self> {
        match NonZeroU16::new(0x8000) {
            Some(outside) if from <= 0x8000 => Some(Self { from, outside }),
            _ => None,
        }
    }

    /// The widest window in the middle of the numbers from `least` to `most`; none if there is no
    /// number between them, or one above 32,767.
    #[inline]
    pub(crate) const fn inside((least, most): (u16, u16)) -> Option<Self> {
        if least > most || most > 0x7FFF {
            return None;
        }
        let numbers = most.saturating_sub(least).saturating_add(1);
        let width = 1u16 << numbers.ilog2();
        match NonZeroU16::new(!(width - 1)) {
            Some(outside) => Some(Self {
                from: least.saturating_add(numbers.saturating_sub(width) / 2),
                outside,
            }),
            None => None,
        }
    }

    /// Whether all of some numbers, of which there is an even number, lie inside.
    #[inline(always)]
    pub(crate) fn holds(self, numbers: &[u16]) -> bool {
        let apart = if HAS_PAIRS {
            let from = self.from as u32 * BOTH;
            let apart = numbers
                .as_chunks::<2>()
                .0
                .iter()
                .fold(0, |apart, [a, b]| apart | pair(*a, *b).wrapping_sub(from));
            (apart | apart >> 16) as u16
        } else {
            numbers
                .iter()
                .fold(0, |apart, number| apart | number.wrapping_sub(self.from))
        };
        apart & self.outside.get() == 0
    }
}

/// Two neighbours in one word.
#[inline(always)]
const fn pair(a: u16, b: u16) -> u32 {
    a as u32 | (b as u32) << 16
}

#[cfg(test)]
mod tests {
    use super::*;

    const CORNERS: [u16; 18] = [
        0, 1, 2, 9, 10, 11, 99, 100, 101, 16_383, 16_384, 32_766, 32_767, 32_768, 32_769, 49_151,
        65_534, 65_535,
    ];

    #[test]
    fn a_window_holds_its_numbers_and_no_other_in_both_halves() {
        let mut windows = std::vec::Vec::from([(Window::at_least(10).unwrap(), 10u32..32_778)]);
        windows.push((Window::at_least(32_768).unwrap(), 32_768..65_536));
        for least in CORNERS {
            for most in CORNERS {
                let Some(window) = Window::inside((least, most)) else {
                    assert!(least > most || most > 32_767);
                    continue;
                };
                let width = 1 << (u32::from(most - least) + 1).ilog2();
                let from = u32::from(window.from);
                assert!(from >= u32::from(least) && from + width <= u32::from(most) + 1);
                windows.push((window, from..from + width));
            }
        }
        for (window, numbers) in windows {
            let ends = [
                numbers.start.wrapping_sub(1),
                numbers.start,
                numbers.end - 1,
                numbers.end,
            ];
            let ends = ends.map(|end| end as u16);
            for a in CORNERS.into_iter().chain(ends) {
                for b in CORNERS.into_iter().chain(ends) {
                    let inside = |x: u16| numbers.contains(&u32::from(x));
                    assert_eq!(
                        window.holds(&[a, b]),
                        inside(a) && inside(b),
                        "{a} and {b} in {numbers:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn one_number_outside_is_not_forgotten() {
        assert!(Window::at_least(32_769).is_none());
        let window = Window::at_least(20).unwrap();
        assert!(window.holds(&[20, 30, 40, 50]));
        assert!(!window.holds(&[20, 19, 40, 50]) && !window.holds(&[20, 30, 19, 50]));
    }
}
