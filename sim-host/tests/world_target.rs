//! Bench targets against geometry worked out by hand.
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a test may stop; its numbers are small"
)]

use glowsill::world::scene::Scene;
use glowsill::world::target::{
    BarDirection, Pattern, Place, TARGETS, Target, Workshop, scene_from_name,
};

// Set GLOWSILL_PICTURES to a folder to keep the pictures.
fn keep(name: &str, image: &glowsill::world::image::Image<f64>, low: f64, high: f64) {
    let Ok(folder) = std::env::var("GLOWSILL_PICTURES") else {
        return;
    };
    let grey = |v: f64| ((v - low) / (high - low) * 255.0).clamp(0.0, 255.0) as u8;
    image::GrayImage::from_fn(image.width as u32, image.height as u32, |x, y| {
        image::Luma([grey(*image.get(x as usize, y as usize).unwrap())])
    })
    .save(format!("{folder}/{name}.png"))
    .unwrap();
}

// Source: ASTM E1213 (seen): four bars, each 1:7 width to height. 0.1 cycles a pixel is a bar of
// 5 pixels and a group of 35 by 35.
#[test]
fn four_bar_group_has_the_standard_shape() {
    let bars = |direction| {
        let pattern = Pattern::Bars {
            base_k: 300.0,
            delta_k: 2.0,
            cycles_per_pixel: 0.1,
            centre_px: (40.5, 30.5),
            direction,
        };
        Target::new(80, 60, pattern).image(0)
    };
    let upright = bars(BarDirection::Upright);
    let row = upright.row(30);
    let warm: Vec<usize> = (0..80).filter(|&x| row[x] > 301.0).collect();
    let expected: Vec<usize> = [23..28, 33..38, 43..48, 53..58]
        .into_iter()
        .flatten()
        .collect();
    assert_eq!(warm, expected);
    let column: Vec<usize> = (0..60).filter(|&y| upright.row(y)[25] > 301.0).collect();
    assert_eq!(column, (13..48).collect::<Vec<_>>());
    let level = bars(BarDirection::Level);
    let column: Vec<usize> = (0..60).filter(|&y| level.row(y)[40] > 301.0).collect();
    assert_eq!(column.len(), 20);
    // Heat is kept whatever the phase: four bars of 5 x 35 pixels at 2 K.
    let pattern = Pattern::Bars {
        base_k: 300.0,
        delta_k: 2.0,
        cycles_per_pixel: 0.13,
        centre_px: (40.23, 29.81),
        direction: BarDirection::Upright,
    };
    let sum: f64 = Target::new(80, 60, pattern)
        .image(0)
        .data
        .iter()
        .map(|k| k - 300.0)
        .sum();
    let bar = 0.5 / 0.13;
    assert!((sum - 2.0 * 4.0 * bar * 7.0 * bar).abs() < 1e-6, "{sum}");
}

// Source: geometry: a line at 5 degrees moves tan(5) = 0.0875 pixels a row; the mean of a row over
// its border pixel tells where the line crosses.
#[test]
fn slanted_edge_crosses_each_row_where_it_should() {
    let pattern = Pattern::Edge {
        left_k: 300.0,
        right_k: 310.0,
        degrees: 5.0,
    };
    let image = Target::new(64, 48, pattern).image(0);
    keep("edge", &image, 300.0, 310.0);
    for y in 0..48 {
        let right: f64 = image.row(y).iter().map(|k| (k - 300.0) / 10.0).sum();
        let crossing = 32.0 - (y as f64 + 0.5 - 24.0) * 5.0_f64.to_radians().tan();
        assert!((64.0 - right - crossing).abs() < 1e-6, "row {y}");
    }
    let straight = Pattern::Edge {
        left_k: 300.0,
        right_k: 310.0,
        degrees: 0.0,
    };
    let image = Target::new(64, 48, straight).image(0);
    assert_eq!((image.row(7)[31], image.row(7)[32]), (300.0, 310.0));
}

#[test]
fn patterns_in_time() {
    let step = Target::from_name("step", 8, 8).unwrap();
    assert_eq!(step.image(9).data[0], 300.0);
    assert_eq!(step.image(10).data[63], 473.15);
    let ramp = Target::from_name("slow-ramp", 8, 8).unwrap();
    assert!((ramp.image(150).data[5] - (170.0 + 273.15)).abs() < 1e-9);
    assert!((ramp.image(1000).data[5] - (320.0 + 273.15)).abs() < 1e-9);
    let at_once = Pattern::SlowRamp {
        from_k: 290.0,
        to_k: 400.0,
        frames: 0,
    };
    assert_eq!(Target::new(8, 8, at_once).image(0).data[0], 400.0);
}

