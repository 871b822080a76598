//! What a call says about how it went.

use core::ffi::CStr;

use glowsill_core::calibration::CalibrationError;
use glowsill_core::error::{ConfigError, FrameError};
use glowsill_core::packed::PackedError;

/// How a call went: 0 as asked; positive: it works, but read why; negative: refused, nothing changed
/// unless the function says so.
#[repr(i32)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// As asked.
    Ok = 0,
    /// The stored profile cannot be used; the built-in safe one is shown, struck out.
    ProfileReplaced = 1,
    /// The frame before was left before its last row; its statistics are dropped, and the picture
    /// that begins is struck out.
    FrameAbandoned = 2,
    /// A pointer is null that must not be.
    NullPointer = -1,
    /// A pointer is not aligned for its elements.
    Misaligned = -2,
    /// Two buffers overlap of which one is written.
    Overlap = -3,
    /// The storage is smaller than `glowsill_storage_bytes()`.
    StorageTooSmall = -4,
    /// The storage was never initialised, or was moved since.
    NotReady = -5,
    /// Width is outside 8 to 1280 or height outside 8 to 1024.
    Geometry = -6,
    /// `memory_len` is not `glowsill_memory_bytes(width, height)`.
    MemoryLength = -7,
    /// `scratch_len` is not `glowsill_scratch_words(width, height)`.
    ScratchLength = -8,
    /// `defects_len` is not width times height.
    DefectsLength = -9,
    /// The length of a correction is not width times height.
    CorrectionLength = -10,
    /// The profile uses high gain, which has no calibration.
    NoHighCalibration = -11,
    /// The profile uses low gain, which has no calibration.
    NoLowCalibration = -12,
    /// The shift of a calibration is outside 6 to 8.
    CalibrationShift = -13,
    /// The knots of a calibration fall.
    CalibrationFalls = -14,
    /// The saturation count of a calibration is 0 or beyond its table.
    CalibrationSaturation = -15,
    /// No frame has begun.
    NoFrame = -16,
    /// The frame already has all its rows: the next picture is struck out.
    TooManyRows = -17,
    /// The frame ended before its last row: its statistics are dropped, and the next picture is
    /// struck out.
    Incomplete = -18,
    /// A row or plane of samples has the wrong length.
    SamplesLength = -19,
    /// The output has the wrong length.
    OutputLength = -20,
    /// High-gain samples are needed for this frame and were not given.
    NoHighSamples = -21,
    /// Low-gain samples are needed for this frame and were not given.
    NoLowSamples = -22,
    /// Reason of `ProfileReplaced`: no profile was given.
    ProfileMissing = -23,
    /// Reason of `ProfileReplaced`: the bytes are cut off.
    ProfileTruncated = -24,
    /// Reason of `ProfileReplaced`: the bytes do not begin with the mark of a packed profile.
    ProfileNotOne = -25,
    /// Reason of `ProfileReplaced`: written by another version.
    ProfileVersion = -26,
    /// Reason of `ProfileReplaced`: the check sum does not match.
    ProfileDamaged = -27,
    /// Reason of `ProfileReplaced`: the body is no profile.
    ProfileBody = -28,
    /// Reason of `ProfileReplaced`: a field is outside its limits.
    ProfileField = -29,
    /// An error of a newer core that this interface has no name for.
    Other = -30,
    /// `tables_bytes` is less than `glowsill_tables_bytes()`.
    TablesTooSmall = -31,
}

impl Status {
    /// Every status, in the order of the header.
    #[must_use]
    pub const fn all() -> [Self; 34] {
        [
            Self::Ok,
            Self::ProfileReplaced,
            Self::FrameAbandoned,
            Self::NullPointer,
            Self::Misaligned,
            Self::Overlap,
            Self::StorageTooSmall,
            Self::NotReady,
            Self::Geometry,
            Self::MemoryLength,
            Self::ScratchLength,
            Self::DefectsLength,
            Self::CorrectionLength,
            Self::NoHighCalibration,
            Self::NoLowCalibration,
            Self::CalibrationShift,
            Self::CalibrationFalls,
            Self::CalibrationSaturation,
            Self::NoFrame,
            Self::TooManyRows,
            Self::Incomplete,
            Self::SamplesLength,
            Self::OutputLength,
            Self::NoHighSamples,
            Self::NoLowSamples,
            Self::ProfileMissing,
            Self::ProfileTruncated,
            Self::ProfileNotOne,
            Self::ProfileVersion,
            Self::ProfileDamaged,
            Self::ProfileBody,
            Self::ProfileField,
            Self::Other,
            Self::TablesTooSmall,
        ]
    }

