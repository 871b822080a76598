//! What a scenario consists of: bodies with their places, and the zones whose heat is computed.

mod opening;

use std::sync::Arc;

use glam::DVec3;

use super::air::{Air, behind, opening_place};
use super::check::{extent, wall_size};
use super::faces::{Hidden, Zone, at_stud, zones_along};
use super::spec::{Filling, ObjectSpec, OpeningSpec, RoomSpec, Side, Spec, SpraySpec};
use crate::world::conduction::{Assembly, Ply};
use crate::world::rounding::count_f64;
use crate::world::scene::body::{Body, Placement, Surface};
use crate::world::scene::shape::{Opening, Outfit, Shape};

/// A plane of zones with its history.
pub(super) struct Panel {
    pub(super) body: Body,
    pub(super) length_m: f64,
    pub(super) height_m: f64,
    pub(super) columns: usize,
    pub(super) rows: usize,
    /// First zone, and first zone at the studs.
    pub(super) first: usize,
    pub(super) studs: Option<(usize, f64)>,
    /// From the middle of the body's own frame to its least corner.
    pub(super) middle_below: bool,
    pub(super) seed: u64,
}

/// A body with its zones: low, middle, high; each away from and towards the fire.
pub(super) struct Thing {
    pub(super) body: Body,
    pub(super) first: usize,
    pub(super) ember: Option<usize>,
    pub(super) towards: DVec3,
    pub(super) low: DVec3,
    pub(super) high: DVec3,
    pub(super) seed: u64,
}

fn plane_point(room: &RoomSpec, side: Side, along: f64, up: f64) -> (DVec3, DVec3) {
    let opening = OpeningSpec {
        name: String::new(),
        room: String::new(),
        side,
        from_m: along,
        width_m: 0.0,
        sill_m: up,
        height_m: 0.0,
        recess_m: 0.0,
        filling: Filling::Open,
    };
    let (at, outward) = opening_place(room, &opening);
    (at, -outward)
}

/// Puts the bodies of a scenario together and lists the zones whose heat is computed.
struct Builder<'a> {
    spec: &'a Spec,
    fire: Option<&'a Air>,
    zones: Vec<Zone>,
    panels: Vec<Panel>,
    things: Vec<Thing>,
    still: Vec<Body>,
}

struct Sheet<'a> {
    name: String,
    room: usize,
    side: Side,
    /// Least corner in the plane and its size.
    from: (f64, f64),
    size: (f64, f64),
    assembly: &'a Assembly,
    studs_m: f64,
    offset_k: f64,
    surface: Surface,
    holes: Vec<Opening>,
    /// How far outwards it lies.
    recess_m: f64,
}

