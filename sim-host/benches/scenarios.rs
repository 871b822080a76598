//! Times a frame of every shipped scenario at 320x240: picture and marks, as a display is fed.
//!
//! `cargo bench -p glowsill --bench scenarios`. Instants run on by 1/30 s from call to call, so that
//! what a caster keeps from frame to frame is used as it is in a run; the aim is 50 ms a frame on two
//! cores.
#![allow(missing_docs, clippy::expect_used, reason = "a benchmark")]

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use glowsill::world::scenario::{BUILT_IN, Scenario};

fn frames(c: &mut Criterion) {
    let mut group = c.benchmark_group("scenario frame 320x240");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(3));
    for one in BUILT_IN {
        let scenario = Scenario::named(one.name).expect("shipped scenarios can be read");
        let staged = scenario
            .stage(&|_| ())
            .expect("shipped scenarios can be staged");
        // Half-way and late: where an imager moves it moves half-way.
        for share in [0.4, 0.9] {
            let start_s = share * staged.seconds();
            let mut frame = 0.0;
            group.bench_function(format!("{} at {start_s:.0} s", one.name), |b| {
                b.iter(|| {
                    frame += 1.0;
                    black_box(staged.view_at(start_s + frame / 30.0 % 20.0))
                });
            });
        }
    }
    group.finish();
}

criterion_group!(benches, frames);
criterion_main!(benches);
