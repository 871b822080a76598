//! Ends in the way its first argument names, to see that the runner notices.
#![no_std]
#![no_main]

use core::hint::black_box;

use cortex_m_rt::entry;
use cortex_m_semihosting::{hprintln, syscall1};
use glowsill_firmware::board::end;
use panic_semihosting as _;

/// Letters of the command line, zero at the end.
fn argument(line: &mut [u8; 64]) -> &[u8] {
    let mut block = [line.as_mut_ptr() as usize, line.len() - 1];
    // SAFETY: the block holds a buffer and its length, as the semihosting call wants.
    let status = unsafe { syscall1!(GET_CMDLINE, block.as_mut_ptr()) };
    if status != 0 {
        return &[];
    }
    let len = line.iter().position(|letter| *letter == 0).unwrap_or(0);
    &line[..len]
}

#[entry]
fn main() -> ! {
    let mut line = [0; 64];
    let wish = argument(&mut line);
    if wish.ends_with(b"panic") {
        let four = black_box([1, 2, 3, 4]);
        hprintln!("{}", four[black_box(7usize)]);
    } else if wish.ends_with(b"fault") {
        // SAFETY: none. Nothing lies at this address, which is the point.
        let nothing = unsafe { black_box(0xF000_0000usize as *const u32).read_volatile() };
        hprintln!("{}", nothing);
    } else if wish.ends_with(b"hang") {
        loop {
            cortex_m::asm::nop();
        }
    } else if wish.ends_with(b"fail") {
        end(false);
    }
    end(wish.ends_with(b"pass"))
}
