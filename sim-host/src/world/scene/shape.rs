//! Shapes of bodies, with sizes in metres, each in its own frame of reference.
//!
//! Unless a shape says otherwise it stands on the origin of its own frame (the middle of its base),
//! z is up, and its front looks towards −y, so that it faces a camera that looks along +y.

use glam::{DVec2, DVec3};

/// A direction along an axis of the body's own frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// To the right.
    X,
    /// Into the depth.
    Y,
    /// Up.
    Z,
}

/// A rectangular hole in a wall, such as a doorway.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Left edge, from the middle of the wall, m.
    pub left_m: f64,
    /// Lower edge, from the foot of the wall, m.
    pub bottom_m: f64,
    /// Width, m.
    pub width_m: f64,
    /// Height, m.
    pub height_m: f64,
}

/// How a person holds the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Posture {
    /// Upright, facing −y.
    Standing,
    /// On one knee, upright, facing −y.
    Kneeling,
    /// On hands and knees, head towards −x.
    Crawling,
    /// On the back on the floor, head towards −x, one arm away from the body and one knee raised:
    /// a casualty.
    Lying,
}

/// What a person wears, as far as it changes the outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outfit {
    /// Everyday clothing.
    Everyday,
    /// Turnout gear: bulkier, with helmet, gloves, boots and a breathing-air cylinder on the back.
    Turnout,
}

/// The parts of a shape that can have a surface and a temperature of their own.
///
/// Parts that are not named in [`super::body::Body::details`] take the body's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Region {
    /// Everything that has no name of its own.
    Main,
    /// Face and neck of a person.
    Face,
    /// Hair of a person, or the helmet of one in turnout gear.
    Head,
    /// Hands, or gloves.
    Hands,
    /// Trousers.
    Legs,
    /// Shoes, or boots.
    Feet,
    /// Breathing-air cylinder on the back.
    AirCylinder,
    /// Rungs of a ladder, boards of a rack, battens of a crate, valve of a gas cylinder, top of a bench.
    Fittings,
}

/// What a body looks like.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A box of width (x), depth (y) and height (z).
    Box {
        /// Width, depth, height, m.
        size: DVec3,
    },
    /// A solid cylinder with flat ends, from the origin along an axis.
    Cylinder {
        /// Radius, m.
        radius_m: f64,
        /// Length, m.
        length_m: f64,
        /// Direction from the origin.
        axis: Axis,
    },
    /// A cone or a truncated cone that stands on its base.
    Cone {
        /// Radius of the base, m.
        base_radius_m: f64,
        /// Radius of the top, m; 0 for a pointed cone.
        top_radius_m: f64,
        /// Height, m.
        height_m: f64,
    },
    /// A sphere around the origin.
    Sphere {
        /// Radius, m.
        radius_m: f64,
    },
    /// A flat disc around the origin that faces −y.
    Disc {
        /// Radius, m.
        radius_m: f64,
    },
    /// A rod with round ends between two points.
    Capsule {
        /// First end of the axis.
        from: DVec3,
        /// Second end of the axis.
        to: DVec3,
        /// Radius, m.
        radius_m: f64,
    },
    /// An upright rectangle without thickness, with holes; it stands on the middle of its lower
    /// edge.
    Quad {
        /// Width along x, m.
        width_m: f64,
        /// Height along z, m.
        height_m: f64,
        /// Holes.
        openings: Vec<Opening>,
    },
    /// A level rectangle around the origin without thickness: a floor or a ceiling.
    Plate {
        /// Size along x, m.
        width_m: f64,
        /// Size along y, m.
        depth_m: f64,
    },
    /// An upright wall with thickness, with holes whose reveals are seen; its front is at y = 0.
    Wall {
        /// Width along x, m.
        width_m: f64,
        /// Height along z, m.
        height_m: f64,
        /// Thickness along +y, m.
        thickness_m: f64,
        /// Holes.
        openings: Vec<Opening>,
    },
    /// A person, built from segments of published proportions.
    Person {
        /// Standing height, m; an adult is about 1.75.
        height_m: f64,
        /// How the body is held.
        posture: Posture,
        /// What is worn.
        outfit: Outfit,
    },
    /// A ladder: two rails (main) and rungs (fittings). It stands upright; lean it with the pitch.
    Ladder {
        /// Length of the rails, m.
        length_m: f64,
        /// Outer width, m.
        width_m: f64,
        /// Distance from rung to rung, m.
        rung_spacing_m: f64,
    },
    /// A pipe through points, round at the bends.
    PipeRun {
        /// Points of the axis, two or more.
        points: Vec<DVec3>,
        /// Outer radius, m.
        radius_m: f64,
    },
    /// A gas cylinder with dome, collar and valve (fittings).
    GasCylinder {
        /// Radius, m.
        radius_m: f64,
        /// Height to the top of the valve, m.
        height_m: f64,
    },
    /// A crate with battens (fittings) along its edges.
    Crate {
        /// Width, depth, height, m.
        size: DVec3,
    },
    /// A rack of four posts (main) and boards (fittings).
    Rack {
        /// Width, depth, height, m.
        size: DVec3,
        /// Boards, spread evenly from the foot to the top.
        boards: u32,
    },
    /// A work bench of four legs (main) and a top (fittings).
    Bench {
        /// Width, depth, height, m.
        size: DVec3,
    },
    /// Several shapes as one body, each moved by an offset: what has no shape of its own here.
    Group(
        /// Offsets and shapes.
        Vec<(DVec3, Shape)>,
    ),
}

impl Shape {
    /// A box of width, depth and height in m.
    #[must_use]
    pub fn cuboid(width_m: f64, depth_m: f64, height_m: f64) -> Self {
        Self::Box {
            size: DVec3::new(width_m, depth_m, height_m),
        }
    }

    /// An adult of 1.75 m in everyday clothing.
    #[must_use]
    pub fn adult(posture: Posture) -> Self {
        Self::Person {
            height_m: 1.75,
            posture,
            outfit: Outfit::Everyday,
        }
    }

    /// A firefighter of 1.80 m in turnout gear.
    #[must_use]
    pub fn firefighter(posture: Posture) -> Self {
        Self::Person {
            height_m: 1.8,
            posture,
            outfit: Outfit::Turnout,
        }
    }
}

impl Opening {
    /// An opening by its middle, foot, width and height, in m.
    #[must_use]
    pub fn centred(middle_m: f64, bottom_m: f64, width_m: f64, height_m: f64) -> Self {
        Self {
            left_m: middle_m - width_m / 2.0,
            bottom_m,
            width_m,
            height_m,
        }
    }

    /// Whether a point of the wall (from its middle, from its foot) lies in the hole.
    #[must_use]
    pub fn holds(&self, at: DVec2) -> bool {
        at.x > self.left_m
            && at.x < self.left_m + self.width_m
            && at.y > self.bottom_m
            && at.y < self.bottom_m + self.height_m
    }
}