impl Builder<'_> {
    fn spray(&self, name: &str) -> Option<SpraySpec> {
        self.spec.sprays.iter().find(|one| one.on == name).cloned()
    }

    fn sheet(&mut self, sheet: Sheet<'_>) {
        let spec = self.spec;
        let room = &spec.rooms[sheet.room];
        let (columns, rows) = (
            zones_along(sheet.size.0, spec.zone_m),
            zones_along(sheet.size.1, spec.zone_m),
        );
        let spray = self.spray(&sheet.name);
        let fire_side_shown = self.fire.is_some_and(|fire| fire.room == sheet.room);
        let mut grid = |assembly: Arc<Assembly>| {
            let first = self.zones.len();
            for row in 0..rows {
                for column in 0..columns {
                    let along = sheet.from.0
                        + (count_f64(column) + 0.5) / count_f64(columns) * sheet.size.0;
                    let up = sheet.from.1 + (count_f64(row) + 0.5) / count_f64(rows) * sheet.size.1;
                    let (at, normal) = plane_point(room, sheet.side, along, up);
                    self.zones.push(Zone {
                        at,
                        normal,
                        assembly: Arc::clone(&assembly),
                        room: Some(sheet.room),
                        fire_side_shown,
                        hidden: Hidden::Behind,
                        initial_k: spec.ambient_k,
                        spray: spray.clone(),
                    });
                }
            }
            first
        };
        let first = grid(Arc::new(sheet.assembly.clone()));
        let gap = |ply: &Ply| matches!(ply, Ply::Gap { .. });
        let studs = (sheet.studs_m > 0.0 && sheet.assembly.plies.iter().any(gap))
            .then(|| (grid(Arc::new(at_stud(sheet.assembly))), sheet.studs_m));
        let middle = sheet.from.0 + sheet.size.0 / 2.0;
        let level = matches!(sheet.side, Side::Floor | Side::Ceiling);
        let up = if level {
            sheet.from.1 + sheet.size.1 / 2.0
        } else {
            sheet.from.1
        };
        let (at, normal) = plane_point(room, sheet.side, middle, up);
        let at = at - normal * sheet.recess_m;
        let placement = Placement::at(at.x, at.y, at.z);
        let placement = match sheet.side {
            Side::Left | Side::Right => placement.yaw(90.0),
            _ => placement,
        };
        let shape = if level {
            Shape::Plate {
                width_m: sheet.size.0,
                depth_m: sheet.size.1,
            }
        } else {
            Shape::Quad {
                width_m: sheet.size.0,
                height_m: sheet.size.1,
                openings: sheet.holes,
            }
        };
        let number = u64::try_from(self.panels.len()).unwrap_or(0);
        self.panels.push(Panel {
            body: Body::new(
                &sheet.name,
                shape,
                placement,
                sheet.surface,
                spec.ambient_k + sheet.offset_k,
            ),
            length_m: sheet.size.0,
            height_m: sheet.size.1,
            columns,
            rows,
            first,
            studs,
            middle_below: level,
            seed: spec.seed.wrapping_mul(31).wrapping_add(number),
        });
    }

    fn room(&mut self, index: usize) {
        let spec = self.spec;
        let room = &spec.rooms[index];
        for (number, (word, side)) in Side::ALL.into_iter().enumerate() {
            let face = &room.faces[number];
            let size = wall_size(side, room.size);
            let mut holes = Vec::new();
            for one in &spec.openings {
                let hole = |from: f64, sill: f64| Opening {
                    left_m: from - size.0 / 2.0,
                    bottom_m: sill,
                    width_m: one.width_m,
                    height_m: one.height_m,
                };
                if one.room == room.name && one.side == side {
                    holes.push(hole(one.from_m, one.sill_m));
                } else if let Some(owner) = spec.rooms.iter().find(|r| r.name == one.room) {
                    // The room behind has the same hole, where the way is open.
                    let (middle, outward) = opening_place(owner, one);
                    let (_, inward) = plane_point(room, side, 0.0, 0.0);
                    let met = one.filling == Filling::Open
                        && behind(spec, middle, outward) == Some(index)
                        && inward.dot(outward) > 0.99;
                    if met {
                        let own = middle - room.corner;
                        let along = if outward.x.abs() > 0.5 { own.y } else { own.x };
                        holes.push(hole(along - one.width_m / 2.0, own.z - one.height_m / 2.0));
                    }
                }
            }
            self.sheet(Sheet {
                name: format!("{}.{word}", room.name),
                room: index,
                side,
                from: (0.0, 0.0),
                size,
                assembly: &face.assembly,
                studs_m: face.studs_m,
                offset_k: face.offset_k,
                surface: Surface::matt(face.assembly.emissivity_room),
                holes,
                recess_m: 0.0,
            });
        }
    }

    fn thing(&mut self, one: &ObjectSpec) {
        let spec = self.spec;
        let room = spec.room_at(one.position);
        let placement = Placement::at(one.position.x, one.position.y, one.position.z)
            .yaw(one.turn_deg)
            .pitch(one.lean_deg);
        let to_world = placement.to_world();
        let (low, high) = extent(&one.shape);
        let middle = to_world.transform_point3((low + high) / 2.0);
        let way = self
            .fire
            .map_or(DVec3::Y, |fire| fire.fire.position - middle);
        let level = DVec3::new(way.x, way.y, 0.0).normalize_or(DVec3::Y);
        let spray = self.spray(&one.name);
        let first = self.zones.len();
        let assembly = Arc::new(one.assembly.clone());
        // The living keep their own temperature: the zones give the rise that is added to it.
        let initial_k = if one.alive {
            spec.ambient_k
        } else {
            one.initial_k
        };
        for share in [0.15, 0.5, 0.85] {
            let own = DVec3::new(
                (low.x + high.x) / 2.0,
                (low.y + high.y) / 2.0,
                low.z + share * (high.z - low.z),
            );
            // What closes a hole in the floor is heated from below, and all of it alike.
            let (own, normals, hidden) = if one.closes_floor {
                (own.with_z(low.z), [DVec3::Z; 2], Hidden::Behind)
            } else {
                (own, [-level, level], Hidden::Insulated)
            };
            for normal in normals {
                self.zones.push(Zone {
                    at: to_world.transform_point3(own),
                    normal,
                    assembly: Arc::clone(&assembly),
                    room,
                    fire_side_shown: !one.closes_floor,
                    hidden,
                    initial_k,
                    spray: spray.clone(),
                });
            }
        }
        let ember = one.ember.as_ref().map(|ember| {
            self.zones.push(Zone {
                at: to_world.transform_point3(ember.at),
                normal: DVec3::Z,
                assembly: Arc::new(ember.cover.clone()),
                room,
                fire_side_shown: false,
                hidden: Hidden::Embers {
                    kelvin: ember.kelvin,
                    cools_s: ember.cools_s,
                },
                initial_k: spec.ambient_k,
                spray: spray.clone(),
            });
            self.zones.len() - 1
        });
        let number = u64::try_from(self.things.len()).unwrap_or(0);
        self.things.push(Thing {
            body: body(one, placement),
            first,
            ember,
            towards: to_world.inverse().transform_vector3(level),
            low,
            high,
            seed: spec.seed.wrapping_mul(47).wrapping_add(1000 + number),
        });
    }
}

