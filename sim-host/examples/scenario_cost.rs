//! Processor time of a frame of every shipped scenario, and a digest of its bits.
//!
//! `cargo run --release -p glowsill --example scenario_cost -- [FRAMES [NAME…]]`, Linux only. Two builds run one
//! after the other are compared line by line: equal digests are equal pictures, and processor time of all
//! threads hardly depends on what else the machine does.
#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    missing_docs,
    reason = "an example that prints"
)]

use std::fs;

use glowsill::world::scenario::{BUILT_IN, Scenario};

/// Processor time of all threads so far, ms.
fn processor_ms() -> f64 {
    let tasks = fs::read_dir("/proc/self/task").expect("Linux lists the threads of a process");
    let nanoseconds = tasks.filter_map(|task| {
        let text = fs::read_to_string(task.ok()?.path().join("schedstat")).ok()?;
        text.split(' ').next()?.parse::<f64>().ok()
    });
    nanoseconds.sum::<f64>() / 1e6
}

fn main() {
    let mut words = std::env::args().skip(1);
    let frames: u32 = words.next().map_or(6, |word| {
        word.parse().expect("the first word is a number of frames")
    });
    let wanted: Vec<String> = words.collect();
    for one in BUILT_IN {
        if !wanted.is_empty() && !wanted.iter().any(|name| name == one.name) {
            continue;
        }
        let scenario = Scenario::named(one.name).expect("shipped scenarios can be read");
        let staged = scenario
            .stage(&|_| ())
            .expect("shipped scenarios can be staged");
        for share in [0.4, 0.9] {
            let start_s = share * staged.seconds();
            let _ = (staged.view_at(start_s), staged.view_at(start_s));
            let mut digest = 0xcbf2_9ce4_8422_2325_u64;
            let before = processor_ms();
            for frame in 1..=frames {
                let view = staged.view_at(start_s + f64::from(frame) / 30.0);
                for value in &view.apparent.data {
                    digest = (digest ^ value.to_bits()).wrapping_mul(0x0000_0100_0000_01b3);
                }
            }
            let each = (processor_ms() - before) / f64::from(frames);
            println!(
                "{:18} {start_s:4.0} s {each:7.1} ms {digest:016x}",
                one.name
            );
        }
    }
}
