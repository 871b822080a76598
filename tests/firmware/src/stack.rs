//! How deep the stack went: what lies below it is painted, and the paint is looked for afterwards.

use core::arch::asm;

/// Unlikely as a value that a program leaves behind.
const PAINT: u32 = 0x5AFE_C0DE;
/// Words below the stack pointer that are left alone, for the painter's own calls.
const SPARED: usize = 64;

/// First word behind the statics, and the end of the stack.
fn bounds() -> (*mut u32, *mut u32) {
    unsafe extern "C" {
        static mut __sheap: u32;
        static mut _stack_start: u32;
    }
    (&raw mut __sheap, &raw mut _stack_start)
}

fn pointer() -> *mut u32 {
    let at: *mut u32;
    // SAFETY: reads a register.
    unsafe { asm!("mov {}, sp", out(reg) at, options(nomem, nostack, preserves_flags)) };
    at
}

/// Paints the unused stack and gives the bytes in use now.
#[inline(never)]
pub fn paint() -> usize {
    let (mut at, top) = bounds();
    let now = pointer();
    let until = now.wrapping_sub(SPARED);
    while at < until {
        // SAFETY: between the statics and the stack pointer there is memory that nobody uses: these
        // programs have no heap there, and interrupts are off.
        unsafe { at.write_volatile(PAINT) };
        at = at.wrapping_add(1);
    }
    (top as usize).wrapping_sub(now as usize)
}

/// Most bytes of stack in use since [`paint`].
#[inline(never)]
pub fn deepest() -> usize {
    let (mut at, top) = bounds();
    // SAFETY: as above; reading has no side effect.
    while at < top && unsafe { at.read_volatile() } == PAINT {
        at = at.wrapping_add(1);
    }
    (top as usize).wrapping_sub(at as usize)
}
