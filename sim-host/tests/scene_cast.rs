//! Cast scenes against geometry and radiometry worked out elsewhere.
#![allow(
    clippy::unwrap_used,
    clippy::cast_precision_loss,
    reason = "pixel counts of small pictures"
)]

use std::f64::consts::PI;

use glam::{DVec2, DVec3};
use glowsill::world::image::Image;
use glowsill::world::radiometry::Band;
use glowsill::world::scene::body::{Body, Placement, Skin, Surface};
use glowsill::world::scene::camera::{Camera, Sampling};
use glowsill::world::scene::cast::{Cast, Diffuse, NO_BODY, Room, World, cast};
use glowsill::world::scene::caster::Caster;
use glowsill::world::scene::medium::{Bounds, Flame, HotLayer, Medium};
use glowsill::world::scene::shape::{Axis, Opening, Posture, Shape};

const CELSIUS_0: f64 = 273.15;
const ROOM_K: f64 = 293.15;

fn body(name: &str, shape: Shape, at: Placement, surface: Surface, kelvin: f64) -> Body {
    Body::new(name, shape, at, surface, kelvin)
}

fn world(bodies: Vec<Body>) -> World {
    World {
        bodies,
        ..World::new(ROOM_K)
    }
}

/// Along +y from a point 1 m above the origin.
fn ahead() -> Camera {
    Camera::new(DVec3::Z, DVec3::new(0.0, 1.0, 1.0))
}

fn everywhere(samples: u32) -> Camera {
    Camera {
        samples,
        sampling: Sampling::Everywhere,
        ..ahead()
    }
}

fn middle(seen: &Cast) -> f64 {
    *seen.apparent.get(160, 120).unwrap()
}

/// Pixels covered by what is hotter than the surroundings, from its share of the radiance.
fn covered(seen: &Cast, hot_k: f64) -> f64 {
    let band = Band::LONG_WAVE;
    let (cold, hot) = (band.radiance(ROOM_K), band.radiance(hot_k));
    let share = |k: &f64| (band.radiance(*k) - cold) / (hot - cold);
    seen.apparent.data.iter().map(share).sum()
}

// Source: geometry by hand. The outline of a sphere of radius r at distance d is a circle of
// tan(asin(r/d)) on the picture plane at distance 1, that of a disc a circle of r/d; a pixel there
// is 2 tan(19°)/240 wide.
#[test]
fn a_sphere_and_a_disc_cover_the_pixels_that_geometry_gives() {
    let pixel = 2.0 * 19.0_f64.to_radians().tan() / 240.0;
    let (r, d) = (0.5, 4.0);
    let at = Placement::at(0.0, d, 1.0);
    let sphere = Shape::Sphere { radius_m: r };
    let disc = Shape::Disc { radius_m: r };
    for (shape, outline) in [(sphere, (r / d).asin().tan()), (disc, r / d)] {
        let expected = PI * outline * outline / (pixel * pixel);
        let scene = world(vec![body("hot", shape, at, Surface::BLACK, 400.0)]);
        for camera in [
            everywhere(8),
            Camera {
                samples: 8,
                ..ahead()
            },
        ] {
            let found = covered(&cast(&scene, &camera), 400.0);
            assert!(
                (found / expected - 1.0).abs() < 0.001,
                "{found} pixels for {expected}"
            );
        }
        let seen = cast(&scene, &ahead());
        let middles = seen.body.data.iter().filter(|b| **b == 0).count();
        assert!(
            (middles as f64 / expected - 1.0).abs() < 0.01,
            "{middles} for {expected}"
        );
        assert_eq!(*seen.body.get(0, 0).unwrap(), NO_BODY);
        assert_eq!(*seen.distance_m.get(0, 0).unwrap(), f64::INFINITY);
    }
}

