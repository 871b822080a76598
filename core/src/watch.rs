//! Watch: finds out, frame by frame, what is wrong with the samples.
//!
//! **Purpose.** Names the causes of [`Health`]. **Input**: a few raw samples of each row, the frame's
//! counts, the correction tables. **Output**: the causes after a frame. **Parameters**:
//! [`HealthPlan`]. **Latency**: [`HealthPlan::frames_to_detect`]. **Memory**: this struct.
//!
//! Each row gives a sample every 128 columns, from a first column that moves from row to row and
//! stays from frame to frame: 600 of the 76,800 pixels of 320x240. Sensor noise makes two frames
//! with equal samples impossible in practice: with a noise of two counts a sample stays equal in
//! one frame of seven, 600 of them in one of 7^600.

use crc::{CRC_32_ISO_HDLC, Crc, Digest};

use crate::calibration::Calibration;
use crate::fixedpoint::permille_round;
use crate::health::{Cause, Health, HealthPlan};
use crate::stage::correct::{Correction, DEAD, SATURATED, correct_one};

static TABLE_CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Columns from one sample to the next.
const STEP: u16 = 128;

impl Correction<'_> {
    /// Check sum of the table: CRC-32 as in IEEE 802.3 over each pixel's gain and offset, both
    /// little-endian.
    ///
    /// ```
    /// use glowsill_core::pipeline::Correction;
    /// let table = Correction { gain_q14: &[0x3231, 0x3635], offset: &[0x3433, 0x3837] };
    /// // The bytes are the digits "12345678".
    /// assert_eq!(table.crc32(), 0x9AE0_DAAF);
    /// ```
    #[must_use]
    pub fn crc32(&self) -> u32 {
        let mut digest = TABLE_CRC.digest();
        self.feed(&mut digest, 0, self.gain_q14.len());
        digest.finalize()
    }

    fn feed(&self, digest: &mut Digest<'static, u32>, start: usize, end: usize) {
        if let (Some(gain), Some(offset)) =
            (self.gain_q14.get(start..end), self.offset.get(start..end))
        {
            for (gain, offset) in gain.iter().zip(offset) {
                digest.update(&gain.to_le_bytes());
                digest.update(&offset.to_le_bytes());
            }
        }
    }
}

/// What the watch needs of one gain state for one row.
#[derive(Clone, Copy)]
pub(crate) struct Plane<'r> {
    pub(crate) samples: &'r [u16],
    pub(crate) calibration: &'r Calibration,
    pub(crate) table: Option<(&'r [u16], &'r [i16])>,
}

impl<'r> Plane<'r> {
    /// The state's samples of the row that starts at pixel `start`, with its part of the table.
    pub(crate) fn new(
        samples: Option<&'r [u16]>,
        calibration: Option<&'r Calibration>,
        table: Option<Correction<'r>>,
        start: usize,
    ) -> Option<Self> {
        let table = match table {
            Some(table) => Some((table.gain_q14.get(start..)?, table.offset.get(start..)?)),
            None => None,
        };
        Some(Self {
            samples: samples?,
            calibration: calibration?,
            table,
        })
    }

    /// Corrected counts of one column.
    fn corrected(&self, x: usize) -> Option<u16> {
        let raw = *self.samples.get(x)?;
        let entry = match self.table {
            Some((gain, offset)) => Some((*gain.get(x)?, *offset.get(x)?)),
            None => None,
        };
        Some(correct_one(raw, self.calibration.saturation(), entry))
    }
}

/// What one sample says of the temperature, as a code.
#[derive(Clone, Copy)]
enum Reading {
    At(u16),
    /// A saturated sample.
    AtLeast(u16),
}

/// Whether the samples of one gain state move from frame to frame.
#[derive(Clone, Copy, Debug, Default)]
struct Motion {
    signature: u32,
    taken: u32,
    /// Samples that could move: neither dead nor saturated.
    free: u32,
    dead: u32,
    last: Option<u32>,
    repeats: u8,
}

