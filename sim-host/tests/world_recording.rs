//! Recordings: every format read back, every fault refused by name.
#![allow(
    clippy::unwrap_used,
    clippy::type_complexity,
    reason = "a test may stop; its numbers are small"
)]

use std::fs;
use std::path::Path;

use glowsill::run::calibration;
use glowsill::world::recording::{RecordedFrame, Recording, RecordingError};
use image::{ImageBuffer, Luma};
use npyz::WriterBuilder;
use tempfile::TempDir;

const W: u32 = 12;
const H: u32 = 8;

/// Counts that differ in every pixel: 9000 + 20 y + x.
fn count(x: u32, y: u32) -> u16 {
    u16::try_from(9000 + 20 * y + x).unwrap()
}

fn counts() -> Vec<u16> {
    (0..H)
        .flat_map(|y| (0..W).map(move |x| count(x, y)))
        .collect()
}

fn png(file: &Path) {
    ImageBuffer::<Luma<u16>, _>::from_fn(W, H, |x, y| Luma([count(x, y)]))
        .save(file)
        .unwrap();
}

fn npy<T: npyz::AutoSerialize + Copy>(file: &Path, shape: &[u64], values: &[T]) {
    let out = fs::File::create(file).unwrap();
    let mut writer = npyz::WriteOptions::new()
        .default_dtype()
        .shape(shape)
        .writer(out)
        .begin_nd()
        .unwrap();
    writer.extend(values.iter().copied()).unwrap();
    writer.finish().unwrap();
}

fn tiff_f32(file: &Path, values: &[f32]) {
    let out = fs::File::create(file).unwrap();
    tiff::encoder::TiffEncoder::new(out)
        .unwrap()
        .write_image::<tiff::encoder::colortype::Gray32Float>(W, H, values)
        .unwrap();
}

fn folder(toml: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("recording.toml"), toml).unwrap();
    folder
}

fn kelvin_toml(file: &str, more: &str) -> String {
    format!(
        "name = \"t\"\nkind = \"kelvin\"\nwidth = {W}\nheight = {H}\n{more}\n[kelvin]\nfiles = [\"{file}\"]\n"
    )
}

const TABLE: &str = "table = [{ counts = 1000, temperature = \"0 C\" }, \
    { counts = 9000, temperature = \"100 °C\" }, { counts = 15000, temperature = \"302 °F\" }]\n";

fn counts_toml(files: &str) -> String {
    format!("name = \"t\"\nkind = \"counts\"\nwidth = {W}\nheight = {H}\nbits = 14\n{files}")
}

fn high(recording: &Recording) -> Vec<u16> {
    match recording.frame(0).unwrap() {
        RecordedFrame::Counts {
            high: Some(high), ..
        } => high,
        other => panic!("{other:?}"),
    }
}

fn opened(toml: &str, prepare: impl FnOnce(&Path)) -> (TempDir, Result<Recording, RecordingError>) {
    let folder = folder(toml);
    prepare(folder.path());
    let recording = Recording::open(folder.path());
    (folder, recording)
}

/// The error of opening or, if that works, of reading frame 0.
fn refusal(toml: &str, prepare: impl FnOnce(&Path)) -> String {
    let (_folder, recording) = opened(toml, prepare);
    match recording {
        Err(error) => error.to_string(),
        Ok(recording) => recording.frame(0).unwrap_err().to_string(),
    }
}

#[test]
fn counts_come_back_from_every_format() {
    let write: [(&str, fn(&Path)); 3] = [
        ("a.png", png),
        ("a.tif", |file| png_as_tiff(file)),
        ("a.npy", |file| {
            npy(file, &[u64::from(H), u64::from(W)], &counts())
        }),
    ];
    for (name, write) in write {
        let toml = counts_toml(&format!("[high]\nfiles = [\"{name}\"]\n{TABLE}"));
        let (_folder, recording) = opened(&toml, |folder| write(&folder.join(name)));
        assert_eq!(high(&recording.unwrap()), counts(), "{name}");
    }
}

fn png_as_tiff(file: &Path) {
    ImageBuffer::<Luma<u16>, _>::from_fn(W, H, |x, y| Luma([count(x, y)]))
        .save(file)
        .unwrap();
}

