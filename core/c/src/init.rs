//! A display is built from a configuration, which is checked here as a whole.

use core::mem::MaybeUninit;
use core::ptr::addr_of_mut;

use glowsill_core::calibration::Calibration;
use glowsill_core::health::{Cause, HealthPlan};
use glowsill_core::pipeline::{Correction, CountTables, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::Profile;
use glowsill_core::units::Temperature;

use crate::checks::{Span, check, slice, slice_mut};
use crate::display::{DISPLAY_BYTES, Display, SEAL, USED, WRITTEN, status};
use crate::status::Status;
use crate::types::{
    CalibrationTable, Config, CorrectionTable, STORAGE_ALIGN, Storage, TABLES_BYTES, Tables,
};

const _: () = assert!(
    size_of::<CountTables>() <= TABLES_BYTES && align_of::<CountTables>() <= STORAGE_ALIGN,
    "raise TABLES_BYTES in types.rs"
);

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

/// Takes count tables over.
///
/// # Safety
/// `bytes` bytes must be writable at `tables`, if it is not null, and nothing else may use them as long
/// as the display is used.
unsafe fn tables(
    tables: *mut Tables,
    bytes: usize,
) -> Result<Option<&'static mut CountTables>, Status> {
    if tables.is_null() && bytes == 0 {
        return Ok(None);
    }
    check(tables.cast_const())?;
    if bytes < size_of::<CountTables>() {
        return Err(Status::TablesTooSmall);
    }
    let place = tables.cast::<CountTables>();
    // SAFETY: not null, aligned, large enough, used by nobody else. `CountTables` holds whole numbers
    // alone, so zeros are one; a value written here would stand on the stack first.
    unsafe {
        place.write_bytes(0, 1);
        Ok(Some(&mut *place))
    }
}

/// Builds a display in a storage of `storage_bytes` bytes.
///
/// Gives 0, or `GLOWSILL_STATUS_PROFILE_REPLACED` when the built-in profile is shown. After a
/// negative status the storage holds no display. A storage may be initialised again at any time.
///
/// # Safety
/// Pointers that are not null must lead to buffers of the lengths given; corrections, defects, memory,
/// scratch and tables must stay as long as the display is used, and only the display may write the last three.
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
    let used: [Span; USED] = [
        Span::of(display.cast_const(), 1),
        Span::of(config.memory.cast_const(), config.memory_len),
        Span::of(config.scratch.cast_const(), config.scratch_len),
        Span::of(config.tables.cast::<u8>(), config.tables_bytes),
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
    // SAFETY: by the caller's promise; apart from the other buffers.
    let tables = unsafe { tables(config.tables, config.tables_bytes)? };
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
            Ok(pipeline) => place.write(match tables {
                Some(tables) => pipeline.with_tables(tables),
                None => pipeline,
            }),
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
