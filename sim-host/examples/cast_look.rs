//! Looks into a room of the scenery workshop and writes what the camera sees as grey pictures.
//!
//! `cargo run -p glowsill --example cast_look -- FOLDER` writes `wide.png` (the whole span of
//! temperatures), `near.png` (12 to 48 °C, 54 to 118 °F) and `postures.png` (persons at 3, 5 and
//! 8 m). Simulation and teaching only; apparent is not true temperature.

mod workshop_room;

use std::error::Error;
use std::path::Path;

use glam::DVec3;
use glowsill::world::image::Image;
use glowsill::world::scene::body::{Body, Placement, Surface};
use glowsill::world::scene::camera::Camera;
use glowsill::world::scene::cast::{World, cast};
use glowsill::world::scene::shape::{Posture, Shape};
use image::{GrayImage, Luma};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name a folder to write to")?;
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder)?;
    let seen = cast(&workshop_room::world(1.7), &workshop_room::camera());
    let span = |image: &Image<f64>| {
        let (low, high) = (f64::INFINITY, f64::NEG_INFINITY);
        let ends = image
            .data
            .iter()
            .fold((low, high), |(l, h), k| (l.min(*k), h.max(*k)));
        println!("{:.1} to {:.1} °C", ends.0 - 273.15, ends.1 - 273.15);
        ends
    };
    let ends = span(&seen.apparent);
    grey(&seen.apparent, ends).save(folder.join("wide.png"))?;
    grey(&seen.apparent, (285.15, 321.15)).save(folder.join("near.png"))?;
    let (world, camera) = postures();
    let seen = cast(&world, &camera);
    grey(&seen.apparent, (288.15, 308.15)).save(folder.join("postures.png"))?;
    Ok(())
}

/// The four postures at 3 m, 5 m and 8 m.
fn postures() -> (World, Camera) {
    let mut world = World::new(291.15);
    let floor = Shape::Plate {
        width_m: 20.0,
        depth_m: 30.0,
    };
    let below = Placement::at(0.0, 5.0, 0.0);
    world
        .bodies
        .push(Body::new("floor", floor, below, Surface::CONCRETE, 290.15));
    let mut add = |x: f64, y: f64, yaw: f64, posture, turnout: bool| {
        let place = Placement::at(x, y, 0.0).yaw(yaw);
        world.bodies.push(if turnout {
            Body::firefighter("firefighter", posture, place, 301.15)
        } else {
            Body::adult("person", posture, place)
        });
    };
    add(-0.75, 3.0, 20.0, Posture::Standing, true);
    add(0.75, 3.2, -15.0, Posture::Kneeling, false);
    add(-1.9, 5.0, 0.0, Posture::Standing, false);
    add(0.1, 5.0, 15.0, Posture::Crawling, false);
    add(1.8, 5.0, 190.0, Posture::Kneeling, true);
    add(-2.2, 8.0, 5.0, Posture::Lying, false);
    add(0.0, 8.0, 90.0, Posture::Standing, false);
    add(1.1, 8.0, -30.0, Posture::Standing, true);
    add(2.8, 8.0, -160.0, Posture::Crawling, true);
    let camera = Camera::new(DVec3::new(0.0, -0.2, 1.5), DVec3::new(0.0, 5.0, 0.95));
    (world, camera)
}

/// Three by three equal pixels for each of the picture.
fn grey(image: &Image<f64>, ends: (f64, f64)) -> GrayImage {
    let size = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    GrayImage::from_fn(size(3 * image.width), size(3 * image.height), |x, y| {
        let at = (y / 3) as usize * image.width + (x / 3) as usize;
        let share = (image.data[at] - ends.0) / (ends.1 - ends.0);
        Luma([level(share)])
    })
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is clamped into 0..=255 beside the cast"
)]
fn level(share: f64) -> u8 {
    (share * 255.0 + 0.5).clamp(0.0, 255.0) as u8
}
