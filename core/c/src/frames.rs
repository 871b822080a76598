//! Rows and whole frames, in each panel format.
//!
//! Six functions that differ in the format alone: C has no generics, and a format chosen by a number
//! could not have its output's type checked by the compiler.

use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, Rgb888};

use crate::checks::{Span, slice, slice_mut};
use crate::display::{
    check_record, geometry, hand_out, idle_pipeline, keep_apart, open, open_frame, status,
};
use crate::status::Status;
use crate::types::{Record, Storage};

/// Red, green, blue as three bytes, whose layout in memory is fixed.
struct Bytes888;

impl PanelFormat for Bytes888 {
    type Pixel = [u8; 3];
    fn pack(colour: Rgb888, _x: u16, _y: u16) -> [u8; 3] {
        [colour.r, colour.g, colour.b]
    }
}

/// Samples of both gain states and the output, as they come from C.
struct Lent<T> {
    high: (*const u16, usize),
    low: (*const u16, usize),
    out: (*mut T, usize),
}

/// Three bytes make a pixel; a length that is no multiple of three fits nothing, as 0 does not.
fn pixels_of_bytes(out: *mut u8, len: usize) -> (*mut [u8; 3], usize) {
    (out.cast(), if len.is_multiple_of(3) { len / 3 } else { 0 })
}

/// Samples of the high and the low state, and the picture.
type Slices<'c, T> = (Option<&'c [u16]>, Option<&'c [u16]>, &'c mut [T]);

impl<T> Lent<T> {
    /// # Safety
    /// What is not null must be of the lengths given; `out` must be used by nobody else.
    unsafe fn slices<'c>(&self, needed: usize) -> Result<Slices<'c, T>, Status> {
        let samples = |(start, len): (*const u16, usize)| {
            if start.is_null() && len == 0 {
                return Ok(None);
            }
            // SAFETY: by the caller's promise.
            unsafe { slice(start, len, needed, Status::SamplesLength) }.map(Some)
        };
        let (high, low) = (samples(self.high)?, samples(self.low)?);
        // SAFETY: by the caller's promise.
        let out = unsafe { slice_mut(self.out.0, self.out.1, needed, Status::OutputLength)? };
        Ok((high, low, out))
    }

    fn spans(&self) -> (Span, [Span; 2]) {
        (
            Span::of(self.out.0.cast_const(), self.out.1),
            [
                Span::of(self.high.0, self.high.1),
                Span::of(self.low.0, self.low.1),
            ],
        )
    }
}

/// # Safety
/// As the functions below.
unsafe fn row<P: PanelFormat>(
    storage: *mut Storage,
    lent: &Lent<P::Pixel>,
) -> Result<Status, Status> {
    let (out, read) = lent.spans();
    // SAFETY: by the caller's promise; the buffers are apart before references to them exist.
    unsafe {
        let display = open(storage)?;
        keep_apart(display, out, &read)?;
        let (frame, geometry) = open_frame(display)?;
        let (high, low, out) = lent.slices(usize::from(geometry.width()))?;
        frame.row::<P>(high, low, out)?;
    }
    Ok(Status::Ok)
}

/// # Safety
/// As the functions below.
unsafe fn whole<P: PanelFormat>(
    storage: *mut Storage,
    lent: &Lent<P::Pixel>,
    record: *mut Record,
) -> Result<Status, Status> {
    let (out, [high, low]) = lent.spans();
    let places = Span::of(record.cast_const(), usize::from(!record.is_null()));
    // SAFETY: by the caller's promise; the buffers are apart before references to them exist.
    unsafe {
        let display = open(storage)?;
        check_record(display, record)?;
        keep_apart(display, out, &[high, low, places])?;
        let (high, low, out) = lent.slices(geometry(display).pixels())?;
        let (pipeline, was_open) = idle_pipeline(display);
        let seen = pipeline.frame::<P>(high, low, out)?;
        hand_out(seen, record);
        Ok(if was_open {
            Status::FrameAbandoned
        } else {
            Status::Ok
        })
    }
}

/// Takes the next row of samples and draws it in 5-6-5 bits, `out_len` words.
///
/// A state that the profile does not use may be NULL with length 0. Nothing may overlap `out`.
///
/// # Safety
/// A storage that is not null must be all 0 or last written by this interface; other pointers that
/// are not null must lead to buffers of the lengths given.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_row_rgb565(
    storage: *mut Storage,
    high: *const u16,
    high_len: usize,
    low: *const u16,
    low_len: usize,
    out: *mut u16,
    out_len: usize,
) -> Status {
    let lent = Lent {
        high: (high, high_len),
        low: (low, low_len),
        out: (out, out_len),
    };
    // SAFETY: by the caller's promise.
    status(unsafe { row::<PanelRgb565>(storage, &lent) })
}

