//! A sample of faults, each brought about on the board: the record must name the cause in time, the
//! picture must be struck out from the frame after, and a fault that ends must be cleared.
//!
//! The frames each cause may take are those that `core/src/health.rs` states for its default plan,
//! written down here again as literals.

use glowsill_core::health::Cause;
use glowsill_core::panel::PanelRgb565;
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::Profile;
use glowsill_core::record::FrameRecord;
use glowsill_firmware_scene::moving::{self, HEIGHT, WIDTH};
use glowsill_firmware_scene::session::Store;
use glowsill_firmware_scene::{profiles, still};

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The sensor's frame number stands still.
    Counter,
    /// Both planes repeat.
    Content,
    /// A frame ends a row early.
    Row,
    /// The high plane repeats.
    HighStuck,
    /// The low plane repeats.
    LowStuck,
    /// The planes are given for each other.
    Swapped,
    /// All samples are at the top.
    Saturated,
    /// A bit of a correction table has flipped since its check sum was stored.
    Table,
    /// A bit of the stored profile has flipped.
    Profile,
}

impl Fault {
    /// Every fault.
    pub const ALL: [Self; 9] = [
        Self::Counter,
        Self::Content,
        Self::Row,
        Self::HighStuck,
        Self::LowStuck,
        Self::Swapped,
        Self::Saturated,
        Self::Table,
        Self::Profile,
    ];

    /// Cause that must be named, and within how many frames.
    #[must_use]
    pub const fn expected(self) -> (Cause, u32) {
        match self {
            Self::Counter => (Cause::Stale, 1),
            Self::Content => (Cause::Frozen, 9),
            Self::Row => (Cause::DroppedRows, 1),
            Self::HighStuck => (Cause::HighStuck, 9),
            Self::LowStuck => (Cause::LowStuck, 9),
            Self::Swapped => (Cause::GainsDisagree, 3),
            Self::Saturated => (Cause::AllSaturated, 3),
            // Two passes of 120 rows, two rows a frame.
            Self::Table => (Cause::CorrectionCorrupt, 120),
            Self::Profile => (Cause::ProfileFallback, 1),
        }
    }

    /// Whether it is there from the first frame on, and stays.
    const fn lasts(self) -> bool {
        matches!(self, Self::Table | Self::Profile)
    }
}

/// Why a fault was not handled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Failure {
    /// A buffer, a profile or a frame was refused.
    Refused,
    /// A cause was named before anything was wrong.
    FalseAlarm,
    /// The cause was not named in time.
    Silent,
    /// The picture after was not struck out.
    NotStruck,
    /// The fault ended and its cause was not cleared within as many frames.
    NotCleared,
    /// A damaged profile was taken for a sound one.
    Taken,
}

/// Frames before a fault begins.
const SOUND: u32 = 12;
/// Frames after its end within which all must be good again.
const AFTER: u32 = 12;

/// A session with the samples that it repeats.
struct Bench<'s, 'p> {
    pipeline: Pipeline<'p>,
    fault: Fault,
    frame: u32,
    tables: (moving::Table<'s>, moving::Table<'s>),
    high: &'s mut [u16],
    low: &'s mut [u16],
    picture: &'s mut [u16],
}

impl Bench<'_, '_> {
    /// The next frame; `None` of a record where it lacks a row.
    fn step(&mut self, is_faulty: bool) -> Result<Option<FrameRecord>, Failure> {
        let is = |fault| is_faulty && self.fault == fault;
        // The last sound frame's samples and number.
        let still = if is_faulty { SOUND - 1 } else { self.frame };
        let keep = |wanted: bool| if wanted { still } else { self.frame };
        let (keep_high, keep_low) = (
            is(Fault::Content) || is(Fault::HighStuck),
            is(Fault::Content) || is(Fault::LowStuck),
        );
        // The picture lends its place to the plane that is not kept.
        let (high, low) = (&mut *self.high, &mut *self.low);
        moving::frame(
            moving::USUAL,
            keep(keep_high),
            keep(keep_high),
            self.tables,
            high,
            self.picture,
        );
        if keep_high == keep_low {
            low.copy_from_slice(self.picture);
        } else {
            moving::frame(
                moving::USUAL,
                keep(keep_low),
                keep(keep_low),
                self.tables,
                self.picture,
                low,
            );
        }
        if is(Fault::Saturated) {
            high.fill(16_383);
            low.fill(16_383);
        }
        let (high, low) = if is(Fault::Swapped) {
            (low, high)
        } else {
            (high, low)
        };
        let number = keep(is(Fault::Counter));
        let rows = if is(Fault::Row) { HEIGHT - 1 } else { HEIGHT };
        let mut frame = self.pipeline.begin_numbered_frame(number);
        let samples = high.chunks_exact(WIDTH).zip(low.chunks_exact(WIDTH));
        let out = self.picture.chunks_exact_mut(WIDTH);
        for ((high, low), out) in samples.zip(out).take(rows) {
            let row = frame.row::<PanelRgb565>(Some(high), Some(low), out);
            row.map_err(|_| Failure::Refused)?;
        }
        self.frame += 1;
        match frame.end_frame() {
            Ok(record) => Ok(Some(record)),
            Err(_) if rows < HEIGHT => Ok(None),
            Err(_) => Err(Failure::Refused),
        }
    }

