//! The first inputs of the fuzz targets, made from what is shipped. `GLOWSILL_WRITE=1` writes them.
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    reason = "test code"
)]

use std::io::Cursor;
use std::path::Path;

use glowsill::profile_file::demo;
use glowsill_core::packed::MAX_LEN;
use glowsill_faults::Sequence;
use image::{ImageBuffer, ImageFormat, Luma};

fn profiles() -> Vec<(String, Vec<u8>)> {
    demo()
        .unwrap()
        .into_iter()
        .map(|demo| {
            let mut bytes = vec![0; MAX_LEN];
            let length = demo.loaded.profile.to_bytes(&mut bytes).unwrap();
            bytes.truncate(length);
            let name = Path::new(&demo.loaded.source)
                .file_stem()
                .unwrap()
                .to_str()
                .unwrap();
            (format!("profile/{name}.bin"), bytes)
        })
        .collect()
}

/// Bytes that the row target reads as a size, tables and counts.
fn rows() -> Vec<(String, Vec<u8>)> {
    (0..8u8)
        .map(|i| {
            let mut random = Sequence(u64::from(i) + 1);
            let size = [i % 6, 40 + 5 * i, 8 + i];
            let bytes = size
                .into_iter()
                .chain((0..300).map(|_| random.below(256) as u8))
                .collect();
            (format!("rows/{i}.bin"), bytes)
        })
        .collect()
}

/// The first two vectors of every stage whose text stays small.
fn vectors() -> Vec<(String, Vec<u8>)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../conformance/vectors");
    let mut names: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| {
            name.ends_with(".json") && !name.starts_with("manifest") && !name.contains("schema")
        })
        .collect();
    names.sort();
    names
        .iter()
        .filter_map(|name| {
            let text = std::fs::read_to_string(format!("{folder}/{name}")).unwrap();
            let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
            file["vectors"].as_array_mut().unwrap().truncate(2);
            let small = serde_json::to_vec(&file).unwrap();
            (small.len() < 6000).then(|| (format!("vectors/{name}"), small))
        })
        .collect()
}

const COUNTS_TOML: &str = "\0name = \"Workshop\"\nkind = \"counts\"\nwidth = 16\nheight = 12\nbits = 14\nframes = 1\n\
    [high]\nfiles = \"#.png\"\nsaturation = 15565\ntable = [\n { counts = 1280, temperature = \"-68 C\" },\n \
    { counts = 15565, temperature = \"428.15 K\" },\n]\n";
const KELVIN_TOML: &str = "\0name = \"Warm plate\"\nkind = \"kelvin\"\nuse = \"sensor\"\nwidth = 16\nheight = 12\n\
    frame_rate = 9.0\nband_um = [7.5, 13.5]\n[kelvin]\nfiles = [\"0.png\"]\nscale_k = 0.04\noffset_k = 273.15\n";

/// Small frames in each format, and descriptions; the first byte tells the target which is which.
fn recordings() -> Vec<(String, Vec<u8>)> {
    let grey = ImageBuffer::from_fn(16, 12, |x, y| Luma([29_000u16 + 100 * x as u16 + y as u16]));
    let mut files = vec![
        ("recording/counts.toml".to_owned(), COUNTS_TOML.into()),
        ("recording/kelvin.toml".to_owned(), KELVIN_TOML.into()),
    ];
    for (name, kind, format) in [("png", 1, ImageFormat::Png), ("tif", 2, ImageFormat::Tiff)] {
        let mut bytes = Cursor::new(vec![]);
        grey.write_to(&mut bytes, format).unwrap();
        let bytes = bytes.into_inner();
        if name == "png" {
            files.push(("recording/frame.png".to_owned(), bytes.clone()));
        }
        files.push((
            format!("recording/{name}.bin"),
            [vec![kind], bytes].concat(),
        ));
    }
    for (descr, name) in [("<u2", "u2"), (">f4", "f4")] {
        let mut head =
            format!("{{'descr': '{descr}', 'fortran_order': False, 'shape': (12, 16), }}");
        while (head.len() + 11) % 64 != 0 {
            head.push(' ');
        }
        head.push('\n');
        let mut bytes = b"\x03\x93NUMPY\x01\0".to_vec();
        bytes.extend((head.len() as u16).to_le_bytes());
        bytes.extend(head.bytes());
        for i in 0..192u16 {
            match name {
                "u2" => bytes.extend((29_000 + i).to_le_bytes()),
                _ => bytes.extend((29_000.0 + f32::from(i)).to_be_bytes()),
            }
        }
        files.push((format!("recording/{name}.bin"), bytes));
    }
    files
}

#[test]
fn the_committed_seeds_are_what_is_shipped() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fuzz/seeds");
    let files = [profiles(), rows(), vectors(), recordings()].concat();
    if std::env::var_os("GLOWSILL_WRITE").is_some() {
        for kind in ["profile", "rows", "vectors", "recording"] {
            std::fs::create_dir_all(folder.join(kind)).unwrap();
        }
        for (name, bytes) in &files {
            std::fs::write(folder.join(name), bytes).unwrap();
        }
    }
    let mut kept = 0;
    for kind in std::fs::read_dir(&folder).unwrap() {
        kept += std::fs::read_dir(kind.unwrap().path()).unwrap().count();
    }
    // Inputs that once failed are kept beside them under names that start with "found-".
    let mut once_failed = 0;
    for kind in ["profile", "rows", "vectors", "recording"] {
        for entry in std::fs::read_dir(folder.join(kind)).unwrap() {
            once_failed += usize::from(
                entry
                    .unwrap()
                    .file_name()
                    .to_str()
                    .unwrap()
                    .starts_with("found-"),
            );
        }
    }
    assert_eq!(kept, files.len() + once_failed);
    for (name, bytes) in &files {
        assert!(bytes.len() < 10_000, "{name} has {} bytes", bytes.len());
        assert!(
            std::fs::read(folder.join(name)).unwrap() == *bytes,
            "fuzz/seeds/{name} is not what is shipped; write it with GLOWSILL_WRITE=1 cargo test -p glowsill-faults --test seeds"
        );
    }
}
