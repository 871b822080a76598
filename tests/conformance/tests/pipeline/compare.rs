//! One case through both implementations.

use glowsill_conformance::translate;
use glowsill_core::health::HealthPlan;
use glowsill_core::panel::{PanelRgb565, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::Profile;
use glowsill_core::record::{self, FrameRecord};
use glowsill_core::units::Temperature;
use glowsill_oracle::config::{self, Config, ScaleLaw};
use glowsill_oracle::merge::{GainInUse, Pixel};
use glowsill_oracle::statistics::Spot;
use glowsill_oracle::{Oracle, OracleFrame, bands, overlay, panel};

use crate::frames::Case;

/// Greatest difference of temperatures, kelvin.
const TEMPERATURE: f64 = 1.0 / 16.0;

/// Steepest blend of the gentle profiles: a dispute limit of at most 200 K over at least 50 K.
const WORST_GENTLE: f64 = 4.0;

/// What is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Bounds {
    /// Every stage from core's own output of the stage before.
    SameTemperatures,
    /// The oracle runs from counts alone; bounds widen by what the merge may differ.
    FromCounts,
}

/// What core made of one frame.
struct CoreFrame {
    temperature: Vec<u16>,
    grey_q8: Vec<u16>,
    band: Vec<u8>,
    picture: Vec<Rgb888>,
    words: Vec<u16>,
    record: FrameRecord,
}

fn run_core(case: &Case) -> Vec<CoreFrame> {
    let geometry = Geometry::new(case.width, case.height).unwrap();
    let profile = Profile::new(case.spec.clone()).unwrap();
    let table = |index: usize| {
        case.corrections.as_ref().map(|tables| {
            let (gain_q14, offset) = &tables[index];
            Correction { gain_q14, offset }
        })
    };
    let sensor = SensorConfig {
        high: Some(&case.high),
        low: Some(&case.low),
        high_correction: table(0),
        low_correction: table(1),
        defects: case.defects.as_deref(),
        health: HealthPlan::OFF,
        ..SensorConfig::default()
    };
    let pixels = geometry.pixels();
    let (mut memory, mut memory_565) = (vec![0; pixels], vec![0; pixels]);
    let mut scratch = vec![0; Pipeline::scratch_len(geometry)];
    let mut scratch_565 = scratch.clone();
    let mut rich = Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
    let mut plain = Pipeline::new(
        geometry,
        &profile,
        sensor,
        &mut memory_565,
        &mut scratch_565,
    )
    .unwrap();
    let mut out = Vec::new();
    for (high, low) in &case.frames {
        let mut frame = CoreFrame {
            temperature: vec![0; pixels],
            grey_q8: vec![0; pixels],
            band: vec![0; pixels],
            picture: vec![Rgb888::default(); pixels],
            words: vec![0; pixels],
            record: plain_record(&mut plain, high, low, pixels).1,
        };
        let trace = Trace {
            temperature: &mut frame.temperature,
            grey_q8: &mut frame.grey_q8,
            band: &mut frame.band,
        };
        let record = rich
            .frame_traced::<PanelRgb888>(Some(high), Some(low), &mut frame.picture, trace)
            .unwrap();
        assert_eq!(
            record, frame.record,
            "tracing or the panel changed the record"
        );
        out.push(frame);
    }
    // The 5-6-5 words come from a run of their own.
    plain.reset();
    for (frame, (high, low)) in out.iter_mut().zip(&case.frames) {
        let (words, record) = plain_record(&mut plain, high, low, pixels);
        frame.words = words;
        assert_eq!(
            FrameRecord { frame: 0, ..record },
            FrameRecord {
                frame: 0,
                ..frame.record
            },
            "a reset pipeline differs from a new one"
        );
    }
    out
}

fn plain_record(
    pipeline: &mut Pipeline<'_>,
    high: &[u16],
    low: &[u16],
    pixels: usize,
) -> (Vec<u16>, FrameRecord) {
    let mut words = vec![0; pixels];
    let record = pipeline
        .frame::<PanelRgb565>(Some(high), Some(low), &mut words)
        .unwrap();
    (words, record)
}

pub(crate) fn oracle_config(case: &Case) -> Config {
    let (width, height) = (usize::from(case.width), usize::from(case.height));
    let mut config = translate::profile(&case.told, width, height);
    config.high = Some(translate::calibration(&case.high));
    config.low = Some(translate::calibration(&case.low));
    if let Some([high, low]) = case.corrections.clone() {
        config.high_correction = Some(config::Correction {
            gain_q14: high.0,
            offset: high.1,
        });
        config.low_correction = Some(config::Correction {
            gain_q14: low.0,
            offset: low.1,
        });
    }
    config.defects = case
        .defects
        .as_ref()
        .map(|map| map.iter().map(|&d| d != 0).collect());
    config
}

