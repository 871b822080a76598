//! Calibration of one gain state: a monotone table from counts to apparent temperature.
//!
//! The table has 257 knots at equal distances of `2^shift` counts, so a look-up is one shift and one
//! interpolation. `shift` 6 covers 14-bit counts, 7 covers 15 bits, 8 covers 16 bits.

use core::fmt;

use crate::fixedpoint;
use crate::units::Temperature;

/// Knots of a table.
pub const KNOTS: usize = 257;

/// A monotone table from counts to apparent temperature.
///
/// ```
/// use glowsill_core::calibration::Calibration;
/// assert_eq!(Calibration::identity().temperature(9600).to_millikelvin(), 300_000);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calibration {
    shift: u8,
    saturation: u16,
    /// Per knot its code and the rise to the next one, packed so that a look-up is one load.
    knots: [Knot; KNOTS],
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Knot {
    code: u16,
    rise: u16,
}

fn with_rises(codes: [u16; KNOTS]) -> [Knot; KNOTS] {
    core::array::from_fn(|i| {
        let code = codes[i];
        // The last knot has nothing to rise to: counts beyond the table stay on it.
        let rise = codes.get(i + 1).map_or(0, |next| next.saturating_sub(code));
        Knot { code, rise }
    })
}

/// Why a table is not a calibration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum CalibrationError {
    /// `shift` is not 6, 7 or 8.
    Shift {
        /// The value given.
        value: u8,
    },
    /// The temperature falls from one knot to the next.
    Falls {
        /// Index of the lower of the two knots.
        knot: u16,
        /// Its temperature.
        from: Temperature,
        /// The next one's.
        to: Temperature,
    },
    /// The saturation count is 0 or beyond the table.
    Saturation {
        /// The value given.
        value: u16,
        /// Greatest allowed value.
        max: u16,
    },
}

impl fmt::Display for CalibrationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Shift { value } => write!(f, "calibration shift {value} is outside 6 to 8"),
            Self::Falls { knot, from, to } => write!(
                f,
                "calibration falls after knot {knot}: {} mK, then {} mK; it must not fall",
                from.to_millikelvin(),
                to.to_millikelvin()
            ),
            Self::Saturation { value, max } => {
                write!(f, "saturation count {value} is outside 1 to {max}")
            }
        }
    }
}

impl core::error::Error for CalibrationError {}

impl Calibration {
    /// Checks a table. `saturation` is the raw count from which a sample only means "at least".
    ///
    /// # Errors
    /// [`CalibrationError`] when the shift, the order of the knots or the saturation is impossible.
    pub fn new(
        shift: u8,
        knots: [Temperature; KNOTS],
        saturation: u16,
    ) -> Result<Self, CalibrationError> {
        if !(6..=8).contains(&shift) {
            return Err(CalibrationError::Shift { value: shift });
        }
        for (index, pair) in (0..KNOTS).zip(knots.windows(2)) {
            if let [from, to] = *pair
                && to < from
            {
                return Err(CalibrationError::Falls {
                    knot: fixedpoint::index_u16(index),
                    from,
                    to,
                });
            }
        }
        let max = fixedpoint::count_range_max(shift);
        if saturation == 0 || saturation > max {
            return Err(CalibrationError::Saturation {
                value: saturation,
                max,
            });
        }
        let knots = with_rises(knots.map(Temperature::to_bits));
        Ok(Self {
            shift,
            saturation,
            knots,
        })
    }

    /// The table of a recording that is already in temperature: counts are codes of 1/32 K.
    #[must_use]
    pub fn identity() -> Self {
        let knots = with_rises(core::array::from_fn(fixedpoint::identity_knot));
        Self {
            shift: 8,
            saturation: u16::MAX,
            knots,
        }
    }

    /// Raw count from which a sample is saturated.
    #[must_use]
    pub const fn saturation(&self) -> u16 {
        self.saturation
    }

    /// Distance of the knots as a power of two.
    #[must_use]
    pub const fn shift(&self) -> u8 {
        self.shift
    }