// Source: table of apparent temperatures for 8 to 14 µm and surroundings of 20 °C, computed apart
// from this project by summing Planck's law: L = ε L(T) + (1 − ε) L(293.15 K).
#[test]
fn grey_surfaces_read_what_the_emissivity_table_says() {
    for (emissivity, at_150, at_260) in [
        (0.95, 145.21, 251.66),
        (0.90, 140.33, 243.18),
        (0.70, 119.73, 207.38),
        (0.10, 39.35, 61.89),
    ] {
        for (true_c, reads_c) in [(150.0, at_150), (260.0, at_260)] {
            for mirror in [0.0, 0.5, 1.0] {
                let disc = Shape::Disc { radius_m: 0.1 };
                let surface = Surface { emissivity, mirror };
                let at = Placement::at(0.0, 1.0, 1.0);
                let mut scene = world(vec![body("plate", disc, at, surface, true_c + CELSIUS_0)]);
                scene.diffuse = Diffuse::Uniform;
                let seen = cast(&scene, &ahead());
                let found = middle(&seen) - CELSIUS_0;
                assert!((found - reads_c).abs() < 0.01, "{found} for {reads_c}");
                assert_eq!(*seen.true_k.get(160, 120).unwrap(), true_c + CELSIUS_0);
            }
        }
    }
}

// Source: Kirchhoff: inside a closed room of one temperature everything looks like a black body of
// that temperature, whatever the emissivities.
#[test]
fn a_closed_room_of_one_temperature_hides_its_emissivities() {
    let kelvin = 333.15;
    for (emissivity, mirror) in [(0.9, 0.0), (0.3, 0.0), (0.05, 0.5), (0.1, 1.0)] {
        let surface = Surface { emissivity, mirror };
        let plate = Shape::Plate {
            width_m: 6.0,
            depth_m: 6.0,
        };
        let wall = |openings| Shape::Wall {
            width_m: 6.0,
            height_m: 3.0,
            thickness_m: 0.1,
            openings,
        };
        let mut bodies = vec![
            body(
                "floor",
                plate.clone(),
                Placement::at(0.0, 2.0, 0.0),
                surface,
                kelvin,
            ),
            body(
                "ceiling",
                plate,
                Placement::at(0.0, 2.0, 3.0),
                surface,
                kelvin,
            ),
        ];
        for (x, y, yaw) in [
            (0.0, 4.9, 0.0),
            (0.0, -0.9, 180.0),
            (-2.9, 2.0, 90.0),
            (2.9, 2.0, -90.0),
        ] {
            bodies.push(body(
                "wall",
                wall(vec![]),
                Placement::at(x, y, 0.0).yaw(yaw),
                Surface::matt(0.6),
                kelvin,
            ));
        }
        bodies.push(body(
            "person",
            Shape::adult(Posture::Standing),
            Placement::at(0.0, 3.0, 0.0),
            surface,
            kelvin,
        ));
        let mut scene = World {
            bodies,
            ..World::new(250.0)
        };
        // Gas of the same temperature changes nothing.
        scene
            .media
            .push(Medium::Hot(HotLayer::new(2.0, kelvin, 0.7)));
        let camera = Camera {
            width: 80,
            height: 60,
            ..ahead()
        };
        for apparent in cast(&scene, &camera).apparent.data {
            assert!(
                (apparent - kelvin).abs() < 1e-3,
                "{apparent} with {emissivity}"
            );
        }
    }
}

// Source: Beer and Lambert by hand: 2 m of gas of 260 °C with 0.4/m before a wall of 300 K:
// L = e^-0.8 L(300 K) + (1 − e^-0.8) L(260 °C), with 54.93346 and 445.8066 W/(m² sr) from a table
// computed apart from this project by summing Planck's law over 8 to 14 µm.
#[test]
fn a_uniform_layer_follows_beer_and_lambert() {
    let wall = Shape::cuboid(20.0, 1.0, 20.0);
    let mut scene = world(vec![body(
        "wall",
        wall,
        Placement::at(0.0, 10.5, -5.0),
        Surface::BLACK,
        300.0,
    )]);
    let bounds = Some(Bounds {
        low: DVec2::new(-50.0, 4.0),
        high: DVec2::new(50.0, 6.0),
    });
    scene.media.push(Medium::Hot(HotLayer {
        bounds,
        ..HotLayer::new(-50.0, 260.0 + CELSIUS_0, 0.4)
    }));
    let through = 0.449_328_964_117_221_6; // e^-0.8
    let expected = through * 54.93346 + (1.0 - through) * 445.8066;
    let camera = Camera {
        width: 3,
        height: 3,
        vertical_fov_deg: 0.3,
        samples: 1,
        ..ahead()
    };
    let found = Band::LONG_WAVE.radiance(*cast(&scene, &camera).apparent.get(1, 1).unwrap());
    assert!((found - expected).abs() < 1e-3, "{found} for {expected}");
}

