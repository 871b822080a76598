//! Flash criteria against the quoted thresholds.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use glowsill::photometry::flash::{self, BlockSample, Criterion, FlashError};
use glowsill::photometry::panel_model::PanelModel;

fn panel(peak_cd_m2: f64) -> PanelModel {
    PanelModel {
        peak_cd_m2,
        black_cd_m2: 0.0,
        ambient_cd_m2: 0.0,
        ..PanelModel::default()
    }
}

fn grey(linear: f64, peak: f64) -> BlockSample {
    BlockSample::new([linear; 3], &panel(peak))
}

fn coloured(rgb: [u8; 3]) -> BlockSample {
    BlockSample::of_codes(rgb, &panel(250.0))
}

/// `flashing` of `blocks` blocks toggle every `hold` frames between two states.
fn toggling(
    states: [BlockSample; 2],
    hold: usize,
    frames: usize,
    flashing: usize,
    blocks: usize,
) -> Vec<Vec<BlockSample>> {
    (0..frames)
        .map(|n| {
            (0..blocks)
                .map(|b| {
                    if b < flashing {
                        states[(n / hold) % 2]
                    } else {
                        states[0]
                    }
                })
                .collect()
        })
        .collect()
}

// Source: WCAG 2.2, definition of "general flash and red flash thresholds".
#[test]
fn general_flash_is_a_tenth_of_the_maximum_below_four_fifths() {
    let change = |a, b| Criterion::WcagGeneral.is_change(&grey(a, 250.0), &grey(b, 250.0));
    assert!(change(0.3, 0.4) && change(0.4, 0.3));
    assert!(!change(0.3, 0.399));
    assert!(change(0.79, 0.90));
    assert!(!change(0.80, 0.95));
}

// Source: WCAG 2.2 "red flash" (R/(R+G+B) at least 0.8 and u'v' more than 0.2 apart), colours
// evaluated outside this project: 1.00 and 0.2587; 0.907 and 0.2015; 0.837 and 0.1652; 0.727; 0.1773.
#[test]
fn red_flash_needs_saturated_red_and_a_chromatic_step() {
    let (red, grey) = (coloured([255, 0, 0]), coloured([128; 3]));
    let change = |a: &BlockSample, b: &BlockSample| Criterion::WcagRed.is_change(a, b);
    assert!((red.red_share - 1.0).abs() < 1e-12);
    assert!(change(&red, &grey) && change(&grey, &red));
    let pale = coloured([255, 64, 64]);
    assert!((pale.red_share - 0.907).abs() < 1e-3);
    assert!(change(&pale, &grey));
    let dull = coloured([192, 64, 64]);
    assert!((dull.red_share - 0.837).abs() < 1e-3);
    assert!(!change(&dull, &grey));
    let orange = coloured([255, 165, 0]);
    assert!((orange.red_share - 0.727).abs() < 1e-3);
    assert!(!change(&orange, &grey) && !change(&red, &orange));
}

// Source: ITU-R BT.1702 (20 cd/m² with the darker state below 160 cd/m², else Michelson 1/17). At
// 160 cd/m² both rules meet: 20/340 is 1/17.
#[test]
fn bt1702_rules_meet_at_160_candela() {
    let change = |a: f64, b: f64| {
        Criterion::Bt1702.is_change(&grey(a / 1000.0, 1000.0), &grey(b / 1000.0, 1000.0))
    };
    assert!(change(100.0, 120.0) && !change(100.0, 119.9));
    assert!(change(160.0, 180.0) && !change(160.0, 179.9));
    assert!(change(320.0, 360.0) && !change(320.0, 359.0)); // 40/680 = 1/17
    assert!(change(159.9, 179.9));
}

// Source: WCAG 2.2, 2.3.1 and ITU-R BT.1702: not more than three flashes in any one second.
#[test]
fn three_flashes_a_second_pass_and_four_do_not() {
    let states = [grey(0.2, 250.0), grey(0.6, 250.0)];
    let three = flash::analyse(&toggling(states, 4, 96, 64, 64), 24.0).unwrap();
    assert_eq!((three.general.over_area, three.bt1702.over_area), (3, 3));
    assert!(!three.exceeded());
    let four = flash::analyse(&toggling(states, 3, 96, 64, 64), 24.0).unwrap();
    assert_eq!((four.general.over_area, four.bt1702.over_area), (4, 4));
    assert!(four.general.exceeded() && four.bt1702.exceeded() && !four.red.exceeded());
    assert!((four.general.area_share - 1.0).abs() < 1e-12);
}

// Source: WCAG 2.2, 2.3.1 and ITU-R BT.1702: more than a quarter of the picture.
#[test]
fn a_quarter_of_the_picture_is_allowed_and_more_is_not() {
    let states = [coloured([128; 3]), coloured([255, 0, 0])];
    let quarter = flash::analyse(&toggling(states, 1, 50, 16, 64), 25.0).unwrap();
    assert!((quarter.red.area_share - 0.25).abs() < 1e-12);
    assert!(!quarter.red.exceeded() && quarter.red.in_any_block >= 12);
    let more = flash::analyse(&toggling(states, 1, 50, 17, 64), 25.0).unwrap();
    assert!(more.red.exceeded());
}

#[test]
fn slow_or_one_way_changes_are_no_flashes() {
    let ramp: Vec<Vec<BlockSample>> = (0..=100u8)
        .map(|n| vec![grey(f64::from(n) / 100.0, 250.0)])
        .collect();
    let report = flash::analyse(&ramp, 25.0).unwrap();
    assert_eq!(
        (report.general.in_any_block, report.bt1702.in_any_block),
        (0, 0)
    );
    // One bright second: up and down is one flash.
    let pulse: Vec<Vec<BlockSample>> = (0..60)
        .map(|n| vec![grey(if (20..30).contains(&n) { 0.7 } else { 0.1 }, 250.0)])
        .collect();
    assert_eq!(
        flash::analyse(&pulse, 25.0).unwrap().general.in_any_block,
        1
    );
    // Steps of 6 %, each too small alone, add up to a change each way.
    let stairs: Vec<Vec<BlockSample>> = [0.10, 0.16, 0.22, 0.16, 0.10]
        .iter()
        .map(|y| vec![grey(*y, 250.0)])
        .collect();
    assert_eq!(
        flash::analyse(&stairs, 25.0).unwrap().general.in_any_block,
        1
    );
}

#[test]
fn unusable_sequences_are_refused() {
    let frame = vec![grey(0.5, 250.0); 4];
    assert_eq!(flash::analyse(&[], 25.0), Err(FlashError::Empty));
    assert_eq!(flash::analyse(&[vec![]], 25.0), Err(FlashError::Empty));
    for hz in [0.0, 0.99, 1000.1, f64::NAN] {
        assert!(matches!(
            flash::analyse(std::slice::from_ref(&frame), hz),
            Err(FlashError::FrameRate(_))
        ));
    }
    let uneven = flash::analyse(&[frame.clone(), frame[..3].to_vec()], 25.0);
    assert_eq!(
        uneven,
        Err(FlashError::Blocks {
            frame: 1,
            found: 3,
            expected: 4
        })
    );
}
