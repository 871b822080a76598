//! Symbols over any picture: strokes wide enough, on a ground of their own, with contrast at the eye.
//!
//! Limits (common practice, no published source, but where said): every stroke 2 pixels at 240 rows; in a
//! room a ratio of luminances of 4.5 and 200 just-noticeable steps between ink and ground; with water
//! on the visor a ratio of 3 and 100 steps. Water is modelled as light of a bright surrounding that
//! it scatters into the eye: [`PanelModel::ambient_cd_m2`] of 60. It also blurs, which is not
//! modelled; wide strokes are the answer to that.
//! Source of 4.5 and 3: WCAG 2.x, success criteria 1.4.3 (text) and 1.4.11 (graphical objects), from
//! memory, not seen; there for relative luminances with a flare of 0.05, here for luminances with the
//! panel's own reflection.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use glowsill::photometry::gsdf;
use glowsill::photometry::panel_model::PanelModel;
use glowsill::profile_file::demo;
use glowsill_core::health::{Cause, Health};
use glowsill_core::panel::{PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Geometry, SensorConfig};
use glowsill_core::profile::{ColourPlan, Profile};
use glowsill_core::record::{FrameRecord, GainInUse, Spot};
use glowsill_core::symbols::{Canvas, SymbolPlan, Symbols, TemperatureUnit};
use glowsill_core::units::Temperature;

const W: usize = 320;
const H: usize = 240;
const WHITE: Rgb888 = Rgb888::grey(255);
const BLACK: Rgb888 = Rgb888::grey(0);

/// Where a crew reads it: reflected light in cd/m², least ratio, least just-noticeable steps.
const PLACES: [(&str, f64, f64, f64); 2] = [
    ("in a room", 1.0, 4.5, 200.0),
    ("water on the visor", 60.0, 3.0, 100.0),
];

fn panel(ambient_cd_m2: f64) -> PanelModel {
    PanelModel {
        ambient_cd_m2,
        ..PanelModel::default()
    }
}

fn codes(colour: Rgb888) -> [u8; 3] {
    [colour.r, colour.g, colour.b]
}

/// Ratio of luminances and just-noticeable steps between two colours.
fn apart(panel: &PanelModel, a: Rgb888, b: Rgb888) -> (f64, f64) {
    let (a, b) = (panel.luminance(codes(a)), panel.luminance(codes(b)));
    (a.max(b) / a.min(b), gsdf::separation(a, b).abs())
}

fn profiles() -> Vec<Profile> {
    let shipped = demo().unwrap().into_iter().map(|demo| demo.loaded.profile);
    shipped
        .chain([Profile::safe(&SensorConfig::default())])
        .collect()
}

/// Colours of a profile's bands and ceiling.
fn band_colours(profile: &Profile) -> Vec<Rgb888> {
    match &profile.spec().colour {
        ColourPlan::Bands(plan) => plan
            .bands
            .iter()
            .map(|band| band.colour)
            .chain(plan.ceiling.map(|ceiling| ceiling.colour))
            .collect(),
        _ => Vec::new(),
    }
}

/// Every colour that a symbol may stand on.
fn grounds() -> Vec<Rgb888> {
    let mut all = vec![
        BLACK,
        WHITE,
        Rgb888::grey(128),
        Rgb888::grey(64),
        Rgb888::grey(192),
    ];
    all.extend(profiles().iter().flat_map(band_colours));
    all
}

const NOTHING: SymbolPlan = SymbolPlan {
    unit: TemperatureUnit::Celsius,
    shows_scale: false,
    shows_name: false,
    shows_gain: false,
    shows_hottest: false,
};

