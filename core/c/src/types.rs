//! What crosses the border: plain structures with a fixed layout.

use glowsill_core::health::HealthPlan;
use glowsill_core::record::{FrameRecord, GainInUse};

/// Version of this interface: raised when a program must be compiled anew.
pub const VERSION: u32 = 2;
/// Bytes that hold a display on every machine; `glowsill_storage_bytes()` says how many this one uses.
pub const STORAGE_BYTES: usize = 65_536;
/// Alignment of the storage and of count tables, bytes.
pub const STORAGE_ALIGN: usize = 8;
/// Bytes that hold count tables on every machine; `glowsill_tables_bytes()` says how many this one uses.
pub const TABLES_BYTES: usize = 131_328;
/// Knots of a calibration.
pub const KNOTS: usize = 257;
/// Causes that the health bits name.
pub const CAUSE_COUNT: usize = 12;

/// Gain state: both, pixel by pixel.
pub const GAIN_PER_PIXEL: u8 = 0;
/// Gain state: high alone.
pub const GAIN_HIGH: u8 = 1;
/// Gain state: low alone.
pub const GAIN_LOW: u8 = 2;
/// Gain state: none, the picture is black while the sensor switches.
pub const GAIN_BLANK: u8 = 3;

/// The sensor's frame number stood still.
pub const HEALTH_STALE: u16 = 0x001;
/// Every gain state gives the same samples frame after frame.
pub const HEALTH_FROZEN: u16 = 0x002;
/// A frame ended, or was left, before its last row.
pub const HEALTH_DROPPED_ROWS: u16 = 0x004;
/// High gain gives the same samples while low gain is alive.
pub const HEALTH_HIGH_STUCK: u16 = 0x008;
/// Low gain gives the same samples while high gain is alive.
pub const HEALTH_LOW_STUCK: u16 = 0x010;
/// The gain states disagree nearly everywhere.
pub const HEALTH_GAINS_DISAGREE: u16 = 0x020;
/// Nearly every pixel is at the top of what the sensor can read.
pub const HEALTH_ALL_SATURATED: u16 = 0x040;
/// A large share of the pixels has no valid sample.
pub const HEALTH_NO_SAMPLES: u16 = 0x080;
/// A large share of the samples lies at an end of the calibration.
pub const HEALTH_OUTSIDE_CALIBRATION: u16 = 0x100;
/// A correction table does not match its check sum.
pub const HEALTH_CORRECTION_CORRUPT: u16 = 0x200;
/// The stored profile was damaged; the built-in one is shown.
pub const HEALTH_PROFILE_FALLBACK: u16 = 0x400;
/// More defective pixels than a picture can hide.
pub const HEALTH_TOO_MANY_DEFECTS: u16 = 0x800;

/// Where a display lives. All bytes 0 before `glowsill_init` (as of a static object); never moved or
/// copied after it.
#[repr(C)]
pub union Storage {
    /// Only for the alignment.
    pub align: u64,
    /// The bytes.
    pub bytes: [u8; STORAGE_BYTES],
}

/// Count tables: with them a pixel of a 14-bit sensor costs a fraction of what it costs without, and
/// not a pixel changes. Sensors of 15 or 16 bits do not use them. What is in them before `glowsill_init`
/// does not matter; only one display may have them at a time.
#[repr(C)]
pub union Tables {
    /// Only for the alignment.
    pub align: u64,
    /// The bytes.
    pub bytes: [u8; TABLES_BYTES],
}

/// Calibration of one gain state; copied by `glowsill_init`.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct CalibrationTable {
    /// Apparent temperature at count i * 2^shift, code of 1/32 K; must not fall.
    pub knots: [u16; KNOTS],
    /// Raw count from which a sample only means "at least": 1 to the last count of the table.
    pub saturation: u16,
    /// 6, 7 or 8: counts of 14, 15 or 16 bits.
    pub shift: u8,
}

