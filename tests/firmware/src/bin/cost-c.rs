//! Instructions a pixel through the C interface at 320x240 on Cortex-M4, with count tables and without,
//! and the stack that `glowsill_init` takes; compare `cost`, which calls the pipeline itself.
//!
//! Needs `-icount shift=0`. Exit code 1 when something costs more than the limits stated here, or when
//! tables change a picture.
#![no_std]
#![no_main]

use core::ptr::{null, null_mut};

use cortex_m::singleton;
use cortex_m_rt::entry;
use cortex_m_semihosting::hprintln;
use crc::{CRC_32_ISO_HDLC, Crc};

use glowsill_c::{
    CalibrationTable, Config, CorrectionTable, HealthLimits, STORAGE_BYTES, Status, Storage,
    TABLES_BYTES, Tables, glowsill_begin_frame, glowsill_end_frame, glowsill_health_default,
    glowsill_init, glowsill_row_rgb565,
};
use glowsill_core::calibration::Calibration;
use glowsill_core::packed;
use glowsill_firmware::board::end;
use glowsill_firmware::{stack, timer};
use glowsill_firmware_scene::still::{self as scene, Scene};

const W: usize = 320;
const H: usize = 240;
const N: usize = W * H;
const FRAMES: u32 = 2;

/// Hundredths of an instruction a pixel with tables: the figure of `docs/performance.md` and 5 %
/// for other compilers.
const LIMITS: [(Scene, u32); 3] = [
    (Scene::Mixed, 3_770),
    (Scene::Coloured, 4_860),
    (Scene::Cold, 2_880),
];
/// Bytes of stack while `glowsill_init` runs: what `docs/c-interface.md` says to allow for.
const MOST_STACK: usize = 100 * 1024;

struct Board {
    storage: &'static mut Storage,
    tables: &'static mut Tables,
    high: &'static mut [u16; N],
    low: &'static mut [u16; N],
    picture: &'static mut [u16; N],
}

/// Instructions of the second frame, and check sum of its picture.
fn run(board: &mut Board, config: &Config) -> Option<(u32, u32)> {
    let storage = &raw mut *board.storage;
    // SAFETY: the buffers of the configuration are live and of the lengths given.
    let status = unsafe { glowsill_init(storage, STORAGE_BYTES, config) };
    let mut instructions = 0;
    if status != Status::Ok {
        return None;
    }
    for _ in 0..FRAMES {
        let start = timer::ticks();
        // SAFETY: an initialised storage, rows of the lengths given.
        unsafe {
            if glowsill_begin_frame(storage) != Status::Ok {
                return None;
            }
            let samples = board.high.chunks_exact(W).zip(board.low.chunks_exact(W));
            for ((high, low), out) in samples.zip(board.picture.chunks_exact_mut(W)) {
                let (high, low, out) = (high.as_ptr(), low.as_ptr(), out.as_mut_ptr());
                if glowsill_row_rgb565(storage, high, W, low, W, out, W) != Status::Ok {
                    return None;
                }
            }
            if glowsill_end_frame(storage, null_mut()) != Status::Ok {
                return None;
            }
        }
        instructions = (timer::ticks() - start) * timer::TICK;
    }
    let crc = Crc::<u32>::new(&CRC_32_ISO_HDLC);
    let mut sum = crc.digest();
    for word in board.picture.iter() {
        sum.update(&word.to_le_bytes());
    }
    Some((instructions, sum.finalize()))
}

fn table(calibration: &Calibration) -> CalibrationTable {
    CalibrationTable {
        knots: calibration.knots().map(|knot| knot.to_bits()),
        saturation: calibration.saturation(),
        shift: calibration.shift(),
    }
}

fn correction(gain: &'static [u16; N], offset: &'static [i16; N]) -> CorrectionTable {
    CorrectionTable {
        gain_q14: gain.as_ptr(),
        offset: offset.as_ptr(),
        len: N,
        crc32: 0,
        has_crc32: 0,
    }
}