#[test]
fn two_planes_and_a_pattern() {
    let toml = counts_toml(&format!(
        "frames = 3\nfirst_frame = 7\nframe_rate = 9.0\n[high]\nfiles = \"h-##.png\"\n{TABLE}\
         saturation = 15000\n[low]\nfiles = \"l-####.png\"\n{TABLE}"
    ));
    let (_folder, recording) = opened(&toml, |folder| {
        for i in 7..10 {
            png(&folder.join(format!("h-{i:02}.png")));
            png(&folder.join(format!("l-{i:04}.png")));
        }
    });
    let recording = recording.unwrap();
    assert_eq!(
        (recording.len(), recording.size(), recording.frame_rate()),
        (3, (12, 8), 9.0)
    );
    let RecordedFrame::Counts {
        high: Some(_),
        low: Some(low),
    } = recording.frame(2).unwrap()
    else {
        panic!("two planes")
    };
    assert_eq!(low, counts());
    let (high, low) = recording.calibrations();
    let (high, low) = (high.unwrap(), low.unwrap());
    assert_eq!((high.saturation, low.saturation), (15_000, 16_383));
    assert!(
        recording
            .frame(3)
            .unwrap_err()
            .to_string()
            .contains("frame 3")
    );
    // Worked by hand: 5000 is half-way from 0 °C to 100 °C, 12,000 half-way from 100 °C to 150 °C.
    for (count, celsius) in [(5000, 50.0), (12_000, 125.0), (100, 0.0), (16_300, 150.0)] {
        assert!(
            (high.kelvin(count) - 273.15 - celsius).abs() < 0.05,
            "{count}"
        );
    }
    assert!(calibration(&high).is_ok());
}

#[test]
fn kelvin_as_they_are_become_codes_of_a_32nd() {
    let toml = kelvin_toml("k.tiff", "");
    let (_folder, recording) = opened(&toml, |folder| {
        tiff_f32(&folder.join("k.tiff"), &[300.25; 96])
    });
    let recording = recording.unwrap();
    assert_eq!(high(&recording), vec![9608; 96]); // 300.25 x 32
    let identity = recording.calibrations().0.unwrap();
    assert!((identity.kelvin(9608) - 300.25).abs() < 1e-9);
    assert!(!recording.through_sensor());
    // 16-bit codes of 0.01 K: 30,025 is 300.25 K.
    let toml = kelvin_toml("k.npy", "") + "scale_k = 0.01\n";
    let (_folder, recording) = opened(&toml, |folder| {
        npy(&folder.join("k.npy"), &[8, 12], &[30_025_u16; 96])
    });
    assert_eq!(high(&recording.unwrap()), vec![9608; 96]);
}

#[test]
fn kelvin_for_the_sensor_stay_kelvin() {
    // Celsius floats: the offset makes them kelvin.
    let toml = kelvin_toml("k.npy", "use = \"sensor\"") + "offset_k = 273.15\n";
    let (_folder, recording) = opened(&toml, |folder| {
        npy(&folder.join("k.npy"), &[8, 12], &[26.5_f32; 96])
    });
    let recording = recording.unwrap();
    assert!(recording.through_sensor());
    let RecordedFrame::Kelvin(image) = recording.frame(0).unwrap() else {
        panic!("kelvin")
    };
    assert_eq!((image.width, image.height), (12, 8));
    assert!(image.data.iter().all(|k| (k - 299.65).abs() < 1e-9));
}

#[test]
fn bad_temperatures_name_frame_and_pixel() {
    for bad in [f32::NAN, 0.0, -3.0, f32::INFINITY, 5000.0] {
        let mut values = vec![300.0_f32; 96];
        values[2 * 12 + 5] = bad;
        let error = refusal(&kelvin_toml("k.npy", ""), |folder| {
            npy(&folder.join("k.npy"), &[8, 12], &values);
        });
        assert!(error.contains("frame 0, pixel (5, 2)"), "{error}");
    }
}

