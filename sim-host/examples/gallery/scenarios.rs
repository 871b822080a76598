//! What two profiles show of each shipped scenario, side by side, at an early and a late instant.

use std::error::Error;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use glowsill::profile_file::{self, LoadedProfile};
use glowsill::sheet::{SheetError, film};
use glowsill::source::Source;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::imageops::{self, FilterType as Scaling};
use image::{Rgb, RgbImage};

/// Scenario, frames of the two rows (30 a second), and the names of the two profiles.
const SHEETS: [(&str, [usize; 2], [&str; 2]); 6] = [
    (
        "paint-store-door",
        [600, 2700],
        ["Interior attack", "Search"],
    ),
    ("timber-rack", [1200, 3600], ["Interior attack", "Search"]),
    ("loft", [600, 3600], ["Interior attack", "Overhaul"]),
    (
        "three-partitions",
        [30, 2700],
        ["Interior attack", "Search"],
    ),
    ("ticket-screen", [30, 1200], ["Search", "Overhaul"]),
    ("sawdust-bins", [30, 1500], ["Interior attack", "Overhaul"]),
];

/// Seed of the simulated noise.
const SEED: u64 = 1;
const GAP: u32 = 8;

/// Writes `scenario-NAME.png` for each scenario.
pub(crate) fn draw(folder: &Path) -> Result<(), Box<dyn Error>> {
    let demo = profile_file::demo()?;
    for (name, frames, profiles) in SHEETS {
        let loaded = profiles.map(|wanted| {
            let found = demo.iter().find(|one| one.loaded.name() == wanted);
            found.map(|one| &one.loaded).ok_or(wanted)
        });
        let [Ok(left), Ok(right)] = loaded else {
            return Err(format!("{profiles:?}: one of them is no demo profile").into());
        };
        let sheet = sheet(&Source::open(name, None)?, &frames, [left, right])?;
        let file = BufWriter::new(File::create(folder.join(format!("scenario-{name}.png")))?);
        let encoder =
            PngEncoder::new_with_quality(file, CompressionType::Best, FilterType::Adaptive);
        sheet.write_with_encoder(encoder)?;
        println!("{name}: {profiles:?}, frames {frames:?}");
    }
    Ok(())
}

/// One row an instant, one column a profile; frames in rising order.
fn sheet(
    source: &Source,
    frames: &[usize; 2],
    profiles: [&LoadedProfile; 2],
) -> Result<RgbImage, SheetError> {
    let (width, height) = (480, 360);
    let mut sheet = RgbImage::from_pixel(2 * width + GAP, 2 * height + GAP, Rgb([255; 3]));
    let running = profiles.map(|loaded| &loaded.profile);
    film::run(source, &running, &source.feed(frames), SEED, |moment| {
        let Some(row) = frames.iter().position(|frame| *frame == moment.frame) else {
            return Ok(());
        };
        let top = if row == 0 { 0 } else { height + GAP };
        for (display, left) in moment.displays.iter().zip([0, width + GAP]) {
            let picture = display.last().image();
            let large = imageops::resize(&picture, width, height, Scaling::CatmullRom);
            imageops::replace(&mut sheet, &large, i64::from(left), i64::from(top));
        }
        Ok(())
    })?;
    Ok(sheet)
}
