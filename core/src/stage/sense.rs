//! Sense: the correction of 32 neighbouring samples of one gain state together.
//!
//! **Purpose.** The common case of [`correct`](super::correct), without a question a sample.
//! **Input**: raw counts and correction of 32 samples. **Output**: their places among cells.
//!
//! The counts are exact where they lie between two bounds, because correction never falls. Let a dead
//! sample give at most D counts, and a saturated one at least S, over all gains and offsets of the
//! table. Counts above D and below S then come from a valid sample, and no clamp has touched them.
//! Only such counts are ever met ([`cells`](super::cells)); whoever finds a cell that is not met
//! computes those samples one by one.

use crate::calibration::Calibration;
use crate::fixedpoint::{CELLS, index_u16, place_start, two_point_place, two_point_q14_round};
use crate::stage::correct::Correction;

/// Samples taken together.
pub(crate) const CHUNK: usize = 32;
/// The gain that changes nothing, Q14.
const UNIT: u16 = 1 << 14;
const UNIT_GAINS: [u16; CHUNK] = [UNIT; CHUNK];
const NO_OFFSETS: [i16; CHUNK] = [0; CHUNK];
/// Least and greatest gain and offset of a correction table.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reach {
    gain: (u16, u16),
    offset: (i16, i16),
}

impl Reach {
    /// Of a table, or of its absence.
    pub(crate) fn of(table: Option<Correction<'_>>) -> Self {
        let Some(table) = table else {
            return Self {
                gain: (UNIT, UNIT),
                offset: (0, 0),
            };
        };
        Self {
            gain: table
                .gain_q14
                .iter()
                .fold((u16::MAX, 0), |(least, most), &gain| {
                    (least.min(gain), most.max(gain))
                }),
            offset: table
                .offset
                .iter()
                .fold((i16::MAX, i16::MIN), |(least, most), &offset| {
                    (least.min(offset), most.max(offset))
                }),
        }
    }

    /// Least and greatest corrected counts of a raw count.
    pub(crate) fn corrected(self, raw: u16) -> (u16, u16) {
        (
            two_point_q14_round(raw, self.gain.0, self.offset.0),
            two_point_q14_round(raw, self.gain.1, self.offset.1),
        )
    }
}

/// Counts, of 14 bits, that only a valid sample can have: from the first to the second.
pub(crate) fn sure_counts(calibration: &Calibration, reach: Reach) -> (u16, u16) {
    let dead = reach.corrected(0).1;
    let saturated = reach.corrected(calibration.saturation()).0;
    let top = index_u16(CELLS - 1);
    (dead.saturating_add(1), saturated.min(top).saturating_sub(1))
}

/// Raw counts of 32 samples and their correction.
#[derive(Clone, Copy)]
pub(crate) struct Samples<'s> {
    pub(crate) raw: &'s [u16; CHUNK],
    pub(crate) gain: &'s [u16; CHUNK],
    pub(crate) offset: &'s [i16; CHUNK],
}

impl<'s> Samples<'s> {
    /// With the correction that changes nothing.
    pub(crate) const fn uncorrected(raw: &'s [u16; CHUNK]) -> Self {
        Self {
            raw,
            gain: &UNIT_GAINS,
            offset: &NO_OFFSETS,
        }
    }
}

/// Counts of one sample of 32, clamped to 14 bits.
#[inline]
pub(crate) fn correct_at(samples: Samples<'_>, i: usize) -> u16 {
    let i = i & (CHUNK - 1);
    two_point_place::<CELLS>(
        samples.raw[i],
        samples.gain[i],
        samples.offset[i],
        place_start(0),
    )
}

/// Counts of 32 samples, clamped to 14 bits.
pub(crate) fn correct(samples: Samples<'_>) -> [u16; CHUNK] {
    core::array::from_fn(|i| correct_at(samples, i))
}

