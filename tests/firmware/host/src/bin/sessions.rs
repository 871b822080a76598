//! The sessions of the emulated board on this machine.

use std::process::ExitCode;
use std::sync::Mutex;

use glowsill_firmware_scene::session::{Store, run};

static STORE: Mutex<Store> = Mutex::new(Store::new());

fn main() -> ExitCode {
    let mut text = String::new();
    let passed = STORE
        .lock()
        .is_ok_and(|mut store| run(&mut store, &mut text).is_some());
    print!("{text}");
    if passed {
        ExitCode::SUCCESS
    } else {
        eprintln!("a buffer, a profile or a frame was refused");
        ExitCode::FAILURE
    }
}
