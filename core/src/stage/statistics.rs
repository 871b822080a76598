//! Statistics: what one frame's temperatures look like.
//!
//! **Purpose.** Histogram, extremes and counts for the scale control. **Input**: temperature codes.
//! **Output**: statistics. **Latency**: the frame after uses them. **Memory**: one counter a bin.
//!
//! | from (K) | to (K) | bin (K) | bins |
//! | --- | --- | --- | --- |
//! | 0 | 240 | 8 | 30 |
//! | 240 | 432 | 0.25 | 768 |
//! | 432 | 624 | 1 | 192 |
//! | 624 | 2048 | 8 | 178 |

use crate::fixedpoint::{count_u32, edge_code, index_shift_floor, index_u16};
use crate::record::Spot;
use crate::units::Temperature;

/// Bins of the histogram.
pub const BINS: usize = 1168;

struct Zone {
    from: u16,
    first: usize,
    shift: u32,
}

const ZONES: [Zone; 4] = [
    Zone {
        from: 0,
        first: 0,
        shift: 8,
    },
    Zone {
        from: 7680,
        first: 30,
        shift: 3,
    },
    Zone {
        from: 13_824,
        first: 798,
        shift: 5,
    },
    Zone {
        from: 19_968,
        first: 990,
        shift: 8,
    },
];

const fn zone_of_code(code: u16) -> &'static Zone {
    // The fine zone first: nearly every pixel of a room lies there.
    if code.wrapping_sub(ZONES[1].from) < ZONES[2].from - ZONES[1].from {
        &ZONES[1]
    } else if code < ZONES[1].from {
        &ZONES[0]
    } else if code < ZONES[3].from {
        &ZONES[2]
    } else {
        &ZONES[3]
    }
}

const fn zone_of_bin(bin: usize) -> &'static Zone {
    if bin < ZONES[1].first {
        &ZONES[0]
    } else if bin < ZONES[2].first {
        &ZONES[1]
    } else if bin < ZONES[3].first {
        &ZONES[2]
    } else {
        &ZONES[3]
    }
}

/// Gives the bin that holds a temperature code.
#[inline]
#[must_use]
pub const fn bin_of(code: u16) -> usize {
    let zone = zone_of_code(code);
    zone.first + index_shift_floor(code - zone.from, zone.shift)
}

/// Gives the lower edge of a bin as a code; of bin [`BINS`], 65,536.
#[must_use]
pub const fn edge_of(bin: usize) -> u32 {
    let zone = zone_of_bin(bin);
    edge_code(zone.from as u32, bin - zone.first, zone.shift)
}

/// Gives the width of a bin as a power of two, in codes.
#[inline]
#[must_use]
pub const fn width_shift(bin: usize) -> u32 {
    zone_of_bin(bin).shift
}

/// What one frame's temperatures look like.
#[derive(Clone, Debug)]
pub(crate) struct Statistics {
    pub(crate) histogram: [u32; BINS],
    pub(crate) valid: u32,
    pub(crate) above_watched: u32,
    pub(crate) hottest: Option<Spot>,
    pub(crate) coldest: Option<Spot>,
}

impl Statistics {
    pub(crate) const fn new() -> Self {
        Self {
            histogram: [0; BINS],
            valid: 0,
            above_watched: 0,
            hottest: None,
            coldest: None,
        }
    }

    pub(crate) fn clear(&mut self) {
        self.histogram.fill(0);
        self.valid = 0;
        self.above_watched = 0;
        self.hottest = None;
        self.coldest = None;
    }

    /// Coldest and hottest code so far; an empty interval before the first one.
    pub(crate) fn range(&self) -> (u16, u16) {
        match (self.coldest, self.hottest) {
            (Some(coldest), Some(hottest)) => {
                (coldest.temperature.to_bits(), hottest.temperature.to_bits())
            }
            _ => (u16::MAX, 0),
        }
    }

