//! Shapes as signed distances: negative inside, positive outside, in the unit of the coordinates.

/// A point: right, down.
pub(super) type Point = (f64, f64);

/// Distance to a disc.
pub(super) fn disc(p: Point, centre: Point, radius: f64) -> f64 {
    (p.0 - centre.0).hypot(p.1 - centre.1) - radius
}

/// Distance, good near the border, to an ellipse with level and upright axes.
pub(super) fn ellipse(p: Point, centre: Point, radii: Point) -> f64 {
    let (x, y) = (p.0 - centre.0, p.1 - centre.1);
    let k = (x / radii.0).hypot(y / radii.1);
    let slope = (x / (radii.0 * radii.0)).hypot(y / (radii.1 * radii.1));
    if slope < 1e-12 {
        -radii.0.min(radii.1)
    } else {
        k * (k - 1.0) / slope
    }
}

/// Distance to a stroke with round ends, `thick` from `from` to `to`, whose half-widths may differ.
pub(super) fn stroke(p: Point, from: Point, to: Point, half: (f64, f64)) -> f64 {
    let (x, y) = (p.0 - from.0, p.1 - from.1);
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = dx * dx + dy * dy;
    let t = if length > 0.0 {
        ((x * dx + y * dy) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (x - t * dx).hypot(y - t * dy) - (half.0 + t * (half.1 - half.0))
}

/// Distance to a level rectangle with corners rounded by `round`.
pub(super) fn slab(p: Point, left_top: Point, right_bottom: Point, round: f64) -> f64 {
    let (mx, my) = (
        f64::midpoint(left_top.0, right_bottom.0),
        f64::midpoint(left_top.1, right_bottom.1),
    );
    let qx = (p.0 - mx).abs() - (right_bottom.0 - left_top.0) / 2.0 + round;
    let qy = (p.1 - my).abs() - (right_bottom.1 - left_top.1) / 2.0 + round;
    qx.max(0.0).hypot(qy.max(0.0)) + qx.max(qy).min(0.0) - round
}

/// Union with a fillet of about `k` where the two meet.
pub(super) fn join(a: f64, b: f64, k: f64) -> f64 {
    let h = (k - (a - b).abs()).max(0.0) / k;
    a.min(b) - h * h * k / 4.0
}

/// Share of a pixel inside, for the distance of its middle in pixels.
pub(super) fn share(distance_px: f64) -> f64 {
    (0.5 - distance_px).clamp(0.0, 1.0)
}

/// A standing person: head at the top (0 down), feet at 1; the middle at 0 right.
pub(super) fn person(p: Point) -> f64 {
    let mut body = join(
        stroke(p, (-0.058, 0.225), (-0.03, 0.45), (0.055, 0.05)),
        stroke(p, (0.058, 0.225), (0.03, 0.45), (0.055, 0.05)),
        0.05,
    );
    body = join(
        body,
        stroke(p, (0.0, 0.13), (0.0, 0.2), (0.028, 0.036)),
        0.03,
    );
    body = join(
        body,
        stroke(p, (-0.042, 0.505), (0.042, 0.505), (0.05, 0.05)),
        0.03,
    );
    let limbs: [(Point, Point, (f64, f64)); 10] = [
        // Arms: upper, lower; the right hand is raised a little.
        ((-0.118, 0.222), (-0.152, 0.375), (0.032, 0.027)),
        ((-0.152, 0.375), (-0.15, 0.525), (0.027, 0.02)),
        ((0.118, 0.222), (0.17, 0.365), (0.032, 0.027)),
        ((0.17, 0.365), (0.205, 0.485), (0.027, 0.02)),
        // Legs: thigh, shin, foot.
        ((-0.05, 0.53), (-0.06, 0.735), (0.052, 0.038)),
        ((-0.06, 0.735), (-0.066, 0.935), (0.037, 0.026)),
        ((-0.066, 0.965), (-0.105, 0.975), (0.026, 0.018)),
        ((0.05, 0.53), (0.066, 0.735), (0.052, 0.038)),
        ((0.066, 0.735), (0.08, 0.935), (0.037, 0.026)),
        ((0.08, 0.965), (0.12, 0.975), (0.026, 0.018)),
    ];
    for (from, to, half) in limbs {
        body = join(body, stroke(p, from, to, half), 0.015);
    }
    for hand in [(-0.15, 0.55), (0.212, 0.508)] {
        body = join(body, disc(p, hand, 0.025), 0.01);
    }
    join(body, ellipse(p, (0.0, 0.075), (0.054, 0.074)), 0.012)
}

/// A leaning ladder in a box 1 high; rails are `half` thick to each side.
pub(super) fn ladder(p: Point, half: f64) -> f64 {
    let (left_foot, left_head) = ((-0.15, 1.0), (-0.055, 0.0));
    let (right_foot, right_head) = ((0.13, 1.0), (0.115, 0.0));
    let at = |a: Point, b: Point, t: f64| (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1));
    let mut nearest = stroke(p, left_foot, left_head, (half, half)).min(stroke(
        p,
        right_foot,
        right_head,
        (half, half),
    ));
    for i in 0..8_u32 {
        let t = 0.08 + 0.12 * f64::from(i);
        let rung = (at(left_foot, left_head, t), at(right_foot, right_head, t));
        nearest = nearest.min(stroke(p, rung.0, rung.1, (half * 0.9, half * 0.9)));
    }
    nearest
}

/// A stage lantern hanging from the ceiling in a box 1 high: hook, yoke, body, lens barrel.
pub(super) fn lantern(p: Point, half: f64) -> f64 {
    let hook = stroke(p, (0.0, 0.0), (0.0, 0.24), (half, half));
    let yoke = stroke(p, (-0.27, 0.62), (-0.27, 0.3), (half, half))
        .min(stroke(p, (-0.27, 0.3), (0.27, 0.3), (half, half)))
        .min(stroke(p, (0.27, 0.3), (0.27, 0.62), (half, half)));
    let body = slab(p, (-0.21, 0.38), (0.21, 0.8), 0.07);
    let barrel = slab(p, (-0.16, 0.76), (0.16, 0.94), 0.03);
    let lip = slab(p, (-0.22, 0.9), (0.22, 1.0), 0.03);
    hook.min(yoke).min(join(body, barrel, 0.06)).min(lip)
}

/// A flame whose bowl has radius 1 around the origin; it is about 2.9 high.
pub(super) fn flame(p: Point) -> f64 {
    let bowl = disc(p, (0.0, 0.0), 1.0);
    let main = stroke(p, (0.0, -0.2), (0.12, -1.75), (0.8, 0.12));
    let left = stroke(p, (-0.5, -0.2), (-0.62, -1.15), (0.42, 0.08));
    let right = stroke(p, (0.55, -0.1), (0.72, -0.95), (0.36, 0.07));
    join(join(bowl, main, 0.3), left.min(right), 0.2)
}
