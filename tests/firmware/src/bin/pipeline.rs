//! Every shipped profile on every panel format over the moving scene: check sums, one line each, which
//! must be those of every other machine.
#![no_std]
#![no_main]

use cortex_m::singleton;
use cortex_m_rt::entry;
use cortex_m_semihosting::hprintln;
use glowsill_firmware::board::{Console, end};
use glowsill_firmware_scene::session::{Store, run};
use panic_semihosting as _;

#[entry]
fn main() -> ! {
    let passed = singleton!(: Store = Store::new()).and_then(|store| run(store, &mut Console));
    if passed.is_none() {
        hprintln!("a buffer, a profile or a frame was refused");
    }
    end(passed.is_some())
}
