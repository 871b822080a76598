//! Recordings: any `recording.toml` and any PNG, TIFF or NPY bytes give frames within the stated limits or
//! an error that is told.
//!
//! The first byte says what the others are: 0 the TOML text, 1 a PNG, 2 a TIFF, 3 an NPY of 16 by 12.
#![no_main]
#![allow(dead_code, unused_imports, reason = "a part of the host")]

#[path = "../../sim-host/src/temperature.rs"]
mod temperature;
mod world;

use std::path::PathBuf;
use std::sync::OnceLock;

use libfuzzer_sys::fuzz_target;
use world::recording::{RecordedFrame, Recording};

/// A folder of this process.
fn folder() -> &'static PathBuf {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let folder = std::env::temp_dir().join(format!("glowsill-fuzz-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("the temporary folder can be written");
        for kind in ["png", "tif", "npy"] {
            let about = format!(
                "name = \"f\"\nkind = \"kelvin\"\nwidth = 16\nheight = 12\n[kelvin]\nfiles = [\"f.{kind}\"]\nscale_k = 0.01\n"
            );
            let inner = folder.join(kind);
            std::fs::create_dir_all(&inner).expect("writable");
            std::fs::write(inner.join("recording.toml"), about).expect("writable");
        }
        let inner = folder.join("toml");
        std::fs::create_dir_all(&inner).expect("writable");
        std::fs::write(inner.join("0.png"), include_bytes!("../seeds/recording/frame.png")).expect("writable");
        folder
    })
}

fuzz_target!(|data: &[u8]| {
    let Some((kind, content)) = data.split_first() else {
        return;
    };
    let (name, file) = match kind % 4 {
        0 => ("toml", "recording.toml"),
        1 => ("png", "f.png"),
        2 => ("tif", "f.tif"),
        _ => ("npy", "f.npy"),
    };
    let inner = folder().join(name);
    std::fs::write(inner.join(file), content).expect("writable");
    let recording = match Recording::open(&inner) {
        Ok(recording) => recording,
        Err(error) => return assert!(!error.to_string().is_empty()),
    };
    let (width, height) = recording.size();
    assert!((8..=1280).contains(&width) && (8..=1024).contains(&height));
    assert!(!recording.is_empty() && recording.frame_rate() >= 0.1);
    let (high, low) = recording.calibrations();
    for table in [high, low].into_iter().flatten() {
        assert_eq!(table.knots.len(), 257);
        assert!(table.knots.is_sorted() && (6..=8).contains(&table.shift) && table.saturation > 0);
    }
    match recording.frame(0) {
        Ok(RecordedFrame::Kelvin(image)) => {
            assert_eq!(image.data.len(), width * height);
            assert!(
                image
                    .data
                    .iter()
                    .all(|kelvin| (0.03..=2048.0).contains(kelvin))
            );
        }
        Ok(RecordedFrame::Counts { high, low }) => {
            for plane in [high, low].into_iter().flatten() {
                assert_eq!(plane.len(), width * height);
            }
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
