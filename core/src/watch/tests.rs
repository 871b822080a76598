use super::*;
use crate::panel::PanelRgb565;
use crate::pipeline::{Geometry, Pipeline, SensorConfig};
use crate::profile::{Profile, ProfileSpec};
use crate::record::FrameRecord;
use std::boxed::Box;
use std::vec::Vec;

const SIZE: (u16, u16) = (160, 40);
const N: usize = 6400;

/// Noise of a few counts from a counter: the same in every run.
fn noise(state: &mut u32) -> u16 {
    *state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
    (*state >> 29) as u16
}

fn live(state: &mut u32, base: u16) -> Vec<u16> {
    (0..N).map(|_| base + noise(state)).collect()
}

/// Runs frames of (high, low) through a per-pixel pipeline and gives the records.
fn run(
    sensor: SensorConfig<'_>,
    frames: impl Iterator<Item = (Vec<u16>, Vec<u16>)>,
) -> Vec<FrameRecord> {
    let geometry = Geometry::new(SIZE.0, SIZE.1).unwrap();
    let profile = Profile::safe(&sensor);
    let mut memory = [0; N];
    let mut scratch = std::vec![0; Pipeline::scratch_len(geometry)];
    let mut pipeline =
        Box::new(Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap());
    let mut picture = std::vec![0; N];
    frames
        .map(|(high, low)| {
            pipeline
                .frame::<PanelRgb565>(Some(&high), Some(&low), &mut picture)
                .unwrap()
        })
        .collect()
}

fn sensor(table: &Calibration) -> SensorConfig<'_> {
    SensorConfig {
        high: Some(table),
        low: Some(table),
        ..SensorConfig::default()
    }
}

/// First frame, from `start` on, whose record names the cause.
fn frames_until(records: &[FrameRecord], start: usize, cause: Cause) -> Option<usize> {
    records[start..]
        .iter()
        .position(|record| record.health.has(cause))
        .map(|at| at + 1)
}

#[test]
fn frozen_and_stuck_states_are_named_and_cleared() {
    let table = Calibration::identity();
    let mut state = 1;
    let still = live(&mut state, 9400);
    let frames: Vec<_> = (0..60)
        .map(|i| {
            let (high, low) = (live(&mut state, 9400), live(&mut state, 9400));
            match i {
                10..22 => (still.clone(), low),
                30..42 => (high, still.clone()),
                48.. => (still.clone(), still.clone()),
                _ => (high, low),
            }
        })
        .collect();
    let records = run(sensor(&table), frames.into_iter());
    assert_eq!(frames_until(&records, 10, Cause::HighStuck), Some(9));
    assert_eq!(frames_until(&records, 30, Cause::LowStuck), Some(9));
    assert_eq!(frames_until(&records, 48, Cause::Frozen), Some(9));
    assert!(records[19].is_struck && records[22].health.is_good() && !records[23].is_struck);
}

#[test]
fn saturation_of_one_state_is_no_fault_and_of_both_is_one() {
    let table = Calibration::new(8, Calibration::identity().knots(), 13_000).unwrap();
    // High gain ends at 406 K; low gain reads 403 K.
    let mut state = 1;
    let frames = (0..20).map(|i| {
        let low = if i < 10 {
            live(&mut state, 12_900)
        } else {
            std::vec![14_000; N]
        };
        (std::vec![14_000; N], low)
    });
    let records = run(sensor(&table), frames);
    assert!(records[..10].iter().all(|record| record.health.is_good()));
    assert_eq!(frames_until(&records, 10, Cause::AllSaturated), Some(3));
}

#[test]
fn swapped_states_disagree_and_the_end_of_the_table_is_outside() {
    let (high, low) = (Calibration::identity(), {
        // Each count is worth twice the temperature.
        let knots = Calibration::identity().knots();
        let stretched = core::array::from_fn(|i| knots[(2 * i).min(256)]);
        Calibration::new(8, stretched, u16::MAX).unwrap()
    });
    let two = SensorConfig {
        high: Some(&high),
        low: Some(&low),
        ..SensorConfig::default()
    };
    let mut state = 1;
    let frames = (0..20).map(|i| {
        let (a, b) = (live(&mut state, 9400), live(&mut state, 4700));
        if i < 10 { (a, b) } else { (b, a) }
    });
    let records = run(two, frames);
    assert!(records[..10].iter().all(|record| record.health.is_good()));
    assert_eq!(frames_until(&records, 10, Cause::GainsDisagree), Some(3));
    let frames = (0..20).map(|i| {
        let base = if i < 10 { 20_000 } else { 40_000 };
        (live(&mut state, base / 2 * 2), live(&mut state, base))
    });
    let records = run(two, frames);
    assert_eq!(
        frames_until(&records, 10, Cause::OutsideCalibration),
        Some(3)
    );
}

