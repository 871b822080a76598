//! The display in the caller's storage: begun, ended, reset.

use core::mem::MaybeUninit;
use core::ptr::{addr_of, addr_of_mut};

use glowsill_core::calibration::Calibration;
use glowsill_core::health::Cause;
use glowsill_core::pipeline::{Frame, Geometry, Pipeline};
use glowsill_core::record::FrameRecord;

use crate::checks::{Span, check};
use crate::status::Status;
use crate::types::{Record, STORAGE_ALIGN, STORAGE_BYTES, Storage};

/// Exclusive-or of a ready display's seal and its own address.
pub(crate) const SEAL: usize = 0x5EA1_ED0D;

/// Buffers whose places a display remembers: those it writes first.
pub(crate) const WRITTEN: usize = 4;
pub(crate) const USED: usize = WRITTEN + 5;

/// What the storage holds.
///
/// `pipeline` borrows the calibrations, and `frame` borrows `pipeline` while it is open. So no
/// reference to the whole structure is ever made, only to single fields, and to `pipeline` only
/// while `frame` is `None`.
pub(crate) struct Display {
    /// Written last: without it nothing else is read.
    pub(crate) seal: usize,
    pub(crate) geometry: Geometry,
    pub(crate) used: [Span; USED],
    pub(crate) profile_problem: Status,
    pub(crate) high: MaybeUninit<Calibration>,
    pub(crate) low: MaybeUninit<Calibration>,
    pub(crate) pipeline: MaybeUninit<Pipeline<'static>>,
    pub(crate) frame: Option<Frame<'static, 'static>>,
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
