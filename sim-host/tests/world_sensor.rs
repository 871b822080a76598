//! The sensor model against its own specification and against arithmetic done outside it.
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a test may stop; its numbers are small"
)]

use glowsill::run::calibration;
use glowsill::world::image::Image;
use glowsill::world::radiometry::Band;
use glowsill::world::sensor::{Exposure, Sensor, SensorModel};

const W: usize = 64;
const H: usize = 48;

fn noisy_only() -> SensorModel {
    SensorModel {
        netd_high_k: 0.040,
        netd_low_k: 0.300,
        bits: 14,
        ..SensorModel::ideal()
    }
}

fn flat(kelvin: f64) -> Image<f64> {
    Image::new(W, H, kelvin)
}

/// NETD of high and low gain: temporal noise in counts, pooled over pixels, divided by the counts
/// a kelvin gives there.
fn netd(kelvin: f64, frames: u32) -> (f64, f64) {
    let mut sensor = Sensor::new(noisy_only(), W, H, 11).unwrap();
    let mut shoot = |at: f64| -> Vec<Exposure> {
        (0..frames)
            .map(|_| sensor.expose(&flat(at)).unwrap())
            .collect()
    };
    let (below, shots, above) = (shoot(kelvin - 1.0), shoot(kelvin), shoot(kelvin + 1.0));
    let n = f64::from(frames);
    let figure = |read: &dyn Fn(&Exposure) -> &[u16]| {
        let mean = |shots: &[Exposure], i: usize| {
            shots.iter().map(|s| f64::from(read(s)[i])).sum::<f64>() / n
        };
        let (mut squares, mut signal) = (0.0, 0.0);
        for i in 0..W * H {
            let middle = mean(&shots, i);
            squares += shots
                .iter()
                .map(|s| (f64::from(read(s)[i]) - middle).powi(2))
                .sum::<f64>();
            signal += (mean(&above, i) - mean(&below, i)) / 2.0;
        }
        let pixels = (W * H) as f64;
        (squares / ((n - 1.0) * pixels)).sqrt() / (signal / pixels)
    };
    (figure(&|s| &s.high), figure(&|s| &s.low))
}

// Source: ASTM E1543 (from memory, not seen): NETD is the temperature difference whose signal
// equals the rms noise. 3072 pixels x 24 frames give the standard deviation to 0.3 % (one sigma).
#[test]
fn temporal_noise_at_300_k_is_the_set_netd() {
    let (high, low) = netd(300.0, 24);
    assert!((high / 0.040 - 1.0).abs() < 0.012, "high {high}");
    assert!((low / 0.300 - 1.0).abs() < 0.012, "low {low}");
}

// Source: dL/dT of 8-14 um at 60 and 100 °C is 1.305 and 1.668 times that at 300 K (computed outside
// the project from Planck's law); noise constant in radiance divides by it.
#[test]
fn noise_in_kelvin_falls_as_radiance_grows_steeper() {
    for (celsius, ratio) in [(60.0, 1.305), (100.0, 1.668)] {
        let (high, low) = netd(celsius + 273.15, 12);
        assert!(
            (high * ratio / 0.040 - 1.0).abs() < 0.03,
            "high at {celsius}: {high}"
        );
        assert!(
            (low * ratio / 0.300 - 1.0).abs() < 0.04,
            "low at {celsius}: {low}"
        );
    }
}

// Source: radiance of 8-14 um at 300, 350 and 400 K from tests/data/blackbody_inband.csv.
#[test]
fn counts_are_linear_in_radiance() {
    let mut sensor = Sensor::new(SensorModel::ideal(), 8, 8, 1).unwrap();
    let mut read = |kelvin| f64::from(sensor.expose(&Image::new(8, 8, kelvin)).unwrap().high[9]);
    let (a, b, c) = (read(300.0), read(350.0), read(400.0));
    let expected =
        (106.444_466_095_305 - 54.933_461_376_84) / (176.935_021_638_88 - 54.933_461_376_84);
    assert!(((b - a) / (c - a) - expected).abs() < 1e-4);
}

#[test]
fn equal_seeds_give_equal_bits_and_others_do_not() {
    let shoot = |seed| {
        let mut sensor = Sensor::new(SensorModel::default(), W, H, seed).unwrap();
        let first = sensor.expose(&flat(300.0)).unwrap();
        (
            first,
            sensor.expose(&flat(320.0)).unwrap(),
            sensor.defects().to_vec(),
        )
    };
    assert_eq!(shoot(5), shoot(5));
    assert_ne!(shoot(5).0, shoot(6).0);
    let mut sensor = Sensor::new(SensorModel::default(), W, H, 5).unwrap();
    let first = sensor.expose(&flat(300.0)).unwrap();
    assert_ne!(sensor.expose(&flat(300.0)).unwrap(), first);
    sensor.reset();
    assert_eq!(sensor.expose(&flat(300.0)).unwrap(), first);
    assert_ne!(first.high, first.low);
}

