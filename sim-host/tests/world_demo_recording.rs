//! The demonstration recording is what the simulation makes from its seed.
#![allow(
    clippy::unwrap_used,
    clippy::type_complexity,
    reason = "a test may stop; its numbers are small"
)]

use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use glowsill::world::recording::{RecordedFrame, Recording};
use glowsill::world::scene::Scene;
use glowsill::world::sensor::{CalibrationTable, Sensor, SensorModel};
use glowsill::world::target::Workshop;
use image::{ImageBuffer, Luma};

const FRAMES: u32 = 8;
const SIZE: (u32, u32) = (80, 60);

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../demo-data/recordings/workshop-bin")
}

/// Frames of the workshop while the bin takes fire; defects and raw pattern are left out, because a
/// recording carries no correction tables.
fn simulate() -> (SensorModel, Vec<(Vec<u16>, Vec<u16>)>) {
    let model = SensorModel {
        gain_spread: 0.0,
        offset_spread: 0.0,
        defect_share: 0.0,
        ..SensorModel::default()
    };
    let (width, height) = (80, 60);
    let scene = Workshop::new(width, height)
        .with_source(873.15)
        .with_growth(0.02, 0.16, FRAMES - 1);
    let mut sensor = Sensor::new(model.clone(), width, height, 7).unwrap();
    let frames = (0..FRAMES)
        .map(|i| sensor.expose(&scene.image(i)).unwrap())
        .map(|shot| (shot.high, shot.low))
        .collect();
    (model, frames)
}

fn plane(name: &str, table: &CalibrationTable) -> String {
    let mut text = format!(
        "\n[{name}]\nfiles = \"{name}-###.png\"\nsaturation = {}\ntable = [\n",
        table.saturation
    );
    for (i, &knot) in table.knots.iter().enumerate() {
        let count = i << table.shift;
        // Every second knot, from the first of 200 K (code 6400) on.
        if knot >= 6400 && i % 2 == 0 && count < 1 << 14 {
            let kelvin = f64::from(knot) / 32.0;
            writeln!(
                text,
                "  {{ counts = {count}, temperature = \"{kelvin:.2} K\" }},"
            )
            .unwrap();
        }
    }
    text + "]\n"
}

// Set GLOWSILL_WRITE_DEMO=1 to write the folder again.
#[test]
fn the_demonstration_recording_is_the_simulated_one() {
    let (model, frames) = simulate();
    let folder = folder();
    if std::env::var_os("GLOWSILL_WRITE_DEMO").is_some() {
        let (high, low) = model.calibrations().unwrap();
        fs::create_dir_all(&folder).unwrap();
        for (i, (high, low)) in frames.iter().enumerate() {
            for (name, counts) in [("high", high), ("low", low)] {
                ImageBuffer::<Luma<u16>, _>::from_raw(SIZE.0, SIZE.1, counts.clone())
                    .unwrap()
                    .save(folder.join(format!("{name}-{i:03}.png")))
                    .unwrap();
            }
        }
        let head = format!(
            "name = \"Scenery workshop, burning waste bin\"\n\
             origin = \"simulated by this project, seed 7; simulation and teaching only\"\n\
             kind = \"counts\"\nwidth = {}\nheight = {}\nframe_rate = 2.0\nbits = 14\nframes = {FRAMES}\n",
            SIZE.0, SIZE.1
        );
        let text = head + &plane("high", &high) + &plane("low", &low);
        fs::write(folder.join("recording.toml"), text).unwrap();
    }
    let recording = Recording::open(&folder).unwrap();
    assert_eq!(recording.len(), frames.len());
    for (i, (high, low)) in frames.into_iter().enumerate() {
        let RecordedFrame::Counts {
            high: Some(kept_high),
            low: Some(kept_low),
        } = recording.frame(i).unwrap()
        else {
            panic!("two planes")
        };
        // One count: the last bit of exp() may differ between platforms.
        let near = |a: &[u16], b: &[u16]| {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.abs_diff(*b) <= 1)
        };
        assert!(
            near(&high, &kept_high) && near(&low, &kept_low),
            "frame {i}"
        );
    }
    // The tables of the file give back the temperatures of the scene: the person at 31 °C. Blur
    // cools the limbs, so the warmest tenth (the trunk) is compared.
    let scene = Workshop::new(80, 60);
    let calibration = recording.calibrations().0.unwrap();
    let RecordedFrame::Counts {
        high: Some(high), ..
    } = recording.frame(0).unwrap()
    else {
        panic!("two planes")
    };
    let mut seen: Vec<f64> = (0..high.len())
        .filter(|&i| scene.marks()[0].mask[i])
        .map(|i| calibration.kelvin(high[i]))
        .collect();
    seen.sort_by(f64::total_cmp);
    let trunk = seen[seen.len() * 9 / 10];
    assert!((trunk - 304.15).abs() < 0.15, "{trunk}");
}