#[test]
fn sizes_are_checked_before_anything_is_decoded() {
    let png_toml = counts_toml(&format!("[high]\nfiles = [\"a.png\"]\n{TABLE}"));
    let error = refusal(&png_toml, |folder| {
        ImageBuffer::<Luma<u16>, Vec<u16>>::new(9, 8)
            .save(folder.join("a.png"))
            .unwrap();
    });
    assert!(
        error.contains("9 x 8") && error.contains("12 x 8"),
        "{error}"
    );
    // A PNG whose header claims 2,000,000,000 pixels a side, with a right check sum: only the
    // header is read.
    let error = refusal(&png_toml, |folder| {
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        bytes.extend(2_000_000_000_u32.to_be_bytes());
        bytes.extend(2_000_000_000_u32.to_be_bytes());
        bytes.extend([16, 0, 0, 0, 0]);
        let sum = crc32(&bytes[12..]);
        bytes.extend(sum.to_be_bytes());
        bytes.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
        fs::write(folder.join("a.png"), bytes).unwrap();
    });
    assert!(error.contains("a.png"), "{error}");
    // An NPY whose header claims 4 TB.
    let error = refusal(&kelvin_toml("k.npy", ""), |folder| {
        let mut text =
            "{'descr': '<f4', 'fortran_order': False, 'shape': (1000000, 1000000), }".to_owned();
        while !(10 + text.len() + 1).is_multiple_of(64) {
            text.push(' ');
        }
        text.push('\n');
        let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
        bytes.extend(u16::try_from(text.len()).unwrap().to_le_bytes());
        bytes.extend(text.bytes());
        fs::write(folder.join("k.npy"), bytes).unwrap();
    });
    assert!(error.contains("1000000 x 1000000"), "{error}");
    // An NPY of version 2 whose header claims to be 4 GB long.
    let error = refusal(&kelvin_toml("k.npy", ""), |folder| {
        fs::write(folder.join("k.npy"), b"\x93NUMPY\x02\x00\xff\xff\xff\xff{").unwrap();
    });
    assert!(error.contains("longer than the file"), "{error}");
}

/// CRC-32 of PNG (ISO 3309), bit by bit.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |c, _| {
            if c & 1 == 1 {
                0xedb8_8320 ^ (c >> 1)
            } else {
                c >> 1
            }
        })
    })
}

#[test]
fn truncated_files_are_refused() {
    let cut = |file: &Path, keep: usize| {
        let bytes = fs::read(file).unwrap();
        fs::write(file, &bytes[..bytes.len().min(keep)]).unwrap();
    };
    let png_toml = counts_toml(&format!("[high]\nfiles = [\"a.png\"]\n{TABLE}"));
    for keep in [0, 5, 20, 60] {
        let error = refusal(&png_toml, |folder| {
            png(&folder.join("a.png"));
            cut(&folder.join("a.png"), keep);
        });
        for part in [
            "a.png: cut short or damaged",
            "12 x 8 pixels",
            "copy or export",
        ] {
            assert!(error.contains(part), "{keep}: {error}");
        }
        assert!(
            error.contains("bytes that do not hold one"),
            "{keep}: {error}"
        );
    }
    for keep in [0, 9, 40, 200] {
        let error = refusal(&kelvin_toml("k.npy", ""), |folder| {
            npy(&folder.join("k.npy"), &[8, 12], &[300.0_f32; 96]);
            cut(&folder.join("k.npy"), keep);
        });
        for part in ["k.npy: cut short", "expected", "found", "copy or export"] {
            assert!(error.contains(part), "{keep}: {error}");
        }
    }
    for keep in [0, 6, 100] {
        let error = refusal(&kelvin_toml("k.tif", ""), |folder| {
            tiff_f32(&folder.join("k.tif"), &[300.0; 96]);
            cut(&folder.join("k.tif"), keep);
        });
        assert!(error.contains("k.tif"), "{keep}: {error}");
    }
}

