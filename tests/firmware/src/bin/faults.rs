//! A sample of faults on the microcontroller: each must be named in time and strike the picture out.
#![no_std]
#![no_main]

use cortex_m::singleton;
use cortex_m_rt::entry;
use cortex_m_semihosting::hprintln;
use glowsill_firmware::board::end;
use glowsill_firmware::fault::{Fault, run};
use glowsill_firmware_scene::session::Store;
use panic_semihosting as _;

#[entry]
fn main() -> ! {
    let Some(store) = singleton!(: Store = Store::new()) else {
        end(false)
    };
    let mut handled = 0;
    for fault in Fault::ALL {
        let (cause, within) = fault.expected();
        match run(fault, store) {
            Ok(taken) => {
                handled += 1;
                hprintln!(
                    "{:?}: '{}' after {} of at most {} frames; picture struck out",
                    fault,
                    cause.name(),
                    taken,
                    within
                );
            }
            Err(failure) => hprintln!("{:?}: {:?}, instead of '{}'", fault, failure, cause.name()),
        }
    }
    hprintln!("{} of {} faults handled", handled, Fault::ALL.len());
    end(handled == Fault::ALL.len())
}
