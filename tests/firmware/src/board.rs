//! The emulated board: how a program ends. No way leads to an endless loop.

use core::fmt;

use cortex_m_rt::{ExceptionFrame, exception};
use cortex_m_semihosting::debug::{EXIT_FAILURE, EXIT_SUCCESS, exit};
use cortex_m_semihosting::hio;

/// Ends the program: the emulator's exit code is 0 or 1.
pub fn end(passed: bool) -> ! {
    exit(if passed { EXIT_SUCCESS } else { EXIT_FAILURE });
    loop {
        cortex_m::asm::nop();
    }
}

/// Writes to the emulator's standard output.
pub struct Console;

impl fmt::Write for Console {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        hio::hstdout()
            .and_then(|mut out| out.write_all(text.as_bytes()))
            .map_err(|()| fmt::Error)
    }
}

/// Writes a text; a console that is not there is no fault of the program.
pub fn say(text: &str) {
    let _ = hio::hstdout().and_then(|mut out| out.write_all(text.as_bytes()));
}

/// Writes a number in a base of up to 16, without the size of `core::fmt`.
pub fn say_number(number: u32, base: u32) {
    let (mut digits, mut rest) = ([b'0'; 32], number);
    let mut first = digits.len();
    for (place, digit) in digits.iter_mut().enumerate().rev() {
        if let Some(letter) = b"0123456789abcdef".get((rest % base.max(2)) as usize) {
            *digit = *letter;
        }
        first = place;
        rest /= base.max(2);
        if rest == 0 {
            break;
        }
    }
    if let Some(Ok(text)) = digits.get(first..).map(core::str::from_utf8) {
        say(text);
    }
}

#[exception]
unsafe fn HardFault(frame: &ExceptionFrame) -> ! {
    say("hard fault at 0x");
    say_number(frame.pc(), 16);
    say("\n");
    end(false)
}
