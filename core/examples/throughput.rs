//! Seconds a frame of the pipeline on two raw planes.
//!
//! `cargo run --release -p glowsill-core --example throughput -- W H HIGH.u16 LOW.u16 REPEATS [PROFILE]`
//!
//! The planes hold W x H counts, little-endian, row 0 first; PROFILE is a file made by
//! `glowsill profile pack`. Without it: both gain states pixel by pixel, bands of colour under a tint.
//! Counts are 14 bits over 230 K to about 430 K (high: 1/80 K a count) and 1030 K (low: 1/20 K); no correction
//! tables and no defects. Prints the seconds of each frame, one a line; the first is the slowest.

use std::error::Error;
use std::time::Instant;

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::health::HealthPlan;
use glowsill_core::panel::{PanelRgb565, Rgb888};
use glowsill_core::pipeline::{Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::{
    Band, BandPlan, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw,
};
use glowsill_core::units::Temperature;
use heapless::Vec as Fixed;

const USAGE: &str = "throughput W H HIGH.u16 LOW.u16 REPEATS [PROFILE]";

fn number<T: std::str::FromStr>(field: &str, text: &str, limits: &str) -> Result<T, String> {
    text.parse()
        .map_err(|_| format!("{field}: '{text}' is no whole number of {limits}; give one: {USAGE}"))
}

fn plane(field: &str, path: &str, pixels: usize) -> Result<Vec<u16>, String> {
    let bytes = std::fs::read(path)
        .map_err(|error| format!("{field}: '{path}' cannot be read ({error}); check the path"))?;
    if bytes.len() != 2 * pixels {
        return Err(format!(
            "{field}: '{path}' has {} bytes, {} are needed (two a pixel); check W and H",
            bytes.len(),
            2 * pixels
        ));
    }
    let (pairs, _) = bytes.as_chunks::<2>();
    Ok(pairs.iter().map(|pair| u16::from_le_bytes(*pair)).collect())
}

fn calibration(codes_q8: u32) -> Result<Calibration, Box<dyn Error>> {
    let mut knots = [Temperature::MIN; KNOTS];
    for (i, knot) in (0u32..).zip(&mut knots) {
        *knot = Temperature::from_bits(u16::try_from(230 * 32 + i * 64 * codes_q8 / 256)?);
    }
    Ok(Calibration::new(6, knots, 16_000)?)
}

fn default_profile() -> Result<Profile, Box<dyn Error>> {
    let celsius = |t: i32| Temperature::from_millicelsius(t * 1000);
    let mut spec = ProfileSpec::grey_example();
    spec.gain = GainPlan::PerPixel {
        blend_from: celsius(105)?,
        blend_to: celsius(135)?,
        dispute_k32: 640,
    };
    spec.scale.law = ScaleLaw::Percentile {
        low_permille: 10,
        high_permille: 970,
    };
    let mut bands = Fixed::new();
    for (start, colour) in [
        (160, Rgb888::new(235, 210, 0)),
        (260, Rgb888::new(220, 115, 0)),
        (430, Rgb888::new(200, 0, 0)),
    ] {
        bands
            .push(Band {
                start: celsius(start)?,
                colour,
                fill: Fill::Flat,
            })
            .map_err(|_| "too many bands")?;
    }
    spec.colour = ColourPlan::Bands(BandPlan {
        bands,
        hysteresis_k32: 128,
        ramp_end: None,
        ceiling: None,
    });
    spec.overlay = Overlay::Tint {
        knee: 200,
        lift: 140,
    };
    Ok(Profile::new(spec)?)
}

fn run() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [width, height, high, low, repeats, profile @ ..] = arguments.as_slice() else {
        return Err(format!(
            "{} arguments given, 5 or 6 are needed; use: {USAGE}",
            arguments.len()
        )
        .into());
    };
    let geometry = Geometry::new(
        number("W", width, "8 to 1280")?,
        number("H", height, "8 to 1024")?,
    )?;
    let repeats: u32 = number("REPEATS", repeats, "1 to 1000000")?;
    if !(1..=1_000_000).contains(&repeats) {
        return Err(format!("REPEATS: {repeats} is outside 1 to 1000000; {USAGE}").into());
    }
    let profile = match profile {
        [] => default_profile()?,
        [path] => {
            let bytes = std::fs::read(path).map_err(|error| {
                format!("PROFILE: '{path}' cannot be read ({error}); check the path")
            })?;
            Profile::from_bytes(&bytes).map_err(|error| {
                format!("PROFILE: '{path}': {error}; make one with 'glowsill profile pack'")
            })?
        }
        _ => {
            return Err(format!(
                "{} arguments given, 5 or 6 are needed; use: {USAGE}",
                arguments.len()
            )
            .into());
        }
    };
    let pixels = geometry.pixels();
    let (high, low) = (plane("HIGH", high, pixels)?, plane("LOW", low, pixels)?);
    let (high_table, low_table) = (calibration(102)?, calibration(410)?);
    let sensor = SensorConfig {
        high: Some(&high_table),
        low: Some(&low_table),
        // The same frame again and again: nothing moves, and nothing is wrong.
        health: HealthPlan {
            still_frames: 0,
            ..HealthPlan::DEFAULT
        },
        ..SensorConfig::default()
    };
    let (mut memory, mut scratch) = (vec![0; pixels], vec![0; Pipeline::scratch_len(geometry)]);
    let mut pipeline = Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch)?;
    let mut picture = vec![0; pixels];
    for _ in 0..repeats {
        let start = Instant::now();
        pipeline.frame::<PanelRgb565>(Some(&high), Some(&low), &mut picture)?;
        println!("{:.9}", start.elapsed().as_secs_f64());
    }
    Ok(())
}

fn main() -> std::process::ExitCode {
    match run() {
        Ok(()) => std::process::ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("throughput: {error}");
            std::process::ExitCode::FAILURE
        }
    }
}