// Source: the law of reflection by hand: a mirror at 45° shows what stands to the side, at the
// length of the bent path; glass mixes it with its own glow.
#[test]
fn a_mirror_shows_the_right_body() {
    let band = Band::LONG_WAVE;
    for surface in [
        Surface {
            emissivity: 0.0,
            mirror: 1.0,
        },
        Surface::GLASS,
    ] {
        let pane = Shape::Quad {
            width_m: 1.0,
            height_m: 1.0,
            openings: vec![],
        };
        // Its front, −y, turns towards the camera and the right: yaw 45° looks to (1, −1).
        let scene = world(vec![
            body(
                "pane",
                pane,
                Placement::at(0.0, 3.0, 0.5).yaw(45.0),
                surface,
                290.0,
            ),
            body(
                "hot ball",
                Shape::Sphere { radius_m: 0.3 },
                Placement::at(2.0, 3.0, 1.0),
                Surface::BLACK,
                450.0,
            ),
            body(
                "cold ball",
                Shape::Sphere { radius_m: 0.3 },
                Placement::at(-2.0, 3.0, 1.0),
                Surface::BLACK,
                250.0,
            ),
        ]);
        let seen = cast(&scene, &ahead());
        let expected = surface.emissivity * band.radiance(290.0)
            + (1.0 - surface.emissivity) * band.radiance(450.0);
        let found = band.radiance(middle(&seen));
        assert!(
            (found - expected).abs() < 1e-4 * expected,
            "{found} for {expected}"
        );
        assert_eq!(*seen.body.get(160, 120).unwrap(), 0);
        assert!((seen.distance_m.get(160, 120).unwrap() - 3.0).abs() < 0.02);
        assert_eq!(*seen.true_k.get(160, 120).unwrap(), 290.0);
    }
}

// Source: view factor of a sphere from a small surface that faces it, F = (r/d)², by hand
// (Howell's catalogue, C-120, from memory). A grey ball hung between a hot sphere and cold
// surroundings must reflect about F of the hot sphere's radiance; the lattice smooths it.
#[test]
fn gathered_reflection_is_near_the_view_factor() {
    let band = Band::LONG_WAVE;
    let hot = Shape::Sphere { radius_m: 1.5 };
    let scene = world(vec![
        body(
            "hot",
            hot,
            Placement::at(0.0, -4.0, 1.0),
            Surface::BLACK,
            500.0,
        ),
        body(
            "plate",
            Shape::Disc { radius_m: 0.2 },
            Placement::at(0.0, 0.5, 1.0),
            Surface::matt(0.5),
            ROOM_K,
        ),
    ]);
    let camera = Camera::new(DVec3::new(0.0, -1.0, 1.0), DVec3::new(0.0, 0.5, 1.0));
    let found = 2.0 * band.radiance(middle(&cast(&scene, &camera))) - band.radiance(ROOM_K);
    let factor = (1.5_f64 / 4.5).powi(2);
    let expected = factor * band.radiance(500.0) + (1.0 - factor) * band.radiance(ROOM_K);
    assert!(
        (found / expected - 1.0).abs() < 0.25,
        "{found} for {expected}"
    );
}

