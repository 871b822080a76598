//! Makes the pictures of docs/gallery: `cargo run --release -p glowsill --example gallery`.
//!
//! Two demo profiles look at the same kind of target; their worst cases stand side by side. The same
//! of each shipped scenario at an early and a late instant.

mod scenarios;

use std::error::Error;
use std::path::Path;

use glowsill::measure::{self, MeasureId, Settings};
use glowsill::{plot, profile_file};
use image::imageops::{self, FilterType};
use image::{Rgb, RgbImage};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/gallery");
    std::fs::create_dir_all(&folder)?;
    let demo = profile_file::demo()?;
    let mut sheet = RgbImage::from_pixel(1296, 480, Rgb([255; 3]));
    for (name, left) in [("Interior attack", 0), ("Poor: opaque, jumpy", 656)] {
        let profile = demo
            .iter()
            .find(|profile| profile.loaded.name() == name)
            .ok_or_else(|| format!("no demo profile is named '{name}'"))?;
        let outcome = measure::run(
            MeasureId::Detail,
            &profile.loaded.profile,
            &Settings::default(),
        )?;
        let worst = outcome
            .pictures
            .first()
            .ok_or("the measure gave no picture")?;
        println!("{name}: {}", worst.caption);
        let large = imageops::resize(&worst.image, 640, 480, FilterType::Nearest);
        imageops::replace(&mut sheet, &large, left, 0);
        if left == 0 {
            plot::chart::png(&profile.loaded.spec)?.save(folder.join("chart.png"))?;
        }
    }
    sheet.save(folder.join("verify-detail.png"))?;
    scenarios::draw(&folder)
}
