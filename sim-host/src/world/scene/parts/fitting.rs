//! Takes furniture and equipment apart.

use glam::DVec3;

use super::Parts;
use crate::world::scene::shape::{Region, Shape};

/// Furniture and equipment.
pub(super) fn fitting(parts: &mut Parts, shape: &Shape) {
    let (main, fittings) = (Region::Main, Region::Fittings);
    match shape {
        Shape::Ladder {
            length_m,
            width_m,
            rung_spacing_m,
        } => {
            let x = width_m / 2.0;
            for (left, right) in [(-x, -x + 0.035), (x - 0.035, x)] {
                parts.block(
                    DVec3::new(left, -0.04, 0.0),
                    DVec3::new(right, 0.04, *length_m),
                    main,
                );
            }
            let mut z = *rung_spacing_m;
            while z < length_m - 0.05 {
                let end = DVec3::new(x - 0.03, 0.0, z);
                parts.tube(DVec3::new(-end.x, 0.0, z), end, (0.018, 0.018), fittings);
                z += rung_spacing_m.max(0.05);
            }
        }
        Shape::GasCylinder { radius_m, height_m } => {
            let r = *radius_m;
            let shoulder = (height_m - 0.12 - 0.8 * r).max(0.2 * height_m);
            parts.tube(DVec3::ZERO, DVec3::Z * shoulder, (r, r), main);
            let dome = DVec3::new(r, r, 0.8 * r);
            parts.egg(DVec3::Z * shoulder, DVec3::Z, DVec3::Y, dome, main);
            let neck = shoulder + 0.7 * r;
            parts.tube(
                DVec3::Z * neck,
                DVec3::Z * (height_m - 0.06),
                (0.32 * r, 0.26 * r),
                main,
            );
            let valve = |x: f64, z: f64| DVec3::new(x, 0.0, height_m + z);
            parts.tube(
                valve(0.0, -0.07),
                valve(0.0, 0.0),
                (0.14 * r, 0.14 * r),
                fittings,
            );
            parts.tube(
                valve(0.0, -0.035),
                valve(0.45 * r, -0.035),
                (0.1 * r, 0.1 * r),
                fittings,
            );
            parts.tube(
                valve(0.0, -0.012),
                valve(0.0, 0.0),
                (0.34 * r, 0.34 * r),
                fittings,
            );
        }
        Shape::Crate { size } => {
            let b = 0.07_f64.min(0.2 * size.min_element());
            let inset = 0.015_f64.min(0.3 * b);
            let half = DVec3::new(size.x / 2.0, size.y / 2.0, 0.0);
            let skin = DVec3::new(inset, inset, inset);
            parts.block(-half + skin, half + DVec3::Z * size.z - skin, main);
            battens(parts, *size, b);
        }
        Shape::Rack { size, boards } => {
            posts(parts, *size, 0.045);
            let boards = (*boards).max(1);
            for board in 0..boards {
                let share = f64::from(board) / f64::from(boards.saturating_sub(1).max(1));
                let z = 0.08 + share * (size.z - 0.12);
                parts.block(
                    DVec3::new(-size.x / 2.0, -size.y / 2.0, z),
                    DVec3::new(size.x / 2.0, size.y / 2.0, z + 0.03),
                    fittings,
                );
            }
        }
        Shape::Bench { size } => {
            let legs = DVec3::new(size.x - 0.1, size.y - 0.1, size.z - 0.05);
            posts(parts, legs, 0.07);
            let (x, y) = (size.x / 2.0, size.y / 2.0);
            parts.block(
                DVec3::new(-x, -y, size.z - 0.05),
                DVec3::new(x, y, size.z),
                fittings,
            );
            parts.block(
                DVec3::new(-x + 0.06, -y + 0.06, 0.15),
                DVec3::new(x - 0.06, y - 0.06, 0.19),
                main,
            );
        }
        _ => {}
    }
}

/// Battens along the edges of the front, back and sides of a crate.
fn battens(parts: &mut Parts, size: DVec3, b: f64) {
    let (x, y, z) = (size.x / 2.0, size.y / 2.0, size.z);
    let depth = 0.3 * b;
    for (low, high) in [(-y, -y + depth), (y - depth, y)] {
        let mut bar = |x0: f64, z0: f64, x1: f64, z1: f64| {
            parts.block(
                DVec3::new(x0, low, z0),
                DVec3::new(x1, high, z1),
                Region::Fittings,
            );
        };
        bar(-x, 0.0, x, b);
        bar(-x, z - b, x, z);
        bar(-x, b, -x + b, z - b);
        bar(x - b, b, x, z - b);
        let middle = (z - b) / 2.0;
        bar(-x + b, middle, x - b, middle + b);
    }
    for (low, high) in [(-x, -x + depth), (x - depth, x)] {
        for (z0, z1) in [(0.0, b), (z - b, z)] {
            parts.block(
                DVec3::new(low, -y + depth, z0),
                DVec3::new(high, y - depth, z1),
                Region::Fittings,
            );
        }
    }
}

fn posts(parts: &mut Parts, size: DVec3, side: f64) {
    let (x, y) = (size.x / 2.0, size.y / 2.0);
    for left in [-x, x - side] {
        for front in [-y, y - side] {
            parts.block(
                DVec3::new(left, front, 0.0),
                DVec3::new(left + side, front + side, size.z),
                Region::Main,
            );
        }
    }
}
