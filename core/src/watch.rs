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

mod table_sums;
#[cfg(test)]
mod tests;

use table_sums::TableCheck;

use crate::calibration::Calibration;
use crate::fixedpoint::{add_count, count_u32, count_where, permille_round};
use crate::health::{Cause, Health, HealthPlan};
use crate::stage::correct::{Correction, DEAD, SATURATED, correct_one};

/// Columns from one sample to the next.
const STEP: u16 = 128;

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
        add_count(&mut self.taken, 1);
        add_count(
            &mut self.free,
            u32::from(counts != DEAD && counts != SATURATED),
        );
        add_count(&mut self.dead, u32::from(counts == DEAD));
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
            let can_move = self.free.saturating_mul(16) >= self.taken
                || self.dead.saturating_mul(2) > self.taken;
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
            let bad = count_where(map, |defect| defect != 0);
            permille_round(bad, count_u32(map.len()))
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
        self.know(self.health.with(cause));
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
                self.know(self.health.with(Cause::Stale));
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
        self.know(self.health.with(Cause::DroppedRows));
    }

    /// Keeps what is wrong now; with `defmt`, tells of each cause that starts or ends.
    fn know(&mut self, health: Health) {
        #[cfg(feature = "defmt")]
        for cause in Cause::ALL {
            match (self.health.has(cause), health.has(cause)) {
                (false, true) => defmt::warn!("health: {=str} starts", cause.name()),
                (true, false) => defmt::info!("health: {=str} ends", cause.name()),
                _ => {}
            }
        }
        self.health = health;
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
                    add_count(&mut self.looked_at, 1);
                    // No code is below 1, wherever the table starts.
                    let is_outside = code <= bottom.max(1) || code >= top;
                    add_count(&mut self.outside, u32::from(is_outside));
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
                let is_far = apart > self.plan.disagree_k32;
                add_count(&mut self.both, 1);
                add_count(&mut self.disagree, u32::from(is_far));
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
        self.know(health);
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
