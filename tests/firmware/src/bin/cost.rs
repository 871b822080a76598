//! Instructions a pixel of the pipeline at 320x240 on Cortex-M4, counted by the emulator.
//!
//! Needs `-icount shift=0`: then one instruction takes one virtual nanosecond, and a 25 MHz timer
//! counts forty of them a tick. There are no caches and no wait states in the emulator, so these
//! are instructions, not cycles. Exit code 1 when a scene costs more than the limit stated here.
#![no_std]
#![no_main]

use cortex_m::singleton;
use cortex_m_rt::entry;
use cortex_m_semihosting::hprintln;
use panic_semihosting as _;

use glowsill_core::health::HealthPlan;
use glowsill_core::panel::PanelRgb565;
use glowsill_core::pipeline::{Correction, CountTables, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::{ColourPlan, GainPlan, Profile};
use glowsill_core::record::FrameRecord;
use glowsill_firmware::board::end;
use glowsill_firmware::timer;
use glowsill_firmware_scene::profiles;
use glowsill_firmware_scene::still::{self as scene, Scene};

const W: usize = 320;
const H: usize = 240;
const N: usize = W * H;
const FRAMES: u32 = 2;

/// Hundredths of an instruction a pixel that a scene may cost with a scale between two shares, and with
/// the shipped profile, whose scale is equalised: the figures of `docs/performance.md` and 5 % for
/// other compilers.
const LIMITS: [(Scene, u32, u32); 3] = [
    (Scene::Mixed, 3_630, 3_900),
    (Scene::Coloured, 4_720, 5_220),
    (Scene::Cold, 2_740, 2_910),
];

/// Buffers of a run.
struct Board {
    high: &'static mut [u16; N],
    low: &'static mut [u16; N],
    memory: &'static mut [u8; N],
    scratch: &'static mut [u16; 6 * W],
    picture: &'static mut [u16; N],
    tables: &'static mut CountTables,
}

/// Instructions of one frame: begin, rows, end; and its record.
struct Cost {
    begin: u32,
    rows: u32,
    end: u32,
    record: FrameRecord,
}

impl Cost {
    fn whole(&self) -> u32 {
        self.begin + self.rows + self.end
    }
}

/// Runs two frames and gives the cost of the second one, whose scale has moved.
fn run(board: &mut Board, profile: &Profile, sensor: SensorConfig<'_>) -> Option<Cost> {
    let mut pipeline = Pipeline::new(
        Geometry::DEFAULT,
        profile,
        sensor,
        board.memory,
        board.scratch,
    )
    .ok()?
    .with_tables(board.tables);
    let mut cost = None;
    for _ in 0..FRAMES {
        let start = timer::ticks();
        let mut frame = pipeline.begin_frame();
        let begun = timer::ticks();
        let samples = board.high.chunks_exact(W).zip(board.low.chunks_exact(W));
        for ((high, low), out) in samples.zip(board.picture.chunks_exact_mut(W)) {
            frame.row::<PanelRgb565>(Some(high), Some(low), out).ok()?;
        }
        let drawn = timer::ticks();
        let record = frame.end_frame().ok()?;
        let ended = timer::ticks();
        cost = Some(Cost {
            begin: (begun - start) * timer::TICK,
            rows: (drawn - begun) * timer::TICK,
            end: (ended - drawn) * timer::TICK,
            record,
        });
    }
    cost
}

/// Instructions a pixel in hundredths.
fn hundredths(instructions: u32) -> u32 {
    instructions / (N as u32 / 100)
}

fn show(name: &str, instructions: u32) {
    let cost = hundredths(instructions);
    hprintln!("  {:<58} {:>4}.{:02}", name, cost / 100, cost % 100);
}

fn count() -> Option<bool> {
    let high_gain = singleton!(: [u16; N] = [0; N])?;
    let high_offset = singleton!(: [i16; N] = [0; N])?;
    let low_gain = singleton!(: [u16; N] = [0; N])?;
    let low_offset = singleton!(: [i16; N] = [0; N])?;
    let mut board = Board {
        high: singleton!(: [u16; N] = [0; N])?,
        low: singleton!(: [u16; N] = [0; N])?,
        memory: singleton!(: [u8; N] = [0; N])?,
        scratch: singleton!(: [u16; 6 * W] = [0; 6 * W])?,
        picture: singleton!(: [u16; N] = [0; N])?,
        tables: singleton!(: CountTables = CountTables::new())?,
    };
    scene::correction(1, 60, high_gain, high_offset);
    scene::correction(2, 15, low_gain, low_offset);
    let (high_table, low_table) = scene::calibrations()?;
    let profile = scene::profile()?;
    let (_, shipped) = profiles::ALL
        .iter()
        .find(|(name, _)| *name == "interior-attack")?;
    let shipped = Profile::from_bytes(shipped).ok()?;
    let sensor = SensorConfig {
        high: Some(&high_table),
        low: Some(&low_table),
        high_correction: Some(Correction {
            gain_q14: high_gain,
            offset: high_offset,
        }),
        low_correction: Some(Correction {
            gain_q14: low_gain,
            offset: low_offset,
        }),
        defects: None,
        // The same frame again and again: nothing moves, and nothing is wrong.
        health: HealthPlan {
            still_frames: 0,
            ..HealthPlan::DEFAULT
        },
        ..SensorConfig::default()
    };
    timer::start();
    hprintln!("instructions a pixel, 320x240, Cortex-M4, interior-attack profile, RGB565");
    hprintln!(
        "size of Pipeline: {} bytes",
        core::mem::size_of::<Pipeline<'_>>()
    );
    let mut passed = true;
    for (scene, limit, equalised_limit) in LIMITS {
        scene::planes(
            scene,
            W,
            (board.high, high_gain, high_offset),
            (board.low, low_gain, low_offset),
        );
        let cost = run(&mut board, &profile, sensor)?;
        let record = &cost.record;
        hprintln!(
            "{:?}: {} permille coloured, {} permille from low gain, {} disputed",
            scene,
            record.coloured_permille(),
            record.from_low / (N as u32 / 1000 + 1),
            record.disputed
        );
        show("whole", cost.whole());
        show("beginning the frame", cost.begin);
        show("rows", cost.rows);
        show("ending the frame: next scale", cost.end);
        let mut less = |name,
                        change: &dyn Fn(
            &mut glowsill_core::profile::ProfileSpec,
            &mut SensorConfig<'_>,
        )| {
            let mut spec = profile.spec().clone();
            let mut sensor = sensor;
            change(&mut spec, &mut sensor);
            let other = run(&mut board, &Profile::new(spec).ok()?, sensor)?;
            show(name, other.whole());
            Some(())
        };
        less("whole without correction tables", &|_, sensor| {
            sensor.high_correction = None;
            sensor.low_correction = None;
        })?;
        less("whole without bands of colour", &|spec, _| {
            spec.colour = ColourPlan::GreyOnly;
        })?;
        let alone = if scene == Scene::Coloured {
            GainPlan::LowOnly
        } else {
            GainPlan::HighOnly
        };
        less("whole with the gain state in use alone", &|spec, _| {
            spec.gain = alone;
        })?;
        let equalised = run(&mut board, &shipped, sensor)?;
        show(
            "whole with the shipped profile, equalised",
            equalised.whole(),
        );
        show("of that, rows", equalised.rows);
        show("of that, ending the frame", equalised.end);
        for (law, cost, limit) in [
            ("", &cost, limit),
            (", equalised,", &equalised, equalised_limit),
        ] {
            if hundredths(cost.whole()) > limit {
                hprintln!(
                    "{:?}{} costs more than the limit of {}.{:02}",
                    scene,
                    law,
                    limit / 100,
                    limit % 100
                );
                passed = false;
            }
        }
    }
    Some(passed)
}

#[entry]
fn main() -> ! {
    let passed = count();
    if passed.is_none() {
        hprintln!("a buffer, a profile or a frame was refused");
    }
    end(passed == Some(true))
}
