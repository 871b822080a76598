//! Makes the pictures of docs/gallery: `cargo run --release -p glowsill --example gallery` (ten minutes or more).
//!
//! One profile looks twice at one instant of a shipped scenario; only its overlay differs. The frames are those of
//! `glowsill compare timber-rack --at 150s,200s,240s`, and the last of these instants is kept. Every draw is seeded.
//! Then each shipped scenario, as two profiles show it at an early and a late instant.

mod scenarios;

use std::error::Error;
use std::path::Path;

use glowsill::sheet::film;
use glowsill::sheet::instant::Instant;
use glowsill::source::Source;
use glowsill::{plot, profile_file};
use glowsill_core::profile::{Overlay, Profile, ProfileSpec};
use image::imageops::{self, FilterType};
use image::{Rgb, RgbImage};

const PROFILE: &str = "Interior attack";
const SCENARIO: &str = "timber-rack";
const AT_S: [f64; 3] = [150.0, 200.0, 240.0];
const SEED: u64 = 1;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/gallery");
    std::fs::create_dir_all(&folder)?;
    let shipped = profile_file::demo()?
        .into_iter()
        .map(|demo| demo.loaded.spec)
        .find(|spec| spec.name == PROFILE)
        .ok_or("the demonstration profile is not embedded")?;
    plot::chart::png(&shipped)?.save(folder.join("chart.png"))?;
    let opaque = Profile::new(ProfileSpec {
        overlay: Overlay::Opaque,
        ..shipped.clone()
    })?;
    let shipped = Profile::new(shipped)?;
    let source = Source::open(SCENARIO, None)?;
    let frames = AT_S
        .iter()
        .map(|at_s| Instant::Seconds(*at_s).frame(&source, "AT_S"))
        .collect::<Result<Vec<_>, _>>()?;
    let mut sheet = RgbImage::from_pixel(1296, 480, Rgb([255; 3]));
    let feed = source.feed(&frames);
    film::run(&source, &[&shipped, &opaque], &feed, SEED, |moment| {
        if frames.last() == Some(&moment.frame) {
            for (display, left) in moment.displays.iter().zip([0, 656]) {
                let picture = display.last().image();
                let large = imageops::resize(&picture, 640, 480, FilterType::Nearest);
                imageops::replace(&mut sheet, &large, left, 0);
            }
        }
        Ok(())
    })?;
    sheet.save(folder.join("tint-and-opaque.png"))?;
    scenarios::draw(&folder)
}
