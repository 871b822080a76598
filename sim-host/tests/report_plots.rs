//! Plots and charts: what must be in them, and that colour is never the only carrier.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use glowsill::measure::{Plot, Series};
use glowsill::plot;
use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{Band, BandPlan, Ceiling, ColourPlan, Fill, Overlay, ProfileSpec};
use glowsill_core::units::Temperature;

fn sample() -> Plot {
    let line = |name: &str, slope: f64| Series {
        name: name.to_owned(),
        points: (0..40)
            .map(|i| (f64::from(i) * 10.0, slope * f64::from(i) + 0.5))
            .collect(),
    };
    Plot {
        stem: "separation".to_owned(),
        title: "Separation of bars behind colour & <below> it".to_owned(),
        x_label: "base temperature, °C".to_owned(),
        y_label: "separation, JND".to_owned(),
        series: vec![line("2 K", 0.05), line("5 K", 0.11), line("10 K", 0.2)],
        marks: vec![
            (150.0, "onset 150.0 °C (302.0 °F)".to_owned()),
            (165.0, "band 2".to_owned()),
        ],
        limits: vec![(1.0, "visible: 1 JND".to_owned())],
    }
}

fn celsius(value: i32) -> Temperature {
    Temperature::from_millicelsius(value * 1000).unwrap()
}

fn banded(overlay: Overlay) -> ProfileSpec {
    let mut spec = ProfileSpec::grey_example();
    let band = |start, colour, fill| Band {
        start: celsius(start),
        colour,
        fill,
    };
    let mut plan = BandPlan {
        bands: Default::default(),
        hysteresis_k32: 5 * 32,
        ramp_end: None,
        ceiling: Some(Ceiling {
            start: celsius(600),
            colour: Rgb888::new(255, 255, 255),
        }),
    };
    let bands = [
        band(160, Rgb888::new(230, 200, 40), Fill::Ramp),
        band(280, Rgb888::new(235, 130, 20), Fill::Flat),
        band(420, Rgb888::new(200, 30, 30), Fill::Flat),
    ];
    bands
        .into_iter()
        .for_each(|band| plan.bands.push(band).unwrap());
    spec.colour = ColourPlan::Bands(plan);
    spec.overlay = overlay;
    spec
}

#[test]
fn a_plot_names_everything_and_tells_series_apart_without_colour() {
    let svg = plot::OnPage::half(&sample()).unwrap().wide;
    for text in [
        "2 K",
        "10 K",
        "visible: 1 JND",
        "onset 150.0 °C (302.0 °F)",
        "separation, JND",
    ] {
        assert!(svg.contains(text), "{text}");
    }
    assert!(svg.contains("&lt;below&gt;") && !svg.contains("<below>"));
    // The third series has short dashes, the first none: many more pieces of its colour.
    let pieces = |colour: &str| svg.matches(colour).count();
    assert!(
        pieces("#009E73") > 2 * pieces("#0072B2"),
        "{}",
        pieces("#009E73")
    );
}

#[test]
fn pixels_have_the_stated_size_and_the_series_colour() {
    let image = plot::png(&sample()).unwrap();
    assert_eq!(image.dimensions(), plot::PLOT_SIZE);
    assert!(image.pixels().any(|pixel| pixel.0 == [0x00, 0x72, 0xb2]));
    assert_eq!(image.get_pixel(0, 0).0, [255, 255, 255]);
}

#[test]
fn what_has_no_point_is_an_error_that_names_the_plot() {
    let mut empty = sample();
    empty
        .series
        .iter_mut()
        .for_each(|series| series.points = vec![(f64::NAN, 1.0)]);
    assert!(
        plot::OnPage::half(&empty)
            .unwrap_err()
            .to_string()
            .contains("'separation'")
    );
    let mut single = sample();
    single.series = vec![Series {
        name: "one".to_owned(),
        points: vec![(3.0, 7.0)],
    }];
    single.marks.clear();
    single.limits.clear();
    assert!(plot::OnPage::half(&single).is_ok());
}

