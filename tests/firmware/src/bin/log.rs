//! The core's events while faults come and go, as a defmt log over semihosting.
#![no_std]
#![no_main]

use cortex_m::singleton;
use cortex_m_rt::entry;
use defmt_semihosting as _;
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
        let (cause, _) = fault.expected();
        defmt::info!("fault to be named {=str}", cause.name());
        match run(fault, store) {
            Ok(taken) => {
                handled += 1;
                defmt::info!("named after {=u32} frames", taken);
            }
            Err(_) => defmt::error!("not handled"),
        }
    }
    end(handled == Fault::ALL.len())
}
