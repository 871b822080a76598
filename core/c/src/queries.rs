//! Sizes, names and units: calls that need no display.

use core::ffi::{CStr, c_char};

use glowsill_core::health::HealthPlan;
use glowsill_core::pipeline::{CountTables, Geometry, Pipeline};
use glowsill_core::units::Temperature;

use crate::checks::check;
use crate::display::{DISPLAY_BYTES, status};
use crate::init::correction;
use crate::status::Status;
use crate::types::{CAUSE_COUNT, CorrectionTable, HealthLimits, STORAGE_ALIGN, VERSION};

/// Version of the library's interface; a program compares it with `GLOWSILL_VERSION`.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_version() -> u32 {
    VERSION
}

/// Bytes of storage that a display takes on this machine, at most `GLOWSILL_STORAGE_BYTES`.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_storage_bytes() -> usize {
    DISPLAY_BYTES
}

/// Bytes that count tables take on this machine, at most `GLOWSILL_TABLES_BYTES`.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_tables_bytes() -> usize {
    size_of::<CountTables>()
}

/// Alignment of the storage and of count tables, bytes.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_storage_align() -> usize {
    STORAGE_ALIGN
}

/// Bytes of `memory` that a size of picture needs; 0 if there is no such size.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_memory_bytes(width: u16, height: u16) -> usize {
    Geometry::new(width, height).map_or(0, Geometry::pixels)
}

/// 16-bit words of `scratch` that a size of picture needs; 0 if there is no such size.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_scratch_words(width: u16, height: u16) -> usize {
    Geometry::new(width, height).map_or(0, Pipeline::scratch_len)
}

/// Limits of health that a display in use should run with.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_health_default() -> HealthLimits {
    HealthPlan::DEFAULT.into()
}

/// Limits that watch only rows, frame numbers and the profile: for sources without noise.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_health_off() -> HealthLimits {
    HealthPlan::OFF.into()
}

/// Check sum of a correction, to be stored with it: CRC-32 over each pixel's gain and offset.
///
/// # Safety
/// Pointers that are not null must lead to buffers of the lengths given.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn glowsill_correction_crc32(
    table: *const CorrectionTable,
    crc32: *mut u32,
) -> Status {
    // SAFETY: by the caller's promise.
    status(unsafe { crc_of(table, crc32) })
}

unsafe fn crc_of(table: *const CorrectionTable, crc32: *mut u32) -> Result<Status, Status> {
    check(table)?;
    check(crc32.cast_const())?;
    // SAFETY: not null, aligned, readable by the caller's promise.
    let table = unsafe { table.read() };
    let limit = Geometry::new(1280, 1024).map_or(0, Geometry::pixels);
    if table.len > limit {
        return Err(Status::CorrectionLength);
    }
    // SAFETY: by the caller's promise.
    let table = unsafe { correction(&table, table.len)? };
    let sum = table.ok_or(Status::NullPointer)?.crc32();
    // SAFETY: not null, aligned, writable by the caller's promise.
    unsafe { crc32.write(sum) };
    Ok(Status::Ok)
}

const CAUSES: [&CStr; CAUSE_COUNT] = [
    c"stale",
    c"frozen",
    c"rows missing",
    c"high gain stuck",
    c"low gain stuck",
    c"gains disagree",
    c"saturated",
    c"no samples",
    c"off calibration",
    c"correction damaged",
    c"profile damaged",
    c"defects",
];

/// Causes that the health bits name: bit 0 to this less 1.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_cause_count() -> u32 {
    // Twelve fit.
    u32::try_from(CAUSE_COUNT).unwrap_or(0)
}

/// Name of the cause of a health bit, such as "frozen" of bit 1; never NULL.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_cause_name(bit: u32) -> *const c_char {
    let place = usize::try_from(bit).unwrap_or(usize::MAX);
    CAUSES
        .get(place)
        .map_or(c"unknown cause", |name| *name)
        .as_ptr()
}

/// What a status means and what to do; never NULL.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_status_text(status: i32) -> *const c_char {
    let known = Status::all()
        .into_iter()
        .find(|known| number(*known) == status);
    known.map_or(c"unknown status", Status::text).as_ptr()
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "the enumeration is 32 bits wide by its declaration"
)]
const fn number(status: Status) -> i32 {
    status as i32
}

/// A code of 1/32 K in thousandths of a degree Celsius.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_millicelsius(code: u16) -> i32 {
    i32::try_from(Temperature::from_bits(code).to_millicelsius()).unwrap_or(i32::MAX)
}

/// A code of 1/32 K in thousandths of a degree Fahrenheit, rounded to the nearest.
#[unsafe(no_mangle)]
pub extern "C" fn glowsill_millifahrenheit(code: u16) -> i32 {
    let fifths = Temperature::from_bits(code).to_millikelvin() * 9 - 459_670 * 5;
    i32::try_from((fifths + 2).div_euclid(5)).unwrap_or(i32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use glowsill_core::health::{Cause, Health};

    #[test]
    fn names_are_those_of_the_core_in_the_order_of_its_bits() {
        for (i, cause) in Cause::ALL.into_iter().enumerate() {
            assert_eq!(CAUSES[i].to_str().unwrap(), cause.name());
            assert_eq!(Health::GOOD.with(cause).bits(), 1 << i);
        }
        assert_eq!(Cause::ALL.len(), CAUSE_COUNT);
    }

    #[test]
    fn every_status_has_its_own_number_and_a_text_with_a_next_step() {
        for (i, status) in Status::all().into_iter().enumerate() {
            let mut others = Status::all().into_iter().skip(i + 1);
            assert!(others.all(|other| other != status));
            let text = status.text().to_str().unwrap();
            assert!(status == Status::Ok || text.contains(';'), "{text}");
        }
        // Numbers run from 2 down to the last one without a gap.
        let numbers: Vec<i32> = Status::all().into_iter().map(number).collect();
        assert_eq!(numbers[..3], [0, 1, 2]);
        assert!(
            numbers[3..]
                .iter()
                .zip(1..)
                .all(|(number, i)| *number == -i)
        );
    }

    #[test]
    fn codes_become_degrees() {
        // Source: 0 °C is 273.15 K and 32 °F by definition; code 13,861 is 433.15625 K.
        assert_eq!(glowsill_millicelsius(13_861), 160_006);
        assert_eq!(glowsill_millifahrenheit(13_861), 320_011);
        assert_eq!(glowsill_millicelsius(0), -273_150);
        assert_eq!(glowsill_millifahrenheit(0), -459_670);
    }
}