#[test]
fn a_chart_states_the_onset_in_both_units_and_in_position() {
    let spec = banded(Overlay::Tint {
        knee: 128,
        lift: 200,
    });
    let svg = plot::chart::svg(&spec).unwrap();
    // Source: definition of the Fahrenheit scale, 160 °C = 320 °F, 155 °C = 311 °F.
    for text in [
        "Colour starts at 160.0 °C (320.0 °F)",
        "155.0 °C (311.0 °F)",
        "emissivity 1",
        "°F",
    ] {
        assert!(svg.contains(text), "{text}");
    }
    let image = plot::chart::png(&spec).unwrap();
    assert_eq!(image.width(), plot::chart::CHART_WIDTH);
    // Walking the bar from hot to cold: ceiling, bands in their own colours, then grey.
    let row: Vec<_> = (112..1134)
        .rev()
        .map(|x| image.get_pixel(x, 182).0)
        .collect();
    let first = |colour: [u8; 3]| row.iter().position(|pixel| *pixel == colour);
    let places = [[255, 255, 255], [200, 30, 30], [235, 130, 20]].map(|c| first(c).unwrap());
    assert!(places.is_sorted(), "{places:?}");
    let last = row[row.len() - 1];
    assert!(last[0] == last[1] && last[1] == last[2]);
}

// Source: demo-data/profiles/poor-opaque.toml, size-up.toml and poor-cycle.toml as written.
#[test]
fn a_chart_says_who_is_a_poor_example_what_colours_are_called_and_why_it_is_white() {
    let chart = |file: &str| {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/profiles");
        let loaded = glowsill::profile_file::load(&path.join(file)).unwrap();
        plot::chart::svg(&loaded.spec).unwrap()
    };
    let poor = chart("poor-opaque.toml");
    for words in [
        "! poor example, there to fail",
        "1  red: from 110 °C (230 °F)",
        "2  red: from 220 °C",
    ] {
        assert!(poor.contains(words), "{words}");
    }
    let good = chart("size-up.toml");
    assert!(!good.contains("there to fail"));
    for words in [
        "white from 60 °C (140 °F) on",
        "The pure white is the end of that scale",
        "1  yellow: from 72 °C (162 °F), flat",
        "4  ceiling, purple: from 640 °C (1184 °F)",
    ] {
        assert!(good.contains(words), "{words}");
    }
    let cycle = chart("poor-cycle.toml");
    assert!(cycle.contains("there to fail") && cycle.contains("last hue from 120 °C (248 °F) on"));
}

#[test]
fn the_overlay_rows_follow_the_stated_blends() {
    let at_flat_band = |overlay| {
        let image = plot::chart::png(&banded(overlay)).unwrap();
        // 350 °C, in the middle of the flat band, over greys 32 and 224.
        let bar: Vec<_> = (112..1134)
            .filter(|x| image.get_pixel(*x, 182).0 == [235, 130, 20])
            .collect();
        let x = bar[bar.len() / 2];
        (image.get_pixel(x, 399).0, image.get_pixel(x, 487).0)
    };
    assert_eq!(
        at_flat_band(Overlay::Opaque),
        ([235, 130, 20], [235, 130, 20])
    );
    // By hand, a = 102 (0.4): 0.4·235 + 0.6·32 = 113.2, 71.2, 27.2; over 224: 228.4, 186.4, 142.4.
    assert_eq!(
        at_flat_band(Overlay::Veil { opacity: 102 }),
        ([113, 71, 27], [228, 186, 142])
    );
    // By hand, k = 128, l = 255: 32/128 = 0.25 gives 58.75, 32.5, 5; over 224, 96/127 toward white.
    assert_eq!(
        at_flat_band(Overlay::Tint {
            knee: 128,
            lift: 255
        }),
        ([59, 33, 5], [250, 224, 198])
    );
}
