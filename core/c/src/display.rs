//! The display in the caller's storage: built, begun, ended, reset.

use core::mem::MaybeUninit;
use core::ptr::{addr_of, addr_of_mut};

use glowsill_core::calibration::Calibration;
use glowsill_core::health::{Cause, HealthPlan};
use glowsill_core::pipeline::{Correction, Frame, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::Profile;
use glowsill_core::record::FrameRecord;
use glowsill_core::units::Temperature;

use crate::checks::{Span, check, slice, slice_mut};
use crate::status::Status;
use crate::types::{
    CalibrationTable, Config, CorrectionTable, Record, STORAGE_ALIGN, STORAGE_BYTES, Storage,
};

/// Exclusive-or of a ready display's seal and its own address.
const SEAL: usize = 0x5EA1_ED0D;

/// Buffers whose places a display remembers: those it writes first.
const WRITTEN: usize = 3;
const USED: usize = WRITTEN + 5;

/// What the storage holds.
///
/// `pipeline` borrows the calibrations, and `frame` borrows `pipeline` while it is open. So no
/// reference to the whole structure is ever made, only to single fields, and to `pipeline` only
/// while `frame` is `None`.
pub(crate) struct Display {
    /// Written last: without it nothing else is read.
    seal: usize,
    geometry: Geometry,
    used: [Span; USED],
    profile_problem: Status,
    high: MaybeUninit<Calibration>,
    low: MaybeUninit<Calibration>,
    pipeline: MaybeUninit<Pipeline<'static>>,
    frame: Option<Frame<'static, 'static>>,
}

pub(crate) const DISPLAY_BYTES: usize = size_of::<Display>();

const _: () = assert!(
    size_of::<Display>() <= STORAGE_BYTES && align_of::<Display>() <= STORAGE_ALIGN,
    "raise STORAGE_BYTES in types.rs"
);

/// A ready display.
///
/// # Safety
/// A storage that is not null must be readable, all 0 or last written by this interface.
pub(crate) unsafe fn open(storage: *mut Storage) -> Result<*mut Display, Status> {
    check(storage.cast_const())?;
    let display = storage.cast::<Display>();
    // SAFETY: inside the storage, aligned, readable by the caller's promise.
    let seal = unsafe { addr_of!((*display).seal).read() };
    if seal == display.addr() ^ SEAL {
        Ok(display)
    } else {
        Err(Status::NotReady)
    }
}

/// The open frame, the geometry and the buffers that a row must not overlap.
///
/// # Safety
/// As [`open`]; the references must be gone before the next call for this storage.
pub(crate) unsafe fn open_frame<'c>(
    display: *mut Display,
) -> Result<(&'c mut Frame<'static, 'static>, Geometry), Status> {
    // SAFETY: single fields of a ready display, which nobody else uses during the call.
    let (frame, geometry) = unsafe { (&mut *addr_of_mut!((*display).frame), (*display).geometry) };
    frame
        .as_mut()
        .map(|frame| (frame, geometry))
        .ok_or(Status::NoFrame)
}

/// Refuses an output that overlaps a buffer of the display, and input that it writes.
///
/// # Safety
/// `display` must be ready.
pub(crate) unsafe fn keep_apart(
    display: *mut Display,
    out: Span,
    read: &[Span],
) -> Result<(), Status> {
    // SAFETY: a field of a ready display.
    let used = unsafe { (*display).used };
    let written = used.iter().take(WRITTEN);
    let clash = used.iter().chain(read).any(|span| out.meets(*span))
        || written
            .clone()
            .any(|span| read.iter().any(|input| input.meets(*span)));
    if clash { Err(Status::Overlap) } else { Ok(()) }
}

/// The pipeline, with the open frame dropped; also whether there was one.
///
/// # Safety
/// `display` must be ready; the reference must be gone before `frame` is used again.
pub(crate) unsafe fn idle_pipeline<'c>(display: *mut Display) -> (&'c mut Pipeline<'static>, bool) {
    // SAFETY: single fields of a ready display; `frame`, the only borrower of `pipeline`, is dropped
    // before `pipeline` is borrowed anew.
    unsafe {
        let was_open = (*addr_of_mut!((*display).frame)).take().is_some();
        let pipeline = &mut *addr_of_mut!((*display).pipeline);
        (pipeline.assume_init_mut(), was_open)
    }
}