    /// What it means and what to do, for a log.
    #[must_use]
    pub const fn text(self) -> &'static CStr {
        match self {
            Self::Ok => c"as asked",
            Self::ProfileReplaced => {
                c"the stored profile cannot be used, the built-in one is shown and struck out; ask glowsill_profile_problem for the reason and store the profile again"
            }
            Self::FrameAbandoned => {
                c"the frame before was left before its last row; end each frame with glowsill_end_frame"
            }
            Self::NullPointer => c"a pointer is null that must not be; give the buffer",
            Self::Misaligned => {
                c"a pointer is not aligned for its elements; declare the buffer with its own type"
            }
            Self::Overlap => {
                c"two buffers overlap of which one is written; give each its own memory"
            }
            Self::StorageTooSmall => {
                c"the storage is smaller than glowsill_storage_bytes(); use a glowsill_storage"
            }
            Self::NotReady => {
                c"the storage was never initialised, or was moved since; call glowsill_init where it stands"
            }
            Self::Geometry => {
                c"width must be from 8 to 1280 and height from 8 to 1024 pixels; correct the configuration"
            }
            Self::MemoryLength => {
                c"memory_len must be glowsill_memory_bytes(width, height); correct the buffer"
            }
            Self::ScratchLength => {
                c"scratch_len must be glowsill_scratch_words(width, height); correct the buffer"
            }
            Self::DefectsLength => {
                c"defects_len must be width times height; give one byte a pixel or NULL"
            }
            Self::CorrectionLength => {
                c"the length of a correction must be width times height; give one gain and one offset a pixel or NULL"
            }
            Self::NoHighCalibration => {
                c"the profile uses high gain, which has no calibration; give one, or store a profile of low gain alone"
            }
            Self::NoLowCalibration => {
                c"the profile uses low gain, which has no calibration; give one, or store a profile of high gain alone"
            }
            Self::CalibrationShift => {
                c"the shift of a calibration must be 6 (14-bit counts), 7 or 8; correct the table"
            }
            Self::CalibrationFalls => {
                c"the knots of a calibration must not fall; correct the table"
            }
            Self::CalibrationSaturation => {
                c"the saturation count of a calibration must be from 1 to the last count of its table; correct it"
            }
            Self::NoFrame => c"no frame has begun; call glowsill_begin_frame first",
            Self::TooManyRows => {
                c"the frame already has all its rows, and the next picture is struck out; call glowsill_end_frame after the last row"
            }
            Self::Incomplete => {
                c"the frame ended before its last row, and the next picture is struck out; give every row"
            }
            Self::SamplesLength => {
                c"samples must be width counts a row, or width times height a frame; correct the length"
            }
            Self::OutputLength => {
                c"the output must be one word a pixel, or three bytes a pixel for RGB888; correct the length"
            }
            Self::NoHighSamples => c"high-gain samples are needed for this frame; give them",
            Self::NoLowSamples => c"low-gain samples are needed for this frame; give them",
            Self::ProfileMissing => c"no profile was given; store one made by 'glowsill profile pack'",
            Self::ProfileTruncated => {
                c"the packed profile is cut off; store all bytes of 'glowsill profile pack'"
            }
            Self::ProfileNotOne => {
                c"the bytes do not begin with 'gsil'; store a file of 'glowsill profile pack'"
            }
            Self::ProfileVersion => {
                c"the packed profile has another version than this build reads; pack it again with the same release"
            }
            Self::ProfileDamaged => {
                c"the check sum of the packed profile does not match: the bytes were damaged; store it again"
            }
            Self::ProfileBody => {
                c"the packed profile has a body that is no profile; pack it again with the same release"
            }
            Self::ProfileField => {
                c"a field of the packed profile is outside its limits; check it with 'glowsill profile check'"
            }
            Self::Other => c"an error of a newer core; read its release notes",
            Self::TablesTooSmall => {
                c"tables_bytes is less than glowsill_tables_bytes(), which is at most 131,328; lend a glowsill_tables with its size, or NULL with 0 to do without"
            }
        }
    }
}

impl From<ConfigError> for Status {
    fn from(error: ConfigError) -> Self {
        match error {
            ConfigError::Geometry { .. } => Self::Geometry,
            ConfigError::Length { field, .. } => match field {
                "memory" => Self::MemoryLength,
                "scratch" => Self::ScratchLength,
                "defects" => Self::DefectsLength,
                _ => Self::CorrectionLength,
            },
            ConfigError::NoCalibration { gain: "low" } => Self::NoLowCalibration,
            ConfigError::NoCalibration { .. } => Self::NoHighCalibration,
            _ => Self::Other,
        }
    }
}

impl From<FrameError> for Status {
    fn from(error: FrameError) -> Self {
        match error {
            FrameError::Length { field, .. } if field.contains("picture") => Self::OutputLength,
            FrameError::Length { .. } => Self::SamplesLength,
            FrameError::NoSamples { gain: "low" } => Self::NoLowSamples,
            FrameError::NoSamples { .. } => Self::NoHighSamples,
            FrameError::TooManyRows { .. } => Self::TooManyRows,
            FrameError::Incomplete { .. } => Self::Incomplete,
            _ => Self::Other,
        }
    }
}

impl From<CalibrationError> for Status {
    fn from(error: CalibrationError) -> Self {
        match error {
            CalibrationError::Shift { .. } => Self::CalibrationShift,
            CalibrationError::Falls { .. } => Self::CalibrationFalls,
            CalibrationError::Saturation { .. } => Self::CalibrationSaturation,
            _ => Self::Other,
        }
    }
}

impl From<PackedError> for Status {
    fn from(error: PackedError) -> Self {
        match error {
            PackedError::Truncated { .. } => Self::ProfileTruncated,
            PackedError::NotAProfile => Self::ProfileNotOne,
            PackedError::Version { .. } => Self::ProfileVersion,
            PackedError::Damaged { .. } => Self::ProfileDamaged,
            PackedError::Body => Self::ProfileBody,
            PackedError::Field(_) => Self::ProfileField,
            _ => Self::Other,
        }
    }
}
