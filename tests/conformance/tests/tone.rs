//! Plateau-limited equalisation against planes and vectors computed outside the project.
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    reason = "test code"
)]

use glowsill_core::stage::scale::plateau_curve;
use glowsill_oracle::number::code8;
use glowsill_oracle::scale::plateau_lut;
use sha2::{Digest, Sha256};

const PICTURE: &[u8] = include_bytes!("../data/tone_in_64x48.u16");
const UNLIMITED: u32 = 1_000_000_000;

struct Case {
    shift: u32,
    plateau: u32,
    bins: (usize, usize),
    total: u32,
}

// Source: data/README.md; parameters and totals as recorded by the outside implementations.
const PLATEAU_1: Case = Case {
    shift: 4,
    plateau: 1,
    bins: (500, 3375),
    total: 99,
};
const PLATEAU_8: Case = Case {
    shift: 4,
    plateau: 8,
    bins: (501, 3175),
    total: 533,
};
const PLATEAU_INF: Case = Case {
    shift: 4,
    plateau: UNLIMITED,
    bins: (501, 3175),
    total: 3050,
};
const COARSE: Case = Case {
    shift: 6,
    plateau: 16,
    bins: (125, 768),
    total: 398,
};

fn picture() -> Vec<u16> {
    PICTURE
        .chunks(2)
        .map(|pair| u16::from_le_bytes([pair[0], pair[1]]))
        .collect()
}

fn histogram(case: &Case) -> Vec<u32> {
    let mut histogram = vec![0; 65_536 >> case.shift];
    for value in picture() {
        histogram[usize::from(value >> case.shift)] += 1;
    }
    histogram
}

fn plane(case: &Case, lut: &[u8]) -> Vec<u8> {
    picture()
        .iter()
        .map(|value| lut[usize::from(value >> case.shift)])
        .collect()
}

fn oracle_plane(case: &Case) -> Vec<u8> {
    let histogram: Vec<usize> = histogram(case).iter().map(|&n| n as usize).collect();
    let lut = plateau_lut(&histogram, case.bins.0, case.bins.1, case.plateau as usize);
    plane(
        case,
        &lut.iter().map(|&level| code8(level)).collect::<Vec<u8>>(),
    )
}

/// Core's curve read at the upper edge of each bin, as the cumulative formula does.
fn core_levels(histogram: &[u32], bins: (usize, usize), plateau: u32) -> Vec<u32> {
    let mut edges = vec![0; histogram.len() + 1];
    assert!(plateau_curve(
        histogram,
        bins.0,
        bins.1,
        plateau,
        |_| u32::MAX,
        &mut edges
    ));
    edges[1..].to_vec()
}

fn core_plane(case: &Case) -> Vec<u8> {
    let levels = core_levels(&histogram(case), case.bins, case.plateau);
    let lut: Vec<u8> = levels
        .iter()
        .map(|q16| ((q16 + (1 << 15)) >> 16) as u8)
        .collect();
    plane(case, &lut)
}

fn check_plane(case: &Case, expected: &[u8]) {
    let (lo, hi) = case.bins;
    let total: u32 = histogram(case)[lo..=hi]
        .iter()
        .map(|&n| n.min(case.plateau))
        .sum();
    assert_eq!(total, case.total);
    assert_eq!(oracle_plane(case), expected);
    assert_eq!(core_plane(case), expected);
}

#[test]
fn the_picture_is_the_recorded_one() {
    // Source: SHA-256 recorded with the picture.
    let digest = hex(&Sha256::digest(PICTURE));
    assert_eq!(
        digest,
        "d1e582c27ebc28c769723e48d48d07f9240562375c1633ba9a2fd44c0c4b4d5f"
    );
}

#[test]
fn equalisation_reproduces_the_outside_planes() {
    // Source: data/tone_plateau_*.u8, two independent implementations, equal byte for byte.
    check_plane(&PLATEAU_1, include_bytes!("../data/tone_plateau_1.u8"));
    check_plane(&PLATEAU_8, include_bytes!("../data/tone_plateau_8.u8"));
    check_plane(&PLATEAU_INF, include_bytes!("../data/tone_plateau_inf.u8"));
}

#[test]
fn equalisation_with_coarse_bins_has_the_recorded_digest() {
    // Source: SHA-256 recorded by the outside implementations; here bins above the last one exist.
    let expected = "6ba1603090e0744fe86a521b95bb8073e4c474014146a98ab4137cd2f2bc4817";
    assert_eq!(hex(&Sha256::digest(oracle_plane(&COARSE))), expected);
    assert_eq!(hex(&Sha256::digest(core_plane(&COARSE))), expected);
}

#[test]
fn the_toy_histogram_gives_the_textbook_tables() {
    // Source: h'(k) = min(h(k), P), out(k) = floor(255·C'(k)/C'(max)), Vickers, Opt. Eng. 35(7),
    // 1996 (from memory, not seen); the three tables calculated by hand from the formula.
    let toy = [0, 400, 100, 2, 1, 0, 3, 50, 4, 0];
    let tables: [(u32, [u32; 10]); 3] = [
        (UNLIMITED, [0, 182, 227, 228, 229, 229, 230, 253, 255, 255]),
        (20, [0, 72, 145, 153, 156, 156, 167, 240, 255, 255]),
        (1, [0, 36, 72, 109, 145, 145, 182, 218, 255, 255]),
    ];
    for (plateau, expected) in tables {
        let counts: Vec<usize> = toy.iter().map(|&n| n as usize).collect();
        let oracle = plateau_lut(&counts, 0, 9, plateau as usize);
        assert_eq!(oracle.map_floor(), expected, "oracle, plateau {plateau}");
        let core = core_levels(&toy, (0, 9), plateau);
        for (bin, (level, exact)) in core.iter().zip(&oracle).enumerate() {
            let error = (f64::from(*level) / 65_536.0 - exact).abs();
            assert!(error < 0.001, "core, plateau {plateau}, bin {bin}: {error}");
        }
    }
}

trait MapFloor {
    fn map_floor(&self) -> Vec<u32>;
}

impl MapFloor for Vec<f64> {
    #[allow(clippy::cast_sign_loss, reason = "levels are 0 to 255")]
    fn map_floor(&self) -> Vec<u32> {
        self.iter().map(|level| level.floor() as u32).collect()
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
