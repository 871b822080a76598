//! A room of the scenery workshop with about sixty bodies, for the example and the benchmark.

use glam::{DVec2, DVec3};
use glowsill::world::scene::body::{Body, Placement, Skin, Surface};
use glowsill::world::scene::camera::Camera;
use glowsill::world::scene::cast::World;
use glowsill::world::scene::medium::{Bounds, Flame, HotLayer, Medium};
use glowsill::world::scene::shape::{Axis, Opening, Posture, Region, Shape};

fn kelvin(celsius: f64) -> f64 {
    celsius + 273.15
}

/// The room, 8 m wide, 7 m deep and 3 m high, with a fire in the far corner at an instant.
pub(crate) fn world(seconds: f64) -> World {
    let mut world = World::new(kelvin(18.0));
    shell(&mut world);
    furniture(&mut world);
    stores(&mut world);
    world.bodies.push(Body::adult(
        "person",
        Posture::Standing,
        Placement::at(-0.9, 4.6, 0.0).yaw(20.0),
    ));
    world.bodies.push(Body::adult(
        "casualty",
        Posture::Lying,
        Placement::at(0.9, 3.7, 0.0).yaw(12.0),
    ));
    world.bodies.push(Body::firefighter(
        "firefighter",
        Posture::Crawling,
        Placement::at(-1.35, 3.1, 0.0).yaw(205.0),
        kelvin(31.0),
    ));
    world.media.push(Medium::Flame(
        Flame::new(DVec3::new(2.2, 5.7, 0.42), 0.55, 1.1).at_seconds(seconds),
    ));
    let bounds = Some(Bounds {
        low: DVec2::new(-4.0, -1.0),
        high: DVec2::new(4.0, 7.0),
    });
    world.media.push(Medium::Hot(HotLayer {
        bounds,
        ..HotLayer::new(2.15, kelvin(95.0), 0.12)
    }));
    world
}

/// The camera at the door.
pub(crate) fn camera() -> Camera {
    Camera::new(DVec3::new(0.2, -0.6, 1.35), DVec3::new(0.25, 5.0, 1.15))
}

fn shell(world: &mut World) {
    let walls = Surface::PAINTED_WALL;
    let mut add = |name: &str, shape, at: Placement, surface, skin| {
        let body = Body::new(name, shape, at, surface, kelvin(20.0)).with_skin(skin);
        world.bodies.push(body);
    };
    let plate = Shape::Plate {
        width_m: 8.0,
        depth_m: 8.0,
    };
    let fire = DVec3::new(2.2, 2.7, 0.0);
    add(
        "floor",
        plate.clone(),
        Placement::at(0.0, 3.0, 0.0),
        Surface::CONCRETE,
        Skin::patch(kelvin(17.5), kelvin(46.0), fire, 1.2),
    );
    add(
        "ceiling",
        plate,
        Placement::at(0.0, 3.0, 3.0),
        walls,
        Skin::patch(kelvin(38.0), kelvin(160.0), fire, 1.4),
    );
    let side = |x: f64, yaw: f64| Placement::at(x, 3.0, 0.0).yaw(yaw);
    let wall = |width_m, openings| Shape::Wall {
        width_m,
        height_m: 3.0,
        thickness_m: 0.15,
        openings,
    };
    let warm_top = |p: DVec3| kelvin(19.0) + 9.0 * (p.z / 3.0).powi(3);
    add(
        "left wall",
        wall(8.0, vec![]),
        side(-4.0, 90.0),
        walls,
        Skin::field(warm_top),
    );
    let window = Opening::centred(0.9, 1.0, 1.3, 1.1);
    add(
        "right wall",
        wall(8.0, vec![window]),
        side(4.0, -90.0),
        walls,
        Skin::field(warm_top),
    );
    let door = Opening::centred(-2.6, 0.0, 0.95, 2.05);
    let studs = Skin::studs(0.0, -1.2, 0.6, 0.05, 0.05);
    add(
        "back wall",
        wall(8.0, vec![door]),
        Placement::at(0.0, 7.0, 0.0),
        walls,
        Skin::field(move |p| {
            let near = (-(p.x - 2.2).powi(2) - 0.3 * (p.z - 1.5).powi(2)).exp();
            warm_top(p) + studs.kelvin(p) + 55.0 * near
        }),
    );
    add(
        "near wall",
        wall(8.0, vec![]),
        Placement::at(0.0, -1.15, 0.0),
        walls,
        Skin::field(warm_top),
    );
    add(
        "door",
        Shape::cuboid(0.93, 0.045, 2.03),
        Placement::at(-2.6, 7.05, 0.0),
        Surface::WOOD,
        Skin::rising(kelvin(21.0), kelvin(44.0), 2.03),
    );
    add(
        "pane",
        Shape::Quad {
            width_m: 1.3,
            height_m: 1.1,
            openings: vec![],
        },
        Placement::at(4.05, 2.1, 1.0).yaw(-90.0),
        Surface::GLASS,
        Skin::Uniform(kelvin(12.0)),
    );
}

