//! Takes shapes apart into the solids that rays meet.

mod fitting;

use glam::{DAffine3, DMat3, DVec2, DVec3};

use super::person;
use super::primitive::Primitive;
use super::shape::{Axis, Opening, Region, Shape};
use fitting::fitting;

/// A solid in the frame of its body.
pub(super) struct Part {
    pub(super) primitive: Primitive,
    pub(super) to_body: DAffine3,
    pub(super) region: Region,
}

/// Collects parts.
#[derive(Default)]
pub(super) struct Parts(pub(super) Vec<Part>);

/// Right-handed axes with z along `along` and y as near to `front` as can be.
fn axes(along: DVec3, front: DVec3) -> DMat3 {
    let z = along.normalize_or(DVec3::Z);
    let y = front.reject_from_normalized(z);
    let y = if y.length_squared() > 1e-12 {
        y.normalize()
    } else {
        z.any_orthonormal_vector()
    };
    DMat3::from_cols(y.cross(z), y, z)
}

impl Parts {
    fn add(&mut self, primitive: Primitive, to_body: DAffine3, region: Region) {
        self.0.push(Part {
            primitive,
            to_body,
            region,
        });
    }

    /// A box between two corners.
    pub(super) fn block(&mut self, low: DVec3, high: DVec3, region: Region) {
        self.add(
            Primitive::Block((high - low) / 2.0),
            DAffine3::from_translation((low + high) / 2.0),
            region,
        );
    }

    /// A cylinder or truncated cone with flat ends between two points.
    pub(super) fn tube(&mut self, from: DVec3, to: DVec3, radii: (f64, f64), region: Region) {
        let primitive = Primitive::Frustum {
            base: radii.0,
            top: radii.1,
            height: from.distance(to),
        };
        let turn = axes(to - from, DVec3::Y);
        self.add(
            primitive,
            DAffine3::from_mat3_translation(turn, from),
            region,
        );
    }

    /// Two balls and the cone between them.
    pub(super) fn limb(&mut self, from: DVec3, to: DVec3, radii: (f64, f64), region: Region) {
        self.flat_limb(from, to, radii, (DVec3::Y, 1.0), region);
    }

    /// A limb whose size along a direction is multiplied by a factor.
    pub(super) fn flat_limb(
        &mut self,
        from: DVec3,
        to: DVec3,
        radii: (f64, f64),
        flat: (DVec3, f64),
        region: Region,
    ) {
        let mut turn = axes(to - from, flat.0);
        turn.y_axis *= flat.1;
        let primitive = Primitive::RoundCone {
            base: radii.0,
            top: radii.1,
            height: from.distance(to),
        };
        self.add(
            primitive,
            DAffine3::from_mat3_translation(turn, from),
            region,
        );
    }

    /// An ellipsoid with half its sizes across, towards `front` and along `up`.
    pub(super) fn egg(
        &mut self,
        centre: DVec3,
        up: DVec3,
        front: DVec3,
        half: DVec3,
        region: Region,
    ) {
        let turn = axes(up, front) * DMat3::from_diagonal(half);
        self.add(
            Primitive::Ball,
            DAffine3::from_mat3_translation(turn, centre),
            region,
        );
    }
}

/// The parts of a shape in the frame of its body.
pub(super) fn take_apart(shape: &Shape) -> Vec<Part> {
    let mut parts = Parts::default();
    build(&mut parts, shape);
    parts.0
}