#[test]
fn missing_samples_and_too_many_defects_are_named() {
    let table = Calibration::identity();
    let mut state = 1;
    let frames: Vec<_> = (0..8)
        .map(|i| {
            let mut high = live(&mut state, 9400);
            let mut low = live(&mut state, 9400);
            if i >= 4 {
                high[..2000].fill(0);
                low[..2000].fill(0);
            }
            (high, low)
        })
        .collect();
    let records = run(sensor(&table), frames.clone().into_iter());
    assert_eq!(frames_until(&records, 4, Cause::NoSamples), Some(3));
    let mut map = [0; N];
    map[..400].fill(1);
    let spotted = SensorConfig {
        defects: Some(&map),
        ..sensor(&table)
    };
    let records = run(spotted, frames.into_iter());
    assert_eq!(frames_until(&records, 0, Cause::TooManyDefects), Some(3));
}

#[test]
fn a_damaged_table_is_found_within_two_passes_and_a_sound_one_never() {
    let table = Calibration::identity();
    let (gain, mut offset) = (std::vec![16_384; N], std::vec![0; N]);
    let crc = Correction {
        gain_q14: &gain,
        offset: &offset,
    }
    .crc32();
    for damaged in [false, true] {
        offset[N - 1] = i16::from(damaged);
        let with_table = SensorConfig {
            high_correction: Some(Correction {
                gain_q14: &gain,
                offset: &offset,
            }),
            high_crc: Some(crc),
            ..sensor(&table)
        };
        let mut state = 1;
        let frames = (0..100).map(|_| (live(&mut state, 9400), live(&mut state, 9400)));
        let records = run(with_table, frames);
        let limit = HealthPlan::DEFAULT
            .frames_to_detect(Cause::CorrectionCorrupt, Geometry::new(160, 40).unwrap())
            .unwrap();
        let found = frames_until(&records, 0, Cause::CorrectionCorrupt);
        assert_eq!(found.is_some(), damaged);
        assert!(found.is_none_or(|frames| frames <= usize::from(limit)));
    }
}

#[test]
fn lost_rows_and_standing_numbers_strike_the_next_picture_out() {
    let table = Calibration::identity();
    let geometry = Geometry::new(8, 8).unwrap();
    let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
    let config = SensorConfig {
        high: Some(&table),
        health: HealthPlan::OFF,
        ..SensorConfig::default()
    };
    let (mut memory, mut scratch, mut row) = ([0; 64], [0; 48], [0; 8]);
    let mut pipeline =
        Pipeline::new(geometry, &profile, config, &mut memory, &mut scratch).unwrap();
    let mut draw = |number, rows| {
        let mut frame = pipeline.begin_numbered_frame(number);
        for _ in 0..rows {
            frame
                .row::<PanelRgb565>(Some(&[9400; 8]), None, &mut row)
                .unwrap();
        }
        frame.end_frame()
    };
    assert!(draw(1, 8).unwrap().health.is_good());
    assert!(draw(2, 5).is_err());
    let after = draw(3, 8).unwrap();
    assert!(after.is_struck && after.health.has(Cause::DroppedRows));
    let stale = draw(3, 8).unwrap();
    assert!(stale.is_struck && stale.health.has(Cause::Stale));
    assert!(draw(4, 8).unwrap().is_struck);
    let good = draw(5, 8).unwrap();
    assert!(!good.is_struck && good.health.is_good());
}

#[test]
fn a_fault_that_flickers_is_raised_and_one_that_is_rare_is_not() {
    // Bad in every second, every third and every fourth frame; three bad ones are needed.
    for (every, raised) in [(2, Some(4)), (3, Some(6)), (4, None)] {
        let mut latch = Latch::default();
        let at = (0..100).position(|i| latch.step(i % every == 0, 3));
        assert_eq!(at, raised, "every {every}");
    }
    let mut latch = Latch::default();
    let steps =
        [true, true, true, false, false, true, false, false, false].map(|bad| latch.step(bad, 3));
    assert_eq!(
        steps,
        [false, false, true, true, true, true, true, true, false]
    );
}

