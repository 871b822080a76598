//! CMSDK timer 0 of the emulated boards: control, value, reload; it counts down.
//!
//! With `-icount shift=0` one instruction takes one virtual nanosecond, and the timer runs at 25 MHz.

/// Instructions a tick.
pub const TICK: u32 = 40;

const CONTROL: *mut u32 = 0x4000_0000 as *mut u32;
const VALUE: *mut u32 = 0x4000_0004 as *mut u32;
const RELOAD: *mut u32 = 0x4000_0008 as *mut u32;

/// Starts it.
pub fn start() {
    // SAFETY: the addresses are the timer's registers on mps2-an386 and mps2-an500, and nothing
    // else in this program touches them.
    unsafe {
        CONTROL.write_volatile(0);
        RELOAD.write_volatile(u32::MAX);
        VALUE.write_volatile(u32::MAX);
        CONTROL.write_volatile(1);
    }
}

/// Ticks since the start.
#[must_use]
pub fn ticks() -> u32 {
    // SAFETY: as above; reading has no side effect.
    u32::MAX - unsafe { VALUE.read_volatile() }
}