    /// Takes in a row, or a part of one from column `x`; `watched` is the whole-frame plan's
    /// temperature.
    pub(crate) fn add_row(
        &mut self,
        (x, y): (u16, u16),
        temperature: &[u16],
        watched: Option<Temperature>,
    ) {
        let (bottom, top) = extremes(temperature);
        let missing = self.count(temperature);
        let valid = count_u32(temperature.len()) - missing;
        self.valid += valid;
        if valid == 0 {
            return;
        }
        if let Some(watched) = watched {
            self.add_watched(temperature, watched);
        }
        self.add_extremes((x, y), temperature, (bottom, top));
    }

    /// Counts codes of any zone; gives how many are no sample.
    pub(crate) fn count(&mut self, temperature: &[u16]) -> u32 {
        let mut missing = 0;
        for &code in temperature {
            if code == 0 {
                missing += 1;
            } else if let Some(count) = self.histogram.get_mut(bin_of(code)) {
                *count += 1;
            }
        }
        missing
    }

    /// Counts codes above the watched temperature.
    pub(crate) fn add_watched(&mut self, temperature: &[u16], watched: Temperature) {
        let above = temperature
            .iter()
            .filter(|code| **code > watched.to_bits())
            .count();
        self.above_watched += count_u32(above);
    }

    /// Takes in the coldest and the hottest of some codes, of which one at least is valid.
    pub(crate) fn add_extremes(
        &mut self,
        (x, y): (u16, u16),
        temperature: &[u16],
        (bottom, top): (u16, u16),
    ) {
        let (coldest, hottest) = self.range();
        let spot = |code: u16| Spot {
            temperature: Temperature::from_bits(code),
            x: x + index_u16(temperature.iter().position(|c| *c == code).unwrap_or(0)),
            y,
        };
        if top > hottest {
            self.hottest = Some(spot(top));
        }
        if bottom < coldest || self.coldest.is_none() {
            self.coldest = Some(spot(bottom));
        }
    }
}

/// Coldest valid and hottest of some codes; code 0 is no sample. If none is valid: 65,535 and 0.
pub(crate) fn extremes(temperature: &[u16]) -> (u16, u16) {
    let top = temperature.iter().copied().fold(0, u16::max);
    // Code 0, no sample, wraps to the top and so is never the coldest.
    let bottom = temperature
        .iter()
        .fold(u16::MAX, |b, code| b.min(code.wrapping_sub(1)));
    (bottom.saturating_add(1), top)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_lies_in_its_bin() {
        for code in 0..=u16::MAX {
            let bin = bin_of(code);
            assert!(
                edge_of(bin) <= u32::from(code) && u32::from(code) < edge_of(bin + 1),
                "{code}"
            );
        }
        assert_eq!(bin_of(u16::MAX), BINS - 1);
        assert_eq!(edge_of(BINS), 65_536);
    }

    #[test]
    fn bins_are_as_fine_as_stated() {
        for bin in 0..BINS {
            let width = edge_of(bin + 1) - edge_of(bin);
            assert_eq!(width, 1 << width_shift(bin));
            let kelvin = edge_of(bin) / 32;
            if (250..425).contains(&kelvin) {
                assert!(width < 16, "finer than 0.5 K at {kelvin} K");
            }
            assert!(width <= 256, "at most 8 K at {kelvin} K");
        }
    }

    #[test]
    fn extremes_are_the_first_in_row_order() {
        let mut seen = Statistics::new();
        seen.add_row(
            (0, 0),
            &[500, 0, 700, 700],
            Some(Temperature::from_bits(600)),
        );
        seen.add_row(
            (0, 1),
            &[700, 500, 499, 0],
            Some(Temperature::from_bits(600)),
        );
        let hottest = seen.hottest.unwrap();
        assert_eq!(
            (hottest.temperature.to_bits(), hottest.x, hottest.y),
            (700, 2, 0)
        );
        let coldest = seen.coldest.unwrap();
        assert_eq!(
            (coldest.temperature.to_bits(), coldest.x, coldest.y),
            (499, 2, 1)
        );
        assert_eq!((seen.valid, seen.above_watched), (6, 3));
    }
}
