//! The C example, compiled strictly, linked to the static library, run, and held against the
//! pipeline in Rust, bit for bit.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "the scene is computed as the C program does"
)]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::health::Cause;
use glowsill_core::packed;
use glowsill_core::panel::{PanelRgb565, Rgb888};
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::{
    Band, BandPlan, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw,
};
use glowsill_core::record::{FrameRecord, Spot};
use glowsill_core::units::Temperature;

const W: usize = 160;
const H: usize = 120;
const N: usize = W * H;

/// Builds the static library and gives its path.
fn library() -> PathBuf {
    let output = Command::new(env!("CARGO"))
        .args(["build", "-p", "glowsill-c", "--message-format=json"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).unwrap();
    let path = text
        .split('"')
        .rfind(|part| part.ends_with("libglowsill_c.a"))
        .expect("cargo names the static library it made");
    PathBuf::from(path)
}

/// Compiles the example with every warning an error.
fn example(folder: &Path) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let program = folder.join("frame");
    let output = Command::new("cc")
        .args([
            "-std=c99",
            "-O1",
            "-Wall",
            "-Wextra",
            "-Werror",
            "-pedantic",
        ])
        .arg("-I")
        .arg(root.join("include"))
        .arg("-o")
        .arg(&program)
        .arg(root.join("examples/frame.c"))
        .arg(library())
        .args(["-lpthread", "-ldl", "-lm"])
        .output();
    let output = output.unwrap_or_else(|error| {
        panic!("cannot run the C compiler `cc`: {error}. Install one, for instance gcc")
    });
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    program
}

struct Noise(u32);

impl Noise {
    fn below(&mut self, below: u32) -> u32 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 16) % below
    }
}

fn table(codes_x10: u32) -> Calibration {
    let knots: [_; KNOTS] = std::array::from_fn(|i| {
        Temperature::from_bits((230 * 32 + i as u32 * codes_x10 / 10) as u16)
    });
    Calibration::new(6, knots, 16_000).unwrap()
}

fn profile() -> Profile {
    let celsius = |t: i32| Temperature::from_millicelsius(t * 1000).unwrap();
    let mut spec = ProfileSpec::grey_example();
    spec.name.clear();
    spec.name.push_str("Paint store").unwrap();
    spec.gain = GainPlan::PerPixel {
        blend_from: celsius(105),
        blend_to: celsius(135),
        dispute_k32: 640,
    };
    spec.scale.law = ScaleLaw::Plateau {
        low_permille: 10,
        high_permille: 990,
        plateau_permille: 30,
        weight_q8: 218,
    };
    let mut plan = BandPlan {
        bands: heapless::Vec::new(),
        hysteresis_k32: 128,
        ramp_end: None,
        ceiling: None,
    };
    for (start, colour) in [
        (160, [235, 210, 0]),
        (260, [220, 115, 0]),
        (340, [200, 0, 0]),
    ] {
        let [r, g, b] = colour;
        let band = Band {
            start: celsius(start),
            colour: Rgb888::new(r, g, b),
            fill: Fill::Flat,
        };
        plan.bands.push(band).unwrap();
    }
    spec.colour = ColourPlan::Bands(plan);
    spec.overlay = Overlay::Tint {
        knee: 200,
        lift: 140,
    };
    Profile::new(spec).unwrap()
}

/// The example's eight frames through the pipeline itself.
fn in_rust(profile: &Profile, is_fallback: bool) -> (Vec<u16>, FrameRecord) {
    let mut noise = Noise(1);
    let mut tables = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for _ in 0..N {
        tables.0.push((16_300 + noise.below(200)) as u16);
        tables.1.push(noise.below(9) as i16 - 4);
        tables.2.push((16_340 + noise.below(90)) as u16);
        tables.3.push(noise.below(5) as i16 - 2);
    }
    let (high, low) = (table(255), table(1025));
    let high_correction = Correction {
        gain_q14: &tables.0,
        offset: &tables.1,
    };
    let low_correction = Correction {
        gain_q14: &tables.2,
        offset: &tables.3,
    };
    let sensor = SensorConfig {
        high: Some(&high),
        low: Some(&low),
        high_correction: Some(high_correction),
        low_correction: Some(low_correction),
        high_crc: Some(high_correction.crc32()),
        ..SensorConfig::default()
    };
    let geometry = Geometry::new(W as u16, H as u16).unwrap();
    let (mut memory, mut scratch) = (vec![0; N], vec![0; 6 * W]);
    let mut pipeline = Pipeline::new(geometry, profile, sensor, &mut memory, &mut scratch).unwrap();
    if is_fallback {
        pipeline.raise(Cause::ProfileFallback);
    }
    let (mut picture, mut record) = (vec![0; N], None);
    for _ in 0..8 {
        let (mut high, mut low) = (Vec::new(), Vec::new());
        for i in 0..N {
            let (x, y) = ((i % W) as i64, (i / W) as i64);
            let (dx, dy) = (x - 100, y - 60);
            let scene = if dx * dx + dy * dy < 26 * 26 {
                60_300 + 100 * dx
            } else {
                29_500 + 3 * x
            };
            for (plane, per_kelvin) in [(&mut high, 80), (&mut low, 20)] {
                let above = (scene - 23_000) * per_kelvin / 100 + i64::from(noise.below(4));
                plane.push(above.min(16_383) as u16);
            }
        }
        record = Some(
            pipeline
                .frame::<PanelRgb565>(Some(&high), Some(&low), &mut picture)
                .unwrap(),
        );
    }
    (picture, record.unwrap())
}

