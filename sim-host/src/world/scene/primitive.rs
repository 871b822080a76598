//! The few solids that every shape is built from, and where a ray meets them.

use glam::{DVec2, DVec3};

use super::shape::Opening;

/// A solid or a sheet in a frame of its own.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Primitive {
    /// Around the origin, by half its sizes.
    Block(DVec3),
    /// From z = 0 to `height`, with flat ends; equal radii make a cylinder.
    Frustum { base: f64, top: f64, height: f64 },
    /// Of radius 1 around the origin.
    Ball,
    /// Of radius 1 around the origin, at z = 0.
    Disc,
    /// Half its width (x) and its height (y, from 0 up), at z = 0, with holes.
    Sheet(DVec2, Vec<Opening>),
    /// Two balls at z = 0 and z = `height` and the cone that touches both.
    RoundCone { base: f64, top: f64, height: f64 },
}

/// The smaller of two distances that is not below `least`.
fn first(a: f64, b: f64, least: f64) -> Option<f64> {
    let (near, far) = if a < b { (a, b) } else { (b, a) };
    if near >= least {
        Some(near)
    } else if far >= least {
        Some(far)
    } else {
        None
    }
}

/// Where a ray meets a block around the origin; `inverse` holds the reciprocals of its direction.
pub(super) fn block(half: DVec3, from: DVec3, inverse: DVec3, least: f64) -> Option<f64> {
    let (a, b) = ((-half - from) * inverse, (half - from) * inverse);
    let near = a.min(b).max_element();
    let far = a.max(b).min_element();
    if near > far {
        None
    } else {
        first(near, far, least)
    }
}

impl Primitive {
    /// Corners of the box around it.
    pub(super) fn bounds(&self) -> (DVec3, DVec3) {
        match self {
            Self::Block(half) => (-*half, *half),
            Self::Frustum { base, top, height } => {
                let r = base.max(*top);
                (DVec3::new(-r, -r, 0.0), DVec3::new(r, r, *height))
            }
            Self::Ball => (DVec3::NEG_ONE, DVec3::ONE),
            Self::Disc => (DVec3::new(-1.0, -1.0, 0.0), DVec3::new(1.0, 1.0, 0.0)),
            Self::Sheet(size, _) => (
                DVec3::new(-size.x, 0.0, 0.0),
                DVec3::new(size.x, size.y, 0.0),
            ),
            Self::RoundCone { base, top, height } => {
                let r = base.max(*top);
                (
                    DVec3::new(-r, -r, -base),
                    DVec3::new(r, r, (height + top).max(*base)),
                )
            }
        }
    }

    /// Whether it has an inside.
    pub(super) fn solid(&self) -> bool {
        !matches!(self, Self::Disc | Self::Sheet(..))
    }

    /// Multiple of `along` from `from` to the nearest point met, not below `least`.
    pub(super) fn meet(&self, from: DVec3, along: DVec3, least: f64) -> Option<f64> {
        match self {
            Self::Block(half) => block(*half, from, along.recip(), least),
            Self::Frustum { base, top, height } => {
                frustum(from, along, least, *base, *top, *height)
            }
            Self::Ball => {
                let a = along.length_squared();
                let b = from.dot(along);
                let root = b * b - a * (from.length_squared() - 1.0);
                if root < 0.0 {
                    return None;
                }
                let root = root.sqrt();
                first((-b - root) / a, (-b + root) / a, least)
            }
            Self::Disc => {
                let t = -from.z / along.z;
                let at = (from + along * t).truncate();
                (t >= least && at.length_squared() <= 1.0).then_some(t)
            }
            Self::Sheet(size, holes) => {
                let t = -from.z / along.z;
                let at = (from + along * t).truncate();
                let inside = at.x.abs() <= size.x && at.y >= 0.0 && at.y <= size.y;
                (t >= least && inside && !holes.iter().any(|hole| hole.holds(at))).then_some(t)
            }
            Self::RoundCone { base, top, height } => {
                round_cone(from, along, *base, *top, *height).filter(|t| *t >= least)
            }
        }
    }

    /// Direction (of any length) that points outward at a point of the surface.
    pub(super) fn normal(&self, at: DVec3) -> DVec3 {
        match self {
            Self::Block(half) => {
                let share = (at / *half).abs();
                if share.x >= share.y && share.x >= share.z {
                    DVec3::X * at.x.signum()
                } else if share.y >= share.z {
                    DVec3::Y * at.y.signum()
                } else {
                    DVec3::Z * at.z.signum()
                }
            }
            Self::Frustum { base, top, height } => {
                let slope = (base - top) / height;
                let around = at.truncate();
                let off_side = (around.length() - (base - slope * at.z)).abs();
                if at.z.abs() < off_side {
                    DVec3::NEG_Z
                } else if (at.z - height).abs() < off_side {
                    DVec3::Z
                } else {
                    around.normalize_or_zero().extend(slope)
                }
            }
            Self::Ball => at,
            Self::Disc | Self::Sheet(..) => DVec3::Z,
            Self::RoundCone { base, top, height } => {
                let difference = base - top;
                let whole = height * height - difference * difference;
                let place = at.z * height - base * difference;
                if place > 0.0 && place < whole {
                    at * whole - DVec3::Z * (height * place)
                } else if place <= 0.0 {
                    at
                } else {
                    at - DVec3::Z * *height
                }
            }
        }
    }
}