    /// Whether the picture has the diagonal bars, four pixels black beside four white in 32.
    fn has_bars(&self) -> bool {
        let places = (0..HEIGHT).flat_map(|y| (0..WIDTH).map(move |x| (x + y) % 32));
        places
            .zip(self.picture.iter())
            .all(|(phase, word)| match phase {
                0..4 => *word == 0,
                4..8 => *word == 0xFFFF,
                _ => true,
            })
    }

    fn whole(&mut self, is_faulty: bool) -> Result<FrameRecord, Failure> {
        self.step(is_faulty)?.ok_or(Failure::Refused)
    }

    /// Brings the fault about; gives the frames that it took to be named.
    fn run(&mut self) -> Result<u32, Failure> {
        let (cause, within) = self.fault.expected();
        if !self.fault.lasts() {
            for _ in 0..SOUND {
                let record = self.whole(false)?;
                if !record.health.is_good() || record.is_struck || self.has_bars() {
                    return Err(Failure::FalseAlarm);
                }
            }
        }
        let mut taken = 0;
        let struck = if self.fault == Fault::Row {
            // The short frame has no record; the one after it names the cause and is struck out.
            self.step(true)?;
            taken += 1;
            let record = self.whole(false)?;
            if !record.health.has(cause) {
                return Err(Failure::Silent);
            }
            record
        } else {
            loop {
                let record = self.whole(true)?;
                taken += 1;
                if record.health.has(cause) {
                    break;
                }
                if taken >= within {
                    return Err(Failure::Silent);
                }
            }
            self.whole(true)?
        };
        if !struck.is_struck || !self.has_bars() {
            return Err(Failure::NotStruck);
        }
        if !self.fault.lasts() {
            for _ in 0..AFTER {
                self.whole(false)?;
            }
            let record = self.whole(false)?;
            if !record.health.is_good() || record.is_struck || self.has_bars() {
                return Err(Failure::NotCleared);
            }
        }
        Ok(taken)
    }
}

/// Brings a fault about; gives the frames that it took to be named.
///
/// # Errors
/// [`Failure`] says what was missing.
pub fn run(fault: Fault, store: &mut Store) -> Result<u32, Failure> {
    store.correct();
    let sums = |store: &Store| {
        let high = Correction {
            gain_q14: &store.high_gain,
            offset: &store.high_offset,
        };
        let low = Correction {
            gain_q14: &store.low_gain,
            offset: &store.low_offset,
        };
        (high.crc32(), low.crc32())
    };
    let (high_crc, low_crc) = sums(store);
    if fault == Fault::Table {
        // The last pixel's: seen at the end of a pass.
        store.low_gain[moving::PIXELS - 1] ^= 4;
    }
    let (high_table, low_table) = still::calibrations().ok_or(Failure::Refused)?;
    let sensor = SensorConfig {
        high: Some(&high_table),
        low: Some(&low_table),
        high_correction: Some(Correction {
            gain_q14: &store.high_gain,
            offset: &store.high_offset,
        }),
        low_correction: Some(Correction {
            gain_q14: &store.low_gain,
            offset: &store.low_offset,
        }),
        high_crc: Some(high_crc),
        low_crc: Some(low_crc),
        ..SensorConfig::default()
    };
    let [(_, bytes), ..] = profiles::ALL;
    let (profile, is_fallback) = stored_profile(bytes, fault, &sensor)?;
    let side = |n: usize| u16::try_from(n).map_err(|_| Failure::Refused);
    let geometry = Geometry::new(side(WIDTH)?, side(HEIGHT)?).map_err(|_| Failure::Refused)?;
    let ([memory, ..], [scratch, ..]) = (&mut store.memory, &mut store.scratch);
    let mut pipeline =
        Pipeline::new(geometry, &profile, sensor, memory, scratch).map_err(|_| Failure::Refused)?;
    if is_fallback {
        pipeline.raise(Cause::ProfileFallback);
    }
    Bench {
        pipeline,
        fault,
        frame: 0,
        tables: (
            (&store.high_gain, &store.high_offset),
            (&store.low_gain, &store.low_offset),
        ),
        high: &mut store.high,
        low: &mut store.low,
        picture: &mut store.words,
    }
    .run()
}

/// The stored profile, or the built-in one where a bit has flipped: each bit in turn is found.
fn stored_profile(
    bytes: &[u8],
    fault: Fault,
    sensor: &SensorConfig<'_>,
) -> Result<(Profile, bool), Failure> {
    if fault != Fault::Profile {
        let profile = Profile::from_bytes(bytes).map_err(|_| Failure::Refused)?;
        return Ok((profile, false));
    }
    let mut damaged = [0; glowsill_core::packed::MAX_LEN];
    let damaged = damaged.get_mut(..bytes.len()).ok_or(Failure::Refused)?;
    for bit in 0..bytes.len() * 8 {
        damaged.copy_from_slice(bytes);
        damaged[bit / 8] ^= 1 << (bit % 8);
        let (profile, why) = Profile::from_bytes_or_safe(damaged, sensor);
        if why.is_none() || profile != Profile::safe(sensor) {
            return Err(Failure::Taken);
        }
    }
    Ok((Profile::safe(sensor), true))
}