// Source: docs/pipeline.md section 2: c = clamp(round(raw * gain) + offset).
#[test]
fn correction_undoes_the_raw_pattern_down_to_the_residual() {
    let model = SensorModel {
        gain_spread: 0.01,
        offset_spread: 0.005,
        fixed_pattern_high_k: 0.5,
        bits: 14,
        ..SensorModel::ideal()
    };
    let mut sensor = Sensor::new(model, W, H, 3).unwrap();
    let (calibration, _) = sensor.model().calibrations().unwrap();
    for kelvin in [290.0, 300.0, 310.0] {
        let raw = sensor.expose(&flat(kelvin)).unwrap().high;
        let (gain, offset) = sensor.correction_high();
        let spread = |values: &[f64]| {
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt()
        };
        let plain: Vec<f64> = raw.iter().map(|&r| calibration.kelvin(r)).collect();
        let corrected: Vec<f64> = (0..W * H)
            .map(|i| {
                let scaled = (f64::from(raw[i]) * f64::from(gain[i]) / 16_384.0).round();
                calibration.kelvin((scaled + f64::from(offset[i])) as u16)
            })
            .collect();
        assert!(spread(&plain) > 1.0, "raw is uneven");
        let slope = Band::LONG_WAVE.radiance_slope(300.0) / Band::LONG_WAVE.radiance_slope(kelvin);
        assert!(
            (spread(&corrected) / (0.5 * slope) - 1.0).abs() < 0.05,
            "{}",
            spread(&corrected)
        );
    }
}

#[test]
fn saturation_sits_at_the_stated_temperatures() {
    let mut sensor = Sensor::new(SensorModel::ideal(), 8, 8, 1).unwrap();
    let (high, low) = sensor.model().calibrations().unwrap();
    // 155 °C and 700 °C are the defaults of the model.
    assert!((high.kelvin(high.saturation) - 428.15).abs() < 0.05);
    assert!((low.kelvin(low.saturation) - 973.15).abs() < 0.05);
    let mut at = |celsius: f64| {
        let shot = sensor.expose(&Image::new(8, 8, celsius + 273.15)).unwrap();
        (
            shot.high[0] >= high.saturation,
            shot.low[0] >= low.saturation,
        )
    };
    assert_eq!(at(154.5), (false, false));
    assert_eq!(at(155.5), (true, false));
    assert_eq!(at(699.0), (true, false));
    assert_eq!(at(701.0), (true, true));
    assert_eq!(at(1500.0), (true, true));
}

#[test]
fn low_gain_mismatch_is_in_its_calibration_only() {
    let model = SensorModel {
        low_offset_k: 3.0,
        ..SensorModel::ideal()
    };
    let mut sensor = Sensor::new(model, 8, 8, 1).unwrap();
    let (high, low) = sensor.model().calibrations().unwrap();
    for kelvin in [320.0, 360.0, 400.0] {
        let shot = sensor.expose(&Image::new(8, 8, kelvin)).unwrap();
        assert!((high.kelvin(shot.high[0]) - kelvin).abs() < 0.05);
        assert!(
            (low.kelvin(shot.low[0]) - kelvin - 3.0).abs() < 0.15,
            "{kelvin}"
        );
    }
}

// Source: first-order step response, 1 - exp(-n/tau).
#[test]
fn lag_follows_the_first_order_response() {
    let model = SensorModel {
        lag_frames: 2.0,
        ..SensorModel::ideal()
    };
    let mut sensor = Sensor::new(model, 8, 8, 1).unwrap();
    let start = f64::from(sensor.expose(&Image::new(8, 8, 300.0)).unwrap().high[0]);
    let mut ideal = Sensor::new(SensorModel::ideal(), 8, 8, 1).unwrap();
    let end = f64::from(ideal.expose(&Image::new(8, 8, 400.0)).unwrap().high[0]);
    for n in 1..6 {
        let now = f64::from(sensor.expose(&Image::new(8, 8, 400.0)).unwrap().high[0]);
        let share = (now - start) / (end - start);
        assert!(
            (share - (1.0 - (-f64::from(n) / 2.0).exp())).abs() < 1e-3,
            "{n}: {share}"
        );
    }
}

