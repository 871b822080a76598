//! View factors against handbook values and against integration by brute force.

use std::f64::consts::PI;

use glowsill::world::fire::view_factor::{
    parallel_rectangles, perpendicular_rectangles, target_before_corner, target_before_middle,
    target_beside_corner,
};

/// Middles of `n` equal parts of 0 to `length`.
fn middles(length: f64, n: u32) -> impl Iterator<Item = f64> + Clone {
    (0..n).map(move |i| length * (f64::from(i) + 0.5) / f64::from(n))
}

fn integrated_parallel(a: f64, b: f64, c: f64, n: u32) -> f64 {
    let part = (a / f64::from(n)) * (b / f64::from(n));
    let mut sum = 0.0;
    for x1 in middles(a, n) {
        for y1 in middles(b, n) {
            for x2 in middles(a, n) {
                for y2 in middles(b, n) {
                    let r2 = (x1 - x2).powi(2) + (y1 - y2).powi(2) + c * c;
                    sum += c * c / (PI * r2 * r2) * part * part;
                }
            }
        }
    }
    sum / (a * b)
}

fn integrated_perpendicular(edge: f64, depth: f64, height: f64, n: u32) -> f64 {
    let first = (edge / f64::from(n)) * (depth / f64::from(n));
    let second = (edge / f64::from(n)) * (height / f64::from(n));
    let mut sum = 0.0;
    for x1 in middles(edge, n) {
        for y in middles(depth, n) {
            for x2 in middles(edge, n) {
                for z in middles(height, n) {
                    let r2 = (x1 - x2).powi(2) + y * y + z * z;
                    sum += y * z / (PI * r2 * r2) * first * second;
                }
            }
        }
    }
    sum / (edge * depth)
}

// Source: integration of cosθ₁ cosθ₂/(π r²) over both faces by midpoints, independent of the closed form.
// Near a common edge midpoints converge with 1/n: two counts and Richardson's rule.
#[test]
fn closed_forms_agree_with_integration() {
    for (a, b, c) in [(1.0, 1.0, 1.0), (2.0, 1.0, 0.8), (4.0, 3.0, 2.4)] {
        let found = parallel_rectangles(a, b, c);
        let expected = integrated_parallel(a, b, c, 24);
        assert!((found / expected - 1.0).abs() < 2e-3, "{found} {expected}");
    }
    for (edge, depth, height) in [(1.0, 1.0, 1.0), (2.0, 1.0, 1.5), (1.0, 3.0, 0.7)] {
        let found = perpendicular_rectangles(edge, depth, height);
        let coarse = integrated_perpendicular(edge, depth, height, 16);
        let fine = integrated_perpendicular(edge, depth, height, 32);
        let expected = 2.0 * fine - coarse;
        assert!((found / expected - 1.0).abs() < 5e-3, "{found} {expected}");
    }
}

// Source: opposite and neighbouring faces of a cube, 0.1998 and 0.2000 (Incropera and DeWitt, figures
// 13.4 and 13.5, from memory, not seen); the faces that one face sees sum to 1.
#[test]
fn a_cube_is_closed() {
    let opposite = parallel_rectangles(1.0, 1.0, 1.0);
    let beside = perpendicular_rectangles(1.0, 1.0, 1.0);
    assert!((opposite - 0.1998).abs() < 1e-4);
    assert!((beside - 0.2000).abs() < 1e-4);
    assert!((opposite + 4.0 * beside - 1.0).abs() < 1e-9);
    // So do those of a room, seen from its floor of 5 m × 4 m, 2.6 m high.
    let sum = parallel_rectangles(5.0, 4.0, 2.6)
        + 2.0 * perpendicular_rectangles(5.0, 4.0, 2.6)
        + 2.0 * perpendicular_rectangles(4.0, 5.0, 2.6);
    assert!((sum - 1.0).abs() < 1e-9);
}

// Source: reciprocity, A₁F₁₂ = A₂F₂₁.
#[test]
fn perpendicular_rectangles_are_reciprocal() {
    let there = perpendicular_rectangles(2.0, 1.5, 0.7) * 1.5;
    let back = perpendicular_rectangles(2.0, 0.7, 1.5) * 0.7;
    assert!((there / back - 1.0).abs() < 1e-9);
}

// Source: integration of cosθ₁ cosθ₂/(π r²) over the rectangle by midpoints.
#[test]
fn targets_agree_with_integration() {
    let n = 400;
    for (w, h, d) in [(1.0, 2.0, 1.5), (3.0, 0.5, 1.0)] {
        let part = (w / f64::from(n)) * (h / f64::from(n));
        let (mut before, mut beside) = (0.0, 0.0);
        for x in middles(w, n) {
            for y in middles(h, n) {
                let r2: f64 = x * x + y * y + d * d;
                before += d * d / (PI * r2 * r2) * part;
                beside += d * y / (PI * r2 * r2) * part;
            }
        }
        assert!((target_before_corner(w, h, d) / before - 1.0).abs() < 1e-4);
        assert!((target_beside_corner(w, h, d) / beside - 1.0).abs() < 1e-4);
        let middle = target_before_middle(2.0 * w, 2.0 * h, d);
        assert!((middle / (4.0 * before) - 1.0).abs() < 1e-4);
    }
}