fn count() -> Option<bool> {
    let high_gain = singleton!(: [u16; N] = [0; N])?;
    let high_offset = singleton!(: [i16; N] = [0; N])?;
    let low_gain = singleton!(: [u16; N] = [0; N])?;
    let low_offset = singleton!(: [i16; N] = [0; N])?;
    scene::correction(1, 60, high_gain, high_offset);
    scene::correction(2, 15, low_gain, low_offset);
    let (high_gain, high_offset, low_gain, low_offset) =
        (&*high_gain, &*high_offset, &*low_gain, &*low_offset);
    let (high_table, low_table) = scene::calibrations()?;
    let (high_table, low_table) = (table(&high_table), table(&low_table));
    let profile = singleton!(: [u8; packed::MAX_LEN] = [0; packed::MAX_LEN])?;
    let profile_len = scene::profile()?.to_bytes(profile).ok()?;
    // The same frame again and again: nothing moves, and nothing is wrong.
    let health = HealthLimits {
        still_frames: 0,
        ..glowsill_health_default()
    };
    let mut board = Board {
        storage: singleton!(: Storage = Storage { bytes: [0; STORAGE_BYTES] })?,
        tables: singleton!(: Tables = Tables { bytes: [0; TABLES_BYTES] })?,
        high: singleton!(: [u16; N] = [0; N])?,
        low: singleton!(: [u16; N] = [0; N])?,
        picture: singleton!(: [u16; N] = [0; N])?,
    };
    let without = Config {
        width: W as u16,
        height: H as u16,
        profile: profile.as_ptr(),
        profile_len,
        high: &raw const high_table,
        low: &raw const low_table,
        high_correction: correction(high_gain, high_offset),
        low_correction: correction(low_gain, low_offset),
        defects: null(),
        defects_len: 0,
        memory: singleton!(: [u8; N] = [0; N])?.as_mut_ptr(),
        memory_len: N,
        scratch: singleton!(: [u16; 6 * W] = [0; 6 * W])?.as_mut_ptr(),
        scratch_len: 6 * W,
        health: &raw const health,
        tables: null_mut(),
        tables_bytes: 0,
    };
    let with = Config {
        tables: &raw mut *board.tables,
        tables_bytes: TABLES_BYTES,
        ..without
    };
    timer::start();
    hprintln!("instructions a pixel through the C interface, 320x240, Cortex-M4, RGB565");
    let mut passed = true;
    for (scene, limit) in LIMITS {
        scene::planes(
            scene,
            W,
            (board.high, high_gain, high_offset),
            (board.low, low_gain, low_offset),
        );
        let (lent, sum) = run(&mut board, &with)?;
        let (alone, other) = run(&mut board, &without)?;
        let [lent, alone] = [lent, alone].map(|whole| whole / (N as u32 / 100));
        hprintln!(
            "  {:?}: {}.{:02} with count tables, {}.{:02} without",
            scene,
            lent / 100,
            lent % 100,
            alone / 100,
            alone % 100
        );
        if lent > limit || lent >= alone || sum != other {
            hprintln!(
                "{:?}: the limit with tables is {}.{:02}; check sums of the pictures: {:08x}, {:08x}",
                scene,
                limit / 100,
                limit % 100,
                sum,
                other
            );
            passed = false;
        }
    }
    let storage = &raw mut *board.storage;
    let base = stack::paint();
    // SAFETY: the buffers of the configuration are live and of the lengths given.
    let status = unsafe { glowsill_init(storage, STORAGE_BYTES, &with) };
    let depth = stack::deepest() - base;
    hprintln!("  stack of glowsill_init: {} bytes", depth);
    Some(passed && status == Status::Ok && depth <= MOST_STACK)
}

#[entry]
fn main() -> ! {
    let passed = count();
    if passed.is_none() {
        hprintln!("a buffer, a profile or a frame was refused");
    }
    end(passed == Some(true))
}