#[test]
fn saturation_that_the_other_state_contradicts_is_a_disagreement() {
    // Codes 9400 is 294 K; counts of 13,000 and more are saturated: at least 406 K.
    let table = Calibration::new(8, Calibration::identity().knots(), 13_000).unwrap();
    let mut state = 1;
    for low_is_at_its_end in [false, true] {
        let frames = (0..20).map(|i| {
            let planes = (live(&mut state, 9400), std::vec![14_000; N]);
            match (i < 10, low_is_at_its_end) {
                (true, _) => (planes.0.clone(), live(&mut state, 9400)),
                (false, true) => planes,
                (false, false) => (planes.1, planes.0),
            }
        });
        let records = run(sensor(&table), frames);
        assert!(records[..10].iter().all(|record| record.health.is_good()));
        assert_eq!(frames_until(&records, 10, Cause::GainsDisagree), Some(3));
    }
    // 400 K is within 40 K of the end: no contradiction.
    let near = (0..20).map(|_| (std::vec![14_000; N], live(&mut state, 12_800)));
    assert!(
        run(sensor(&table), near)
            .iter()
            .all(|record| record.health.is_good())
    );
}

#[test]
fn a_dead_state_is_a_stuck_one() {
    let table = Calibration::identity();
    let mut state = 1;
    let frames = (0..40).map(|i| {
        let live = live(&mut state, 9400);
        if i < 10 {
            (live.clone(), live)
        } else {
            (live, std::vec![0; N])
        }
    });
    let records = run(sensor(&table), frames);
    assert_eq!(frames_until(&records, 10, Cause::LowStuck), Some(9));
}

#[test]
fn counts_below_a_table_that_starts_at_nothing_are_outside_it() {
    // The first ten knots have no temperature, as where a sensor's counts mean no light.
    let mut knots = Calibration::identity().knots();
    knots[..10].fill(crate::units::Temperature::INVALID);
    let table = Calibration::new(8, knots, u16::MAX).unwrap();
    let mut state = 1;
    let frames = (0..20).map(|i| {
        let base = if i < 10 { 9400 } else { 1000 };
        (live(&mut state, base), live(&mut state, base))
    });
    let records = run(sensor(&table), frames);
    assert_eq!(
        frames_until(&records, 10, Cause::OutsideCalibration),
        Some(3)
    );
}

#[test]
fn an_incomplete_frame_leaves_nothing_to_the_next_one() {
    let table = Calibration::identity();
    let geometry = Geometry::new(160, 40).unwrap();
    let profile = Profile::safe(&sensor(&table));
    let (mut memory, mut scratch) = ([0; N], std::vec![0; Pipeline::scratch_len(geometry)]);
    let mut pipeline = Pipeline::new(
        geometry,
        &profile,
        sensor(&table),
        &mut memory,
        &mut scratch,
    )
    .unwrap();
    let (mut out, mut state) = ([0; 160], 1);
    let still = live(&mut state, 9400);
    let mut whole = 0;
    for i in 0..60 {
        let cut = i % 3 == 2;
        let mut frame = pipeline.begin_frame();
        for row in still.chunks(160).take(if cut { 13 } else { 40 }) {
            frame
                .row::<PanelRgb565>(Some(row), Some(row), &mut out)
                .unwrap();
        }
        let record = frame.end_frame();
        assert_eq!(record.is_err(), cut);
        if let Ok(record) = record {
            whole += 1;
            assert_eq!(record.health.has(Cause::Frozen), whole >= 9, "frame {i}");
        }
    }
}

#[test]
fn a_row_too_many_is_named_like_one_too_few() {
    let table = Calibration::identity();
    let geometry = Geometry::new(8, 8).unwrap();
    let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
    let (mut memory, mut scratch, mut row) = ([0; 64], [0; 48], [0; 8]);
    let mut pipeline = Pipeline::new(
        geometry,
        &profile,
        sensor(&table),
        &mut memory,
        &mut scratch,
    )
    .unwrap();
    let mut frame = pipeline.begin_frame();
    for y in 0..9 {
        let drawn = frame.row::<PanelRgb565>(Some(&[9400; 8]), None, &mut row);
        assert_eq!(drawn.is_err(), y == 8);
    }
    assert!(frame.end_frame().unwrap().health.has(Cause::DroppedRows));
}