/// Geometry of a ready display.
///
/// # Safety
/// `display` must be ready.
pub(crate) unsafe fn geometry(display: *mut Display) -> Geometry {
    // SAFETY: a field of a ready display.
    unsafe { (*display).geometry }
}

/// Writes a record if the caller wants one.
///
/// # Safety
/// `to`, if not null, must be writable.
pub(crate) unsafe fn hand_out(record: FrameRecord, to: *mut Record) {
    if !to.is_null() {
        // SAFETY: checked by `check_record`.
        unsafe { to.write(record.into()) };
    }
}

/// Refuses a misaligned record, and one inside a buffer of the display.
///
/// # Safety
/// `display` must be ready.
pub(crate) unsafe fn check_record(display: *mut Display, to: *mut Record) -> Result<(), Status> {
    if to.is_null() {
        return Ok(());
    }
    check(to.cast_const())?;
    // SAFETY: by the caller's promise.
    unsafe { keep_apart(display, Span::of(to.cast_const(), 1), &[]) }
}

/// Status of a call whose work ended well or was refused.
pub(crate) fn status(result: Result<Status, Status>) -> Status {
    result.unwrap_or_else(|refused| refused)
}

/// Reads a calibration.
///
/// # Safety
/// `table`, if not null, must be readable.
unsafe fn calibration(table: *const CalibrationTable) -> Result<Option<Calibration>, Status> {
    if table.is_null() {
        return Ok(None);
    }
    check(table)?;
    // SAFETY: not null, aligned, readable by the caller's promise.
    let table = unsafe { &*table };
    let knots = table.knots.map(Temperature::from_bits);
    Ok(Some(Calibration::new(
        table.shift,
        knots,
        table.saturation,
    )?))
}

/// Reads a correction.
///
/// # Safety
/// Its buffers, if not null, must be readable and unchanged as long as the display is used.
pub(crate) unsafe fn correction(
    table: &CorrectionTable,
    pixels: usize,
) -> Result<Option<Correction<'static>>, Status> {
    if table.gain_q14.is_null() && table.offset.is_null() && table.len == 0 {
        return Ok(None);
    }
    let wrong = Status::CorrectionLength;
    // SAFETY: by the caller's promise.
    unsafe {
        Ok(Some(Correction {
            gain_q14: slice(table.gain_q14, table.len, pixels, wrong)?,
            offset: slice(table.offset, table.len, pixels, wrong)?,
        }))
    }
}

/// Builds a display in a storage of `storage_bytes` bytes.
///
/// Gives 0, or `GLOWSILL_STATUS_PROFILE_REPLACED` when the built-in profile is shown. After a
/// negative status the storage holds no display. A storage may be initialised again at any time.
///
/// # Safety
/// Pointers that are not null must lead to buffers of the lengths given; corrections, defects,
/// memory and scratch must stay as long as the display is used, and only the display may write the last two.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_init(
    storage: *mut Storage,
    storage_bytes: usize,
    config: *const Config,
) -> Status {
    // SAFETY: by the caller's promise.
    status(unsafe { init(storage, storage_bytes, config) })
}