// Source: common practice, no published source: a rod thinner than a pixel may change its total
// signal by no more than 3 % while the camera pans over it slowly.
#[test]
fn a_thin_rod_does_not_crawl() {
    let total = |pan: f64| {
        let rod = Shape::Cylinder {
            radius_m: 0.003,
            length_m: 4.0,
            axis: Axis::Z,
        };
        // 6 mm at 4 m: half a pixel of 11.5 mm; slightly leaning.
        let at = Placement::at(0.0, 4.0, -1.0).roll(3.0);
        let scene = world(vec![body("rod", rod, at, Surface::BLACK, 400.0)]);
        let camera = Camera {
            look_at: DVec3::new(pan, 4.0, 1.0),
            samples: 4,
            ..ahead()
        };
        covered(&cast(&scene, &camera), 400.0)
    };
    // Half a pixel in ten steps. 240 rows of 6 mm / 11.48 mm, lengthened by 1/cos 3° and narrowed as
    // much, is 125 pixels.
    let totals: Vec<f64> = (0..10).map(|i| total(0.000_574 * f64::from(i))).collect();
    let mean = totals.iter().sum::<f64>() / 10.0;
    assert!((mean - 125.5).abs() < 3.0, "{mean}");
    for total in &totals {
        assert!((total / mean - 1.0).abs() < 0.03, "{totals:?}");
    }
}

fn crowd() -> World {
    let mut scene = world(vec![
        body(
            "floor",
            Shape::Plate {
                width_m: 9.0,
                depth_m: 9.0,
            },
            Placement::at(0.0, 4.0, 0.0),
            Surface::CONCRETE,
            290.0,
        ),
        body(
            "wall",
            Shape::Wall {
                width_m: 9.0,
                height_m: 3.0,
                thickness_m: 0.1,
                openings: vec![Opening::centred(-1.8, 0.0, 0.9, 2.0)],
            },
            Placement::at(0.0, 8.0, 0.0),
            Surface::PAINTED_WALL,
            292.0,
        ),
        Body::adult("person", Posture::Standing, Placement::at(-0.5, 5.0, 0.0)),
        body(
            "ladder",
            Shape::Ladder {
                length_m: 2.5,
                width_m: 0.4,
                rung_spacing_m: 0.28,
            },
            Placement::at(0.9, 6.0, 0.0),
            Surface::GALVANISED_STEEL,
            289.0,
        ),
    ]);
    scene.bodies[1].temperature = Skin::studs(292.0, 291.0, 0.6, 0.05, 0.05);
    scene.media.push(Medium::Flame(
        Flame::new(DVec3::new(2.0, 6.5, 0.0), 0.5, 1.2).at_seconds(0.7),
    ));
    scene
        .media
        .push(Medium::Hot(HotLayer::new(2.0, 380.0, 0.2)));
    scene
}

// Source: the promise of the same bits on any number of threads.
#[test]
fn threads_change_no_bit() {
    let scene = crowd();
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| cast(&scene, &ahead()))
    };
    let (one, three) = (with(1), with(3));
    let bits = |image: &Image<f64>| image.data.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
    assert_eq!(bits(&one.apparent), bits(&three.apparent));
    assert_eq!(one, three);
}

// Source: by definition: inside is whole and of the body; around is neither mark. The person of
// 1.75 m at 5 m is 1.75/5/0.0028694 = 122 pixels tall.
#[test]
fn marks_hold_whole_pixels_and_a_clear_ring() {
    let scene = crowd();
    let seen = cast(&scene, &ahead());
    let marks = seen.marks(&scene, &["person", "ladder", "nobody"]);
    let names: Vec<&str> = marks.iter().map(|mark| mark.name.as_str()).collect();
    assert_eq!(names, ["person", "ladder"]);
    for (mark, body) in marks.iter().zip([2, 3]) {
        let inside = mark.mask.iter().filter(|m| **m).count();
        let around = mark.surround.iter().filter(|m| **m).count();
        assert!(
            inside > 100 && around > 500,
            "{}: {inside}, {around}",
            mark.name
        );
        for i in 0..mark.mask.len() {
            assert!(!mark.mask[i] || seen.body.data[i] == body && seen.whole.data[i]);
            assert!(!mark.surround[i] || ![2, 3].contains(&seen.body.data[i]));
        }
    }
    let rows = (0..240).filter(|y| seen.body.row(*y).contains(&2)).count();
    assert!((119..=126).contains(&rows), "{rows} rows");
}