#[test]
fn gains_taken_in_turn_see_different_frames() {
    let model = SensorModel {
        simultaneous: false,
        ..SensorModel::ideal()
    };
    let mut sensor = Sensor::new(model, 8, 8, 1).unwrap();
    let (high, low) = sensor.model().calibrations().unwrap();
    sensor.expose(&Image::new(8, 8, 330.0)).unwrap();
    let shot = sensor.expose(&Image::new(8, 8, 400.0)).unwrap();
    assert!((high.kelvin(shot.high[0]) - 400.0).abs() < 0.1);
    assert!((low.kelvin(shot.low[0]) - 330.0).abs() < 0.2);
}

// Source: a Gaussian of standard deviation s has variance s^2; measured on a point of light.
#[test]
fn blur_has_the_stated_width_and_keeps_the_light() {
    let model = SensorModel {
        blur_sigma_px: 1.5,
        ..SensorModel::ideal()
    };
    let mut sensor = Sensor::new(model, W, H, 1).unwrap();
    let scene = Image::from_fn(W, H, |x, y| if (x, y) == (30, 20) { 420.0 } else { 250.0 });
    let shot = sensor.expose(&scene).unwrap();
    let base = f64::from(shot.high[0]);
    let (mut sum, mut variance) = (0.0, 0.0);
    for y in 0..H {
        for x in 0..W {
            let light = f64::from(shot.high[y * W + x]) - base;
            sum += light;
            variance += light * (x as f64 - 30.0).powi(2);
        }
    }
    assert!((variance / sum - 2.25).abs() < 0.05, "{}", variance / sum);
}

#[test]
fn defects_are_mapped_and_raw_zero_is_theirs_alone() {
    let model = SensorModel {
        defect_share: 0.05,
        ..SensorModel::default()
    };
    let mut sensor = Sensor::new(model, W, H, 9).unwrap();
    let shot = sensor.expose(&Image::new(W, H, 1.0)).unwrap();
    let count = sensor.defects().iter().filter(|&&d| d == 1).count();
    // 3072 x 0.05 = 153.6 with a binomial standard deviation of 12.
    assert!((110..=200).contains(&count), "{count}");
    for (i, &defect) in sensor.defects().iter().enumerate() {
        if shot.high[i] == 0 {
            assert_eq!(defect, 1);
        }
    }
    assert!(shot.high.contains(&0));
    let mut hostile = flat(300.0);
    hostile.data[5] = f64::NAN;
    hostile.data[6] = f64::INFINITY;
    hostile.data[7] = -4.0;
    sensor.expose(&hostile).unwrap();
}

#[test]
fn impossible_models_and_pictures_are_named() {
    let bad = [
        (
            SensorModel {
                bits: 13,
                ..SensorModel::default()
            },
            "bits = 13",
        ),
        (
            SensorModel {
                netd_high_k: f64::NAN,
                ..SensorModel::default()
            },
            "netd_high_k",
        ),
        (
            SensorModel {
                defect_share: 0.5,
                ..SensorModel::default()
            },
            "defect_share = 0.5",
        ),
        (
            SensorModel {
                band: Band {
                    short_um: 14.0,
                    long_um: 8.0,
                },
                ..SensorModel::default()
            },
            "band 14 to 8",
        ),
    ];
    for (model, text) in bad {
        let error = Sensor::new(model, 8, 8, 1).err().unwrap().to_string();
        assert!(error.contains(text), "{error}");
    }
    assert!(Sensor::new(SensorModel::default(), 0, 8, 1).is_err());
    let mut sensor = Sensor::new(SensorModel::default(), 8, 8, 1).unwrap();
    let error = sensor.expose(&flat(300.0)).unwrap_err().to_string();
    assert!(
        error.contains("64 x 48") && error.contains("8 x 8"),
        "{error}"
    );
}

#[test]
fn the_pipeline_reads_the_same_temperatures() {
    for model in [
        SensorModel::default(),
        SensorModel {
            bits: 16,
            ..SensorModel::default()
        },
    ] {
        let (high, low) = model.calibrations().unwrap();
        let (core_high, core_low) = (calibration(&high).unwrap(), calibration(&low).unwrap());
        for (table, core) in [(high, core_high), (low, core_low)] {
            assert_eq!(core.saturation(), table.saturation);
            for count in (4000..16_000).step_by(37) {
                let kelvin = core.temperature(count).to_millikelvin() as f64 / 1000.0;
                assert!((kelvin - table.kelvin(count)).abs() < 0.017, "{count}");
            }
        }
    }
}