unsafe fn init(
    storage: *mut Storage,
    storage_bytes: usize,
    config: *const Config,
) -> Result<Status, Status> {
    check(storage.cast_const())?;
    check(config)?;
    if storage_bytes < DISPLAY_BYTES {
        return Err(Status::StorageTooSmall);
    }
    let display = storage.cast::<Display>();
    // SAFETY: not null, aligned, readable by the caller's promise. Copied, so that it may go.
    let config = unsafe { config.read() };
    // SAFETY: inside the storage, which is large enough. A refused configuration leaves no display.
    unsafe { addr_of_mut!((*display).seal).write(0) };
    // SAFETY: by the caller's promise.
    let (high, low) = unsafe { (calibration(config.high)?, calibration(config.low)?) };
    let health = if config.health.is_null() {
        HealthPlan::DEFAULT
    } else {
        check(config.health)?;
        // SAFETY: not null, aligned, readable by the caller's promise.
        unsafe { *config.health }.into()
    };
    let geometry = Geometry::new(config.width, config.height)?;
    let pixels = geometry.pixels();
    let used = [
        Span::of(display.cast_const(), 1),
        Span::of(config.memory.cast_const(), config.memory_len),
        Span::of(config.scratch.cast_const(), config.scratch_len),
        Span::of(config.high_correction.gain_q14, config.high_correction.len),
        Span::of(config.high_correction.offset, config.high_correction.len),
        Span::of(config.low_correction.gain_q14, config.low_correction.len),
        Span::of(config.low_correction.offset, config.low_correction.len),
        Span::of(config.defects, config.defects_len),
    ];
    for (i, written) in used.iter().enumerate().take(WRITTEN) {
        if used.iter().skip(i + 1).any(|other| written.meets(*other)) {
            return Err(Status::Overlap);
        }
    }
    // SAFETY: by the caller's promise; the buffers are apart from each other.
    let (memory, scratch, high_correction, low_correction) = unsafe {
        (
            slice_mut(
                config.memory,
                config.memory_len,
                pixels,
                Status::MemoryLength,
            )?,
            slice_mut(
                config.scratch,
                config.scratch_len,
                Pipeline::scratch_len(geometry),
                Status::ScratchLength,
            )?,
            correction(&config.high_correction, pixels)?,
            correction(&config.low_correction, pixels)?,
        )
    };
    let defects = if config.defects.is_null() && config.defects_len == 0 {
        None
    } else {
        let wrong = Status::DefectsLength;
        // SAFETY: by the caller's promise.
        Some(unsafe { slice(config.defects, config.defects_len, pixels, wrong)? })
    };
    // SAFETY: fields of the storage, written before they are read; the calibrations are not touched
    // again while the pipeline is used.
    let (high, low) = unsafe {
        (
            keep(addr_of_mut!((*display).high), high),
            keep(addr_of_mut!((*display).low), low),
        )
    };
    let crc = |table: &CorrectionTable| (table.has_crc32 != 0).then_some(table.crc32);
    let sensor = SensorConfig {
        high,
        low,
        high_correction,
        low_correction,
        high_crc: crc(&config.high_correction),
        low_crc: crc(&config.low_correction),
        defects,
        health,
    };
    // SAFETY: by the caller's promise.
    let (profile, problem) = unsafe { profile(&config, &sensor)? };
    // SAFETY: a field of the storage, not borrowed by anything.
    unsafe {
        let place = addr_of_mut!((*display).pipeline).cast::<Pipeline<'static>>();
        match Pipeline::new(geometry, &profile, sensor, memory, scratch) {
            // In one step: a name for the pipeline would be one more copy of it on the stack.
            Ok(pipeline) => place.write(pipeline),
            Err(refused) => return Err(refused.into()),
        }
        if problem != Status::Ok {
            (*place).raise(Cause::ProfileFallback);
        }
    }
    // SAFETY: fields of the storage.
    unsafe {
        addr_of_mut!((*display).geometry).write(geometry);
        addr_of_mut!((*display).used).write(used);
        addr_of_mut!((*display).profile_problem).write(problem);
        addr_of_mut!((*display).frame).write(None);
        addr_of_mut!((*display).seal).write(display.addr() ^ SEAL);
    }
    Ok(if problem == Status::Ok {
        Status::Ok
    } else {
        Status::ProfileReplaced
    })
}

/// Puts a calibration where it stays.
///
/// # Safety
/// `place` must be writable, and not written again while the reference is used.
unsafe fn keep(
    place: *mut MaybeUninit<Calibration>,
    table: Option<Calibration>,
) -> Option<&'static Calibration> {
    let table = table?;
    // SAFETY: by the caller's promise; initialised by the write.
    unsafe {
        place.write(MaybeUninit::new(table));
        Some((*place).assume_init_ref())
    }
}

