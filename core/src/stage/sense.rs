//! Sense: the correction of 32 neighbouring samples of one gain state together.
//!
//! **Purpose.** The common case of [`correct`](super::correct), without a question a sample.
//! **Input**: raw counts and correction of 32 samples. **Output**: corrected counts, and an interval
//! that holds all of them.
//!
//! The counts are exact where the interval lies between two bounds, because correction never falls.
//! Let a dead sample give at most D counts, and a saturated one at least S, over all gains and offsets
//! of the table. Counts above D and below S then come from a valid sample, and no clamp has touched
//! them. Outside, they mean nothing; the caller computes those samples one by one.

use crate::calibration::Calibration;
use crate::fixedpoint::{CELLS, Window, Within, index_u16, two_point_14_bits, two_point_q14_round};
use crate::stage::correct::Correction;

/// Samples taken together.
pub(crate) const CHUNK: usize = 32;
/// The gain that changes nothing, Q14.
const UNIT: u16 = 1 << 14;
const UNIT_GAINS: [u16; CHUNK] = [UNIT; CHUNK];
const NO_OFFSETS: [i16; CHUNK] = [0; CHUNK];
/// Where a pair of samples is held against a window more cheaply than their extremes are found.
const HAS_PAIRS: bool = cfg!(target_arch = "arm");

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

/// Corrects 32 samples and gives an interval that holds all counts: the one expected if it does, or
/// else the least and the greatest.
#[inline(never)]
pub(crate) fn correct(
    samples: Samples<'_>,
    expected: (u16, u16),
    counts: &mut [u16; CHUNK],
) -> (u16, u16) {
    let window = Window::new(expected);
    let mut within = Within::NONE_SEEN;
    let (raws, _) = samples.raw.as_chunks::<4>();
    let (gains, _) = samples.gain.as_chunks::<4>();
    let (offsets, _) = samples.offset.as_chunks::<4>();
    let (outs, _) = counts.as_chunks_mut::<4>();
    for (((raw, gain), offset), out) in raws.iter().zip(gains).zip(offsets).zip(outs) {
        *out = core::array::from_fn(|i| two_point_14_bits(raw[i], gain[i], offset[i]));
        if HAS_PAIRS {
            within.see(window, out[0], out[1]);
            within.see(window, out[2], out[3]);
        }
    }
    if HAS_PAIRS && within.all() {
        expected
    } else {
        extremes(counts)
    }
}

/// Counts of one sample of 32, as [`correct`] gives them.
#[inline]
pub(crate) fn correct_at(samples: Samples<'_>, i: usize) -> u16 {
    let i = i & (CHUNK - 1);
    two_point_14_bits(samples.raw[i], samples.gain[i], samples.offset[i])
}

fn extremes(counts: &[u16; CHUNK]) -> (u16, u16) {
    counts.iter().fold((u16::MAX, 0), |(least, most), &count| {
        (least.min(count), most.max(count))
    })
}

/// Whether 32 raw counts all lie from the first to the second of two.
#[inline(never)]
pub(crate) fn raw_within(raw: &[u16; CHUNK], (from, to): (u16, u16)) -> bool {
    if HAS_PAIRS {
        let window = Window::new((from, to));
        let mut within = Within::NONE_SEEN;
        for [a, b] in raw.as_chunks::<2>().0 {
            within.see(window, *a, *b);
        }
        return within.all();
    }
    let (least, most) = extremes(raw);
    from <= least && most <= to
}
