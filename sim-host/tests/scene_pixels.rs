//! Where edges are seen, and what a solid alone reflects, against geometry and radiometry worked out elsewhere.
#![allow(
    clippy::cast_precision_loss,
    reason = "rows and columns of small pictures"
)]

use glam::DVec3;
use glowsill::world::radiometry::Band;
use glowsill::world::scene::body::{Body, Placement, Surface};
use glowsill::world::scene::camera::Camera;
use glowsill::world::scene::cast::{World, cast};
use glowsill::world::scene::shape::{Axis, Shape};

const CELSIUS_0: f64 = 273.15;
const ROOM_K: f64 = 293.15;

/// Along +y from a point 1 m above the origin.
fn ahead() -> Camera {
    Camera::new(DVec3::Z, DVec3::new(0.0, 1.0, 1.0))
}

// Source: geometry by hand. A sheet 4 m before the camera, leaning by a few degrees about its foot: the
// column at which its left edge crosses the middle of a row follows from the pinhole, and the covered part
// of a row from that. Rays on a square grid of 3 x 3 are up to 0.167 pixel off.
#[test]
fn a_nearly_upright_edge_is_seen_where_geometry_puts_it() {
    let band = Band::LONG_WAVE;
    let (cold, hot) = (band.radiance(ROOM_K), band.radiance(400.0));
    let pixel = 4.0 * 2.0 * 19.0_f64.to_radians().tan() / 240.0;
    let mut worst: f64 = 0.0;
    for lean_deg in [0.0_f64, 0.2, 0.5, 1.0, 2.0, -0.3, -1.5] {
        for shift in 0..9 {
            let foot = 2.0 + 0.117 * pixel * f64::from(shift);
            let sheet = Shape::Quad {
                width_m: 4.0,
                height_m: 6.0,
                openings: vec![],
            };
            let at = Placement::at(foot, 4.0, -2.0).roll(lean_deg);
            let mut world = World::new(ROOM_K);
            let leaf = Body::new("leaf", sheet, at, Surface::BLACK, 400.0);
            world.bodies.push(leaf);
            let seen = cast(&world, &ahead()).apparent;
            let (sin, cos) = lean_deg.to_radians().sin_cos();
            for y in 0..240 {
                let row = &seen.data[y * 320..(y + 1) * 320];
                let share = |k: &f64| (band.radiance(*k) - cold) / (hot - cold);
                let found = 320.0 - row.iter().map(share).sum::<f64>();
                let height = 1.0 + (119.5 - y as f64) * pixel;
                let across = foot - 2.0 * cos + sin / cos * (height + 2.0 - 2.0 * sin);
                worst = worst.max((found - (160.0 + across / pixel)).abs());
            }
        }
    }
    assert!(worst < 0.1, "{worst} pixel");
    assert!(worst > 0.01, "an edge is measured in ninths: {worst}");
}

fn lone() -> [Shape; 4] {
    [
        Shape::Sphere { radius_m: 0.4 },
        Shape::Sphere { radius_m: 1.5 },
        Shape::cuboid(1.0, 0.8, 2.0),
        Shape::Cylinder {
            radius_m: 0.5,
            length_m: 1.5,
            axis: Axis::Z,
        },
    ]
}

/// What a solid alone shows in the middle of its picture, kelvin.
fn shown(shape: Shape, surface: Surface, kelvin: f64) -> f64 {
    let mut world = World::new(ROOM_K);
    let at = Placement::at(0.0, 4.0, 0.9);
    world
        .bodies
        .push(Body::new("lone", shape, at, surface, kelvin));
    let mut camera = Camera::new(DVec3::Z, DVec3::new(0.02, 4.0, 1.05));
    (camera.width, camera.height) = (32, 24);
    let seen = cast(&world, &camera);
    assert_eq!(seen.body.get(16, 12), Some(&0));
    seen.apparent.get(16, 12).copied().unwrap_or(f64::NAN)
}

// Source: table of apparent temperatures for 8 to 14 µm and surroundings of 20 °C, computed apart from this
// project by summing Planck's law: L = ε L(T) + (1 − ε) L(293.15 K).
#[test]
fn a_solid_alone_reflects_the_temperature_of_its_surroundings() {
    for shape in lone() {
        for (emissivity, true_c, reads_c) in [
            (0.95, 150.0, 145.21),
            (0.90, 260.0, 243.18),
            (0.70, 150.0, 119.73),
            (0.10, 260.0, 61.89),
        ] {
            let surface = Surface::matt(emissivity);
            let found = shown(shape.clone(), surface, true_c + CELSIUS_0) - CELSIUS_0;
            assert!(
                (found - reads_c).abs() < 0.01,
                "{found} °C of {shape:?} for {reads_c}"
            );
        }
    }
}