fn furniture(world: &mut World) {
    let mut add = |name: &str, shape, at: Placement, surface, celsius: f64| {
        world
            .bodies
            .push(Body::new(name, shape, at, surface, kelvin(celsius)));
    };
    add(
        "ladder",
        Shape::Ladder {
            length_m: 2.9,
            width_m: 0.42,
            rung_spacing_m: 0.28,
        },
        Placement::at(0.55, 6.05, 0.0).pitch(-15.0),
        Surface::WOOD,
        15.5,
    );
    add(
        "bench",
        Shape::Bench {
            size: DVec3::new(1.7, 0.7, 0.88),
        },
        Placement::at(2.75, 3.9, 0.0).yaw(-80.0),
        Surface::WOOD,
        18.5,
    );
    for (i, celsius) in [18.0, 23.0, 18.4].into_iter().enumerate() {
        let y = 3.4 + 0.3 * f64::from(u8::try_from(i).unwrap_or(0));
        add(
            "tin",
            Shape::Cylinder {
                radius_m: 0.085,
                length_m: 0.19,
                axis: Axis::Z,
            },
            Placement::at(2.7, y, 0.88),
            Surface::PAINTED_STEEL,
            celsius,
        );
    }
    add(
        "bin",
        Shape::Cone {
            base_radius_m: 0.24,
            top_radius_m: 0.3,
            height_m: 0.45,
        },
        Placement::at(2.2, 5.7, 0.0),
        Surface::GALVANISED_STEEL,
        180.0,
    );
    let pipe = |points: Vec<DVec3>, radius_m| Shape::PipeRun { points, radius_m };
    add(
        "heating pipe",
        pipe(
            vec![
                DVec3::new(-3.85, -1.0, 0.25),
                DVec3::new(-3.85, 6.8, 0.25),
                DVec3::new(-3.3, 6.8, 0.25),
            ],
            0.028,
        ),
        Placement::at(0.0, 0.0, 0.0),
        Surface::PAINTED_STEEL,
        41.0,
    );
    add(
        "duct",
        pipe(
            vec![DVec3::new(-1.2, -1.0, 2.7), DVec3::new(-1.2, 6.9, 2.7)],
            0.16,
        ),
        Placement::at(0.0, 0.0, 0.0),
        Surface::GALVANISED_STEEL,
        40.0,
    );
    add(
        "polished sheet",
        Shape::Quad {
            width_m: 0.9,
            height_m: 1.3,
            openings: vec![],
        },
        Placement::at(-0.15, 6.9, 0.0),
        Surface::POLISHED_STEEL,
        19.0,
    );
    for (x, y) in [(3.3, 6.4), (3.3, 6.0)] {
        world.bodies.push(
            Body::new(
                "gas cylinder",
                Shape::GasCylinder {
                    radius_m: 0.115,
                    height_m: 1.25,
                },
                Placement::at(x, y, 0.0),
                Surface::PAINTED_STEEL,
                kelvin(20.0),
            )
            .with_skin(Skin::rising(kelvin(26.0), kelvin(48.0), 1.25))
            .with_detail(
                Region::Fittings,
                Surface::OXIDISED_STEEL,
                Skin::Uniform(kelvin(50.0)),
            ),
        );
    }
    world.bodies.push(Body::new(
        "lamp",
        Shape::Sphere { radius_m: 0.07 },
        Placement::at(1.2, 4.4, 2.25),
        Surface::GLASS,
        kelvin(70.0),
    ));
    world.bodies.push(Body::new(
        "lamp cord",
        Shape::Capsule {
            from: DVec3::ZERO,
            to: DVec3::Z * 0.7,
            radius_m: 0.006,
        },
        Placement::at(1.2, 4.4, 2.3),
        Surface::matt(0.93),
        kelvin(45.0),
    ));
}