/// Runs a case through core and oracle; says what differs first.
pub(crate) fn compare(case: &Case, bounds: Bounds) -> Result<(), String> {
    let mut oracle = Oracle::new(oracle_config(case));
    for (number, (core, (high, low))) in run_core(case).iter().zip(&case.frames).enumerate() {
        let given: Vec<Option<f64>> = core
            .temperature
            .iter()
            .map(|&code| translate::temperature(code))
            .collect();
        let expected = match bounds {
            Bounds::SameTemperatures => {
                oracle.frame_with_temperature(Some(high), Some(low), &given)
            }
            Bounds::FromCounts => oracle.frame(Some(high), Some(low)),
        };
        let config = oracle.config();
        let blank = expected.record.gain == GainInUse::Blank;
        (|| {
            record_of(core, &expected, bounds)?;
            if blank {
                return black(core);
            }
            merge(core, &expected)?;
            grey(core, &expected, config, bounds)?;
            bands_of(core, &expected, config, bounds)?;
            picture(core, config, usize::from(case.width))
        })()
        .map_err(|difference| format!("frame {number}: {difference}"))?;
        let unsettled = |p: &Pixel| p.margin < TEMPERATURE;
        if bounds == Bounds::FromCounts && expected.merged.iter().any(unsettled) {
            // A dispute on the edge may show the other state: from here the memories differ.
            return Ok(());
        }
    }
    Ok(())
}

fn check(what: &str, core: f64, oracle: f64, bound: f64) -> Result<(), String> {
    if (core - oracle).abs() <= bound {
        Ok(())
    } else {
        Err(format!(
            "{what}: core {core}, oracle {oracle}, allowed difference {bound}"
        ))
    }
}

fn equal<T: PartialEq + std::fmt::Debug>(what: &str, core: T, oracle: T) -> Result<(), String> {
    if core == oracle {
        Ok(())
    } else {
        Err(format!("{what}: core {core:?}, oracle {oracle:?}"))
    }
}

fn black(core: &CoreFrame) -> Result<(), String> {
    let is_black = core.picture.iter().all(|&p| p == Rgb888::grey(0));
    equal(
        "blank picture is black",
        (is_black, core.words.iter().all(|&w| w == 0)),
        (true, true),
    )
}

fn record_of(core: &CoreFrame, expected: &OracleFrame, bounds: Bounds) -> Result<(), String> {
    let (seen, wanted) = (&core.record, &expected.record);
    let gain = match seen.gain {
        record::GainInUse::PerPixel => GainInUse::PerPixel,
        record::GainInUse::High => GainInUse::High,
        record::GainInUse::Low => GainInUse::Low,
        record::GainInUse::Blank => GainInUse::Blank,
    };
    // From counts, the extremes carry on what the merge may differ.
    let ends = match bounds {
        Bounds::SameTemperatures => TEMPERATURE,
        Bounds::FromCounts => 2.0 * TEMPERATURE * (1.0 + WORST_GENTLE),
    };
    equal("frame", seen.frame, wanted.frame)?;
    equal("gain", gain, wanted.gain)?;
    let kelvin = |t: Temperature| translate::kelvin(t.to_bits());
    // A widened scale may end above what the record can say.
    let top = kelvin(Temperature::MAX);
    check(
        "scale_low",
        kelvin(seen.scale_low),
        wanted.scale_low.min(top),
        ends,
    )?;
    check(
        "scale_high",
        kelvin(seen.scale_high),
        wanted.scale_high.min(top),
        ends,
    )?;
    let same =
        |what: &str, core: u32, oracle: usize| equal(what, usize::try_from(core).unwrap(), oracle);
    same("pixels", seen.pixels, wanted.pixels)?;
    same("valid", seen.valid, wanted.valid)?;
    same("invalid", seen.invalid, wanted.invalid)?;
    same("saturated", seen.saturated, wanted.saturated)?;
    same("replaced", seen.replaced, wanted.replaced)?;
    let open = expected
        .merged
        .iter()
        .filter(|p| p.margin < TEMPERATURE)
        .count();
    let near = |what: &str, core: u32, oracle: usize| {
        let core = usize::try_from(core).unwrap();
        if core.abs_diff(oracle) <= open {
            Ok(())
        } else {
            Err(format!(
                "{what}: core {core}, oracle {oracle}, {open} pixels on the edge"
            ))
        }
    };
    near("from_low", seen.from_low, wanted.from_low)?;
    near("disputed", seen.disputed, wanted.disputed)?;
    if bounds == Bounds::SameTemperatures {
        same("coloured", seen.coloured, wanted.coloured)?;
        equal(
            "in_band",
            seen.in_band.map(|n| usize::try_from(n).unwrap()),
            wanted.in_band,
        )?;
        let spot = |spot: record::Spot| Spot {
            temperature: kelvin(spot.temperature),
            x: usize::from(spot.x),
            y: usize::from(spot.y),
        };
        equal("hottest", seen.hottest.map(spot), wanted.hottest)?;
        equal("coldest", seen.coldest.map(spot), wanted.coldest)?;
    }
    Ok(())
}