fn frustum(from: DVec3, along: DVec3, least: f64, base: f64, top: f64, height: f64) -> Option<f64> {
    let slope = (base - top) / height;
    let mut best = f64::INFINITY;
    for (z, radius) in [(0.0, base), (height, top)] {
        let t = (z - from.z) / along.z;
        let at = (from + along * t).truncate();
        if t >= least && t < best && at.length_squared() <= radius * radius {
            best = t;
        }
    }
    // x² + y² = (base − slope·z)²
    let (o, d) = (from.truncate(), along.truncate());
    let (r, dr) = (base - slope * from.z, -slope * along.z);
    let a = d.length_squared() - dr * dr;
    let b = o.dot(d) - r * dr;
    let c = o.length_squared() - r * r;
    let root = b * b - a * c;
    if root >= 0.0 && a != 0.0 {
        let root = root.sqrt();
        for t in [(-b - root) / a, (-b + root) / a] {
            let z = from.z + along.z * t;
            if t >= least && t < best && z >= 0.0 && z <= height && r + dr * t >= 0.0 {
                best = t;
            }
        }
    }
    best.is_finite().then_some(best)
}

/// Outer side only: a ray from inside meets nothing.
fn round_cone(from: DVec3, along: DVec3, base: f64, top: f64, height: f64) -> Option<f64> {
    let length = along.length();
    let d = along / length;
    let rr = base - top;
    let m0 = height * height;
    let (m1, m2) = (height * from.z, height * d.z);
    let m3 = d.dot(from);
    let m5 = from.length_squared();
    let d2 = m0 - rr * rr;
    let k2 = d2 - m2 * m2;
    let k1 = d2 * m3 - m1 * m2 + m2 * rr * base;
    let k0 = d2 * m5 - m1 * m1 + 2.0 * m1 * rr * base - m0 * base * base;
    let root = k1 * k1 - k0 * k2;
    if root < 0.0 {
        return None;
    }
    let t = (-root.sqrt() - k1) / k2;
    let place = m1 - base * rr + t * m2;
    if place > 0.0 && place < d2 {
        return Some(t / length);
    }
    let far = from - DVec3::Z * height;
    let m6 = d.dot(far);
    let (h1, h2) = (
        m3 * m3 - m5 + base * base,
        m6 * m6 - far.length_squared() + top * top,
    );
    let mut best = f64::INFINITY;
    if h1 > 0.0 {
        best = -m3 - h1.sqrt();
    }
    if h2 > 0.0 {
        best = best.min(-m6 - h2.sqrt());
    }
    best.is_finite().then_some(best / length)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: Option<f64>, expected: f64) {
        let found = found.unwrap();
        assert!((found - expected).abs() < 1e-12, "{found} for {expected}");
    }

    // Source: elementary geometry, by hand.
    #[test]
    fn rays_meet_solids_where_geometry_says() {
        let (from, along) = (DVec3::new(0.0, -5.0, 0.0), DVec3::Y);
        near(
            Primitive::Block(DVec3::new(1.0, 2.0, 3.0)).meet(from, along, 0.0),
            3.0,
        );
        near(Primitive::Ball.meet(from, along, 0.0), 4.0);
        near(Primitive::Ball.meet(from, along * 2.0, 0.0), 2.0);
        near(Primitive::Ball.meet(DVec3::ZERO, along, 0.0), 1.0);
        let up = DVec3::new(0.0, -5.0, 0.5);
        let cone = Primitive::Frustum {
            base: 1.0,
            top: 0.0,
            height: 1.0,
        };
        near(cone.meet(up, along, 0.0), 4.5);
        let tube = Primitive::Frustum {
            base: 2.0,
            top: 2.0,
            height: 1.0,
        };
        near(tube.meet(up, along, 0.0), 3.0);
        near(tube.meet(DVec3::new(0.0, 0.0, 9.0), DVec3::NEG_Z, 0.0), 8.0);
        let rod = Primitive::RoundCone {
            base: 0.5,
            top: 0.5,
            height: 2.0,
        };
        near(rod.meet(DVec3::new(0.0, -5.0, 1.0), along, 0.0), 4.5);
        near(rod.meet(DVec3::new(0.0, 0.0, 9.0), DVec3::NEG_Z, 0.0), 6.5);
        near(rod.meet(DVec3::new(0.0, 0.0, -9.0), DVec3::Z, 0.0), 8.5);
        assert_eq!(rod.meet(DVec3::new(0.6, -5.0, 1.0), along, 0.0), None);
    }

    // Source: a sheet with a hole, by hand.
    #[test]
    fn a_ray_passes_through_an_opening() {
        let hole = Opening::centred(0.0, 0.0, 1.0, 2.0);
        let wall = Primitive::Sheet(DVec2::new(2.0, 3.0), vec![hole]);
        let at = |x, y| wall.meet(DVec3::new(x, y, 4.0), DVec3::NEG_Z, 0.0);
        assert_eq!(at(0.0, 1.0), None);
        near(at(0.6, 1.0), 4.0);
        near(at(0.0, 2.1), 4.0);
        assert_eq!(at(2.1, 2.1), None);
    }

    // Source: outward directions of a 45° cone and of balls, by hand.
    #[test]
    fn normals_point_outward() {
        let cone = Primitive::Frustum {
            base: 1.0,
            top: 0.0,
            height: 1.0,
        };
        let side = cone.normal(DVec3::new(0.5, 0.0, 0.5)).normalize();
        assert!((side - DVec3::new(0.5_f64.sqrt(), 0.0, 0.5_f64.sqrt())).length() < 1e-12);
        assert_eq!(cone.normal(DVec3::new(0.3, 0.0, 0.0)), DVec3::NEG_Z);
        let rod = Primitive::RoundCone {
            base: 0.5,
            top: 0.5,
            height: 2.0,
        };
        let side = rod.normal(DVec3::new(0.0, -0.5, 1.0)).normalize();
        assert!((side - DVec3::NEG_Y).length() < 1e-12);
        assert_eq!(rod.normal(DVec3::new(0.0, 0.0, 2.5)).normalize(), DVec3::Z);
    }
}