/// As `glowsill_row_rgb565`, with the 4x4 ordered dither.
///
/// # Safety
/// A storage that is not null must be all 0 or last written by this interface; other pointers that
/// are not null must lead to buffers of the lengths given.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_row_rgb565_dithered(
    storage: *mut Storage,
    high: *const u16,
    high_len: usize,
    low: *const u16,
    low_len: usize,
    out: *mut u16,
    out_len: usize,
) -> Status {
    let lent = Lent {
        high: (high, high_len),
        low: (low, low_len),
        out: (out, out_len),
    };
    // SAFETY: by the caller's promise.
    status(unsafe { row::<PanelRgb565Dithered>(storage, &lent) })
}

/// As `glowsill_row_rgb565`, in red, green and blue bytes: `out_bytes` is three times the width.
///
/// # Safety
/// A storage that is not null must be all 0 or last written by this interface; other pointers that
/// are not null must lead to buffers of the lengths given.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_row_rgb888(
    storage: *mut Storage,
    high: *const u16,
    high_len: usize,
    low: *const u16,
    low_len: usize,
    out: *mut u8,
    out_bytes: usize,
) -> Status {
    let lent = Lent {
        high: (high, high_len),
        low: (low, low_len),
        out: pixels_of_bytes(out, out_bytes),
    };
    // SAFETY: by the caller's promise.
    status(unsafe { row::<Bytes888>(storage, &lent) })
}

/// Draws a whole frame in 5-6-5 bits: `glowsill_begin_frame`, every row, `glowsill_end_frame`.
///
/// Planes are in row order, width times height elements. `record` may be NULL.
///
/// # Safety
/// A storage that is not null must be all 0 or last written by this interface; other pointers that
/// are not null must lead to buffers of the lengths given; a record that is not null must be writable.
#[allow(clippy::too_many_arguments, reason = "C has no slices")]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_frame_rgb565(
    storage: *mut Storage,
    high: *const u16,
    high_len: usize,
    low: *const u16,
    low_len: usize,
    out: *mut u16,
    out_len: usize,
    record: *mut Record,
) -> Status {
    let lent = Lent {
        high: (high, high_len),
        low: (low, low_len),
        out: (out, out_len),
    };
    // SAFETY: by the caller's promise.
    status(unsafe { whole::<PanelRgb565>(storage, &lent, record) })
}

/// As `glowsill_frame_rgb565`, with the 4x4 ordered dither.
///
/// # Safety
/// A storage that is not null must be all 0 or last written by this interface; other pointers that
/// are not null must lead to buffers of the lengths given; a record that is not null must be writable.
#[allow(clippy::too_many_arguments, reason = "C has no slices")]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_frame_rgb565_dithered(
    storage: *mut Storage,
    high: *const u16,
    high_len: usize,
    low: *const u16,
    low_len: usize,
    out: *mut u16,
    out_len: usize,
    record: *mut Record,
) -> Status {
    let lent = Lent {
        high: (high, high_len),
        low: (low, low_len),
        out: (out, out_len),
    };
    // SAFETY: by the caller's promise.
    status(unsafe { whole::<PanelRgb565Dithered>(storage, &lent, record) })
}

/// As `glowsill_frame_rgb565`, in red, green and blue bytes: `out_bytes` is three times the pixels.
///
/// # Safety
/// A storage that is not null must be all 0 or last written by this interface; other pointers that
/// are not null must lead to buffers of the lengths given; a record that is not null must be writable.
#[allow(clippy::too_many_arguments, reason = "C has no slices")]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_frame_rgb888(
    storage: *mut Storage,
    high: *const u16,
    high_len: usize,
    low: *const u16,
    low_len: usize,
    out: *mut u8,
    out_bytes: usize,
    record: *mut Record,
) -> Status {
    let lent = Lent {
        high: (high, high_len),
        low: (low, low_len),
        out: pixels_of_bytes(out, out_bytes),
    };
    // SAFETY: by the caller's promise.
    status(unsafe { whole::<Bytes888>(storage, &lent, record) })
}
