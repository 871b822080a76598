//! Derives the default band colours, the tint and the ceiling colour; `docs/decisions/0003-default-colours.md`
//! states the rules and quotes this program's result.
//!
//! Run with `cargo run -p glowsill --example derive_colours`. It searches exhaustively on a grid, so
//! that the result is the same everywhere.

#![allow(clippy::type_complexity, reason = "one search, one tuple")]

use std::collections::BTreeMap;

use glowsill::photometry::colour::{self, Lab};
use glowsill::photometry::deficiency::Vision;
use glowsill::photometry::panel_model::PanelModel;
use glowsill_core::panel::Rgb888;
use glowsill_core::stage::overlay::TintCurve;
use rayon::prelude::*;

/// Greys at which neighbours must keep their distance.
const GREYS: [u8; 5] = [96, 128, 160, 200, 255];
/// Least CIEDE2000 difference for normal, protan, deutan and tritan vision.
const LIMITS: [f64; 4] = [10.0, 5.0, 5.0, 5.0];
/// Least change of hue from band to band, in degrees.
const HUE_STEP: f64 = 4.0;
/// Least share of the plain picture's separation (JND) that a bar keeps behind every colour.
const LEAST_DETAIL: f64 = 0.5;
/// Step of the grid of codes for the bands.
const GRID: usize = 5;
/// Pairs closer than this many limits are not looked at further.
const FLOOR: f64 = 0.5;

/// A colour under one tint, as every observer sees it.
struct Candidate {
    rgb: [u8; 3],
    hue: f64,
    seen: [[Lab; GREYS.len()]; 4],
    luminance: [[f64; GREYS.len()]; 4],
    /// Smallest difference from the grey beside it, in limits.
    from_grey: f64,
    /// Smallest share of the plain separation that a bar keeps behind it.
    detail: f64,
}

fn tinted(tint: &TintCurve, rgb: [u8; 3], grey: u8) -> [u8; 3] {
    let c = tint.apply(Rgb888::new(rgb[0], rgb[1], rgb[2]), grey);
    [c.r, c.g, c.b]
}

fn hue(rgb: [u8; 3]) -> f64 {
    let [r, g, b] = rgb.map(f64::from);
    let (top, low) = (r.max(g).max(b), r.min(g).min(b));
    let span = (top - low).max(1e-9);
    let sector = if top <= r {
        (g - b) / span
    } else if top <= g {
        2.0 + (b - r) / span
    } else {
        4.0 + (r - g) / span
    };
    (60.0 * sector).rem_euclid(360.0)
}

fn grid(step: usize) -> impl Iterator<Item = u8> + Clone {
    (0..=255u8).step_by(step)
}

fn candidates(tint: &TintCurve, knee: u8, panel: &PanelModel) -> Vec<Candidate> {
    let table = panel.table();
    let mut found = Vec::new();
    for r in grid(GRID) {
        for g in grid(GRID).filter(|g| *g <= r) {
            let rgb = [r, g, 0];
            // Red of at least the knee keeps every mixture of two candidates strictly ordered too.
            if r < knee || tint.strict_steps(Rgb888::new(r, g, 0)) < 255 {
                continue;
            }
            let appearance = |v: Vision| GREYS.map(|grey| v.see_lab(tinted(tint, rgb, grey)));
            let light = |v: Vision| {
                GREYS.map(|grey| {
                    let linear = v.see_linear(colour::linear(tinted(tint, rgb, grey)));
                    glowsill::photometry::gsdf::jnd(panel.luminance_of_linear(linear))
                })
            };
            let seen = Vision::ALL.map(appearance);
            let mut from_grey = f64::INFINITY;
            for (labs, limit) in seen.iter().zip(LIMITS) {
                for (lab, grey) in labs.iter().zip(GREYS) {
                    from_grey =
                        from_grey.min(colour::ciede2000(*lab, colour::lab([grey; 3])) / limit);
                }
            }
            let mut detail = f64::INFINITY;
            for (a, b) in [(88, 104), (120, 136), (152, 168), (192, 208), (232, 248)] {
                let behind = table.jnd(tinted(tint, rgb, b)) - table.jnd(tinted(tint, rgb, a));
                detail = detail.min(behind / (table.jnd([b; 3]) - table.jnd([a; 3])));
            }
            let luminance = Vision::ALL.map(light);
            found.push(Candidate {
                rgb,
                hue: hue(rgb),
                seen,
                luminance,
                from_grey,
                detail,
            });
        }
    }
    found
}

/// Smallest difference of two neighbours in limits, 0 where hue or luminance does not fall.
fn step(cooler: &Candidate, hotter: &Candidate) -> f64 {
    if cooler.hue - hotter.hue < HUE_STEP {
        return 0.0;
    }
    let mut least = f64::INFINITY;
    for (vision, limit) in LIMITS.iter().enumerate() {
        for grey in 0..GREYS.len() {
            if cooler.luminance[vision][grey] - hotter.luminance[vision][grey] < 1.0 {
                return 0.0;
            }
            let difference =
                colour::ciede2000(cooler.seen[vision][grey], hotter.seen[vision][grey]);
            least = least.min(difference / limit);
            if least < FLOOR {
                return 0.0;
            }
        }
    }
    least
}