impl Motion {
    fn take(&mut self, raw: u16, counts: u16) {
        // FNV-1a over 16-bit words.
        self.signature = (self.signature ^ u32::from(raw)).wrapping_mul(0x0100_0193);
        self.taken += 1;
        self.free += u32::from(counts != DEAD && counts != SATURATED);
        self.dead += u32::from(counts == DEAD);
    }

    /// Forgets the samples of a frame, but not the frames before it.
    fn forget(&mut self) {
        (self.signature, self.taken, self.free, self.dead) = (0, 0, 0, 0);
    }

    /// Ends a frame; gives whether the state is stuck, or `None` if it was not seen.
    fn end(&mut self, still_frames: u8) -> Option<bool> {
        let seen = self.taken > 0;
        if seen {
            // A saturated plane repeats itself without being stuck; a dead one is stuck.
            let can_move = self.free * 16 >= self.taken || self.dead * 2 > self.taken;
            let repeats = self.last == Some(self.signature) && can_move;
            self.repeats = if repeats {
                self.repeats.saturating_add(1)
            } else {
                0
            };
            self.last = Some(self.signature);
        }
        self.forget();
        seen.then_some(still_frames > 0 && self.repeats >= still_frames)
    }
}

/// Raises a condition after some bad frames and clears it after as many good ones in a row. Fewer
/// good ones between bad ones take nothing back: a fault that flickers is a fault.
#[derive(Clone, Copy, Debug, Default)]
struct Latch {
    bad: u8,
    good: u8,
    is_up: bool,
}

impl Latch {
    fn step(&mut self, is_bad: bool, hold: u8) -> bool {
        let hold = hold.max(1);
        if is_bad {
            self.good = 0;
            self.bad = self.bad.saturating_add(1);
            self.is_up |= self.bad >= hold;
        } else {
            self.good = self.good.saturating_add(1);
            if self.good >= hold {
                (self.bad, self.is_up) = (0, false);
            }
        }
        self.is_up
    }
}

/// Goes through a correction table a few rows a frame.
struct TableCheck {
    digest: Digest<'static, u32>,
    is_corrupt: bool,
}

impl TableCheck {
    fn new() -> Self {
        Self {
            digest: TABLE_CRC.digest(),
            is_corrupt: false,
        }
    }

    fn pass(
        &mut self,
        table: Option<Correction<'_>>,
        stored: Option<u32>,
        span: (usize, usize),
        is_last: bool,
    ) {
        let (Some(table), Some(stored)) = (table, stored) else {
            return;
        };
        table.feed(&mut self.digest, span.0, span.1);
        if is_last {
            let digest = core::mem::replace(&mut self.digest, TABLE_CRC.digest());
            self.is_corrupt = digest.finalize() != stored;
        }
    }
}

/// What a frame's counts say.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FrameCounts {
    pub(crate) pixels: u32,
    pub(crate) valid: u32,
    pub(crate) saturated: u32,
    pub(crate) is_blank: bool,
}

