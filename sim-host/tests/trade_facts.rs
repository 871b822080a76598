//! Facts of the trade, on what a display shows of the shipped scenarios.
//!
//! Every expected value here is **common practice, no published source**: it comes from what instructors teach of
//! such displays, not from this program. Scenes are small and walls coarse, so that a check takes seconds; a display
//! is shown one instant again and again until it stands still.
//!
//! Simulation and teaching only; not a certification.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use std::fs;

use glowsill::measure::Settings;
use glowsill::measure::reading::{mark_separations, settled};
use glowsill::profile_file;
use glowsill::run::{Panel, RunError, Shown, with_display};
use glowsill::source::{Frame, Source};
use glowsill::world::image::Image;
use glowsill::world::scenario::BUILT_IN;
use glowsill::world::scene::Mark;
use glowsill_core::profile::Profile;

/// Exposures after which a display that follows at once stands still, the sensor's lag included.
const EXPOSURES: usize = 10;

/// A shipped scenario with some of its text replaced, opened at a size.
fn scenario(name: &str, replaced: &[(&str, &str)], size: (usize, usize)) -> Source {
    let mut text = BUILT_IN
        .iter()
        .find(|one| one.name == name)
        .unwrap()
        .text
        .to_owned();
    for (from, to) in replaced {
        assert!(text.contains(from), "{name} has no '{from}'");
        text = text.replacen(from, to, 1);
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("scenario.toml");
    fs::write(&file, text).unwrap();
    Source::open(file.to_str().unwrap(), Some(size)).unwrap()
}

fn shipped(name: &str) -> Profile {
    let path = format!(
        "{}/../demo-data/profiles/{name}.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    settled(&profile_file::load(path.as_ref()).unwrap().profile).unwrap()
}

/// A plain profile: a scale from the 1st to the 99th percentile, linear, and one colour from an onset on.
fn plain(onset: &str) -> Profile {
    let text = format!(
        "name = \"Plain\"\n\
         [gain]\nplan = \"per-pixel\"\nblend_from = \"105 C\"\nblend_to = \"135 C\"\ndispute = \"20 K\"\n\
         [scale]\nlaw = \"percentile\"\nlow_share = \"1 %\"\nhigh_share = \"99 %\"\nstart_low = \"10 C\"\n\
         start_high = \"60 C\"\nframes_to_hotter = 1\nframes_to_colder = 1\nmin_span = \"15 K\"\n\
         max_grey_per_kelvin = 20\n\
         [colour]\nplan = \"bands\"\nhysteresis = \"2 K\"\n\
         [[colour.bands]]\nstart = \"{onset}\"\ncolour = \"#ebd200\"\nfill = \"flat\"\n\
         [overlay]\nstyle = \"opaque\"\n"
    );
    profile_file::parse(&text, "plain.toml").unwrap().profile
}

/// What stands before the imager at a time in seconds.
fn scene(source: &Source, at_s: u32) -> (Image<f64>, Vec<Mark>) {
    let frame = usize::try_from(at_s).unwrap() * 30;
    match source.frame(frame).unwrap() {
        Frame::Apparent { image, marks } => (image, marks),
        Frame::Counts(_) => panic!("a scenario gives temperatures"),
    }
}

/// What a display shows of it once it stands still.
fn shown(source: &Source, image: &Image<f64>, profile: &Profile) -> Shown {
    let mut lens = source.lens(1).unwrap();
    let tables = lens.tables().clone();
    with_display(profile, &tables, source.size(), Panel::Rgb888, |display| {
        let mut last = None;
        for _ in 0..EXPOSURES {
            last = Some(lens.sense(image)?.show(display)?.clone());
        }
        Ok::<_, RunError>(last.unwrap())
    })
    .unwrap()
}

/// Pixels of the picture that are not grey.
fn hued(shown: &Shown) -> Vec<usize> {
    let hued = |(index, pixel): (usize, &glowsill_core::panel::Rgb888)| {
        (pixel.r != pixel.g || pixel.g != pixel.b).then_some(index)
    };
    shown.picture.iter().enumerate().filter_map(hued).collect()
}

/// How many pixels are coloured, by the record and by the picture, which must agree.
fn coloured(source: &Source, image: &Image<f64>, profile: &Profile) -> usize {
    let shown = shown(source, image, profile);
    let hued = hued(&shown).len();
    assert_eq!(usize::try_from(shown.record.coloured).unwrap(), hued);
    hued
}

fn mean(image: &Image<f64>, mask: &[bool]) -> f64 {
    let inside: Vec<f64> = image
        .data
        .iter()
        .zip(mask)
        .filter_map(|(kelvin, inside)| inside.then_some(*kelvin))
        .collect();
    assert!(inside.len() > 5, "{} pixels", inside.len());
    inside.iter().sum::<f64>() / f64::from(u32::try_from(inside.len()).unwrap())
}

// Common practice, no published source: when something in view grows much hotter, the automatic scale darkens the
// rest of the picture, and what stands far from it is harder to tell from its surroundings. The shipped profile
// shares grey out by how often temperatures occur, and keeps more.
#[test]
fn a_growing_fire_takes_separation_from_marks_far_from_it() {
    let source = scenario("timber-rack", &[("zone = 0.8", "zone = 2.0")], (160, 120));
    let panel = Settings::default().panel.table();
    let (plain, equalised) = (plain("260 C"), shipped("search"));
    let [early, late] = [40, 110].map(|at_s| {
        let (image, marks) = scene(&source, at_s);
        let far = marks
            .iter()
            .position(|mark| mark.name == "far dummy")
            .unwrap();
        let hottest = image.data.iter().copied().fold(0.0, f64::max);
        let contrast = mean(&image, &marks[far].mask) - mean(&image, &marks[far].surround);
        let jnd = [&plain, &equalised].map(|profile| {
            mark_separations(&shown(&source, &image, profile), &marks, &panel)[far].unwrap()
        });
        println!("{at_s} s: hottest {hottest:.0} K, mark {contrast:.2} K, {jnd:.1?} JND");
        (hottest, contrast, jnd)
    });
    // The source has grown, and the mark itself differs no less from what is round it.
    assert!(late.0 > early.0 + 100.0);
    assert!(late.1.abs() > 0.8 * early.1.abs());
    let kept = [0, 1].map(|profile| late.2[profile] / early.2[profile]);
    assert!(kept[0] < 0.5, "percentile scale keeps {:.2}", kept[0]);
    assert!(
        kept[1] > kept[0] + 0.3,
        "equalised scale keeps {:.2}",
        kept[1]
    );
    assert!(late.2[1] > 2.0 * late.2[0]);
}

// Common practice, no published source: embers under sawdust show in colour under a setting for overhaul and not,
// at the same instant, under one that colours only what is too hot to pass.
#[test]
fn embers_show_under_one_setting_and_not_under_another() {
    let source = scenario("sawdust-bins", &[("zone = 0.35", "zone = 1.0")], (160, 120));
    let (image, marks) = scene(&source, 60);
    let overhaul = shown(&source, &image, &shipped("overhaul"));
    let seen = hued(&overhaul);
    assert!(!seen.is_empty(), "overhaul colours nothing");
    // Colour stands on a heap that hides an ember, and on no other.
    let on = |name: &str| {
        let mark = marks.iter().find(|mark| mark.name == name).unwrap();
        seen.iter().filter(|pixel| mark.mask[**pixel]).count()
    };
    assert!(on("shallow heap") > 0, "{} elsewhere", seen.len());
    assert_eq!(on("cold heap"), 0);
    assert_eq!(coloured(&source, &image, &shipped("search")), 0);
}

// Common practice, no published source: onsets of 150 °F (65.6 °C) and of 302 °F (150 °C); behind a thin steel door
// the first shows soon and the second does not yet; before anything is heated neither does.
#[test]
fn behind_thin_steel_the_low_onset_shows_while_the_high_one_does_not() {
    let source = scenario(
        "paint-store-door",
        &[("zone = 0.3", "zone = 1.0")],
        (80, 60),
    );
    let (low, high) = (plain("150 F"), plain("302 F"));
    let at = |at_s: u32| {
        let (image, _) = scene(&source, at_s);
        [&low, &high].map(|profile| coloured(&source, &image, profile))
    };
    assert_eq!(at(0), [0, 0]);
    let course: Vec<(u32, [usize; 2])> = (1..=12).map(|step| (20 * step, at(20 * step))).collect();
    println!("{course:?}");
    let between = course.iter().find(|(_, counts)| counts[0] > 0).unwrap();
    assert!(between.1[0] > 10 && between.1[1] == 0, "{between:?}");
    // The high onset does come, and never before the low one.
    let last = course.last().unwrap();
    assert!(last.1[1] > 0 && last.1[0] >= last.1[1], "{last:?}");
    assert!(course.iter().all(|(_, counts)| counts[0] >= counts[1]));
}

// Common practice, no published source: behind plaster on lath neither onset shows for a long time; here the leaf of
// the paint store is built so, and the fire behind it burns for half an hour.
#[test]
fn behind_plaster_on_lath_neither_onset_shows_for_half_an_hour() {
    let longer = |leaf: &str| {
        let replaced = [
            ("zone = 0.3", "zone = 2.0\nstep = \"5 s\""),
            ("duration = \"4 min\"", "duration = \"30 min\""),
            ("assembly = \"steel-sheet\"", leaf),
        ];
        scenario("paint-store-door", &replaced, (80, 60))
    };
    let lath = longer("assembly = \"plaster-lath\"");
    for at_s in [240, 900, 1790] {
        let (image, marks) = scene(&lath, at_s);
        let leaf = marks.iter().find(|mark| mark.name == "leaf").unwrap();
        for onset in ["150 F", "302 F"] {
            let seen = hued(&shown(&lath, &image, &plain(onset)));
            let on_leaf = seen.iter().filter(|pixel| leaf.mask[**pixel]).count();
            assert_eq!(on_leaf, 0, "{onset} at {at_s} s");
            // Nor anywhere else for a quarter of an hour; later the brick beside it has warmed.
            assert!(seen.is_empty() || at_s > 900, "{onset} at {at_s} s");
        }
    }
    // The same fire behind steel shows under both.
    let steel = longer("assembly = \"steel-sheet\"");
    let (image, marks) = scene(&steel, 900);
    let leaf = marks.iter().find(|mark| mark.name == "leaf").unwrap();
    for onset in ["150 F", "302 F"] {
        let seen = hued(&shown(&steel, &image, &plain(onset)));
        assert!(
            seen.iter().filter(|pixel| leaf.mask[**pixel]).count() > 100,
            "{onset}"
        );
    }
}

// Common practice, no published source: glass shows its own temperature and what it mirrors, not the room behind it.
#[test]
fn who_stands_behind_glass_changes_no_pixel() {
    const CLERK: &str = "[[objects]]\nname = \"clerk\"\nkind = \"person\"\nposture = \"standing\"\n\
                         position = [2.4, 6.5, 0]\ntemperature = \"26 C\"\n";
    const PATH: &str = "[[imager]]\nat = \"0 s\"";
    // The clerk comes last, because the small differences of surfaces follow the order of the file.
    let picture = |pane: &str, with_clerk: bool| {
        let last = format!("{}\n{PATH}", if with_clerk { CLERK } else { "" });
        let replaced = [("kind = \"glass\"", pane), (CLERK, ""), (PATH, &last)];
        let source = scenario("ticket-screen", &replaced, (160, 120));
        let (image, marks) = scene(&source, 5);
        let pane = marks.into_iter().find(|mark| mark.name == "screen");
        (
            shown(&source, &image, &shipped("search")).picture,
            pane.map(|mark| mark.mask),
        )
    };
    let ((with, pane), (without, _)) = (
        picture("kind = \"glass\"", true),
        picture("kind = \"glass\"", false),
    );
    let pane = pane.unwrap();
    assert!(pane.iter().filter(|inside| **inside).count() > 1000);
    for ((with, without), inside) in with.iter().zip(&without).zip(pane) {
        // The frame stands in both rooms and reflects a little of both: one grey code.
        let most = if inside { 0 } else { 1 };
        assert!(with.r.abs_diff(without.r) <= most, "{with:?} {without:?}");
        assert_eq!((with.r, without.r), (with.g, without.g));
    }
    // Without the pane the same person changes the picture: the check above can fail.
    assert!(picture("kind = \"open\"", true).0 != picture("kind = \"open\"", false).0);
}