#[test]
fn squares_stand_where_asked() {
    for (place, corner) in [
        (Place::Centre, (7, 5)),
        (Place::TopLeft, (0, 0)),
        (Place::TopRight, (14, 0)),
        (Place::BottomLeft, (0, 10)),
        (Place::BottomRight, (14, 10)),
    ] {
        let pattern = Pattern::Square {
            background_k: 300.0,
            target_k: 500.0,
            side_px: 2,
            place,
        };
        let image = Target::new(16, 12, pattern).image(0);
        assert_eq!(
            image.data.iter().filter(|&&k| k == 500.0).count(),
            4,
            "{}",
            place.name()
        );
        assert_eq!(*image.get(corner.0, corner.1).unwrap(), 500.0);
        assert_eq!(*image.get(corner.0 + 1, corner.1 + 1).unwrap(), 500.0);
    }
}

#[test]
fn every_listed_target_exists_and_others_are_refused_with_the_list() {
    for (name, _) in TARGETS {
        let image = scene_from_name(name, 32, 24).unwrap().image(3);
        assert_eq!(
            (image.width, image.height, image.data.len()),
            (32, 24, 768),
            "{name}"
        );
        assert!(
            image.data.iter().all(|k| *k > 200.0 && *k < 1100.0),
            "{name}"
        );
    }
    let error = scene_from_name("kitchen", 8, 8).err().unwrap().to_string();
    assert!(
        error.contains("kitchen") && error.contains("uniform, step, ramp"),
        "{error}"
    );
}

#[test]
fn workshop_marks_keep_their_temperature_beside_the_source() {
    for (width, height) in [(320, 240), (160, 120), (80, 60), (240, 240), (640, 480)] {
        let scene = Workshop::new(width, height).with_source(800.0);
        let names: Vec<_> = scene.marks().iter().map(|m| m.name.as_str()).collect();
        assert_eq!(names, ["person", "ladder", "lantern"]);
        for frame in [0, 60, 120] {
            let image = scene.image(frame);
            // The person, the ladder and the lantern: 31 °C, 16 °C and 24 °C.
            for (mark, kelvin) in scene.marks().iter().zip([304.15, 289.15, 297.15]) {
                let inside: Vec<f64> = (0..width * height)
                    .filter(|&i| mark.mask[i])
                    .map(|i| image.data[i])
                    .collect();
                assert!(
                    inside.len() >= width * height / 2000,
                    "{} {width}: {}",
                    mark.name,
                    inside.len()
                );
                assert!(
                    inside.iter().all(|k| (k - kelvin).abs() < 1e-9),
                    "{}",
                    mark.name
                );
                let ring: Vec<f64> = (0..width * height)
                    .filter(|&i| mark.surround[i])
                    .map(|i| image.data[i])
                    .collect();
                assert!(ring.len() >= inside.len() / 4, "{} {width}", mark.name);
                assert!(
                    ring.iter().all(|k| *k > 285.0 && *k < 300.0),
                    "{} {frame}",
                    mark.name
                );
                assert!((0..width * height).all(|i| !(mark.mask[i] && mark.surround[i])));
                let contrast = kelvin - ring.iter().sum::<f64>() / ring.len() as f64;
                match mark.name.as_str() {
                    "person" => assert!(contrast > 8.0, "{contrast}"),
                    "ladder" => assert!(contrast < -2.5, "{contrast}"),
                    _ => assert!(contrast > 0.5 && contrast < 2.0, "{contrast}"),
                }
            }
        }
    }
}

#[test]
fn workshop_source_grows_to_its_stated_share() {
    let scene = Workshop::new(160, 120)
        .with_source(700.0)
        .with_growth(0.0, 0.18, 100);
    assert_eq!(scene.source_share(0), 0.0);
    let shares: Vec<f64> = (0..=100)
        .step_by(20)
        .map(|f| scene.source_share(f))
        .collect();
    assert!(shares.windows(2).all(|w| w[1] > w[0]), "{shares:?}");
    let hot = scene.image(100).data.iter().filter(|&&k| k > 500.0).count() as f64 / 19_200.0;
    assert!(
        (hot - shares[5]).abs() < 0.01 && hot > 0.08 && hot < 0.16,
        "{hot}"
    );
}

#[test]
fn workshop_pictures() {
    let scene = Workshop::new(640, 480);
    for frame in [0, 60, 120] {
        keep(
            &format!("workshop-{frame}"),
            &scene.image(frame),
            287.0,
            306.0,
        );
    }
    keep(
        "workshop-small",
        &Workshop::new(160, 120).image(60),
        287.0,
        306.0,
    );
    let mut masks = scene.image(0).map(|_| 0.0);
    for mark in scene.marks() {
        for i in 0..masks.data.len() {
            masks.data[i] += if mark.mask[i] {
                2.0
            } else {
                f64::from(u8::from(mark.surround[i]))
            };
        }
    }
    keep("workshop-masks", &masks, 0.0, 2.0);
    assert!(
        masks.data.iter().all(|&v| v <= 2.0),
        "marks and rings do not overlap marks"
    );
}