/// The chain of `count` colours from yellow to red whose worst step is best, and that step in limits.
fn best_chain(all: &[Candidate], steps: &[Vec<f64>], count: usize) -> Option<(f64, Vec<usize>)> {
    let start = |c: &Candidate| if c.hue >= 52.0 { c.from_grey } else { 0.0 };
    let mut layers: Vec<Vec<(f64, usize)>> = vec![all.iter().map(|c| (start(c), 0)).collect()];
    for _ in 1..count {
        let before = layers.last()?;
        let next = (0..all.len())
            .map(|j| {
                let mut best = (0.0, 0);
                for i in 0..all.len() {
                    let score = before[i].0.min(steps[i][j]).min(all[j].from_grey);
                    if score > best.0 {
                        best = (score, i);
                    }
                }
                best
            })
            .collect();
        layers.push(next);
    }
    let last = layers.last()?;
    let red = |i: &usize| all[*i].hue <= 8.0 && last[*i].0 > 0.0;
    let mut at = (0..all.len())
        .filter(red)
        .max_by(|a, b| last[*a].0.total_cmp(&last[*b].0))?;
    let score = last[at].0;
    let mut chain = vec![at];
    for layer in layers.iter().skip(1).rev() {
        at = layer[at].1;
        chain.push(at);
    }
    chain.reverse();
    Some((score, chain))
}

/// The opaque colour of warm hue farthest from every grey and every tinted band colour.
fn best_ceiling(tint: &TintCurve, bands: &[[u8; 3]]) -> Option<(f64, [u8; 3])> {
    let mut others: Vec<[Lab; 4]> = Vec::new();
    for grey in (0..=255u8).step_by(5) {
        others.push(Vision::ALL.map(|v| v.see_lab([grey; 3])));
        for band in bands {
            others.push(Vision::ALL.map(|v| v.see_lab(tinted(tint, *band, grey))));
        }
    }
    let mut best: Option<(f64, [u8; 3])> = None;
    for r in grid(15) {
        for g in grid(15) {
            for b in grid(15) {
                let rgb = [r, g, b];
                // From magenta to rose: the side of red that does not read as cool.
                if !(300.0..=345.0).contains(&hue(rgb)) {
                    continue;
                }
                let seen = Vision::ALL.map(|v| v.see_lab(rgb));
                let mut least = f64::INFINITY;
                for other in &others {
                    for vision in 0..4 {
                        let difference = colour::ciede2000(seen[vision], other[vision]);
                        least = least.min(difference / LIMITS[vision]);
                    }
                }
                if best.is_none_or(|(score, _)| least > score) {
                    best = Some((least, rgb));
                }
            }
        }
    }
    best
}

fn main() {
    let panel = PanelModel::default();
    let mut winners: BTreeMap<usize, (f64, u8, u8, Vec<[u8; 3]>)> = BTreeMap::new();
    println!("bands knee lift  worst/limit  least detail  colours");
    for knee in (130..=220u8).step_by(10) {
        for lift in (100..=200u8).step_by(10) {
            let tint = TintCurve::new(knee, lift);
            let usable = |c: &Candidate| c.detail >= LEAST_DETAIL && c.from_grey >= FLOOR;
            let all: Vec<Candidate> = candidates(&tint, knee, &panel)
                .into_iter()
                .filter(usable)
                .collect();
            let steps: Vec<Vec<f64>> = all
                .par_iter()
                .map(|a| all.iter().map(|b| step(a, b)).collect())
                .collect();
            for count in 3..=6 {
                let Some((score, chain)) = best_chain(&all, &steps, count) else {
                    continue;
                };
                let colours: Vec<[u8; 3]> = chain.iter().map(|i| all[*i].rgb).collect();
                let detail = chain
                    .iter()
                    .map(|i| all[*i].detail)
                    .fold(f64::INFINITY, f64::min);
                println!("{count:5} {knee:4} {lift:4}  {score:11.3}  {detail:12.3}  {colours:?}");
                if winners.get(&count).is_none_or(|(best, ..)| score > *best) {
                    winners.insert(count, (score, knee, lift, colours));
                }
            }
        }
    }
    for (count, (score, knee, lift, colours)) in winners {
        println!(
            "=> {count} bands: worst {score:.3} limits, knee {knee}, lift {lift}, {colours:?}"
        );
        let tint = TintCurve::new(knee, lift);
        if let Some((score, rgb)) = best_ceiling(&tint, &colours) {
            let hue = hue(rgb);
            println!("   ceiling {rgb:?}, hue {hue:.0}, at least {score:.3} limits from all");
        }
        for grey in [32u8, 48, 64, 80, 96, 128, 160, 200, 230, 255] {
            let least = Vision::ALL.map(|v| {
                let seen = |rgb: &[u8; 3]| v.see_lab(tinted(&tint, *rgb, grey));
                let distance = |pair: &[[u8; 3]]| colour::ciede2000(seen(&pair[0]), seen(&pair[1]));
                colours
                    .windows(2)
                    .map(distance)
                    .fold(f64::INFINITY, f64::min)
            });
            println!("   grey {grey:3}: least neighbour difference by vision {least:.1?}");
        }
    }
}