/// A rack with boxes, crates on the floor, planks at the wall.
fn stores(world: &mut World) {
    let size = DVec3::new(2.2, 0.5, 2.1);
    let rack = Placement::at(-3.55, 4.7, 0.0).yaw(90.0);
    world.bodies.push(
        Body::new(
            "rack",
            Shape::Rack { size, boards: 5 },
            rack,
            Surface::PAINTED_STEEL,
            kelvin(19.0),
        )
        .with_detail(Region::Fittings, Surface::WOOD, Skin::Uniform(kelvin(19.6))),
    );
    let board_m = (size.z - 0.12) / 4.0;
    for board in 0..4_u8 {
        for place in 0..5_u8 {
            let (b, p) = (f64::from(board), f64::from(place));
            let odd = f64::from((board * 7 + place * 5) % 6);
            let width = 0.24 + 0.025 * odd;
            let x = -0.86 + 0.43 * p;
            let z = 0.11 + board_m * b;
            let at = rack.to_world().transform_point3(DVec3::new(x, 0.0, z));
            let tall = 0.2 + 0.03 * odd;
            let (shape, surface) = if (board + place) % 3 == 2 {
                (
                    Shape::Cylinder {
                        radius_m: 0.1,
                        length_m: tall,
                        axis: Axis::Z,
                    },
                    Surface::PAINTED_STEEL,
                )
            } else {
                (Shape::cuboid(width, 0.34, tall), Surface::matt(0.86))
            };
            world.bodies.push(Body::new(
                "stored",
                shape,
                Placement::at(at.x, at.y, at.z).yaw(90.0 + 3.0 * odd),
                surface,
                kelvin(18.0 + 0.6 * odd + 0.7 * b),
            ));
        }
    }
    for (x, y, z, yaw, size) in [
        (0.1, 5.9, 0.0, 8.0, 0.62),
        (0.13, 5.88, 0.62, -12.0, 0.5),
        (-2.1, 6.2, 0.0, 30.0, 0.7),
    ] {
        world.bodies.push(
            Body::new(
                "crate",
                Shape::Crate {
                    size: DVec3::new(1.3 * size, size, size),
                },
                Placement::at(x - 1.0, y, z).yaw(yaw),
                Surface::WOOD,
                kelvin(18.2),
            )
            .with_detail(Region::Fittings, Surface::WOOD, Skin::Uniform(kelvin(19.1))),
        );
    }
    for i in 0..6_u8 {
        let x = 3.2 + 0.11 * f64::from(i);
        world.bodies.push(Body::new(
            "plank",
            Shape::cuboid(0.09, 0.03, 2.1 + 0.08 * f64::from(i % 3)),
            Placement::at(x, 6.75, 0.0).pitch(-5.0),
            Surface::WOOD,
            kelvin(24.0 + 0.8 * f64::from(i % 4)),
        ));
    }
    // Painted flats that stand against the right wall.
    for i in 0..5_u8 {
        let y = 4.6 + 0.28 * f64::from(i);
        world.bodies.push(Body::new(
            "flat",
            Shape::cuboid(0.95, 0.035, 1.7 + 0.1 * f64::from(i % 2)),
            Placement::at(3.55, y, 0.0).yaw(-96.0).pitch(-6.0),
            Surface::PAINTED_WALL,
            kelvin(20.0 + 0.7 * f64::from(i)),
        ));
    }
}