#[test]
fn files_outside_the_folder_are_refused() {
    let outside = TempDir::new().unwrap();
    png(&outside.path().join("a.png"));
    let absolute = outside.path().join("a.png").display().to_string();
    for name in [
        "../a.png",
        "sub/../../a.png",
        "",
        "./../a.png",
        absolute.as_str(),
    ] {
        let toml = counts_toml(&format!("[high]\nfiles = [\"{name}\"]\n{TABLE}"));
        let error = refusal(&toml, |_| {});
        assert!(
            error.contains("out of the recording's folder"),
            "{name}: {error}"
        );
    }
    #[cfg(unix)]
    {
        let toml = counts_toml(&format!("[high]\nfiles = [\"link.png\"]\n{TABLE}"));
        let error = refusal(&toml, |folder| {
            std::os::unix::fs::symlink(&absolute, folder.join("link.png")).unwrap();
        });
        assert!(error.contains("out of the recording's folder"), "{error}");
    }
}

#[test]
fn faults_of_the_description_are_named() {
    let plane = format!("[high]\nfiles = [\"a.png\"]\n{TABLE}");
    let good = counts_toml(&plane);
    let swap = |from: &str, to: &str| good.replace(from, to);
    let cases = [
        (swap("width = 12", "width = 0"), "width = 0"),
        (swap("height = 8", "height = 4000"), "height = 4000"),
        (
            swap("width = 12", "width = 100000000000"),
            "width = 100000000000",
        ),
        (swap("bits = 14", "bits = 12"), "bits = 12"),
        (swap("bits = 14", "colour = 3"), "colour"),
        (swap("bits = 14", "band_um = [14.0, 8.0]"), "band_um"),
        (swap("bits = 14", "frame_rate = 0.0"), "frame_rate"),
        (
            swap("kind = \"counts\"", "kind = \"kelvin\""),
            "kind = kelvin",
        ),
        (swap("\"0 C\"", "\"120 C\""), "high.table row 2"),
        (swap("counts = 15000", "counts = 9000"), "high.table row 3"),
        (swap("counts = 15000", "counts = 20000"), "row 3"),
        (swap("\"0 C\"", "\"0\""), "number and a unit"),
        (swap("files = [\"a.png\"]", "files = []"), "frames = 0"),
        (
            swap("files = [\"a.png\"]", "files = [\"missing.png\"]"),
            "missing.png",
        ),
        (
            swap("files = [\"a.png\"]", "files = \"a-##.png\""),
            "frames",
        ),
        (
            swap("files = [\"a.png\"]", "files = [\"recording.toml\"]"),
            "must end in .png",
        ),
        (swap("bits = 14", "frames = 2"), "the list holds 1"),
        (good.clone() + "saturation = 16384\n", "saturation = 16384"),
        ("name = ".to_owned(), "recording.toml"),
    ];
    for (toml, text) in cases {
        let error = refusal(&toml, |folder| png(&folder.join("a.png")));
        assert!(error.contains(text), "{text}: {error}");
    }
    let empty = TempDir::new().unwrap();
    assert!(
        Recording::open(empty.path())
            .unwrap_err()
            .to_string()
            .contains("recording.toml")
    );
}

#[test]
fn counts_and_pixels_of_the_wrong_kind_are_refused() {
    let toml = counts_toml(&format!("[high]\nfiles = [\"a.npy\"]\n{TABLE}"));
    let with = |write: &dyn Fn(&Path)| refusal(&toml, |folder| write(&folder.join("a.npy")));
    let mut values = counts();
    values[13] = 16_384;
    let error = with(&|file| npy(file, &[8, 12], &values));
    assert!(error.contains("pixel (1, 1): count 16384"), "{error}");
    let error = with(&|file| npy(file, &[8, 12], &[300.0_f32; 96]));
    assert!(error.contains("floats"), "{error}");
    let error = with(&|file| npy(file, &[8, 12], &[3.0_f64; 96]));
    assert!(error.contains("u2 or f4"), "{error}");
    let error = with(&|file| npy(file, &[96], &counts()));
    assert!(error.contains("shape"), "{error}");
    let toml = counts_toml(&format!("[high]\nfiles = [\"a.png\"]\n{TABLE}"));
    let error = refusal(&toml, |folder| {
        image::GrayImage::new(W, H)
            .save(folder.join("a.png"))
            .unwrap();
    });
    assert!(error.contains("16 bits"), "{error}");
}