/// Per-pixel correction of one gain state; all 0 if there is none. Read in place: it must stay where
/// it is, unchanged, as long as the display is used.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct CorrectionTable {
    /// Gain of each pixel, 1/16384.
    pub gain_q14: *const u16,
    /// Offset of each pixel, counts.
    pub offset: *const i16,
    /// Pixels: width times height.
    pub len: usize,
    /// Check sum as it was stored, `glowsill_correction_crc32`.
    pub crc32: u32,
    /// 0: the check sum is not watched.
    pub has_crc32: u8,
}

/// From when on something is wrong with a picture; see docs/pipeline.md, section 11.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HealthLimits {
    /// Difference of the gain states that counts as disagreement, 1/32 K.
    pub disagree_k32: u16,
    /// Share of disagreeing samples, thousandths; above 1000 is never.
    pub disagree_permille: u16,
    /// Share of saturated pixels, thousandths; above 1000 is never.
    pub saturated_permille: u16,
    /// Share of pixels without a valid sample, thousandths; above 1000 is never.
    pub missing_permille: u16,
    /// Share of samples at an end of the calibration, thousandths; above 1000 is never.
    pub outside_permille: u16,
    /// Share of defective pixels, thousandths; above 1000 is never.
    pub defect_permille: u16,
    /// Frames with equal samples after which a state counts as stuck; 0 is never.
    pub still_frames: u8,
    /// Frames that a condition must hold, and be absent.
    pub hold_frames: u8,
    /// Rows of the correction tables checked a frame; 0 is none.
    pub table_rows: u8,
}

/// What a display is built from. Profile, calibrations and limits are copied; corrections, defects,
/// memory, scratch and count tables are used in place and must outlive the display.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Config {
    /// Columns, 8 to 1280.
    pub width: u16,
    /// Rows, 8 to 1024.
    pub height: u16,
    /// Packed profile, made by `glowsill profile pack`.
    pub profile: *const u8,
    /// Bytes of the profile.
    pub profile_len: usize,
    /// Calibration of the sensitive state, or NULL.
    pub high: *const CalibrationTable,
    /// Calibration of the wide-range state, or NULL.
    pub low: *const CalibrationTable,
    /// Correction of the sensitive state.
    pub high_correction: CorrectionTable,
    /// Correction of the wide-range state.
    pub low_correction: CorrectionTable,
    /// Defect map, one byte a pixel, 0 is sound; or NULL.
    pub defects: *const u8,
    /// Bytes of the defect map.
    pub defects_len: usize,
    /// Memory of the bands; the display writes it.
    pub memory: *mut u8,
    /// Bytes of it: `glowsill_memory_bytes(width, height)`.
    pub memory_len: usize,
    /// Rows to work on; the display writes them.
    pub scratch: *mut u16,
    /// Words of it: `glowsill_scratch_words(width, height)`.
    pub scratch_len: usize,
    /// Limits of health, or NULL for the default ones.
    pub health: *const HealthLimits,
    /// Count tables, or NULL to do without; the display writes them.
    pub tables: *mut Tables,
    /// Bytes of them: at least `glowsill_tables_bytes()`, such as `sizeof(glowsill_tables)`; 0 with NULL.
    pub tables_bytes: usize,
}

/// A place in the picture; temperature 0 if there is none.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    /// Apparent temperature, code of 1/32 K.
    pub temperature: u16,
    /// Column.
    pub x: u16,
    /// Row.
    pub y: u16,
}

