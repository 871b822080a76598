//! Memory that a session needs, by size of picture and gain plan: buffers by their size, stack by what
//! was painted over.
//!
//! Nothing here formats text, and samples are made row by row, so that the program is little more than
//! the pipeline itself: its sections are the size of the core in flash.
#![no_std]
#![no_main]

use core::panic::PanicInfo;

use cortex_m::singleton;
use cortex_m_rt::entry;
use glowsill_core::calibration::Calibration;
use glowsill_core::panel::PanelRgb565;
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::{GainPlan, Profile};
use glowsill_firmware::board::{end, say, say_number};
use glowsill_firmware::stack;
use glowsill_firmware_scene::{profiles, still};

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    say("panic\n");
    end(false)
}

const WIDEST: usize = 640;
const MOST: usize = 640 * 480;

/// What the caller lends, for the largest picture.
struct Lent {
    gain: [&'static [u16]; 2],
    offset: [&'static [i16]; 2],
    memory: &'static mut [u8; MOST],
    scratch: &'static mut [u16; 6 * WIDEST],
    rows: &'static mut [[u16; WIDEST]; 3],
}

/// Bytes of one session.
struct Bytes {
    band_memory: usize,
    scratch: usize,
    tables: usize,
    calibrations: usize,
    rows: usize,
    pipeline: usize,
    /// The pipeline among it.
    stack: usize,
}

/// The first shipped profile; without a low state, of high gain alone.
#[inline(never)]
fn profile(sensor: &SensorConfig<'_>) -> Option<Profile> {
    let [(_, bytes), ..] = profiles::ALL;
    let (profile, damaged) = Profile::from_bytes_or_safe(bytes, sensor);
    if damaged.is_some() || sensor.low.is_some() {
        return damaged.is_none().then_some(profile);
    }
    let mut spec = profile.spec().clone();
    spec.gain = GainPlan::HighOnly;
    Profile::new(spec).ok()
}

/// Two frames; gives the deepest stack, or nothing if something was refused.
#[inline(never)]
fn frames(
    (geometry, sensor): (Geometry, SensorConfig<'_>),
    (memory, scratch): (&mut [u8], &mut [u16]),
    rows: &mut [[u16; WIDEST]; 3],
) -> Option<usize> {
    let width = usize::from(geometry.width());
    let [high, low, out] = rows;
    let (high, low, out) = (
        high.get_mut(..width)?,
        low.get_mut(..width)?,
        out.get_mut(..width)?,
    );
    let profile = profile(&sensor)?;
    let mut pipeline = Pipeline::new(geometry, &profile, sensor, memory, scratch).ok()?;
    for number in 0..2 {
        let mut frame = pipeline.begin_numbered_frame(number);
        for y in 0..u32::from(geometry.height()) {
            still::wall(y, geometry.height().into(), high, low);
            let high: Option<&[u16]> = sensor.high.is_some().then_some(high);
            let low: Option<&[u16]> = sensor.low.is_some().then_some(low);
            frame.row::<PanelRgb565>(high, low, out).ok()?;
        }
        frame.end_frame().ok()?;
    }
    Some(stack::deepest())
}

fn session(lent: &mut Lent, (width, height): (u16, u16), both: bool) -> Option<Bytes> {
    let geometry = Geometry::new(width, height).ok()?;
    let pixels = geometry.pixels();
    let scratch_len = Pipeline::scratch_len(geometry);
    let base = stack::paint();
    let (high, low) = still::calibrations()?;
    let table = |state: usize| {
        Some(Correction {
            gain_q14: lent.gain.get(state)?.get(..pixels)?,
            offset: lent.offset.get(state)?.get(..pixels)?,
        })
    };
    let sensor = SensorConfig {
        high: Some(&high),
        low: both.then_some(&low),
        high_correction: table(0),
        low_correction: if both { table(1) } else { None },
        ..SensorConfig::default()
    };
    let states = if both { 2 } else { 1 };
    let deepest = frames(
        (geometry, sensor),
        (
            lent.memory.get_mut(..pixels)?,
            lent.scratch.get_mut(..scratch_len)?,
        ),
        lent.rows,
    )?;
    let calibration = size_of::<Calibration>();
    Some(Bytes {
        band_memory: pixels,
        scratch: scratch_len * 2,
        tables: states * pixels * 4,
        calibrations: states * calibration,
        rows: (states + 1) * usize::from(width) * 2,
        pipeline: size_of::<Pipeline<'_>>(),
        // Both calibrations stand on the stack here; they are counted on their own.
        stack: deepest.saturating_sub(base).saturating_sub(2 * calibration),
    })
}

fn print(name: &str, bytes: usize) {
    say(" ");
    say(name);
    say(" ");
    say_number(u32::try_from(bytes).unwrap_or(u32::MAX), 10);
}

/// A gain of 1 everywhere, filled in here: as an initial value it would take its place in flash.
fn one(table: &'static mut [u16; MOST]) -> &'static [u16] {
    table.fill(1 << 14);
    table
}

fn run() -> Option<()> {
    let mut lent = Lent {
        gain: [
            singleton!(: [u16; MOST] = [0; MOST]).map(one)?,
            singleton!(: [u16; MOST] = [0; MOST]).map(one)?,
        ],
        offset: [
            singleton!(: [i16; MOST] = [0; MOST])?,
            singleton!(: [i16; MOST] = [0; MOST])?,
        ],
        memory: singleton!(: [u8; MOST] = [0; MOST])?,
        scratch: singleton!(: [u16; 6 * WIDEST] = [0; 6 * WIDEST])?,
        rows: singleton!(: [[u16; WIDEST]; 3] = [[0; WIDEST]; 3])?,
    };
    for size in [(160, 120), (320, 240), (640, 480)] {
        for both in [true, false] {
            let bytes = session(&mut lent, size, both)?;
            say("session");
            print("width", size.0.into());
            print("height", size.1.into());
            print("states", if both { 2 } else { 1 });
            print("band-memory", bytes.band_memory);
            print("scratch", bytes.scratch);
            print("tables", bytes.tables);
            print("calibrations", bytes.calibrations);
            print("rows", bytes.rows);
            print("pipeline", bytes.pipeline);
            print("stack", bytes.stack);
            say("\n");
        }
    }
    Some(())
}

#[entry]
fn main() -> ! {
    let passed = run().is_some();
    if !passed {
        say("a buffer, a profile or a frame was refused\n");
    }
    end(passed)
}
