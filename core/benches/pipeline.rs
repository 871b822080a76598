//! The pipeline at 320x240 on a mixed scene, beside the same steps in the plainest form.
//!
//! `cargo bench -p glowsill-core` prints the time a frame of each; divide by 76,800 for a pixel.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_lossless,
    clippy::cast_precision_loss,
    reason = "a benchmark; the plain form is written as plain C would be"
)]

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::health::HealthPlan;
use glowsill_core::panel::{PanelRgb565, Rgb888};
use glowsill_core::pipeline::{Correction, CountTables, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::{
    Band, BandPlan, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw,
};
use glowsill_core::units::Temperature;
use heapless::Vec as Fixed;

const W: usize = 320;
const H: usize = 240;
const N: usize = W * H;

fn kelvin(celsius: i32) -> Temperature {
    Temperature::from_millicelsius(celsius * 1000).unwrap()
}

fn calibration(low_k: f64, per_count: f64) -> Calibration {
    let knots = core::array::from_fn::<_, KNOTS, _>(|i| {
        Temperature::from_bits(((low_k + per_count * 64.0 * i as f64) * 32.0) as u16)
    });
    Calibration::new(6, knots, 16_000).unwrap()
}

fn profile() -> Profile {
    let band = |start, colour| Band {
        start: kelvin(start),
        colour,
        fill: Fill::Flat,
    };
    let mut spec = ProfileSpec::grey_example();
    spec.gain = GainPlan::PerPixel {
        blend_from: kelvin(105),
        blend_to: kelvin(135),
        dispute_k32: 640,
    };
    spec.scale.law = ScaleLaw::Percentile {
        low_permille: 10,
        high_permille: 970,
    };
    spec.scale.frames_to_hotter = 24;
    spec.scale.frames_to_colder = 48;
    spec.colour = ColourPlan::Bands(BandPlan {
        bands: Fixed::from_slice(&[
            band(160, Rgb888::new(235, 210, 0)),
            band(260, Rgb888::new(220, 115, 0)),
            band(430, Rgb888::new(200, 0, 0)),
        ])
        .unwrap(),
        hysteresis_k32: 128,
        ramp_end: None,
        ceiling: None,
    });
    spec.overlay = Overlay::Tint {
        knee: 200,
        lift: 140,
    };
    Profile::new(spec).unwrap()
}

/// A warm room with a hot disc that covers about 11 % of the picture, and some noise.
fn planes(low_k: f64, per_count: f64) -> Vec<u16> {
    let mut seed = 12_345u32;
    (0..N)
        .map(|i| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let (x, y) = ((i % W) as f64 - 200.0, (i / W) as f64 - 120.0);
            let noise = (seed >> 24) as f64 / 256.0;
            let hot = x * x + y * y < 52.0 * 52.0;
            let k = if hot {
                560.0 + 2.0 * x
            } else {
                295.0 + 0.03 * x + noise
            };
            (((k - low_k) / per_count).clamp(1.0, 16_383.0)) as u16
        })
        .collect()
}

const HIGH: (f64, f64) = (230.0, 0.0125);
const LOW: (f64, f64) = (230.0, 0.05);

/// The same steps, a pixel at a time, as plain C would be written: floats, one loop, no tables but
/// the calibration. It keeps the scale of the frame before and the band memory.
struct Plain {
    tables: [[f32; KNOTS]; 2],
    ends: (f32, f32),
    bands: Vec<u8>,
    histogram: Vec<u32>,
}

