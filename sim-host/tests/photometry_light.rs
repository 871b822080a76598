//! Panel luminance, display function and contrast against published figures.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use std::path::Path;

use glowsill::photometry::{
    colour, contrast, gsdf, panel_model::PanelModel, panel_model::Transfer,
};

fn data(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (got - expected).abs() <= tolerance,
        "{what}: got {got}, expected {expected}"
    );
}

// Source: DICOM PS3.14, display function and inverse fit, evaluated in double precision outside this
// project (tests/data/README.md).
#[test]
fn the_whole_display_function_and_both_inverses() {
    let table = data("dicom_gsdf.csv");
    let rows: Vec<Vec<f64>> = table
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    assert_eq!(rows.len(), 1023);
    for row in &rows {
        let (jnd, luminance, by_fit) = (row[0], row[1], row[2]);
        close(gsdf::luminance(jnd) / luminance, 1.0, 1e-12, "L(j)");
        close(gsdf::jnd(luminance), jnd, 1e-8, "j(L) by inversion");
        // The fit's domain begins at 0.05 cd/m², the first row is 0.04998.
        if luminance >= 0.05 {
            close(
                gsdf::jnd_by_fit(luminance),
                by_fit.min(1023.0),
                1e-6,
                "j(L) by fit",
            );
        }
        // Source: accuracy of the printed inverse as commonly stated, about 0.1 JND at the ends of
        // the table a little more (from memory, not seen).
        close(
            gsdf::jnd_by_fit(luminance),
            gsdf::jnd(luminance),
            0.15,
            "fit against inversion",
        );
    }
}

// Source: DICOM PS3.14 Table B-1, rows 1 to 4 and end (from memory, not seen); row 512 from the
// colour-science documentation.
#[test]
fn printed_rows_of_the_display_function() {
    for (jnd, printed) in [(1.0, 0.0500), (2.0, 0.0547), (3.0, 0.0594), (4.0, 0.0643)] {
        close(gsdf::luminance(jnd), printed, 6e-5, "Table B-1");
    }
    close(gsdf::luminance(512.0), 130.065_284_0, 1e-6, "row 512");
    close(gsdf::luminance(1023.0) / 3993.404, 1.0, 1e-4, "row 1023");
}

// Source: DICOM PS3.14 inverse fit, evaluated outside this project; accuracy about 0.1 JND.
#[test]
fn indices_of_round_luminances() {
    for (luminance, jnd) in [
        (0.1, 10.118),
        (1.0, 71.498),
        (10.0, 216.872),
        (100.0, 476.364),
        (250.0, 604.112),
        (1000.0, 810.487),
    ] {
        close(gsdf::jnd_by_fit(luminance), jnd, 6e-4, "fit");
        close(gsdf::jnd(luminance), jnd, 0.15, "inversion");
    }
}

#[test]
fn luminances_outside_the_domain_are_clamped() {
    assert_eq!(gsdf::jnd(0.0), 1.0);
    assert_eq!(gsdf::jnd(-1.0), 1.0);
    assert_eq!(gsdf::jnd(0.01), 1.0);
    assert_eq!(gsdf::jnd(1e6), 1023.0);
    assert_eq!(gsdf::luminance(0.0), gsdf::luminance(1.0));
    assert_eq!(gsdf::luminance(5000.0), gsdf::luminance(1023.0));
    assert_eq!(gsdf::separation(0.001, 0.01), 0.0);
}