fn merge(core: &CoreFrame, expected: &OracleFrame) -> Result<(), String> {
    for (i, (&code, pixel)) in core.temperature.iter().zip(&expected.merged).enumerate() {
        let core = translate::temperature(code);
        equal(
            &format!("pixel {i} has a temperature"),
            core.is_some(),
            pixel.temperature.is_some(),
        )?;
        if let (Some(core), Some(t)) = (core, pixel.temperature)
            && pixel.margin >= TEMPERATURE
        {
            // A steep blend passes on an error of the high-gain temperature enlarged.
            let bound = TEMPERATURE * (1.0 + pixel.steepness);
            check(&format!("temperature of pixel {i}"), core, t, bound)?;
        }
    }
    Ok(())
}

fn grey(
    core: &CoreFrame,
    expected: &OracleFrame,
    config: &Config,
    bounds: Bounds,
) -> Result<(), String> {
    for (i, (&q8, t)) in core.grey_q8.iter().zip(&expected.temperature).enumerate() {
        let (Some(t), true) = (t, expected.merged[i].margin >= TEMPERATURE) else {
            continue;
        };
        let bound = match bounds {
            Bounds::SameTemperatures => 1.0,
            Bounds::FromCounts => {
                assert!(matches!(
                    config.scale.law,
                    ScaleLaw::Fixed | ScaleLaw::Extremes
                ));
                let span = expected.record.scale_high - expected.record.scale_low;
                // The pixel and both ends may be off.
                1.0 + 255.0 / span * 3.0 * TEMPERATURE * (1.0 + WORST_GENTLE)
            }
        };
        let what = format!("grey of pixel {i} at {t} K");
        check(&what, f64::from(q8) / 256.0, expected.grey[i], bound)?;
    }
    Ok(())
}

fn bands_of(
    core: &CoreFrame,
    expected: &OracleFrame,
    config: &Config,
    bounds: Bounds,
) -> Result<(), String> {
    let mut limits = Vec::new();
    if let config::ColourPlan::Bands(plan) = &config.colour {
        for threshold in bands::thresholds(plan) {
            limits.extend([threshold, threshold - plan.hysteresis]);
        }
    }
    for (i, (&band, &wanted)) in core.band.iter().zip(&expected.band).enumerate() {
        let pixel = &expected.merged[i];
        let settled = bounds == Bounds::SameTemperatures
            || pixel.temperature.is_none_or(|t| {
                let near = TEMPERATURE * (1.0 + pixel.steepness);
                pixel.margin >= TEMPERATURE && limits.iter().all(|limit| (t - limit).abs() > near)
            });
        // From counts, a pixel inside a hysteresis may remember an earlier unsettled frame.
        let remembers = bounds == Bounds::FromCounts && band.abs_diff(wanted) == 1;
        if settled && !remembers {
            equal(&format!("band of pixel {i}"), band, wanted)?;
        }
    }
    Ok(())
}

/// Colour and panel words from core's own grey, band and temperature.
fn picture(core: &CoreFrame, config: &Config, width: usize) -> Result<(), String> {
    for (i, (&colour, &word)) in core.picture.iter().zip(&core.words).enumerate() {
        let (x, y) = (i % width, i / width);
        let grey = f64::from(core.grey_q8[i]) / 256.0;
        let codes = match translate::temperature(core.temperature[i]) {
            Some(t) => overlay::draw(config, grey, core.band[i], t),
            None => overlay::checker(x, y),
        };
        let words = panel::rgb565(overlay::rounded(codes));
        let parts = [word >> 11, (word >> 5) & 63, word & 31];
        for channel in 0..3 {
            let what = format!("channel {channel} of pixel {i}, band {}", core.band[i]);
            // A ramp's position is kept to 1/256, its colour to whole codes before the overlay.
            let bound = if core.band[i] > 0 { 2.0 } else { 1.0 };
            check(
                &what,
                f64::from(translate::rgb(colour)[channel]),
                codes[channel],
                bound,
            )?;
            check(
                &format!("RGB565 {what}"),
                f64::from(parts[channel]),
                words[channel],
                1.0,
            )?;
        }
    }
    Ok(())
}