impl Plain {
    fn frame(&mut self, high: &[u16], low: &[u16], gain: &[u16], offset: &[i16], out: &mut [u16]) {
        let look = |table: &[f32; KNOTS], c: f32| {
            let at = (c / 64.0) as usize;
            let f = c / 64.0 - at as f32;
            table[at] + f * (table[at + 1] - table[at])
        };
        let colours = [(235.0, 210.0, 0.0), (220.0, 115.0, 0.0), (200.0, 0.0, 0.0)];
        let starts = [433.15f32, 533.15, 703.15];
        self.histogram.fill(0);
        for i in 0..N {
            let correct = |raw: u16| raw as f32 * gain[i] as f32 / 16_384.0 + offset[i] as f32;
            let th = look(&self.tables[0], correct(high[i]).clamp(1.0, 16_383.0));
            let tl = look(&self.tables[1], correct(low[i]).clamp(1.0, 16_383.0));
            let t = if high[i] >= 16_000 {
                tl
            } else if (th - tl).abs() > 20.0 {
                th.max(tl)
            } else {
                let w = ((th - 378.15) / 30.0).clamp(0.0, 1.0);
                th + w * (tl - th)
            };
            self.histogram[(t * 4.0) as usize] += 1;
            let g = 255.0 * ((t - self.ends.0) / (self.ends.1 - self.ends.0)).clamp(0.0, 1.0);
            let mut band = self.bands[i] as usize;
            while band < 3 && t >= starts[band] {
                band += 1;
            }
            while band > 0 && t < starts[band - 1] - 4.0 {
                band -= 1;
            }
            self.bands[i] = band as u8;
            let (r, gr, b) = if band == 0 {
                (g, g, g)
            } else {
                let (r, gr, b) = colours[band - 1];
                if g < 200.0 {
                    (r * g / 200.0, gr * g / 200.0, b * g / 200.0)
                } else {
                    let k = 140.0 / 255.0 * (g - 200.0) / 55.0;
                    (
                        r + (255.0 - r) * k,
                        gr + (255.0 - gr) * k,
                        b + (255.0 - b) * k,
                    )
                }
            };
            let pack = |v: f32, max: f32| (v * max / 255.0 + 0.5) as u16;
            out[i] = pack(r, 31.0) << 11 | pack(gr, 63.0) << 5 | pack(b, 31.0);
        }
        let find = |share: f32| {
            let mut sum = 0;
            self.histogram.iter().position(|n| {
                sum += n;
                sum as f32 >= share * N as f32
            })
        };
        let (lo, hi) = (find(0.01).unwrap_or(0), find(0.97).unwrap_or(1));
        self.ends.0 += (lo as f32 / 4.0 - self.ends.0) / 24.0;
        self.ends.1 += (hi as f32 / 4.0 - self.ends.1) / 24.0;
    }
}

fn bench(c: &mut Criterion) {
    let (high_table, low_table) = (calibration(HIGH.0, HIGH.1), calibration(LOW.0, LOW.1));
    let (high, low) = (planes(HIGH.0, HIGH.1), planes(LOW.0, LOW.1));
    let (gain, offset) = (vec![16_400u16; N], vec![3i16; N]);
    let mut picture = vec![0u16; N];
    let mut group = c.benchmark_group("320x240, 11 % coloured");
    group
        .throughput(Throughput::Elements(N as u64))
        .sample_size(60);

    let correction = Correction {
        gain_q14: &gain,
        offset: &offset,
    };
    let sensor = SensorConfig {
        high: Some(&high_table),
        low: Some(&low_table),
        high_correction: Some(correction),
        low_correction: Some(correction),
        // The same frame again and again: nothing moves, and nothing is wrong.
        health: HealthPlan {
            still_frames: 0,
            ..HealthPlan::DEFAULT
        },
        ..SensorConfig::default()
    };
    let mut tables = Box::new(CountTables::new());
    let (mut memory, mut scratch) = (vec![0u8; N], vec![0u16; 6 * W]);
    let mut pipeline = Pipeline::new(
        Geometry::DEFAULT,
        &profile(),
        sensor,
        &mut memory,
        &mut scratch,
    )
    .unwrap()
    .with_tables(&mut tables);
    let record = pipeline
        .frame::<PanelRgb565>(Some(&high), Some(&low), &mut picture)
        .unwrap();
    let coloured = record.coloured_permille();
    assert!(
        (100..130).contains(&coloured),
        "the scene is {coloured} permille coloured"
    );
    group.bench_function("core, quick form", |b| {
        b.iter(|| {
            pipeline
                .frame::<PanelRgb565>(Some(&high), Some(&low), &mut picture)
                .unwrap()
        });
    });

    group.bench_function("core, plain form", |b| {
        b.iter(|| {
            pipeline
                .frame_plain::<PanelRgb565>(Some(&high), Some(&low), &mut picture, None)
                .unwrap()
        });
    });

    let to_f32 = |table: &Calibration| table.knots().map(|t| t.to_bits() as f32 / 32.0);
    let mut plain = Plain {
        tables: [to_f32(&high_table), to_f32(&low_table)],
        ends: (250.0, 420.0),
        bands: vec![0; N],
        histogram: vec![0; 8192],
    };
    group.bench_function("plain form, float", |b| {
        b.iter(|| plain.frame(&high, &low, &gain, &offset, &mut picture));
    });
    // A floor: counts and gains of both states copied, without work; offsets and picture are not.
    let mut copy = vec![0u16; N];
    group.bench_function("8 bytes a pixel copied, in cache", |b| {
        b.iter(|| {
            for from in [&high, &low, &gain, &gain] {
                copy.copy_from_slice(from);
                std::hint::black_box(&mut copy);
            }
        });
    });
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
