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

use crate::fixedpoint::{count_u32, edge_code, index_shift_floor, index_u16, wrapped_cell};
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

/// First code of the zone with the finest bins, and the first above it.
pub(crate) const FINE: core::ops::Range<u16> = ZONES[1].from..ZONES[2].from;

/// Cells of the quick histograms; both wrap round.
const FINE_CELLS: usize = 1024;
const COARSE_CELLS: usize = 2048;
/// Counters a fine cell has, used in turn. Where loads wait for stores, two neighbours in one bin
/// would otherwise wait for each other; Cortex-M does not wait.
const BANKS: usize = if cfg!(target_arch = "arm") { 1 } else { 2 };

/// Counts of pixels whose zone is known for many at once: no zone is looked for.
#[derive(Clone, Debug)]
pub(crate) struct QuickCounts {
    /// By quarters of a kelvin; only codes of [`FINE`].
    fine: [[u32; FINE_CELLS]; BANKS],
    /// By kelvins; only codes above [`FINE`].
    coarse: [u32; COARSE_CELLS],
    has_fine: bool,
    has_coarse: bool,
}

impl QuickCounts {
    /// Counts a code of [`FINE`]; `turn` is any number that changes from pixel to pixel.
    #[inline(always)]
    pub(crate) fn add_fine(&mut self, code: u16, turn: usize) {
        const _: () = assert!(BANKS.is_power_of_two() && FINE_CELLS * 8 > 13_824 - 7680);
        self.fine[turn & (BANKS - 1)][wrapped_cell(code, ZONES[1].shift, FINE_CELLS)] += 1;
    }

    /// Counts a code above [`FINE`].
    #[inline(always)]
    pub(crate) fn add_coarse(&mut self, code: u16) {
        self.coarse[wrapped_cell(code, ZONES[2].shift, COARSE_CELLS)] += 1;
    }

    /// Says that codes were counted by kelvins, else by quarters.
    pub(crate) fn note(&mut self, is_coarse: bool) {
        if is_coarse {
            self.has_coarse = true;
        } else {
            self.has_fine = true;
        }
    }
}

/// What one frame's temperatures look like.
#[derive(Clone, Debug)]
pub(crate) struct Statistics {
    /// Complete after [`Self::gather`].
    pub(crate) histogram: [u32; BINS],
    pub(crate) quick: QuickCounts,
    pub(crate) valid: u32,
    pub(crate) above_watched: u32,
    pub(crate) hottest: Option<Spot>,
    pub(crate) coldest: Option<Spot>,
}

impl Statistics {
    pub(crate) const fn new() -> Self {
        Self {
            histogram: [0; BINS],
            quick: QuickCounts {
                fine: [[0; FINE_CELLS]; BANKS],
                coarse: [0; COARSE_CELLS],
                has_fine: false,
                has_coarse: false,
            },
            valid: 0,
            above_watched: 0,
            hottest: None,
            coldest: None,
        }
    }

    pub(crate) fn clear(&mut self) {
        // Counts of a frame that was not ended are dropped.
        self.gather();
        self.histogram.fill(0);
        self.valid = 0;
        self.above_watched = 0;
        self.hottest = None;
        self.coldest = None;
    }

    /// Moves the quick counts into the histogram.
    pub(crate) fn gather(&mut self) {
        if core::mem::take(&mut self.quick.has_fine) {
            let first = ZONES[1].first;
            let bins = self
                .histogram
                .iter_mut()
                .skip(first)
                .take(ZONES[2].first - first);
            for (cell, bin) in (0..).zip(bins) {
                let at = (cell + index_shift_floor(FINE.start, ZONES[1].shift)) & (FINE_CELLS - 1);
                for bank in &mut self.quick.fine {
                    *bin += core::mem::take(&mut bank[at]);
                }
            }
        }
        if core::mem::take(&mut self.quick.has_coarse) {
            let first = index_shift_floor(ZONES[2].from, ZONES[2].shift);
            for (cell, count) in self.quick.coarse.iter_mut().enumerate().skip(first) {
                let code = edge_code(0, cell, ZONES[2].shift);
                if *count > 0
                    && let Some(bin) = self.histogram.get_mut(bin_of(edge_below(code)))
                {
                    *bin += core::mem::take(count);
                }
            }
        }
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
        let missing = self.count_general(temperature);
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
    pub(crate) fn count_general(&mut self, temperature: &[u16]) -> u32 {
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

/// A code below 65,536 as 16 bits.
fn edge_below(edge: u32) -> u16 {
    u16::try_from(edge).unwrap_or(u16::MAX)
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
    fn quick_counts_fall_into_the_same_bins() {
        let (mut quick, mut general) = (Statistics::new(), Statistics::new());
        for code in FINE {
            quick.quick.add_fine(code, usize::from(code));
            quick.quick.note(false);
        }
        for code in FINE.end..=u16::MAX {
            quick.quick.add_coarse(code);
            quick.quick.note(true);
        }
        for code in FINE.start..=u16::MAX {
            general.count_general(&[code]);
        }
        quick.gather();
        assert_eq!(quick.histogram, general.histogram);
        quick.gather();
        assert_eq!(quick.histogram, general.histogram);
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
