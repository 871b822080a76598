//! What of a world stays while its temperatures change: shapes, places and surfaces, made ready for
//! rays.

use glam::{DAffine3, DVec3};

use super::body::{Body, Placement, Surface};
use super::bvh::{Hierarchy, Hit, Ray, Solid};
use super::cast::{Diffuse, Room, World};
use super::lattice::Sites;
use super::parts;
use super::shape::{Region, Shape};

/// Steps away from a surface before a reflected ray starts, m.
pub(super) const CLEAR_M: f64 = 1e-6;

/// A surface of a body or of one of its details.
pub(super) struct Slot {
    pub(super) surface: Surface,
    pub(super) to_body: DAffine3,
    pub(super) body: usize,
    /// Which detail; the body itself if `None`.
    pub(super) detail: Option<usize>,
}

/// What of a body its geometry depends on.
#[derive(PartialEq)]
struct Outside {
    shape: Shape,
    placement: Placement,
    surface: Surface,
    details: Vec<(Region, Surface)>,
}

impl Outside {
    fn of(body: &Body) -> Self {
        Self {
            shape: body.shape.clone(),
            placement: body.placement,
            surface: body.surface,
            details: body.details.iter().map(|d| (d.region, d.surface)).collect(),
        }
    }

    fn is_of(&self, body: &Body) -> bool {
        let details = body.details.iter().map(|d| (d.region, d.surface));
        self.placement == body.placement
            && self.surface == body.surface
            && self.shape == body.shape
            && self.details.iter().copied().eq(details)
    }
}

/// Shapes and surfaces of a world.
pub(super) struct Geometry {
    outsides: Vec<Outside>,
    diffuse: Diffuse,
    pub(super) all: Hierarchy,
    pub(super) slots: Vec<Slot>,
    rooms: Vec<Room>,
    /// Points at which reflected radiance is gathered: those of each room, then those of everything;
    /// none where surroundings are even.
    pub(super) sites: Vec<Sites>,
}

/// How far before a surface the room is looked for that it belongs to, m: at once, else beyond the
/// recess of a door.
const BEFORE_M: [f64; 2] = [0.01, 0.12];
/// How far beside a room what belongs to no room is taken for a part of its walls, m.
const WALL_M: f64 = 0.3;

/// Bodies that a picture can number.
fn numbered(world: &World) -> impl Iterator<Item = (u16, &Body)> {
    (0..u16::MAX).zip(&world.bodies)
}

impl Geometry {
    pub(super) fn new(world: &World) -> Self {
        let mut solids = Vec::new();
        let mut slots = Vec::new();
        for (index, body) in numbered(world) {
            add(body, index, &mut solids, &mut slots);
        }
        let all = Hierarchy::new(solids);
        // No solid here is hollowed out: one alone sees nothing of itself, but points in its box would.
        let is_lone = matches!(all.solids.as_slice(), [one] if one.primitive.solid());
        let everything = all.bounds().map(|(low, high)| Room { low, high });
        let meet = |from, along| {
            let ray = Ray::new(from, along);
            let hit = all.nearest(&ray, CLEAR_M);
            let inside = hit.solid().is_some_and(|index| {
                let solid = &all.solids[index];
                let outward = || solid.normal(ray.at(hit.distance));
                solid.primitive.solid() && outward().dot(along) > 0.0
            });
            (hit, inside)
        };
        let sites = (world.rooms.iter().copied().chain(everything))
            .filter(|_| world.diffuse == Diffuse::Gathered && !is_lone)
            .map(|room| Sites::new(room.low, room.high, meet))
            .collect();
        Self {
            outsides: numbered(world).map(|(_, body)| Outside::of(body)).collect(),
            diffuse: world.diffuse,
            rooms: world.rooms.clone(),
            all,
            slots,
            sites,
        }
    }

    /// Whether it is that of a world.
    pub(super) fn is_of(&self, world: &World) -> bool {
        self.diffuse == world.diffuse
            && self.rooms == world.rooms
            && self.outsides.len() == numbered(world).count()
            && (self.outsides.iter())
                .zip(numbered(world))
                .all(|(outside, (_, body))| outside.is_of(body))
    }

    /// Which points gather for a surface that looks along `normal` at a place; past the last where
    /// surroundings are even.
    pub(super) fn gathering(&self, at: DVec3, normal: DVec3) -> usize {
        let room = |before_m: &f64| {
            let before = at + normal * *before_m;
            let holds = |room: &Room| before.cmpge(room.low).all() && before.cmple(room.high).all();
            self.rooms.iter().position(holds)
        };
        BEFORE_M
            .iter()
            .find_map(room)
            .or_else(|| self.beside(at))
            .unwrap_or(self.rooms.len())
    }

    /// The room that a place in a wall is nearest to.
    fn beside(&self, at: DVec3) -> Option<usize> {
        let off = |room: &Room| at.distance(at.clamp(room.low, room.high));
        let rooms = self.rooms.iter().map(off).enumerate();
        rooms
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, off_m)| *off_m < WALL_M)
            .map(|(number, _)| number)
    }

    /// What a ray meets first.
    pub(super) fn nearest(&self, ray: &Ray) -> Hit {
        self.all.nearest(ray, CLEAR_M)
    }
}

fn add(body: &Body, index: u16, solids: &mut Vec<Solid>, slots: &mut Vec<Slot>) {
    let to_world = body.placement.to_world();
    let own = slots.len();
    let mut slot = |surface: Surface, detail: Option<usize>| {
        slots.push(Slot {
            surface,
            to_body: to_world.inverse(),
            body: usize::from(index),
            detail,
        });
    };
    slot(body.surface, None);
    for (detail, one) in body.details.iter().enumerate() {
        slot(one.surface, Some(detail));
    }
    for part in parts::take_apart(&body.shape) {
        // The last detail of a region counts.
        let detail = (body.details.iter()).rposition(|detail| detail.region == part.region);
        solids.push(Solid::new(
            part.primitive,
            to_world * part.to_body,
            index,
            detail.map_or(own, |detail| own + 1 + detail),
        ));
    }
}