/// Does `$body` for every place of a chunk, as a number `$at` among `SIDE` cells the first of which made
/// `$start` ([`place_start`]); counts beyond those cells stand at the first place or the last. `$body`
/// gathers bits in `$bits`, and `$after` looks at those of two pixels or more.
///
/// On Cortex-M every sample is corrected when its cell is wanted, nothing of the next pixel comes
/// before, and `$i` is a constant: it has few registers, and a loop over so many planes would cost as
/// much as what is done in it. Elsewhere 32 samples are corrected in lanes.
macro_rules! for_each_place {
    ($side:ident, $samples:expr, $start:expr, |$i:ident, $at:ident, $bits:ident| $body:expr, $after:expr) => {
        let Samples { raw, gain, offset } = $samples;
        let place = |i: usize| two_point_place::<$side>(raw[i], gain[i], offset[i], $start);
        if cfg!(target_arch = "arm") {
            for_each_place!(place, $side, $i, $at, $bits, $body, $after; 0 1, 2 3, 4 5, 6 7, 8 9,
                10 11, 12 13, 14 15, 16 17, 18 19, 20 21, 22 23, 24 25, 26 27, 28 29, 30 31);
        } else {
            let mut places = [0; CHUNK];
            for i in 0..CHUNK {
                places[i] = place(i);
            }
            let mut $bits = 0;
            for $i in 0..CHUNK {
                let $at = usize::from(places[$i]) & ($side - 1);
                $body
            }
            let $i = CHUNK - 1;
            $after
        }
    };
    ($place:ident, $side:ident, $i:ident, $at:ident, $bits:ident, $body:expr, $after:expr;
        $($first:literal $second:literal),*) => {
        $(
            let mut $bits = 0;
            let $i: usize = $first;
            let $at = usize::from($place($i)) & ($side - 1);
            $body
            compiler_fence(Ordering::SeqCst);
            let $i: usize = $second;
            let $at = usize::from($place($i)) & ($side - 1);
            $body
            compiler_fence(Ordering::SeqCst);
            $after
        )*
    };
}
pub(crate) use for_each_place;

/// Least and greatest of 32 counts.
pub(crate) fn extremes(counts: &[u16; CHUNK]) -> (u16, u16) {
    counts.iter().fold((u16::MAX, 0), |(least, most), &count| {
        (least.min(count), most.max(count))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: the sum in 64 bits, from the definition of two-point correction.
    #[test]
    fn places_are_exact_and_what_wraps_is_no_valid_count() {
        let raws = [
            0u16, 1, 5000, 16_383, 16_384, 32_767, 32_768, 49_152, 65_534, 65_535,
        ];
        let gains = [0u16, 1, 8192, 16_384, 20_000, 32_768, 65_534, 65_535];
        let offsets = [i16::MIN, -5000, -1, 0, 1, 60, 5000, i16::MAX];
        for (raw, gain) in raws
            .into_iter()
            .flat_map(|raw| gains.map(|gain| (raw, gain)))
        {
            for (offset, from) in offsets
                .into_iter()
                .flat_map(|o| [0u16, 64, 15_872].map(|f| (o, f)))
            {
                let counts = (i64::from(raw) * i64::from(gain) + 8192).div_euclid(16_384)
                    + i64::from(offset);
                let exact = |side: i64| (counts - i64::from(from)).clamp(0, side - 1);
                let start = place_start(from);
                let places = [
                    (
                        two_point_place::<CELLS>(raw, gain, offset, start),
                        exact(16_384),
                    ),
                    (two_point_place::<512>(raw, gain, offset, start), exact(512)),
                ];
                for (place, exact) in places {
                    // A dead sample gives its offset at least: no valid count is below.
                    let is_no_count =
                        i64::from(place) <= (i64::from(offset) - i64::from(from)).max(0);
                    assert!(
                        i64::from(place) == exact || (raw > 16_383 && is_no_count),
                        "{raw} * {gain} + {offset} from {from}: {place}, not {exact}"
                    );
                }
            }
        }
    }
}
