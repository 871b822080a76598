//! Closed forms of view factors: the share of what one surface radiates that another receives.
//!
//! Source: catalogues of configuration factors (Howell; Incropera and DeWitt, table 13.2), from
//! memory, not seen; the tests integrate each numerically and compare.

use std::f64::consts::PI;

/// From one of two equal rectangles, directly opposed, to the other; metres.
///
/// ```
/// use glowsill::world::fire::view_factor::parallel_rectangles;
/// assert!((parallel_rectangles(1.0, 1.0, 1.0) - 0.1998).abs() < 1e-4); // opposite faces of a cube
/// ```
#[must_use]
pub fn parallel_rectangles(width_m: f64, height_m: f64, distance_m: f64) -> f64 {
    let (x, y) = (width_m / distance_m, height_m / distance_m);
    let (x1, y1) = (1.0 + x * x, 1.0 + y * y);
    let corner = 0.5 * (x1 * y1 / (x1 + y * y)).ln();
    let sides = x * y1.sqrt() * (x / y1.sqrt()).atan() + y * x1.sqrt() * (y / x1.sqrt()).atan();
    2.0 / (PI * x * y) * (corner + sides - x * x.atan() - y * y.atan())
}

/// From a rectangle to another that meets it at a right angle in a common edge; metres. `depth_m` is
/// the extent of the first, `height_m` of the second, both away from the edge.
///
/// ```
/// use glowsill::world::fire::view_factor::perpendicular_rectangles;
/// assert!((perpendicular_rectangles(1.0, 1.0, 1.0) - 0.2000).abs() < 1e-4); // neighbours in a cube
/// ```
#[must_use]
pub fn perpendicular_rectangles(edge_m: f64, depth_m: f64, height_m: f64) -> f64 {
    let (w, h) = (depth_m / edge_m, height_m / edge_m);
    let (w2, h2) = (w * w, h * h);
    let diagonal = (h2 + w2).sqrt();
    let angles = w * (1.0 / w).atan() + h * (1.0 / h).atan() - diagonal * (1.0 / diagonal).atan();
    let (a, b) = (1.0 + w2, 1.0 + h2);
    let sum = 1.0 + w2 + h2;
    let logs = (a * b / sum).ln()
        + w2 * (w2 * sum / (a * (w2 + h2))).ln()
        + h2 * (h2 * sum / (b * (h2 + w2))).ln();
    (angles + 0.25 * logs) / (PI * w)
}

/// From a small target to a rectangle that it faces, the foot of its normal on a corner of the
/// rectangle; metres. For a target before another place add or subtract four such rectangles.
///
/// ```
/// use glowsill::world::fire::view_factor::target_before_corner;
/// // An endless plane: a quarter of it from the corner.
/// assert!((target_before_corner(1e6, 1e6, 1.0) - 0.25).abs() < 1e-5);
/// ```
#[must_use]
pub fn target_before_corner(width_m: f64, height_m: f64, distance_m: f64) -> f64 {
    let (x, y) = (width_m / distance_m, height_m / distance_m);
    let (x1, y1) = ((1.0 + x * x).sqrt(), (1.0 + y * y).sqrt());
    (x / x1 * (y / x1).atan() + y / y1 * (x / y1).atan()) / (2.0 * PI)
}

/// From a small target to a rectangle at a right angle to it: the rectangle stands on the target's
/// own plane, the foot of the target's perpendicular on a lower corner; metres.
#[must_use]
pub fn target_beside_corner(width_m: f64, height_m: f64, distance_m: f64) -> f64 {
    let (x, y) = (width_m / distance_m, height_m / distance_m);
    let y1 = (1.0 + y * y).sqrt();
    (x.atan() - (x / y1).atan() / y1) / (2.0 * PI)
}

/// From a small target to a rectangle whose middle it faces; metres.
///
/// ```
/// use glowsill::world::fire::view_factor::target_before_middle;
/// assert!((target_before_middle(1e6, 1e6, 1.0) - 1.0).abs() < 1e-5);
/// ```
#[must_use]
pub fn target_before_middle(width_m: f64, height_m: f64, distance_m: f64) -> f64 {
    4.0 * target_before_corner(0.5 * width_m, 0.5 * height_m, distance_m)
}
