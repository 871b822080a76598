//! Sense: correction and temperature of 32 neighbouring samples of one gain state together.
//!
//! **Purpose.** The common case of [`correct`](super::correct) and [`merge`](super::merge), without
//! a question a sample. **Input**: raw counts and correction of 32 samples. **Output**: temperature
//! codes, and whether all of them lie in a window of temperature.
//!
//! The answer is exact because correction and calibration never fall. Let a dead sample give at most
//! the code D, and a saturated one at least the code S, over all gains and offsets of the table. A code
//! above D and below S then comes from a valid sample, and no clamp has touched it. Codes outside that
//! interval mean nothing; the caller computes those samples one by one.

use crate::calibration::{Calibration, Line};
use crate::fixedpoint::{
    Window, Within, counts_in_table, knot_of, on_line, two_point_in_table, two_point_q14_round,
};
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

/// What is known of one gain state before any sample.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sense<'a> {
    lines: &'a [Line; 256],
    shift: u8,
    /// Codes that only a valid sample can have.
    from: u16,
    to: u16,
}

impl<'a> Sense<'a> {
    pub(crate) fn new(calibration: &'a Calibration, reach: Reach) -> Self {
        let dead = calibration.code(reach.corrected(0).1);
        let saturated = reach
            .corrected(calibration.saturation())
            .0
            .min(counts_in_table(calibration.shift()));
        Self {
            lines: calibration.lines(),
            shift: calibration.shift(),
            from: dead.saturating_add(1),
            to: calibration.code(saturated).saturating_sub(1),
        }
    }

    /// Codes that only a valid sample can have: from the first to the second.
    pub(crate) const fn sure(&self) -> (u16, u16) {
        (self.from, self.to)
    }

    /// Computes the codes of 32 samples and says whether all of them lie in a window.
    #[inline]
    pub(crate) fn codes(
        &self,
        samples: Samples<'_>,
        window: Window,
        codes: &mut [u16; CHUNK],
    ) -> bool {
        match self.shift {
            6 => sense::<6>(self.lines, samples, window, codes),
            7 => sense::<7>(self.lines, samples, window, codes),
            _ => sense::<8>(self.lines, samples, window, codes),
        }
    }
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

#[inline(never)]
fn sense<const SHIFT: u32>(
    lines: &[Line; 256],
    samples: Samples<'_>,
    window: Window,
    codes: &mut [u16; CHUNK],
) -> bool {
    let mut within = Within::NONE_SEEN;
    let (raws, _) = samples.raw.as_chunks::<4>();
    let (gains, _) = samples.gain.as_chunks::<4>();
    let (offsets, _) = samples.offset.as_chunks::<4>();
    let (outs, _) = codes.as_chunks_mut::<4>();
    for (((raw, gain), offset), out) in raws.iter().zip(gains).zip(offsets).zip(outs) {
        let counts: [u32; 4] =
            core::array::from_fn(|i| two_point_in_table(raw[i], gain[i], offset[i], SHIFT));
        *out = counts.map(|counts| {
            let line = &lines[knot_of(counts, SHIFT)];
            on_line(line.base, line.rise, counts, SHIFT)
        });
        within.see(window, out[0], out[1]);
        within.see(window, out[2], out[3]);
    }
    within.all()
}

/// Whether 32 raw counts all lie in a window.
#[inline(never)]
pub(crate) fn raw_within(raw: &[u16; CHUNK], window: Window) -> bool {
    let mut within = Within::NONE_SEEN;
    for [a, b] in raw.as_chunks::<2>().0 {
        within.see(window, *a, *b);
    }
    within.all()
}