// Source: algebra of a veil in sRGB codes, then WCAG 2.x, Michelson, CIE 1976 L* and DICOM PS3.14
// at 250 cd/m² white without ambient light; evaluated outside this project.
#[test]
fn detail_behind_a_veil_of_orange() {
    let panel = PanelModel {
        black_cd_m2: 0.0,
        ambient_cd_m2: 0.0,
        ..PanelModel::default()
    };
    for (alpha, michelson, wcag, delta_l, delta_jnd) in [
        (0.00, 0.11719, 1.2393, 7.292, 32.28),
        (0.25, 0.08929, 1.1765, 5.467, 24.45),
        (0.50, 0.05954, 1.1140, 3.611, 16.24),
        (0.75, 0.02935, 1.0546, 1.774, 7.99),
        (0.90, 0.01157, 1.0212, 0.700, 3.15),
    ] {
        let seen = |grey: f64| -> f64 {
            let weights = [0.2126, 0.7152, 0.0722];
            [255.0, 165.0, 0.0]
                .into_iter()
                .zip(weights)
                .map(|(c, w)| {
                    let v = (alpha * c + (1.0 - alpha) * grey) / 255.0;
                    w * if v <= 0.04045 {
                        v / 12.92
                    } else {
                        ((v + 0.055) / 1.055_f64).powf(2.4)
                    }
                })
                .sum()
        };
        let (low, high) = (seen(180.0), seen(200.0));
        close(contrast::michelson(low, high), michelson, 6e-6, "Michelson");
        close(contrast::wcag(low, high), wcag, 6e-5, "WCAG");
        close(
            colour::lightness(high) - colour::lightness(low),
            delta_l,
            6e-4,
            "L*",
        );
        let emitted = |y: f64| panel.peak_cd_m2 * y;
        close(
            gsdf::separation(emitted(low), emitted(high)),
            delta_jnd,
            0.15,
            "JND",
        );
    }
    let plain = gsdf::separation(panel.luminance([180; 3]), panel.luminance([200; 3]));
    close(plain, 32.28, 0.15, "JND of greys 180 and 200");
}

// Source: ambient light is added before the display function (DICOM PS3.14, section 7); that it can
// only take separation away follows from the falling slope of L(j).
#[test]
fn ambient_light_takes_separation_away() {
    let separation = |ambient_cd_m2| {
        let panel = PanelModel {
            ambient_cd_m2,
            ..PanelModel::default()
        };
        gsdf::separation(panel.luminance([40; 3]), panel.luminance([60; 3]))
    };
    let course = [0.0, 1.0, 10.0, 100.0].map(separation);
    assert!(
        course.windows(2).all(|pair| pair[1] < pair[0]),
        "{course:?}"
    );
    assert!(course[3] < course[0] / 4.0, "{course:?}");
}

// Source: WCAG 2.x "contrast ratio", values evaluated outside this project from its definition.
#[test]
fn wcag_contrast_ratios() {
    let ratio = |a, b| contrast::wcag(colour::relative_luminance(a), colour::relative_luminance(b));
    let (white, red) = ([255; 3], [255, 0, 0]);
    for (a, b, expected) in [
        ([0; 3], white, 21.0),
        ([0x77; 3], white, 4.4781),
        ([0x76; 3], white, 4.5422),
        ([0x94; 3], white, 3.0335),
        (red, white, 3.9985),
        (red, [0; 3], 5.252),
        ([255, 255, 0], [0; 3], 19.556),
        ([255, 255, 0], red, 3.7235),
        ([160; 3], [128; 3], 1.5103),
    ] {
        close(ratio(a, b), expected, 6e-4, "contrast ratio");
    }
}

// Source: definitions of Weber and Michelson contrast, C_M = C_W/(C_W + 2) (from memory, not seen).
#[test]
fn weber_and_michelson() {
    for (weber, michelson) in [(0.02, 0.00990), (0.05, 0.02439), (1.0, 0.33333)] {
        let (target, background) = (80.0 * (1.0 + weber), 80.0);
        close(contrast::weber(target, background), weber, 1e-12, "Weber");
        close(
            contrast::michelson(target, background),
            michelson,
            5e-6,
            "Michelson",
        );
    }
    assert_eq!(contrast::michelson(0.0, 0.0), 0.0);
    assert!(contrast::weber(1.0, 0.0).is_infinite());
}

#[test]
fn the_panel_model_is_read_from_toml_with_defaults() {
    let panel: PanelModel =
        toml::from_str("peak_cd_m2 = 400.0\ntransfer = { gamma = 2.2 }").unwrap();
    assert_eq!(
        (panel.peak_cd_m2, panel.transfer),
        (400.0, Transfer::Gamma(2.2))
    );
    assert_eq!(panel.black_cd_m2, 0.25);
    assert!(toml::from_str::<PanelModel>("peak = 400.0").is_err());
}