/// The correction tables and their check sums.
#[derive(Clone, Copy)]
pub(crate) struct Tables<'a> {
    pub(crate) high: (Option<Correction<'a>>, Option<u32>),
    pub(crate) low: (Option<Correction<'a>>, Option<u32>),
    pub(crate) width: u16,
    pub(crate) height: u16,
}

/// Memory of the watch.
pub(crate) struct Watch {
    plan: HealthPlan,
    defect_permille: u16,
    lasting: Health,
    once: Health,
    is_open: bool,
    number: Option<u32>,
    high: Motion,
    low: Motion,
    both: u32,
    disagree: u32,
    looked_at: u32,
    outside: u32,
    latches: [Latch; 5],
    tables: (TableCheck, TableCheck),
    table_row: u16,
    /// Causes after the last frame.
    health: Health,
}

impl Watch {
    pub(crate) fn new(plan: HealthPlan, defects: Option<&[u8]>) -> Self {
        let marked = |map: &[u8]| {
            let bad = map.iter().filter(|defect| **defect != 0).count();
            permille_round(
                crate::fixedpoint::count_u32(bad),
                crate::fixedpoint::count_u32(map.len()),
            )
        };
        Self {
            plan,
            defect_permille: defects.map_or(0, marked),
            lasting: Health::GOOD,
            once: Health::GOOD,
            is_open: false,
            number: None,
            high: Motion::default(),
            low: Motion::default(),
            both: 0,
            disagree: 0,
            looked_at: 0,
            outside: 0,
            latches: [Latch::default(); 5],
            tables: (TableCheck::new(), TableCheck::new()),
            table_row: 0,
            health: Health::GOOD,
        }
    }

    /// Causes known before the coming frame: its picture is struck out if there are any.
    pub(crate) fn health(&self) -> Health {
        self.health
    }

    /// Raises a cause that lasts until the pipeline is built anew.
    pub(crate) fn raise(&mut self, cause: Cause) {
        self.lasting = self.lasting.with(cause);
        self.health = self.health.with(cause);
    }

    /// Starts a frame; `number` is the sensor's own frame number, if it gives one.
    pub(crate) fn begin(&mut self, number: Option<u32>) {
        if self.is_open {
            self.drop_rows();
        }
        self.is_open = true;
        if let Some(number) = number {
            if self.number == Some(number) {
                self.once = self.once.with(Cause::Stale);
                self.health = self.health.with(Cause::Stale);
            }
            self.number = Some(number);
        }
    }

    /// A frame ended before its last row, or has more rows than it should; what it showed counts for
    /// nothing.
    pub(crate) fn drop_rows(&mut self) {
        self.is_open = false;
        self.high.forget();
        self.low.forget();
        (self.both, self.disagree, self.looked_at, self.outside) = (0, 0, 0, 0);
        self.once = self.once.with(Cause::DroppedRows);
        self.health = self.health.with(Cause::DroppedRows);
    }

    /// Looks at a few samples of a row.
    pub(crate) fn row(
        &mut self,
        y: u16,
        width: u16,
        high: Option<Plane<'_>>,
        low: Option<Plane<'_>>,
    ) {
        let first = y.wrapping_mul(37) % width.clamp(1, STEP);
        for x in (first..width).step_by(usize::from(STEP)) {
            let x = usize::from(x);
            let mut read = |plane: Option<Plane<'_>>, motion: &mut Motion| {
                let plane = plane?;
                let counts = plane.corrected(x)?;
                motion.take(*plane.samples.get(x)?, counts);
                if counts == SATURATED {
                    let top = plane.calibration.code(plane.calibration.saturation());
                    return Some(Reading::AtLeast(top));
                }
                (counts != DEAD).then(|| {
                    let code = plane.calibration.code(counts);
                    let (bottom, top) = plane.calibration.ends();
                    self.looked_at += 1;
                    // No code is below 1, wherever the table starts.
                    self.outside += u32::from(code <= bottom.max(1) || code >= top);
                    Reading::At(code)
                })
            };
            let high = read(high, &mut self.high);
            let low = read(low, &mut self.low);
            let apart = match (high, low) {
                (Some(Reading::At(high)), Some(Reading::At(low))) => Some(high.abs_diff(low)),
                (Some(Reading::At(exact)), Some(Reading::AtLeast(top)))
                | (Some(Reading::AtLeast(top)), Some(Reading::At(exact))) => {
                    Some(top.saturating_sub(exact))
                }
                _ => None,
            };
            if let Some(apart) = apart {
                self.both += 1;
                self.disagree += u32::from(apart > self.plan.disagree_k32);
            }
        }
    }

    /// Ends a whole frame and gives what is wrong with it.
    pub(crate) fn end(&mut self, counts: FrameCounts, tables: Tables<'_>) -> Health {
        self.is_open = false;
        let plan = self.plan;
        let mut health = self.lasting.and(self.once);
        self.once = Health::GOOD;
        let stuck = (
            self.high.end(plan.still_frames),
            self.low.end(plan.still_frames),
        );
        match stuck {
            (Some(true), Some(true) | None) | (None, Some(true)) => {
                health = health.with(Cause::Frozen);
            }
            (Some(true), Some(false)) => health = health.with(Cause::HighStuck),
            (Some(false), Some(true)) => health = health.with(Cause::LowStuck),
            _ => {}
        }
        let reaches =
            |part: u32, whole: u32, limit: u16| whole > 0 && permille_round(part, whole) >= limit;
        let missing = counts.pixels - counts.valid.min(counts.pixels);
        let conditions = [
            (
                Cause::GainsDisagree,
                // A handful of samples proves nothing about a picture.
                self.both >= 4 && reaches(self.disagree, self.both, plan.disagree_permille),
            ),
            (
                Cause::AllSaturated,
                reaches(counts.saturated, counts.pixels, plan.saturated_permille),
            ),
            (
                Cause::NoSamples,
                !counts.is_blank && reaches(missing, counts.pixels, plan.missing_permille),
            ),
            (
                Cause::OutsideCalibration,
                reaches(self.outside, self.looked_at, plan.outside_permille),
            ),
            (
                Cause::TooManyDefects,
                self.defect_permille > 0 && self.defect_permille >= plan.defect_permille,
            ),
        ];
        for (latch, (cause, is_bad)) in self.latches.iter_mut().zip(conditions) {
            if latch.step(is_bad, plan.hold_frames) {
                health = health.with(cause);
            }
        }
        (self.both, self.disagree, self.looked_at, self.outside) = (0, 0, 0, 0);
        if self.check_tables(tables) {
            health = health.with(Cause::CorrectionCorrupt);
        }
        self.health = health;
        health
    }

    /// Checks the next rows of the tables; gives whether one is known to be damaged.
    fn check_tables(&mut self, tables: Tables<'_>) -> bool {
        let rows = u16::from(self.plan.table_rows);
        if rows > 0 {
            let to = self.table_row.saturating_add(rows).min(tables.height);
            let at = |row: u16| usize::from(row) * usize::from(tables.width);
            let (span, is_last) = ((at(self.table_row), at(to)), to == tables.height);
            self.tables
                .0
                .pass(tables.high.0, tables.high.1, span, is_last);
            self.tables
                .1
                .pass(tables.low.0, tables.low.1, span, is_last);
            self.table_row = if is_last { 0 } else { to };
        }
        self.tables.0.is_corrupt || self.tables.1.is_corrupt
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::PanelRgb565;
    use crate::pipeline::{Geometry, Pipeline, SensorConfig};
    use crate::profile::{Profile, ProfileSpec};
    use crate::record::FrameRecord;
    use std::boxed::Box;
    use std::vec::Vec;

    const SIZE: (u16, u16) = (160, 40);
    const N: usize = 6400;

    /// Noise of a few counts from a counter: the same in every run.
    fn noise(state: &mut u32) -> u16 {
        *state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (*state >> 29) as u16
    }

    fn live(state: &mut u32, base: u16) -> Vec<u16> {
        (0..N).map(|_| base + noise(state)).collect()
    }

    /// Runs frames of (high, low) through a per-pixel pipeline and gives the records.
    fn run(
        sensor: SensorConfig<'_>,
        frames: impl Iterator<Item = (Vec<u16>, Vec<u16>)>,
    ) -> Vec<FrameRecord> {
        let geometry = Geometry::new(SIZE.0, SIZE.1).unwrap();
        let profile = Profile::safe(&sensor);
        let mut memory = [0; N];
        let mut scratch = std::vec![0; Pipeline::scratch_len(geometry)];
        let mut pipeline =
            Box::new(Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap());
        let mut picture = std::vec![0; N];
        frames
            .map(|(high, low)| {
                pipeline
                    .frame::<PanelRgb565>(Some(&high), Some(&low), &mut picture)
                    .unwrap()
            })
            .collect()
    }

    fn sensor(table: &Calibration) -> SensorConfig<'_> {
        SensorConfig {
            high: Some(table),
            low: Some(table),
            ..SensorConfig::default()
        }
    }

    /// First frame, from `start` on, whose record names the cause.
    fn frames_until(records: &[FrameRecord], start: usize, cause: Cause) -> Option<usize> {
        records[start..]
            .iter()
            .position(|record| record.health.has(cause))
            .map(|at| at + 1)
    }

    #[test]
    fn frozen_and_stuck_states_are_named_and_cleared() {
        let table = Calibration::identity();
        let mut state = 1;
        let still = live(&mut state, 9400);
        let frames: Vec<_> = (0..60)
            .map(|i| {
                let (high, low) = (live(&mut state, 9400), live(&mut state, 9400));
                match i {
                    10..22 => (still.clone(), low),
                    30..42 => (high, still.clone()),
                    48.. => (still.clone(), still.clone()),
                    _ => (high, low),
                }
            })
            .collect();
        let records = run(sensor(&table), frames.into_iter());
        assert_eq!(frames_until(&records, 10, Cause::HighStuck), Some(9));
        assert_eq!(frames_until(&records, 30, Cause::LowStuck), Some(9));
        assert_eq!(frames_until(&records, 48, Cause::Frozen), Some(9));
        assert!(records[19].is_struck && records[22].health.is_good() && !records[23].is_struck);
    }

    #[test]
    fn saturation_of_one_state_is_no_fault_and_of_both_is_one() {
        let table = Calibration::new(8, Calibration::identity().knots(), 13_000).unwrap();
        // High gain ends at 406 K; low gain reads 403 K.
        let mut state = 1;
        let frames = (0..20).map(|i| {
            let low = if i < 10 {
                live(&mut state, 12_900)
            } else {
                std::vec![14_000; N]
            };
            (std::vec![14_000; N], low)
        });
        let records = run(sensor(&table), frames);
        assert!(records[..10].iter().all(|record| record.health.is_good()));
        assert_eq!(frames_until(&records, 10, Cause::AllSaturated), Some(3));
    }

    #[test]
    fn swapped_states_disagree_and_the_end_of_the_table_is_outside() {
        let (high, low) = (Calibration::identity(), {
            // Each count is worth twice the temperature.
            let knots = Calibration::identity().knots();
            let stretched = core::array::from_fn(|i| knots[(2 * i).min(256)]);
            Calibration::new(8, stretched, u16::MAX).unwrap()
        });
        let two = SensorConfig {
            high: Some(&high),
            low: Some(&low),
            ..SensorConfig::default()
        };
        let mut state = 1;
        let frames = (0..20).map(|i| {
            let (a, b) = (live(&mut state, 9400), live(&mut state, 4700));
            if i < 10 { (a, b) } else { (b, a) }
        });
        let records = run(two, frames);
        assert!(records[..10].iter().all(|record| record.health.is_good()));
        assert_eq!(frames_until(&records, 10, Cause::GainsDisagree), Some(3));
        let frames = (0..20).map(|i| {
            let base = if i < 10 { 20_000 } else { 40_000 };
            (live(&mut state, base / 2 * 2), live(&mut state, base))
        });
        let records = run(two, frames);
        assert_eq!(
            frames_until(&records, 10, Cause::OutsideCalibration),
            Some(3)
        );
    }

    #[test]
    fn missing_samples_and_too_many_defects_are_named() {
        let table = Calibration::identity();
        let mut state = 1;
        let frames: Vec<_> = (0..8)
            .map(|i| {
                let mut high = live(&mut state, 9400);
                let mut low = live(&mut state, 9400);
                if i >= 4 {
                    high[..2000].fill(0);
                    low[..2000].fill(0);
                }
                (high, low)
            })
            .collect();
        let records = run(sensor(&table), frames.clone().into_iter());
        assert_eq!(frames_until(&records, 4, Cause::NoSamples), Some(3));
        let mut map = [0; N];
        map[..400].fill(1);
        let spotted = SensorConfig {
            defects: Some(&map),
            ..sensor(&table)
        };
        let records = run(spotted, frames.into_iter());
        assert_eq!(frames_until(&records, 0, Cause::TooManyDefects), Some(3));
    }

    #[test]
    fn a_damaged_table_is_found_within_two_passes_and_a_sound_one_never() {
        let table = Calibration::identity();
        let (gain, mut offset) = (std::vec![16_384; N], std::vec![0; N]);
        let crc = Correction {
            gain_q14: &gain,
            offset: &offset,
        }
        .crc32();
        for damaged in [false, true] {
            offset[N - 1] = i16::from(damaged);
            let with_table = SensorConfig {
                high_correction: Some(Correction {
                    gain_q14: &gain,
                    offset: &offset,
                }),
                high_crc: Some(crc),
                ..sensor(&table)
            };
            let mut state = 1;
            let frames = (0..100).map(|_| (live(&mut state, 9400), live(&mut state, 9400)));
            let records = run(with_table, frames);
            let limit = HealthPlan::DEFAULT
                .frames_to_detect(Cause::CorrectionCorrupt, Geometry::new(160, 40).unwrap())
                .unwrap();
            let found = frames_until(&records, 0, Cause::CorrectionCorrupt);
            assert_eq!(found.is_some(), damaged);
            assert!(found.is_none_or(|frames| frames <= usize::from(limit)));
        }
    }

    #[test]
    fn lost_rows_and_standing_numbers_strike_the_next_picture_out() {
        let table = Calibration::identity();
        let geometry = Geometry::new(8, 8).unwrap();
        let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
        let config = SensorConfig {
            high: Some(&table),
            health: HealthPlan::OFF,
            ..SensorConfig::default()
        };
        let (mut memory, mut scratch, mut row) = ([0; 64], [0; 48], [0; 8]);
        let mut pipeline =
            Pipeline::new(geometry, &profile, config, &mut memory, &mut scratch).unwrap();
        let mut draw = |number, rows| {
            let mut frame = pipeline.begin_numbered_frame(number);
            for _ in 0..rows {
                frame
                    .row::<PanelRgb565>(Some(&[9400; 8]), None, &mut row)
                    .unwrap();
            }
            frame.end_frame()
        };
        assert!(draw(1, 8).unwrap().health.is_good());
        assert!(draw(2, 5).is_err());
        let after = draw(3, 8).unwrap();
        assert!(after.is_struck && after.health.has(Cause::DroppedRows));
        let stale = draw(3, 8).unwrap();
        assert!(stale.is_struck && stale.health.has(Cause::Stale));
        assert!(draw(4, 8).unwrap().is_struck);
        let good = draw(5, 8).unwrap();
        assert!(!good.is_struck && good.health.is_good());
    }

    #[test]
    fn a_fault_that_flickers_is_raised_and_one_that_is_rare_is_not() {
        // Bad in every second, every third and every fourth frame; three bad ones are needed.
        for (every, raised) in [(2, Some(4)), (3, Some(6)), (4, None)] {
            let mut latch = Latch::default();
            let at = (0..100).position(|i| latch.step(i % every == 0, 3));
            assert_eq!(at, raised, "every {every}");
        }
        let mut latch = Latch::default();
        let steps = [true, true, true, false, false, true, false, false, false]
            .map(|bad| latch.step(bad, 3));
        assert_eq!(
            steps,
            [false, false, true, true, true, true, true, true, false]
        );
    }

    #[test]
    fn saturation_that_the_other_state_contradicts_is_a_disagreement() {
        // Codes 9400 is 294 K; counts of 13,000 and more are saturated: at least 406 K.
        let table = Calibration::new(8, Calibration::identity().knots(), 13_000).unwrap();
        let mut state = 1;
        for low_is_at_its_end in [false, true] {
            let frames = (0..20).map(|i| {
                let planes = (live(&mut state, 9400), std::vec![14_000; N]);
                match (i < 10, low_is_at_its_end) {
                    (true, _) => (planes.0.clone(), live(&mut state, 9400)),
                    (false, true) => planes,
                    (false, false) => (planes.1, planes.0),
                }
            });
            let records = run(sensor(&table), frames);
            assert!(records[..10].iter().all(|record| record.health.is_good()));
            assert_eq!(frames_until(&records, 10, Cause::GainsDisagree), Some(3));
        }
        // 400 K is within 40 K of the end: no contradiction.
        let near = (0..20).map(|_| (std::vec![14_000; N], live(&mut state, 12_800)));
        assert!(
            run(sensor(&table), near)
                .iter()
                .all(|record| record.health.is_good())
        );
    }

    #[test]
    fn a_dead_state_is_a_stuck_one() {
        let table = Calibration::identity();
        let mut state = 1;
        let frames = (0..40).map(|i| {
            let live = live(&mut state, 9400);
            if i < 10 {
                (live.clone(), live)
            } else {
                (live, std::vec![0; N])
            }
        });
        let records = run(sensor(&table), frames);
        assert_eq!(frames_until(&records, 10, Cause::LowStuck), Some(9));
    }

    #[test]
    fn counts_below_a_table_that_starts_at_nothing_are_outside_it() {
        // The first ten knots have no temperature, as where a sensor's counts mean no light.
        let mut knots = Calibration::identity().knots();
        knots[..10].fill(crate::units::Temperature::INVALID);
        let table = Calibration::new(8, knots, u16::MAX).unwrap();
        let mut state = 1;
        let frames = (0..20).map(|i| {
            let base = if i < 10 { 9400 } else { 1000 };
            (live(&mut state, base), live(&mut state, base))
        });
        let records = run(sensor(&table), frames);
        assert_eq!(
            frames_until(&records, 10, Cause::OutsideCalibration),
            Some(3)
        );
    }

    #[test]
    fn an_incomplete_frame_leaves_nothing_to_the_next_one() {
        let table = Calibration::identity();
        let geometry = Geometry::new(160, 40).unwrap();
        let profile = Profile::safe(&sensor(&table));
        let (mut memory, mut scratch) = ([0; N], std::vec![0; Pipeline::scratch_len(geometry)]);
        let mut pipeline = Pipeline::new(
            geometry,
            &profile,
            sensor(&table),
            &mut memory,
            &mut scratch,
        )
        .unwrap();
        let (mut out, mut state) = ([0; 160], 1);
        let still = live(&mut state, 9400);
        let mut whole = 0;
        for i in 0..60 {
            let cut = i % 3 == 2;
            let mut frame = pipeline.begin_frame();
            for row in still.chunks(160).take(if cut { 13 } else { 40 }) {
                frame
                    .row::<PanelRgb565>(Some(row), Some(row), &mut out)
                    .unwrap();
            }
            let record = frame.end_frame();
            assert_eq!(record.is_err(), cut);
            if let Ok(record) = record {
                whole += 1;
                assert_eq!(record.health.has(Cause::Frozen), whole >= 9, "frame {i}");
            }
        }
    }

    #[test]
    fn a_row_too_many_is_named_like_one_too_few() {
        let table = Calibration::identity();
        let geometry = Geometry::new(8, 8).unwrap();
        let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
        let (mut memory, mut scratch, mut row) = ([0; 64], [0; 48], [0; 8]);
        let mut pipeline = Pipeline::new(
            geometry,
            &profile,
            sensor(&table),
            &mut memory,
            &mut scratch,
        )
        .unwrap();
        let mut frame = pipeline.begin_frame();
        for y in 0..9 {
            let drawn = frame.row::<PanelRgb565>(Some(&[9400; 8]), None, &mut row);
            assert_eq!(drawn.is_err(), y == 8);
        }
        assert!(frame.end_frame().unwrap().health.has(Cause::DroppedRows));
    }
}