    /// The knots' temperatures.
    #[must_use]
    pub fn knots(&self) -> [Temperature; KNOTS] {
        self.knots.map(|knot| Temperature::from_bits(knot.code))
    }

    /// Codes of the first knot and of the last one.
    pub(crate) const fn ends(&self) -> (u16, u16) {
        (self.knots[0].code, self.knots[KNOTS - 1].code)
    }

    /// Gives the apparent temperature of corrected counts; beyond the table, the last knot's.
    #[must_use]
    pub fn temperature(&self, counts: u16) -> Temperature {
        Temperature::from_bits(self.code(counts))
    }

    /// Codes of the 64 counts from a knot of a 14-bit table on, one after the other.
    #[inline]
    pub(crate) fn block(&self, knot: usize) -> fixedpoint::Rise {
        let Knot { code, rise } = self.knots[knot.min(KNOTS - 1)];
        fixedpoint::Rise::new(code, rise)
    }

    /// As [`Self::temperature`], as the code; at least 1, because 0 means "no sample".
    #[inline]
    pub(crate) fn code(&self, counts: u16) -> u16 {
        let (index, fraction) = fixedpoint::split_knot(counts, self.shift);
        let knot = self.knots[index.min(KNOTS - 1)];
        fixedpoint::rise_shift_round(knot.code, knot.rise, fraction, self.shift).max(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_gives_every_code_back() {
        let identity = Calibration::identity();
        for code in 1..65_281u16 {
            assert_eq!(identity.temperature(code).to_bits(), code);
        }
        // The last knot is one code short of 2,048 K.
        for code in 65_281..=u16::MAX {
            assert!(identity.temperature(code).to_bits().abs_diff(code) <= 1);
        }
    }

    #[test]
    fn interpolation_is_monotone_and_meets_the_knots() {
        let knots = core::array::from_fn(|i| Temperature::from_bits((i * i / 2 + 7000) as u16));
        let table = Calibration::new(6, knots, 16_383).unwrap();
        for (i, knot) in knots.iter().enumerate().take(256) {
            assert_eq!(table.temperature((i * 64) as u16), *knot);
        }
        for counts in 1..=u16::MAX {
            assert!(table.temperature(counts) >= table.temperature(counts - 1));
        }
        assert_eq!(table.temperature(u16::MAX), knots[256]);
    }

    #[test]
    fn a_block_gives_what_each_count_gives() {
        let knots = core::array::from_fn(|i| {
            Temperature::from_bits(if i < 100 {
                i * i
            } else {
                9_801 + (i - 99) * 354
            } as u16)
        });
        let table = Calibration::new(6, knots, 1000).unwrap();
        for knot in 0..256 {
            let mut block = table.block(knot);
            for place in 0..64 {
                let counts = (knot * 64) as u16 + place;
                assert_eq!(block.code(), table.code(counts), "{counts}");
                let last = table.block(knot).ahead(u32::from(place));
                assert_eq!(last, table.code(counts), "{counts}");
                block.pass(1);
            }
        }
    }

    #[test]
    fn impossible_tables_are_named() {
        let rising: [Temperature; KNOTS] =
            core::array::from_fn(|i| Temperature::from_bits(i as u16 + 1));
        assert_eq!(
            Calibration::new(5, rising, 1),
            Err(CalibrationError::Shift { value: 5 })
        );
        assert_eq!(
            Calibration::new(6, rising, 16_384),
            Err(CalibrationError::Saturation {
                value: 16_384,
                max: 16_383
            })
        );
        let told = [
            (CalibrationError::Shift { value: 5 }, "5 is outside 6 to 8"),
            (
                CalibrationError::Saturation {
                    value: 16_384,
                    max: 16_383,
                },
                "16384 is outside 1 to 16383",
            ),
        ];
        for (error, words) in told {
            assert!(std::format!("{error}").contains(words), "{error}");
        }
        let mut falling = rising;
        falling[9] = Temperature::from_bits(3);
        assert!(matches!(
            Calibration::new(6, falling, 100),
            Err(CalibrationError::Falls { knot: 8, .. })
        ));
    }
}