/// What the display used and saw for one frame.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Record {
    /// Number of the frame since `glowsill_init` or `glowsill_reset`, from 0.
    pub frame: u32,
    /// Pixels of the frame.
    pub pixels: u32,
    /// Pixels with a temperature.
    pub valid: u32,
    /// Pixels taken mostly or wholly from low gain.
    pub from_low: u32,
    /// Pixels with colour over them.
    pub coloured: u32,
    /// Pixels in each band; entry 6 is the ceiling.
    pub in_band: [u32; 7],
    /// Pixels at or above the top of every gain state in use.
    pub saturated: u32,
    /// Pixels with no valid sample, drawn as a checker.
    pub invalid: u32,
    /// Pixels whose gain states disagree; the hotter is shown.
    pub disputed: u32,
    /// Defective pixels that took their neighbours' mean.
    pub replaced: u32,
    /// Temperature of black in the linear part of the scale, code of 1/32 K.
    pub scale_low: u16,
    /// Temperature of white in the linear part of the scale, code of 1/32 K.
    pub scale_high: u16,
    /// Hottest valid pixel, first in row order.
    pub hottest: Spot,
    /// Coldest valid pixel, first in row order.
    pub coldest: Spot,
    /// What is wrong, a bit a cause; 0 is good. The next picture is struck out if it is not 0.
    pub health: u16,
    /// One of GLOWSILL_GAIN_PER_PIXEL, _HIGH, _LOW, _BLANK.
    pub gain: u8,
    /// 1 if this picture is struck out.
    pub is_struck: u8,
}

const _: () = {
    assert!(size_of::<Record>() == 84 && align_of::<Record>() == 4);
    assert!(size_of::<CalibrationTable>() == 518);
    assert!(size_of::<HealthLimits>() == 16);
    assert!(size_of::<Storage>() == STORAGE_BYTES && align_of::<Storage>() == STORAGE_ALIGN);
    assert!(size_of::<Tables>() == TABLES_BYTES && align_of::<Tables>() == STORAGE_ALIGN);
    assert!(
        size_of::<Config>()
            == if cfg!(target_pointer_width = "64") {
                176
            } else {
                96
            }
    );
};

impl From<HealthLimits> for HealthPlan {
    fn from(limits: HealthLimits) -> Self {
        Self {
            still_frames: limits.still_frames,
            hold_frames: limits.hold_frames,
            disagree_k32: limits.disagree_k32,
            disagree_permille: limits.disagree_permille,
            saturated_permille: limits.saturated_permille,
            missing_permille: limits.missing_permille,
            outside_permille: limits.outside_permille,
            defect_permille: limits.defect_permille,
            table_rows: limits.table_rows,
        }
    }
}

impl From<HealthPlan> for HealthLimits {
    fn from(plan: HealthPlan) -> Self {
        Self {
            disagree_k32: plan.disagree_k32,
            disagree_permille: plan.disagree_permille,
            saturated_permille: plan.saturated_permille,
            missing_permille: plan.missing_permille,
            outside_permille: plan.outside_permille,
            defect_permille: plan.defect_permille,
            still_frames: plan.still_frames,
            hold_frames: plan.hold_frames,
            table_rows: plan.table_rows,
        }
    }
}

impl From<Option<glowsill_core::record::Spot>> for Spot {
    fn from(spot: Option<glowsill_core::record::Spot>) -> Self {
        spot.map_or(
            Self {
                temperature: 0,
                x: 0,
                y: 0,
            },
            |spot| Self {
                temperature: spot.temperature.to_bits(),
                x: spot.x,
                y: spot.y,
            },
        )
    }
}

impl From<FrameRecord> for Record {
    fn from(record: FrameRecord) -> Self {
        Self {
            frame: record.frame,
            pixels: record.pixels,
            valid: record.valid,
            from_low: record.from_low,
            coloured: record.coloured,
            in_band: record.in_band,
            saturated: record.saturated,
            invalid: record.invalid,
            disputed: record.disputed,
            replaced: record.replaced,
            scale_low: record.scale_low.to_bits(),
            scale_high: record.scale_high.to_bits(),
            hottest: record.hottest.into(),
            coldest: record.coldest.into(),
            health: record.health.bits(),
            gain: match record.gain {
                GainInUse::PerPixel => GAIN_PER_PIXEL,
                GainInUse::High => GAIN_HIGH,
                GainInUse::Low => GAIN_LOW,
                GainInUse::Blank => GAIN_BLANK,
            },
            is_struck: u8::from(record.is_struck),
        }
    }
}
