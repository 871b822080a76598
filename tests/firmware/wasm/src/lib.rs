//! The sessions of the emulated board, as a WebAssembly module without imports: `run.mjs` reads the
//! text out of its memory.

use std::sync::{Mutex, OnceLock};

use glowsill_firmware_scene::session::{Store, run};

static STORE: Mutex<Store> = Mutex::new(Store::new());
static TEXT: OnceLock<String> = OnceLock::new();

fn text() -> &'static str {
    TEXT.get_or_init(|| {
        let mut text = String::new();
        let passed = STORE
            .lock()
            .is_ok_and(|mut store| run(&mut store, &mut text).is_some());
        if passed { text } else { String::new() }
    })
}

/// Runs the sessions once; gives the length of the text in bytes, 0 if something was refused.
#[unsafe(no_mangle)]
pub extern "C" fn text_length() -> usize {
    text().len()
}

/// Where the text begins.
#[unsafe(no_mangle)]
pub extern "C" fn text_start() -> *const u8 {
    text().as_ptr()
}