fn build(parts: &mut Parts, shape: &Shape) {
    let main = Region::Main;
    match shape {
        Shape::Box { size } => {
            let half = DVec3::new(size.x / 2.0, size.y / 2.0, 0.0);
            parts.block(-half, half + DVec3::Z * size.z, main);
        }
        Shape::Cylinder {
            radius_m,
            length_m,
            axis,
        } => {
            let along = match axis {
                Axis::X => DVec3::X,
                Axis::Y => DVec3::Y,
                Axis::Z => DVec3::Z,
            };
            parts.tube(DVec3::ZERO, along * *length_m, (*radius_m, *radius_m), main);
        }
        Shape::Cone {
            base_radius_m,
            top_radius_m,
            height_m,
        } => parts.tube(
            DVec3::ZERO,
            DVec3::Z * *height_m,
            (*base_radius_m, *top_radius_m),
            main,
        ),
        Shape::Sphere { radius_m } => parts.egg(
            DVec3::ZERO,
            DVec3::Z,
            DVec3::Y,
            DVec3::splat(*radius_m),
            main,
        ),
        Shape::Disc { radius_m } => {
            let turn = axes(DVec3::NEG_Y, DVec3::Z) * DMat3::from_diagonal(DVec3::splat(*radius_m));
            parts.add(Primitive::Disc, DAffine3::from_mat3(turn), main);
        }
        Shape::Capsule { from, to, radius_m } => {
            parts.limb(*from, *to, (*radius_m, *radius_m), main);
        }
        Shape::Quad {
            width_m,
            height_m,
            openings,
        } => {
            let turn = DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y);
            parts.add(
                Primitive::Sheet(DVec2::new(width_m / 2.0, *height_m), openings.clone()),
                DAffine3::from_mat3(turn),
                main,
            );
        }
        Shape::Plate { width_m, depth_m } => parts.add(
            Primitive::Sheet(DVec2::new(width_m / 2.0, *depth_m), Vec::new()),
            DAffine3::from_translation(DVec3::new(0.0, -depth_m / 2.0, 0.0)),
            main,
        ),
        Shape::Wall {
            width_m,
            height_m,
            thickness_m,
            openings,
        } => wall(parts, *width_m, *height_m, *thickness_m, openings),
        Shape::Person {
            height_m,
            posture,
            outfit,
        } => person::build(parts, *height_m, *posture, *outfit),
        Shape::PipeRun { points, radius_m } => {
            for pair in points.windows(2) {
                parts.limb(pair[0], pair[1], (*radius_m, *radius_m), main);
            }
        }
        Shape::Group(members) => {
            for (offset, shape) in members {
                let from = parts.0.len();
                build(parts, shape);
                for part in &mut parts.0[from..] {
                    part.to_body.translation += *offset;
                }
            }
        }
        _ => fitting(parts, shape),
    }
}

/// The boxes that a wall leaves around its openings.
fn wall(parts: &mut Parts, width: f64, height: f64, thickness: f64, openings: &[Opening]) {
    let cuts = |whole: (f64, f64), ends: &dyn Fn(&Opening) -> [f64; 2]| {
        let mut cuts = vec![whole.0, whole.1];
        cuts.extend(
            openings
                .iter()
                .flat_map(ends)
                .filter(|cut| *cut > whole.0 && *cut < whole.1),
        );
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        cuts
    };
    let across = cuts((-width / 2.0, width / 2.0), &|o| {
        [o.left_m, o.left_m + o.width_m]
    });
    let up = cuts((0.0, height), &|o| [o.bottom_m, o.bottom_m + o.height_m]);
    for x in across.windows(2) {
        // Cells of a column that touch are one box.
        let mut foot = None;
        for z in up.windows(2) {
            let middle = DVec2::new((x[0] + x[1]) / 2.0, (z[0] + z[1]) / 2.0);
            let hole = openings.iter().any(|opening| opening.holds(middle));
            if !hole && foot.is_none() {
                foot = Some(z[0]);
            }
            let top = if hole { z[0] } else { z[1] };
            if (hole || z[1] >= height)
                && let Some(from) = foot.take()
            {
                parts.block(
                    DVec3::new(x[0], 0.0, from),
                    DVec3::new(x[1], thickness, top),
                    Region::Main,
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: by hand. A wall with a doorway and a window falls into the columns left, door
    // lintel, between, sill, head and right: one box above the door, two at the window.
    #[test]
    fn a_wall_with_a_door_and_a_window_keeps_its_area() {
        let door = Opening::centred(-1.5, 0.0, 1.0, 2.0);
        let window = Opening::centred(1.5, 1.0, 1.0, 1.0);
        let parts = take_apart(&Shape::Wall {
            width_m: 6.0,
            height_m: 2.5,
            thickness_m: 0.1,
            openings: vec![door, window],
        });
        let volume: f64 = parts
            .iter()
            .map(|part| match part.primitive {
                Primitive::Block(half) => 8.0 * half.x * half.y * half.z,
                _ => f64::NAN,
            })
            .sum();
        assert!(
            (volume - (15.0 - 2.0 - 1.0) * 0.1).abs() < 1e-12,
            "{volume}"
        );
        assert_eq!(parts.len(), 6);
    }
}