/// Each symbol alone, and the health that it needs.
fn symbols() -> [(&'static str, SymbolPlan, Health); 5] {
    let frozen = Health::GOOD
        .with(Cause::Frozen)
        .with(Cause::CorrectionCorrupt);
    [
        (
            "name",
            SymbolPlan {
                shows_name: true,
                ..NOTHING
            },
            Health::GOOD,
        ),
        (
            "gain state",
            SymbolPlan {
                shows_gain: true,
                ..NOTHING
            },
            Health::GOOD,
        ),
        (
            "hottest spot",
            SymbolPlan {
                shows_hottest: true,
                ..NOTHING
            },
            Health::GOOD,
        ),
        ("cause", NOTHING, frozen),
        (
            "scale",
            SymbolPlan {
                shows_scale: true,
                ..NOTHING
            },
            Health::GOOD,
        ),
    ]
}

fn draw(
    profile: &Profile,
    plan: SymbolPlan,
    health: Health,
    mut pixels: Vec<Rgb888>,
) -> Vec<Rgb888> {
    let at = |celsius| Temperature::from_millicelsius(celsius * 1000).unwrap();
    let record = FrameRecord {
        frame: 9,
        gain: GainInUse::PerPixel,
        scale_low: at(12),
        scale_high: at(118),
        pixels: 76_800,
        valid: 76_800,
        from_low: 0,
        coloured: 0,
        in_band: [0; 7],
        hottest: Some(Spot {
            temperature: at(300),
            x: 100,
            y: 90,
        }),
        coldest: None,
        saturated: 0,
        invalid: 0,
        disputed: 0,
        replaced: 0,
        is_struck: !health.is_good(),
        health,
    };
    let geometry = Geometry::new(320, 240).unwrap();
    Symbols::new(profile, plan)
        .draw(
            &record,
            &mut Canvas::<PanelRgb888>::new(&mut pixels, geometry),
        )
        .unwrap();
    pixels
}

/// The symbol's pixels: drawn the same over two pictures that differ everywhere.
fn symbol(profile: &Profile, plan: SymbolPlan, health: Health) -> Vec<Option<Rgb888>> {
    let over = |code| {
        draw(
            profile,
            plan,
            health,
            vec![Rgb888::new(code, code + 1, code + 2); W * H],
        )
    };
    let (a, b) = (over(10), over(90));
    a.iter()
        .zip(&b)
        .map(|(a, b)| (a == b).then_some(*a))
        .collect()
}

fn neighbours(i: usize) -> impl Iterator<Item = usize> {
    let (x, y) = (i % W, i / W);
    let columns = x.saturating_sub(1)..=(x + 1).min(W - 1);
    columns
        .flat_map(move |nx| (y.saturating_sub(1)..=(y + 1).min(H - 1)).map(move |ny| ny * W + nx))
}

#[test]
fn ink_and_ground_differ_at_the_eye_in_a_room_and_through_water() {
    for (place, ambient, ratio, steps) in PLACES {
        let found = apart(&panel(ambient), WHITE, BLACK);
        assert!(found.0 >= ratio && found.1 >= steps, "{place}: {found:?}");
    }
    // The limits can be missed: in bright daylight the same ink is too weak.
    let (ratio, _) = apart(&panel(400.0), WHITE, BLACK);
    assert!(ratio < 3.0, "{ratio}");
}

/// No picture touches ink: around each white pixel of a symbol, and each black one of a white plate, lies
/// the symbol's own ground.
#[test]
fn every_symbol_brings_its_own_ground() {
    for profile in profiles() {
        for (name, plan, health) in symbols() {
            let drawn = symbol(&profile, plan, health);
            let ink = drawn.iter().filter(|pixel| **pixel == Some(WHITE)).count();
            let dark = drawn.iter().filter(|pixel| **pixel == Some(BLACK)).count();
            assert!(ink > 50 && dark > 50, "{name}: {ink} white, {dark} black");
            for (i, pixel) in drawn.iter().enumerate() {
                if *pixel == Some(WHITE) {
                    let bare = neighbours(i).filter(|at| drawn[*at].is_none()).count();
                    assert_eq!(
                        bare,
                        0,
                        "{name}: white pixel {}, {} meets the picture",
                        i % W,
                        i / W
                    );
                }
            }
            if name != "scale" {
                let others = drawn
                    .iter()
                    .flatten()
                    .filter(|pixel| **pixel != WHITE && **pixel != BLACK);
                assert_eq!(others.count(), 0, "{name} has white and black alone");
            }
        }
    }
}

/// On every picture at least one of a symbol's two colours stands out against it.
#[test]
fn a_symbol_stands_out_on_every_picture() {
    for (place, ambient, ratio, steps) in PLACES {
        let panel = panel(ambient);
        let (mut weakest, mut on) = ((f64::INFINITY, f64::INFINITY), BLACK);
        for ground in grounds() {
            let (white, black) = (apart(&panel, WHITE, ground), apart(&panel, BLACK, ground));
            let best = if white.1 > black.1 { white } else { black };
            if best.1 < weakest.1 {
                (weakest, on) = (best, ground);
            }
        }
        // Against the picture itself half the steps suffice: ink stands on ground, not on the picture.
        assert!(
            weakest.1 >= steps / 2.0 && weakest.0 >= ratio.sqrt(),
            "{place}: {weakest:?} on {on:?}"
        );
    }
}

/// Lines and notches of the reference scale are black: on each band's colour they must be seen.
#[test]
fn notches_are_seen_on_every_band_of_every_profile() {
    for (place, ambient, _, steps) in PLACES {
        let panel = panel(ambient);
        for profile in profiles() {
            for colour in band_colours(&profile) {
                let found = apart(&panel, BLACK, colour);
                // A quarter of what texts need: a notch only counts bands, which also differ in place.
                assert!(
                    found.1 >= steps / 4.0,
                    "{place}: {}, {colour:?}: {found:?}",
                    profile.spec().name
                );
            }
        }
    }
}

/// No text is one pixel thin: each white pixel of a black plate, and each black one inside a white plate,
/// belongs to a square of two by two.
#[test]
fn strokes_are_two_pixels_wide_at_240_rows() {
    for profile in profiles() {
        for (name, plan, health) in symbols() {
            let drawn = symbol(&profile, plan, health);
            let ink = match name {
                "cause" => BLACK,
                // Slopes of arrow heads end in a point; the scale's grey has steps of one row.
                "hottest spot" | "scale" => continue,
                _ => WHITE,
            };
            let is_ink = |x: usize, y: usize| x < W && y < H && drawn[y * W + x] == Some(ink);
            for i in (0..W * H).filter(|i| drawn[*i] == Some(ink)) {
                let (x, y) = (i % W, i / W);
                let square = [(0, 0), (1, 0), (0, 1), (1, 1)]
                    .into_iter()
                    .any(|(dx, dy)| {
                        x >= dx
                            && y >= dy
                            && [(0, 0), (1, 0), (0, 1), (1, 1)]
                                .into_iter()
                                .all(|(ex, ey)| is_ink(x - dx + ex, y - dy + ey))
                    });
                assert!(square, "{name}: {x}, {y}");
            }
        }
    }
}