// Source: by hand: 2 tan(19°) · 5 m / 240 = 14.35 mm; 1/(2 tan(19°)/240) = 348.5.
#[test]
fn the_spot_of_a_pixel_follows_from_the_field_of_view() {
    let camera = ahead();
    assert!((camera.spot_m(5.0) - 0.014_347).abs() < 1e-6);
    assert!((camera.distance_to_spot() - 348.505).abs() < 1e-2);
    // A disc as wide as the spot's diagonal fills the pixel; one of half its width does not.
    for (share, reads) in [(1.5_f64.sqrt(), true), (0.5, false)] {
        let at = Placement::at(
            0.5 * camera.spot_m(5.0),
            5.0,
            1.0 - 0.5 * camera.spot_m(5.0),
        );
        let disc = Shape::Disc {
            radius_m: share * camera.spot_m(5.0),
        };
        let mut scene = world(vec![body("spot", disc, at, Surface::BLACK, 400.0)]);
        scene.diffuse = Diffuse::Uniform;
        let seen = cast(&scene, &everywhere(8));
        let full = (middle(&seen) - 400.0).abs() < 0.01;
        assert_eq!(full, reads, "{}", middle(&seen));
    }
}

// Source: geometry: an opaque wall. A floor in front of it reflects nothing of a glowing room behind it
// when rooms are given; without rooms the lattice lets some through, so that the check can fail.
#[test]
fn a_glowing_room_behind_a_wall_lights_no_floor_before_it() {
    let apparent = |rooms: bool, behind_k: f64| {
        let plate = |depth_m: f64| Shape::Plate {
            width_m: 4.0,
            depth_m,
        };
        let quad = || Shape::Quad {
            width_m: 4.0,
            height_m: 2.5,
            openings: vec![],
        };
        let matt = Surface::matt(0.8);
        let at = Placement::at;
        let mut scene = world(vec![
            body("floor", plate(4.0), at(0.0, 2.0, 0.0), matt, ROOM_K),
            body("near wall", quad(), at(0.0, 4.0, 0.0), matt, ROOM_K),
            body("far wall", quad(), at(0.0, 4.1, 0.0), matt, behind_k),
            body("far floor", plate(3.9), at(0.0, 6.05, 0.0), matt, behind_k),
            body("end", quad(), at(0.0, 8.0, 0.0), matt, behind_k),
        ]);
        if rooms {
            for (low, high) in [(0.0, 4.0), (4.1, 8.0)] {
                scene.rooms.push(Room {
                    low: DVec3::new(-2.0, low, 0.0),
                    high: DVec3::new(2.0, high, 2.5),
                });
            }
        }
        let mut camera = Camera::new(DVec3::new(0.0, 1.0, 1.5), DVec3::new(0.0, 3.8, 0.0));
        (camera.width, camera.height) = (32, 24);
        *cast(&scene, &camera).apparent.get(16, 12).unwrap()
    };
    assert_eq!(
        apparent(true, ROOM_K).to_bits(),
        apparent(true, 900.0).to_bits()
    );
    assert!(apparent(false, 900.0) > apparent(false, ROOM_K) + 1.0);
}

// Source: the promise that what a caster keeps changes no bit: temperatures, then the camera, then a
// surface, a place and a shape change between pictures.
#[test]
fn what_a_caster_keeps_changes_no_bit() {
    let caster = Caster::new();
    let mut scene = crowd();
    let mut camera = Camera {
        width: 80,
        height: 60,
        ..ahead()
    };
    let look = |scene: &World, camera: &Camera| {
        // Twice, because rays of split pixels are kept from the second time on, and once more to use them.
        for _ in 0..3 {
            assert_eq!(caster.cast(scene, camera), cast(scene, camera));
        }
        cast(scene, camera)
    };
    let mut pictures = vec![look(&scene, &camera)];
    scene.bodies[1].temperature = Skin::Uniform(340.0);
    pictures.push(look(&scene, &camera));
    camera.position.x += 0.01;
    pictures.push(look(&scene, &camera));
    scene.bodies[3].surface = Surface::matt(0.9);
    pictures.push(look(&scene, &camera));
    scene.bodies[2].placement = scene.bodies[2].placement.yaw(40.0);
    pictures.push(look(&scene, &camera));
    scene.bodies.swap_remove(0);
    pictures.push(look(&scene, &camera));
    for pair in pictures.windows(2) {
        assert!(pair[0] != pair[1]);
    }
}
