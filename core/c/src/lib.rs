#![cfg_attr(target_os = "none", no_std)]
#![deny(unsafe_op_in_unsafe_fn)]
//! C interface of `glowsill-core`: storage owned by the caller, no heap, a status from every call.
//!
//! The only package of the core with unsafe code, and only where a C pointer becomes a Rust
//! reference. `include/glowsill.h` is generated from these files; `docs/c-interface.md` explains it.
//! A program in Rust uses `glowsill-core` itself, never this package: on a microcontroller this one
//! brings a panic handler of its own.
//!
//! Simulation and teaching only; not a certification. Apparent temperature is not true temperature.

mod checks;
mod display;
mod frames;
mod init;
mod queries;
mod status;
mod types;

pub use display::{
    glowsill_begin_frame, glowsill_begin_numbered_frame, glowsill_end_frame,
    glowsill_profile_problem, glowsill_reset,
};
pub use frames::{
    glowsill_frame_rgb565, glowsill_frame_rgb565_dithered, glowsill_frame_rgb888,
    glowsill_row_rgb565, glowsill_row_rgb565_dithered, glowsill_row_rgb888,
};
pub use init::glowsill_init;
pub use queries::{
    glowsill_cause_count, glowsill_cause_name, glowsill_correction_crc32, glowsill_health_default,
    glowsill_health_off, glowsill_memory_bytes, glowsill_millicelsius, glowsill_millifahrenheit,
    glowsill_scratch_words, glowsill_status_text, glowsill_storage_align, glowsill_storage_bytes,
    glowsill_tables_bytes, glowsill_version,
};
pub use status::Status;
pub use types::{
    CAUSE_COUNT, CalibrationTable, Config, CorrectionTable, GAIN_BLANK, GAIN_HIGH, GAIN_LOW,
    GAIN_PER_PIXEL, HEALTH_ALL_SATURATED, HEALTH_CORRECTION_CORRUPT, HEALTH_DROPPED_ROWS,
    HEALTH_FROZEN, HEALTH_GAINS_DISAGREE, HEALTH_HIGH_STUCK, HEALTH_LOW_STUCK, HEALTH_NO_SAMPLES,
    HEALTH_OUTSIDE_CALIBRATION, HEALTH_PROFILE_FALLBACK, HEALTH_STALE, HEALTH_TOO_MANY_DEFECTS,
    HealthLimits, KNOTS, Record, STORAGE_ALIGN, STORAGE_BYTES, Spot, Storage, TABLES_BYTES, Tables,
    VERSION,
};

/// Stops at an undefined instruction, so that the fault handler of the firmware runs, which must
/// take the picture off the panel. No input is known that leads here.
#[cfg(target_os = "none")]
#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    #[cfg(target_arch = "arm")]
    // SAFETY: the instruction only raises a fault and does not return.
    unsafe {
        core::arch::asm!("udf #0", options(noreturn, nomem, nostack))
    }
    #[cfg(not(target_arch = "arm"))]
    loop {
        core::hint::spin_loop();
    }
}

/// The Rust examples of the page, compiled and run.
#[cfg(doctest)]
#[doc = include_str!("../../../docs/porting.md")]
struct Porting;
