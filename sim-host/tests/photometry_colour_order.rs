//! The colour-order measure against distances and luminances evaluated outside the project.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use glowsill::measure::{Outcome, colour_order};
use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{
    Band, BandPlan, Ceiling, ColourPlan, Fill, Overlay, Profile, ProfileSpec, RampEnd,
};
use glowsill_core::units::Temperature;

const YELLOW: Rgb888 = Rgb888::new(255, 255, 0);
const ORANGE: Rgb888 = Rgb888::new(255, 165, 0);
const RED: Rgb888 = Rgb888::new(255, 0, 0);

fn at(celsius: i32) -> Temperature {
    Temperature::from_millicelsius(celsius * 1000).unwrap()
}

fn banded(colours: &[Rgb888], fill: Fill, overlay: Overlay) -> ProfileSpec {
    let bands = colours
        .iter()
        .zip([100, 180, 260, 340, 420, 500])
        .map(|(colour, start)| Band {
            start: at(start),
            colour: *colour,
            fill,
        })
        .collect();
    let mut spec = ProfileSpec::grey_example();
    spec.colour = ColourPlan::Bands(BandPlan {
        bands,
        hysteresis_k32: 64,
        ramp_end: None,
        ceiling: None,
    });
    spec.overlay = overlay;
    spec
}

fn value(outcome: &Outcome, name: &str, conditions: &[(&str, &str)]) -> f64 {
    let fits = |q: &&glowsill::measure::Quantity| {
        q.name == name
            && conditions
                .iter()
                .all(|(key, v)| q.conditions.get(*key).is_some_and(|c| c == v))
    };
    let found: Vec<_> = outcome.quantities.iter().filter(fits).collect();
    assert_eq!(found.len(), 1, "{name} under {conditions:?}: {found:?}");
    found[0].value.unwrap_or_else(|| panic!("{name} is absent"))
}

// Source: CIEDE2000 over Machado 2009, evaluated outside this project; luminance order 0.928, 0.482,
// 0.213 falls for dichromats too. The figures round the seen colours to 8-bit codes (up to 0.11 here).
#[test]
fn plain_yellow_orange_and_red() {
    let outcome =
        colour_order::measure(&banded(&[YELLOW, ORANGE, RED], Fill::Flat, Overlay::Opaque));
    for (vision, first, second) in [
        ("normal", 29.25, 33.76),
        ("protan", 17.35, 29.05),
        ("deutan", 13.05, 14.66),
    ] {
        for (pair, expected) in [("1-2", first), ("2-3", second)] {
            let got = value(
                &outcome,
                "neighbour_delta_e",
                &[("vision", vision), ("pair", pair)],
            );
            assert!(
                (got - expected).abs() < 0.15,
                "{vision} {pair}: {got}, not {expected}"
            );
        }
        let least = value(&outcome, "min_neighbour_delta_e", &[("vision", vision)]);
        assert!((least - f64::min(first, second)).abs() < 0.15);
        assert_eq!(
            value(&outcome, "luminance_order_share", &[("vision", vision)]),
            1.0
        );
    }
    assert_eq!(value(&outcome, "luminance_monotone", &[]), 1.0);
    assert!(
        outcome
            .findings
            .iter()
            .any(|f| f.contains("falls with temperature"))
    );
}

// Source: relative luminance by WCAG 2.x weights (yellow 0.9278, red 0.2126 on 250 + 1.25 cd/m²) and
// the DICOM PS3.14 inverse polynomial, evaluated outside this project: 594.10 and 397.79 JND, each
// good to about 0.1.
#[test]
fn a_hue_cycle_is_not_ordered() {
    let mut spec = ProfileSpec::grey_example();
    let stops = [
        Rgb888::new(0, 0, 255),
        Rgb888::new(0, 255, 255),
        Rgb888::new(0, 255, 0),
        YELLOW,
        RED,
    ];
    spec.colour = ColourPlan::PseudoColour {
        stops: stops.into_iter().collect(),
    };
    let outcome = colour_order::measure(&spec);
    assert_eq!(value(&outcome, "luminance_monotone", &[]), 0.0);
    // Cyan to green and yellow to red go against the rise from blue.
    assert_eq!(
        value(&outcome, "luminance_reversals", &[("vision", "normal")]),
        2.0
    );
    let largest = value(&outcome, "largest_reversal", &[("vision", "normal")]);
    assert!((largest - 196.31).abs() < 0.4, "{largest}");
    assert!(outcome.findings.iter().any(|f| f.contains("turns against")));
    assert_eq!(outcome.plots[0].series[0].points.len(), 256);
    // The strip of the first row starts after the names of the rows; its ends are the first and the last stop.
    let swatches = &outcome.pictures[0].image;
    for (x, stop) in [(192, [0_u8, 0, 255]), (190 + 6 * 118 - 3, [255, 0, 0])] {
        let shown = swatches.get_pixel(x, 124).0;
        let off = (0..3)
            .map(|channel| shown[channel].abs_diff(stop[channel]))
            .max();
        assert!(off.unwrap() <= 6, "{x}: {shown:?}");
    }
}

