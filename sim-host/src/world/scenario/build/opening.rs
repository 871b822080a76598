//! What stands in an opening: a leaf or a pane, and the frame around it.

use glam::DVec3;

use super::{Builder, Sheet};
use crate::world::scenario::air::{behind, opening_place};
use crate::world::scenario::spec::{Filling, OpeningSpec, RoomSpec};
use crate::world::scene::body::{Body, Placement, Surface};
use crate::world::scene::shape::Shape;

/// Depth of a frame where no room lies behind an opening, metres; assumed.
const FRAME_DEPTH_M: f64 = 0.12;
/// How far a frame reaches into its hole, and how far it is covered by the wall around it, metres.
const FRAME_LAP_M: f64 = 0.005;
const FRAME_COVERED_M: f64 = 0.02;
/// How far a frame lies behind the face of the wall, metres.
const FRAME_BEHIND_M: f64 = 0.001;

impl Builder<'_> {
    pub(super) fn opening(&mut self, one: &OpeningSpec) {
        let spec = self.spec;
        let Some(room) = spec.rooms.iter().position(|room| room.name == one.room) else {
            return;
        };
        let own = &spec.rooms[room];
        self.frame(own, one);
        let (assembly, mirror) = match &one.filling {
            Filling::Open => return,
            Filling::Closed(assembly) => (assembly, 0.1),
            Filling::Glass(assembly) => (assembly, 1.0),
        };
        self.sheet(Sheet {
            name: one.name.clone(),
            room,
            side: one.side,
            from: (one.from_m, one.sill_m),
            size: (one.width_m, one.height_m),
            assembly,
            studs_m: 0.0,
            offset_k: 0.0,
            surface: Surface {
                emissivity: assembly.emissivity_room,
                mirror,
            },
            holes: Vec::new(),
            recess_m: one.recess_m,
        });
    }

    /// The frame of an opening: four bars that reach a little into the hole and as deep as the wall, so
    /// that nobody looks past a leaf or between two walls.
    fn frame(&mut self, room: &RoomSpec, one: &OpeningSpec) {
        let (middle, outward) = opening_place(room, one);
        let sideways = if outward.x.abs() > 0.5 {
            DVec3::Y
        } else {
            DVec3::X
        };
        let depth = match behind(self.spec, middle, outward) {
            Some(other) if one.filling == Filling::Open => {
                let other = &self.spec.rooms[other];
                let near = if outward.max_element() > 0.5 {
                    other.corner
                } else {
                    other.far()
                };
                (near - middle).dot(outward)
            }
            _ => FRAME_DEPTH_M,
        };
        let depth = (depth - FRAME_BEHIND_M).max(FRAME_BEHIND_M);
        let (w, h) = (one.width_m, one.height_m);
        let bar = FRAME_LAP_M + FRAME_COVERED_M;
        let shift = (FRAME_COVERED_M - FRAME_LAP_M) / 2.0;
        let mut add = |at: DVec3, across: f64, tall: f64| {
            let foot = at + outward * (depth / 2.0 + FRAME_BEHIND_M) - DVec3::Z * (tall / 2.0);
            let size = (sideways * across + outward.abs() * depth) + DVec3::Z * tall;
            self.still.push(Body::new(
                "frame",
                Shape::Box { size },
                Placement::at(foot.x, foot.y, foot.z),
                Surface::matt(0.9),
                self.spec.ambient_k,
            ));
        };
        for sign in [-1.0, 1.0] {
            let beside = sideways * (sign * (w / 2.0 + shift));
            add(middle + beside, bar, h + 2.0 * FRAME_COVERED_M);
            let over = DVec3::Z * (sign * (h / 2.0 + shift));
            add(middle + over, w + 2.0 * FRAME_COVERED_M, bar);
        }
    }
}