fn spot_line(name: &str, spot: Spot) -> String {
    let c = spot.temperature.to_millicelsius();
    let f = (c * 9 + 2).div_euclid(5) + 32_000;
    format!(
        "{name} {} at {},{}: {}.{} C, {}.{} F\n",
        spot.temperature.to_bits(),
        spot.x,
        spot.y,
        c / 1000,
        c % 1000 / 100,
        f / 1000,
        f % 1000 / 100
    )
}

/// What the example must print.
fn printed(record: &FrameRecord) -> String {
    let bands: String = record.in_band.iter().fold(String::new(), |mut text, n| {
        let _ = write!(text, " {n}");
        text
    });
    let causes = record
        .health
        .causes()
        .fold(String::new(), |mut text, cause| {
            let _ = write!(text, ", {}", cause.name());
            text
        });
    format!(
        "frame {} gain 0 struck {}\nscale {} {}\npixels {} valid {} from_low {} coloured {}\n\
         in_band{bands}\nsaturated {} invalid {} disputed {} replaced {}\n{}{}health {}{causes}\n",
        record.frame,
        u8::from(record.is_struck),
        record.scale_low.to_bits(),
        record.scale_high.to_bits(),
        record.pixels,
        record.valid,
        record.from_low,
        record.coloured,
        record.saturated,
        record.invalid,
        record.disputed,
        record.replaced,
        spot_line("hottest", record.hottest.unwrap()),
        spot_line("coldest", record.coldest.unwrap()),
        record.health.bits(),
    )
}

fn ppm(picture: &[u16]) -> Vec<u8> {
    let mut bytes = format!("P6\n{W} {H}\n255\n").into_bytes();
    for word in picture {
        let colour = Rgb888::from_565(*word);
        bytes.extend([colour.r, colour.g, colour.b]);
    }
    bytes
}

fn run(program: &Path, profile: &Path, picture: &Path) -> String {
    let output = Command::new(program)
        .args([profile, picture])
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_c_example_gives_the_pipelines_picture_and_record_bit_for_bit() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let program = example(folder);
    let (packed, picture) = (folder.join("profile.bin"), folder.join("frame.ppm"));
    let profile = profile();
    let mut bytes = [0; packed::MAX_LEN];
    let len = profile.to_bytes(&mut bytes).unwrap();
    std::fs::write(&packed, &bytes[..len]).unwrap();

    let (wanted, record) = in_rust(&profile, false);
    assert!(record.health.is_good() && record.coloured > 1000 && record.from_low > 1000);
    assert_eq!(run(&program, &packed, &picture), printed(&record));
    assert!(
        std::fs::read(&picture).unwrap() == ppm(&wanted),
        "the pictures differ"
    );

    // One bit flipped: the built-in profile, struck out, and the reason in words.
    bytes[20] ^= 4;
    std::fs::write(&packed, &bytes[..len]).unwrap();
    let safe = in_rust(&Profile::safe(&two_states()), true);
    assert!(safe.1.is_struck && safe.1.health.has(Cause::ProfileFallback));
    let text = run(&program, &packed, &picture);
    let (first, rest) = text.split_once('\n').unwrap();
    assert!(
        first.contains("check sum of the packed profile does not match"),
        "{first}"
    );
    assert_eq!(rest, printed(&safe.1));
    assert!(
        std::fs::read(&picture).unwrap() == ppm(&safe.0),
        "the pictures differ"
    );
}

/// A sensor with both states, for which the built-in profile is made.
fn two_states() -> SensorConfig<'static> {
    static TABLE: std::sync::OnceLock<Calibration> = std::sync::OnceLock::new();
    let table = TABLE.get_or_init(Calibration::identity);
    SensorConfig {
        high: Some(table),
        low: Some(table),
        ..SensorConfig::default()
    }
}