#[test]
fn a_veil_goes_from_no_colour_to_all() {
    let colours = [YELLOW, ORANGE, RED];
    let least = |overlay| {
        let outcome = colour_order::measure(&banded(&colours, Fill::Flat, overlay));
        value(&outcome, "min_neighbour_delta_e", &[("vision", "deutan")])
    };
    assert_eq!(least(Overlay::Veil { opacity: 0 }), 0.0);
    assert_eq!(
        least(Overlay::Veil { opacity: 255 }),
        least(Overlay::Opaque)
    );
    let half = least(Overlay::Veil { opacity: 128 });
    assert!(half > 1.0 && half < least(Overlay::Opaque), "{half}");
}

#[test]
fn ramps_are_compared_at_their_middles_too() {
    let mut spec = banded(&[YELLOW, ORANGE], Fill::Ramp, Overlay::Opaque);
    let ColourPlan::Bands(plan) = &mut spec.colour else {
        unreachable!()
    };
    plan.ramp_end = Some(RampEnd {
        temperature: at(260),
        colour: RED,
    });
    plan.ceiling = Some(Ceiling {
        start: at(300),
        colour: Rgb888::new(195, 0, 195),
    });
    let outcome = colour_order::measure(&spec);
    // Source: CIEDE2000 evaluated outside this project: yellow to orange 29.25.
    let start = value(
        &outcome,
        "neighbour_delta_e",
        &[("vision", "normal"), ("pair", "1-2")],
    );
    assert!(start > 10.0 && start <= 29.26, "{start}");
    value(
        &outcome,
        "neighbour_delta_e",
        &[("vision", "normal"), ("pair", "2-ceiling")],
    );
    assert_eq!(value(&outcome, "luminance_monotone", &[]), 1.0);
    // The grey beside it, two bands and the ceiling, each 118 wide after the names of the rows, which start at 112
    // and are 24 high. The first row stands over grey 128: the grey itself, then the opaque ceiling.
    let swatches = &outcome.pictures[0].image;
    assert_eq!(swatches.get_pixel(190 + 59, 124).0, [128; 3]);
    assert_eq!(swatches.get_pixel(190 + 3 * 118 + 59, 124).0, [195, 0, 195]);
    // Source: definition of the Fahrenheit scale, 100 °C = 212 °F, 300 °C = 572 °F.
    let caption = &outcome.pictures[0].caption;
    for text in ["100 °C (212 °F)", "the ceiling from 300 °C (572 °F)"] {
        assert!(caption.contains(text), "{caption}");
    }
    let marks: Vec<_> = outcome.plots[0]
        .marks
        .iter()
        .map(|(_, label)| label.as_str())
        .collect();
    assert_eq!(marks, ["band 1", "band 2", "ceiling"]);
    assert!((outcome.plots[0].marks[0].0 - 100.0).abs() < 0.02);
}

/// Yellow, orange and red lie at different hue angles; two yellows of unlike lightness do not.
#[test]
fn hue_changes_only_when_the_hue_does() {
    let hue = |colours: [Rgb888; 3]| {
        let mut spec = ProfileSpec::grey_example();
        let starts = [13_600, 16_000, 20_000];
        let bands = starts.iter().zip(colours).map(|(start, colour)| Band {
            start: Temperature::from_bits(*start),
            colour,
            fill: Fill::Flat,
        });
        spec.colour = ColourPlan::Bands(BandPlan {
            bands: bands.collect(),
            hysteresis_k32: 0,
            ramp_end: None,
            ceiling: None,
        });
        value(&colour_order::measure(&spec), "hue_changes", &[])
    };
    let (yellow, orange) = (Rgb888::new(235, 210, 0), Rgb888::new(220, 115, 0));
    let red = Rgb888::new(200, 0, 0);
    assert_eq!(hue([yellow, orange, red]), 1.0);
    assert_eq!(hue([yellow, orange, orange]), 0.0);
    assert_eq!(hue([yellow, Rgb888::new(188, 168, 0), red]), 0.0);
}