/// The stored profile, or the built-in one with the reason.
///
/// # Safety
/// The profile's bytes, if not null, must be readable.
unsafe fn profile(config: &Config, sensor: &SensorConfig<'_>) -> Result<(Profile, Status), Status> {
    if config.profile.is_null() {
        if config.profile_len != 0 {
            return Err(Status::NullPointer);
        }
        return Ok((Profile::safe(sensor), Status::ProfileMissing));
    }
    // A packed profile announces at most 65,535 bytes; what lies behind is never read.
    let len = config.profile_len.min(65_546);
    // SAFETY: not null, readable by the caller's promise.
    let bytes = unsafe { core::slice::from_raw_parts(config.profile, len) };
    let (profile, problem) = Profile::from_bytes_or_safe(bytes, sensor);
    Ok((profile, problem.map_or(Status::Ok, Status::from)))
}

/// Why the built-in profile is shown: 0, or one of the `GLOWSILL_STATUS_PROFILE_...`.
///
/// # Safety
/// A storage that is not null must be all 0 or last written by this interface.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_profile_problem(storage: *mut Storage) -> Status {
    // SAFETY: by the caller's promise.
    status(unsafe { open(storage).map(|display| (*display).profile_problem) })
}

/// Forgets everything but the configuration: the next frame is the first one. An open frame is dropped.
///
/// # Safety
/// As `glowsill_profile_problem`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_reset(storage: *mut Storage) -> Status {
    // SAFETY: by the caller's promise.
    status(unsafe { open(storage) }.map(|display| {
        // SAFETY: a ready display, used by nobody else.
        let (pipeline, problem) = unsafe { (idle_pipeline(display).0, (*display).profile_problem) };
        pipeline.reset();
        if problem != Status::Ok {
            pipeline.raise(Cause::ProfileFallback);
        }
        Status::Ok
    }))
}

/// Begins a frame. `GLOWSILL_STATUS_FRAME_ABANDONED` if the one before was not ended.
///
/// # Safety
/// As `glowsill_profile_problem`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_begin_frame(storage: *mut Storage) -> Status {
    // SAFETY: by the caller's promise.
    status(unsafe { begin(storage, None) })
}

/// Begins a frame of a sensor that numbers its frames: an equal number is `GLOWSILL_HEALTH_STALE`.
///
/// # Safety
/// As `glowsill_profile_problem`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_begin_numbered_frame(
    storage: *mut Storage,
    number: u32,
) -> Status {
    // SAFETY: by the caller's promise.
    status(unsafe { begin(storage, Some(number)) })
}

unsafe fn begin(storage: *mut Storage, number: Option<u32>) -> Result<Status, Status> {
    // SAFETY: by the caller's promise; the pipeline's borrow moves into `frame`.
    unsafe {
        let display = open(storage)?;
        let (pipeline, was_open) = idle_pipeline(display);
        let frame = match number {
            Some(number) => pipeline.begin_numbered_frame(number),
            None => pipeline.begin_frame(),
        };
        addr_of_mut!((*display).frame).write(Some(frame));
        Ok(if was_open {
            Status::FrameAbandoned
        } else {
            Status::Ok
        })
    }
}

/// Ends the frame: decides the next one's scale and gain state, and writes the record (may be NULL).
///
/// `GLOWSILL_STATUS_INCOMPLETE` when rows are missing: the frame is over, the record not written.
///
/// # Safety
/// As `glowsill_profile_problem`; a record that is not null must be writable.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_end_frame(storage: *mut Storage, record: *mut Record) -> Status {
    // SAFETY: by the caller's promise.
    status(unsafe { end(storage, record) })
}

unsafe fn end(storage: *mut Storage, record: *mut Record) -> Result<Status, Status> {
    // SAFETY: by the caller's promise.
    unsafe {
        let display = open(storage)?;
        check_record(display, record)?;
        let frame = (*addr_of_mut!((*display).frame)).take();
        let seen = frame.ok_or(Status::NoFrame)?.end_frame()?;
        hand_out(seen, record);
        Ok(Status::Ok)
    }
}
