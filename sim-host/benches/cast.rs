//! Casts a room of the scenery workshop with about sixty bodies at 320x240.
//!
//! `cargo bench -p glowsill --bench cast` prints the time a frame of each way of sampling, and of
//! what makes it costly.
#![allow(missing_docs, reason = "a benchmark")]

#[path = "../examples/workshop_room/mod.rs"]
mod workshop_room;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use glowsill::world::scene::camera::{Camera, Sampling};
use glowsill::world::scene::cast::{Diffuse, World, cast};

fn casts(c: &mut Criterion) {
    let world = workshop_room::world(1.7);
    println!("{} bodies", world.bodies.len());
    let camera = workshop_room::camera();
    let mut group = c.benchmark_group("cast 320x240");
    group.sample_size(20);
    let mut time = |name: &str, world: &World, camera: Camera| {
        group.bench_function(name, |b| b.iter(|| black_box(cast(world, &camera))));
    };
    time(
        "one sample",
        &world,
        Camera {
            samples: 1,
            ..camera
        },
    );
    time(
        "2x2 at edges",
        &world,
        Camera {
            samples: 2,
            ..camera
        },
    );
    time("3x3 at edges", &world, camera);
    let everywhere = Camera {
        samples: 2,
        sampling: Sampling::Everywhere,
        ..camera
    };
    time("2x2 everywhere", &world, everywhere);
    let clear = World {
        media: Vec::new(),
        ..world.clone()
    };
    time(
        "2x2 at edges, no smoke or flame",
        &clear,
        Camera {
            samples: 2,
            ..camera
        },
    );
    let even = World {
        diffuse: Diffuse::Uniform,
        ..world.clone()
    };
    time(
        "2x2 at edges, even surroundings",
        &even,
        Camera {
            samples: 2,
            ..camera
        },
    );
    group.finish();
}

criterion_group!(benches, casts);
criterion_main!(benches);