#[test]
fn grey_alone_is_ordered_and_has_no_distances() {
    let outcome = colour_order::measure(&ProfileSpec::grey_example());
    assert_eq!(value(&outcome, "luminance_monotone", &[]), 1.0);
    let absent = outcome
        .quantities
        .iter()
        .filter(|q| q.value.is_none())
        .count();
    assert_eq!(absent, 9); // four neighbour and four grey distances, and the change of hue
    assert!(
        outcome
            .quantities
            .iter()
            .all(|q| q.value.is_some() || q.note.is_some())
    );
}

#[test]
fn a_band_of_grey_cannot_be_told_from_grey() {
    let greys = [Rgb888::grey(128), Rgb888::grey(160)];
    let outcome = colour_order::measure(&banded(&greys, Fill::Flat, Overlay::Opaque));
    assert!(value(&outcome, "min_grey_delta_e", &[("vision", "normal")]) < 0.01);
    let reversed = banded(&[RED, YELLOW, ORANGE], Fill::Flat, Overlay::Opaque);
    let outcome = colour_order::measure(&reversed);
    assert_eq!(value(&outcome, "luminance_monotone", &[]), 0.0);
    assert_eq!(
        value(&outcome, "luminance_reversals", &[("vision", "normal")]),
        1.0
    );
}

/// The default colours of `docs/decisions/0003-default-colours.md`.
const DEFAULTS: [Rgb888; 4] = [
    Rgb888::new(235, 210, 0),
    Rgb888::new(225, 145, 0),
    Rgb888::new(215, 85, 0),
    Rgb888::new(200, 0, 0),
];

// Source: the project's own limits for its default colours, stated before the search: 10 for normal
// vision and 5 for dichromats (common practice, no published source).
#[test]
fn the_default_colours_keep_their_limits() {
    for fill in [Fill::Flat, Fill::Ramp] {
        let mut spec = banded(
            &DEFAULTS,
            fill,
            Overlay::Tint {
                knee: 200,
                lift: 140,
            },
        );
        let ColourPlan::Bands(plan) = &mut spec.colour else {
            unreachable!()
        };
        if fill == Fill::Ramp {
            plan.bands[3].fill = Fill::Flat;
        }
        plan.ceiling = Some(Ceiling {
            start: at(500),
            colour: Rgb888::new(195, 0, 195),
        });
        Profile::new(spec.clone()).unwrap();
        let outcome = colour_order::measure(&spec);
        assert_eq!(value(&outcome, "luminance_monotone", &[]), 1.0);
        for (vision, limit) in [
            ("normal", 10.0),
            ("protan", 5.0),
            ("deutan", 5.0),
            ("tritan", 5.0),
        ] {
            let grey = value(&outcome, "min_grey_delta_e", &[("vision", vision)]);
            assert!(grey >= limit, "{vision}: {grey} from grey");
            let least = value(&outcome, "min_neighbour_delta_e", &[("vision", vision)]);
            println!("{fill:?} {vision}: neighbours {least:.2}, grey {grey:.2}");
            if fill == Fill::Flat {
                assert!(least >= limit, "{vision}: {least} between neighbours");
            }
        }
    }
}

// Source: the same limits, for profiles that use fewer bands.
#[test]
fn the_default_colours_keep_their_limits_with_inner_bands_left_out() {
    let [yellow, orange, deep, red] = DEFAULTS;
    let three = [yellow, Rgb888::new(220, 115, 0), red];
    for subset in [
        vec![yellow, deep, red],
        vec![yellow, orange, red],
        vec![yellow, red],
        three.into(),
    ] {
        let overlay = Overlay::Tint {
            knee: 200,
            lift: 140,
        };
        let outcome = colour_order::measure(&banded(&subset, Fill::Flat, overlay));
        for (vision, limit) in [
            ("normal", 10.0),
            ("protan", 5.0),
            ("deutan", 5.0),
            ("tritan", 5.0),
        ] {
            for name in ["min_neighbour_delta_e", "min_grey_delta_e"] {
                let least = value(&outcome, name, &[("vision", vision)]);
                assert!(least >= limit, "{subset:?} {vision}: {name} {least}");
            }
        }
        assert_eq!(value(&outcome, "luminance_monotone", &[]), 1.0);
    }
}
