//! Faults that the pipeline does not find, by design: each is shown to stay silent, and to stand in
//! `docs/limits.md` under its name. One that is found one day fails here, and its line must go.
#![allow(clippy::unwrap_used, reason = "test code")]

use glowsill::profile_file::demo;
use glowsill_core::profile::{GainPlan, Profile};
use glowsill_faults::fault::{Fault, Injector, Pattern};
use glowsill_faults::run::{clean, power_up};
use glowsill_faults::scene::{Scene, stream};
use glowsill_faults::storage::{Storage, Stored};

const FRAMES: usize = 80;

fn profile(wanted: impl Fn(&GainPlan) -> bool) -> Profile {
    demo()
        .unwrap()
        .into_iter()
        .map(|demo| demo.loaded.profile)
        .find(|profile| wanted(&profile.spec().gain))
        .unwrap()
}

/// Frames, of those that a fault broke, that were named or struck out, and frames whose samples it
/// changed at all.
fn told_and_changed(
    (fault, pattern): (Fault, Pattern),
    profile: &Profile,
    is_single: bool,
) -> (usize, usize) {
    let stream = stream(Scene::StillRoom, (80, 60), 1);
    let stored = Stored::new(&stream, profile);
    let mut injector = Injector::new(fault, pattern, 5);
    power_up(&stored, stream.geometry, is_single, |glass| {
        let (mut told, mut changed) = (0, 0);
        for at in 0..FRAMES {
            let sent = clean(&stream, at, is_single);
            let arrived = injector.pass(sent.clone(), at.checked_sub(5));
            let seen = glass.draw(&arrived);
            told += usize::from(!seen.named.is_good() || seen.is_marked);
            let same =
                (&arrived.high, &arrived.low, &arrived.rows) == (&sent.high, &sent.low, &sent.rows);
            changed += usize::from(!same);
        }
        (told, changed)
    })
}

const BY_PIXEL: fn(&GainPlan) -> bool = |plan| matches!(plan, GainPlan::PerPixel { .. });

fn assert_silent(name: &str, what: (Fault, Pattern), plan: fn(&GainPlan) -> bool, is_single: bool) {
    let (told, changed) = told_and_changed(what, &profile(plan), is_single);
    assert_eq!(
        told, 0,
        "{name} is found now: take it out of docs/limits.md and into the campaign"
    );
    assert!(
        changed >= FRAMES / 8,
        "{name} changed {changed} frames only"
    );
    let limits = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/limits.md");
    let page = std::fs::read_to_string(limits).unwrap();
    assert!(
        page.contains(&format!("*{name}*")),
        "docs/limits.md does not list *{name}*"
    );
}

#[test]
fn a_row_in_place_of_its_neighbour_is_not_found() {
    assert_silent(
        "a row in place of its neighbour",
        (Fault::RowInPlaceOfAnother, Pattern::Always),
        BY_PIXEL,
        false,
    );
}

#[test]
fn rows_in_the_wrong_order_are_not_found() {
    assert_silent(
        "rows in the wrong order",
        (Fault::RowsShuffled, Pattern::Always),
        BY_PIXEL,
        false,
    );
}

#[test]
fn a_part_that_stands_still_is_not_found() {
    assert_silent(
        "a part that stands still",
        (Fault::HalfStands, Pattern::Always),
        BY_PIXEL,
        false,
    );
    assert_silent(
        "a part that stands still",
        (Fault::SomeSamplesStand, Pattern::Always),
        BY_PIXEL,
        false,
    );
}

#[test]
fn a_drift_is_not_found() {
    assert_silent(
        "a drift of both states alike",
        (Fault::BothDrift, Pattern::Always),
        BY_PIXEL,
        false,
    );
    assert_silent(
        "a drift of one state below 40 K",
        (Fault::LowDrifts, Pattern::Always),
        BY_PIXEL,
        false,
    );
}

#[test]
fn content_that_stands_still_for_a_moment_is_not_found() {
    assert_silent(
        "content that stands still for a moment",
        (Fault::ContentStands, Pattern::Bursts { on: 7, of: 9 }),
        BY_PIXEL,
        false,
    );
}

#[test]
fn one_wrong_frame_in_four_is_not_found() {
    assert_silent(
        "one wrong frame in four",
        (Fault::Swapped, Pattern::Bursts { on: 1, of: 4 }),
        BY_PIXEL,
        false,
    );
}

#[test]
fn the_wrong_gain_state_where_only_one_is_read_is_not_found() {
    // Low counts under high gain's calibration; low gain itself is not read out.
    let stream = stream(Scene::StillRoom, (80, 60), 1);
    let stored = Stored::new(&stream, &profile(|plan| *plan == GainPlan::HighOnly));
    power_up(&stored, stream.geometry, true, |glass| {
        for at in 0..FRAMES {
            let mut frame = clean(&stream, at, false);
            frame.high = frame.low.take();
            let seen = glass.draw(&frame);
            // Room temperature in low gain lies low in high gain's table, but inside it.
            assert!(seen.named.is_good() && !seen.is_marked, "{seen:?}");
        }
    });
    let limits = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/limits.md");
    assert!(
        std::fs::read_to_string(limits)
            .unwrap()
            .contains("*the wrong gain state where only one is read*")
    );
}

#[test]
fn a_table_that_was_damaged_before_its_sum_was_taken_is_not_found() {
    let stream = stream(Scene::StillRoom, (80, 60), 1);
    let mut stored = Stored::new(&stream, &profile(BY_PIXEL));
    stored.damage(Storage::HighGainBit, &mut glowsill_faults::Sequence(3));
    let (gain_q14, offset) = &stored.corrections[0];
    stored.sums[0] = glowsill_core::pipeline::Correction { gain_q14, offset }.crc32();
    power_up(&stored, stream.geometry, false, |glass| {
        for at in 0..FRAMES {
            assert!(glass.draw(&clean(&stream, at, false)).named.is_good());
        }
    });
    let limits = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/limits.md");
    assert!(
        std::fs::read_to_string(limits)
            .unwrap()
            .contains("*a table damaged before its check sum was taken*")
    );
}