/// Bodies and zones of a scenario.
pub(super) struct Built {
    pub(super) zones: Vec<Zone>,
    pub(super) panels: Vec<Panel>,
    pub(super) things: Vec<Thing>,
    /// Bodies whose temperature never changes.
    pub(super) still: Vec<Body>,
}

/// Puts the bodies of a scenario together.
pub(super) fn build(spec: &Spec, fire: Option<&Air>) -> Built {
    let mut builder = Builder {
        spec,
        fire,
        zones: Vec::new(),
        panels: Vec::new(),
        things: Vec::new(),
        still: Vec::new(),
    };
    for room in 0..spec.rooms.len() {
        builder.room(room);
    }
    for one in &spec.openings {
        builder.opening(one);
    }
    for one in &spec.objects {
        builder.thing(one);
    }
    Built {
        zones: builder.zones,
        panels: builder.panels,
        things: builder.things,
        still: builder.still,
    }
}

/// The body of an object as it is at the start.
fn body(one: &ObjectSpec, placement: Placement) -> Body {
    let surface = Surface {
        emissivity: one.emissivity,
        mirror: one.mirror,
    };
    let plain = Body::new(
        &one.name,
        one.shape.clone(),
        placement,
        surface,
        one.initial_k,
    );
    let Some((posture, outfit)) = one.person else {
        return plain;
    };
    if !one.alive {
        return plain;
    }
    let model = match outfit {
        Outfit::Everyday => Body::adult(&one.name, posture, placement),
        Outfit::Turnout => Body::firefighter(&one.name, posture, placement, one.initial_k),
    };
    Body {
        details: model.details,
        ..plain
    }
}
