//! sRGB, L*a*b*, CIEDE2000 and colour-vision deficiency against published figures.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use std::path::Path;

use glowsill::photometry::colour::{self, Lab};
use glowsill::photometry::deficiency::Vision;

fn data(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

// Source: Sharma, Wu, Dalal 2005, Table 1. Pair 14 sits on a hue wrap, where rounding can jump.
#[test]
fn ciede2000_of_all_34_published_pairs() {
    let table = data("ciede2000_sharma.csv");
    let mut pairs = 0;
    for line in table
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
    {
        let v: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let (first, second) = (Lab::new(v[1], v[2], v[3]), Lab::new(v[4], v[5], v[6]));
        let got = colour::ciede2000(first, second);
        assert!(
            (got - v[7]).abs() <= 1e-4,
            "pair {}: got {got}, printed {}",
            v[0],
            v[7]
        );
        let back = colour::ciede2000(second, first);
        assert!(
            (back - got).abs() <= 1e-9,
            "pair {} is not symmetric: {got}, {back}",
            v[0]
        );
        pairs += 1;
    }
    assert_eq!(pairs, 34);
}

// Source: IEC 61966-2-1 decode and CIE 1976 L*, evaluated outside this project.
#[test]
fn decode_and_lightness_of_greys() {
    for (code, linear, lightness) in [
        (1, 0.000_303_53, 0.2742),
        (10, 0.003_035_27, 2.7417),
        (11, 0.003_346_54, 3.0229),
        (32, 0.014_443_84, 12.2500),
        (64, 0.051_269_46, 27.0934),
        (96, 0.116_970_67, 40.7305),
        (119, 0.184_474_99, 50.0344),
        (128, 0.215_860_50, 53.5850),
        (160, 0.351_532_60, 65.8678),
        (192, 0.527_115_13, 77.7044),
        (224, 0.745_404_21, 89.1773),
        (250, 0.955_973_35, 98.2720),
    ] {
        assert!(
            (colour::srgb_decode(code) - linear).abs() < 6e-9,
            "decode {code}"
        );
        assert!(
            (colour::lightness(linear) - lightness).abs() < 6e-5,
            "L* of {code}"
        );
        let lab = colour::lab([code; 3]);
        assert!(
            (lab.l - lightness).abs() < 2e-3,
            "L*a*b* of {code}: {lab:?}"
        );
        assert!(
            lab.a.abs() < 0.02 && lab.b.abs() < 0.02,
            "grey {code} has hue: {lab:?}"
        );
    }
    for (lightness, y) in [
        (50.0, 0.184_186_52),
        (25.0, 0.044_154_77),
        (8.0, 0.008_856_45),
    ] {
        assert!((colour::lightness(y) - lightness).abs() < 1e-5);
    }
}

#[test]
fn every_code_survives_decode_and_encode() {
    for code in 0..=255u8 {
        assert_eq!(colour::codes([colour::srgb_decode(code); 3]), [code; 3]);
    }
    assert_eq!(colour::codes([-0.5, 1.5, f64::NAN]), [0, 255, 0]);
}

// Source: CIE 1976 u'v' of saturated colours against grey (white point D65), evaluated outside this
// project: the distances that the red-flash definition of WCAG 2.2 uses.
#[test]
fn chromaticity_distances() {
    let uv = |rgb| colour::chromaticity(colour::linear(rgb));
    let distance = |a, b| {
        let ((u1, v1), (u2, v2)) = (uv(a), uv(b));
        f64::hypot(u1 - u2, v1 - v2)
    };
    for (a, b, expected) in [
        ([255, 0, 0], [128; 3], 0.2587),
        ([255, 64, 64], [128; 3], 0.2015),
        ([192, 64, 64], [128; 3], 0.1652),
        ([255, 0, 0], [255, 165, 0], 0.1773),
    ] {
        assert!(
            (distance(a, b) - expected).abs() < 1e-4,
            "{a:?} {b:?}: {}",
            distance(a, b)
        );
    }
    assert_eq!(uv([0; 3]), uv([255; 3]));
}

// Source: Machado, Oliveira, Fernandes 2009, severity 1.0 (tests/data/README.md).
#[test]
fn deficiency_matrices_are_the_published_ones() {
    let json: serde_json::Value = serde_json::from_str(&data("machado2009.json")).unwrap();
    for vision in [Vision::Protan, Vision::Deutan, Vision::Tritan] {
        let published: [[f64; 3]; 3] =
            serde_json::from_value(json["matrices"][vision.name()]["1.0"].clone()).unwrap();
        assert_eq!(vision.matrix(), Some(published), "{vision}");
        for grey in 0..=255 {
            assert_eq!(vision.see([grey; 3]), [grey; 3], "{vision} changes greys");
        }
    }
}

// Source: Machado 2009 in linear RGB, evaluated outside this project.
#[test]
fn yellow_orange_and_red_as_dichromats_see_them() {
    for (rgb, protan, deutan) in [
        ([255, 0, 0], [109, 95, 0], [163, 144, 0]),
        ([255, 165, 0], [195, 172, 0], [217, 193, 14]),
        ([255, 255, 0], [255, 244, 0], [255, 250, 49]),
    ] {
        assert_eq!(Vision::Normal.see(rgb), rgb);
        assert_eq!(Vision::Protan.see(rgb), protan);
        assert_eq!(Vision::Deutan.see(rgb), deutan);
    }
}

// Source: CIEDE2000 over Machado 2009, evaluated outside this project.
#[test]
fn differences_of_yellow_orange_and_red() {
    let (yellow, orange, red) = ([255, 255, 0], [255, 165, 0], [255, 0, 0]);
    for (a, b, expected) in [
        (yellow, orange, [29.25, 17.35, 13.05]),
        (orange, red, [33.76, 29.05, 14.66]),
        (yellow, red, [64.31, 44.71, 26.83]),
    ] {
        for (vision, figure) in [Vision::Normal, Vision::Protan, Vision::Deutan]
            .into_iter()
            .zip(expected)
        {
            let coded = colour::delta_e(vision.see(a), vision.see(b));
            let exact = colour::ciede2000(vision.see_lab(a), vision.see_lab(b));
            let off = (coded - figure).abs().min((exact - figure).abs());
            assert!(
                off < 0.01,
                "{vision} {a:?} {b:?}: {coded} in codes, {exact} exact, not {figure}"
            );
        }
    }
}

// Source: Viénot, Brettel, Mollon 1999 in linear RGB, evaluated outside this project: another model
// of the same observers must agree on the order of luminance.
#[test]
fn another_model_agrees_on_the_luminance_order() {
    let vienot_protan = [[94, 94, 13], [178, 178, 8], [255, 255, 0]];
    let vienot_deutan = [[147, 147, 0], [197, 197, 0], [255, 255, 0]];
    let hot_to_warm = [[255, 0, 0], [255, 165, 0], [255, 255, 0]];
    for (vision, other) in [
        (Vision::Protan, vienot_protan),
        (Vision::Deutan, vienot_deutan),
    ] {
        let ours = hot_to_warm.map(|rgb| colour::relative_luminance(vision.see(rgb)));
        let theirs = other.map(colour::relative_luminance);
        assert!(ours.is_sorted() && theirs.is_sorted());
        for (a, b) in ours.into_iter().zip(theirs) {
            // The two models scale protan yellow differently: 0.86 against 0.93.
            assert!((a - b).abs() < 0.1, "{vision}: {ours:?} {theirs:?}");
        }
    }
}
