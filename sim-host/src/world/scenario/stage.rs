//! A scenario → the history of every temperature, and the scene that shows it.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use glam::{DVec2, DVec3};

use super::air::{Air, EDGE_M, State, behind, opening_place};
use super::check::{extent, wall_size};
use super::faces::{Hidden, History, Plane, Zone, at_stud, histories, kelvin_at, zones_along};
use super::spec::{Filling, ObjectSpec, OpeningSpec, RoomSpec, Side, Spec, SpraySpec};
use super::sway::noise;
use super::{Scenario, ScenarioError};
use crate::world::conduction::{Assembly, Ply};
use crate::world::image::Image;
use crate::world::rounding::count_f64;
use crate::world::scene::body::{Body, Placement, Skin, Surface};
use crate::world::scene::camera::Camera;
use crate::world::scene::cast::{World, cast};
use crate::world::scene::medium::{Bounds, Flame, HotLayer, Medium};
use crate::world::scene::shape::{Axis, Opening, Outfit, Shape};
use crate::world::scene::{Scene, View};

/// How much a wall differs from place to place, kelvin; invented.
const SWAY_K: f64 = 0.18;
/// Temperature of glowing soot in a flame of the workshop, kelvin; assumed, of the order of pool fires.
const FLAME_K: f64 = 1150.0;
/// Width of a stud and of its soft edge, metres; common practice, no published source.
const STUD_M: f64 = 0.045;
const STUD_EDGE_M: f64 = 0.03;

/// A plane of zones with its history.
struct Panel {
    body: Body,
    length_m: f64,
    height_m: f64,
    columns: usize,
    rows: usize,
    /// First zone, and first zone at the studs.
    first: usize,
    studs: Option<(usize, f64)>,
    /// From the middle of the body's own frame to its least corner.
    middle_below: bool,
    seed: u64,
}

/// A body with its zones: low, middle, high; each away from and towards the fire.
struct Thing {
    body: Body,
    first: usize,
    ember: Option<usize>,
    towards: DVec3,
    low: DVec3,
    high: DVec3,
    seed: u64,
}

/// A scenario whose temperatures are computed: a scene.
pub struct Staged {
    spec: Spec,
    fire: Option<Air>,
    panels: Vec<Panel>,
    things: Vec<Thing>,
    still: Vec<Body>,
    zones: Vec<History>,
    warnings: Vec<String>,
    unseen: Vec<String>,
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
        filling: Filling::Open,
    };
    let (at, outward) = opening_place(room, &opening);
    (at, -outward)
}

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

    fn opening(&mut self, one: &OpeningSpec) {
        let spec = self.spec;
        let Some(room) = spec.rooms.iter().position(|room| room.name == one.room) else {
            return;
        };
        let own = &spec.rooms[room];
        self.reveal(own, one);
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
            recess_m: 0.06,
        });
    }

    /// Four faces between the planes of both walls, so that nobody looks between them.
    fn reveal(&mut self, room: &RoomSpec, one: &OpeningSpec) {
        let (middle, outward) = opening_place(room, one);
        let depth = 0.12;
        let sideways = if outward.x.abs() > 0.5 {
            DVec3::Y
        } else {
            DVec3::X
        };
        let (w, h) = (one.width_m, one.height_m);
        let thin = 0.02;
        let mut add = |at: DVec3, across: f64, tall: f64| {
            let foot = at + outward * (depth / 2.0 + 0.001) - DVec3::Z * (tall / 2.0);
            let size = (sideways * across + outward.abs() * depth) + DVec3::Z * tall;
            self.still.push(Body::new(
                "reveal",
                Shape::Box { size },
                Placement::at(foot.x, foot.y, foot.z),
                Surface::matt(0.9),
                self.spec.ambient_k - 0.6,
            ));
        };
        for sign in [-1.0, 1.0] {
            add(
                middle + sideways * (sign * (w + thin) / 2.0),
                thin,
                h + 2.0 * thin,
            );
            if sign > 0.0 || one.sill_m > 0.01 {
                add(middle + DVec3::Z * (sign * (h + thin) / 2.0), w, thin);
            }
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
            for normal in [-level, level] {
                self.zones.push(Zone {
                    at: to_world.transform_point3(own),
                    normal,
                    assembly: Arc::clone(&assembly),
                    room,
                    fire_side_shown: true,
                    hidden: Hidden::Insulated,
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

impl Staged {
    pub(super) fn new(
        scenario: &Scenario,
        progress: &(dyn Fn(f64) + Sync),
    ) -> Result<Self, ScenarioError> {
        let spec = scenario.spec.clone();
        let fire = Air::new(&spec);
        let mut builder = Builder {
            spec: &spec,
            fire: fire.as_ref(),
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
        let Builder {
            zones,
            panels,
            things,
            still,
            ..
        } = builder;
        let since_s = spec
            .objects
            .iter()
            .filter_map(|one| one.ember.as_ref())
            .map(|ember| ember.since_s)
            .fold(0.0, f64::max);
        let done = AtomicUsize::new(0);
        let all = count_f64(zones.len().max(1));
        let tick = || progress(count_f64(done.fetch_add(1, Ordering::Relaxed) + 1) / all);
        let histories =
            histories(&spec, fire.as_ref(), &zones, since_s, &tick).map_err(|(at_s, cause)| {
                ScenarioError::Heat {
                    scenario: spec.title.clone(),
                    what: "a wall or body".to_owned(),
                    at_s,
                    cause,
                }
            })?;
        let mut staged = Self {
            warnings: fire
                .as_ref()
                .map_or_else(Vec::new, |fire| fire.warnings.clone()),
            unseen: Vec::new(),
            spec,
            fire,
            panels,
            things,
            still,
            zones: histories,
        };
        staged.unseen = staged.sentences();
        Ok(staged)
    }

    /// The scenario that was staged.
    #[must_use]
    pub fn spec(&self) -> &Spec {
        &self.spec
    }

    /// How long it is, seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.spec.duration_s
    }

    /// Limits of the model that were left, one sentence each.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// Columns and rows.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        self.spec.size
    }

    /// Fire and layer at an instant; `None` without a fire.
    #[must_use]
    pub fn fire_state(&self, t_s: f64) -> Option<State> {
        self.fire.as_ref().map(|fire| fire.state(t_s))
    }

    /// Greatest and least true temperature of a wall (`room.side`), an opening or an object at an
    /// instant, kelvin, by its zones; `None` for a name that there is not.
    #[must_use]
    pub fn range_k(&self, name: &str, t_s: f64) -> Option<(f64, f64)> {
        let panel = self.panels.iter().find(|panel| panel.body.name == name);
        let zones = match panel {
            Some(panel) => panel.first..panel.first + panel.columns * panel.rows,
            None => {
                let thing = self.things.iter().find(|thing| thing.body.name == name)?;
                thing.first..thing.first + 6 + usize::from(thing.ember.is_some())
            }
        };
        let kelvin = self.zones[zones]
            .iter()
            .map(|history| kelvin_at(history, self.spec.step_s, t_s));
        Some(
            kelvin.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), k| {
                (low.min(k), high.max(k))
            }),
        )
    }

    fn plane(&self, panel: &Panel, first: usize, t_s: f64) -> Plane {
        let count = panel.columns * panel.rows;
        Plane {
            length_m: panel.length_m,
            height_m: panel.height_m,
            columns: panel.columns,
            rows: panel.rows,
            kelvin: self.zones[first..first + count]
                .iter()
                .map(|history| kelvin_at(history, self.spec.step_s, t_s))
                .collect(),
        }
    }

    fn panel_skin(&self, panel: &Panel, t_s: f64) -> Skin {
        let plane = self.plane(panel, panel.first, t_s);
        let studs = panel
            .studs
            .map(|(first, spacing)| (self.plane(panel, first, t_s), spacing));
        let (length, height) = (panel.length_m, panel.height_m);
        let below = if panel.middle_below {
            height / 2.0
        } else {
            0.0
        };
        let depth = panel.middle_below;
        let seed = panel.seed;
        let Skin::Uniform(start_k) = panel.body.temperature else {
            return panel.body.temperature.clone();
        };
        let offset = start_k - self.spec.ambient_k;
        Skin::field(move |p| {
            let along = p.x + length / 2.0;
            let up = if depth { p.y + below } else { p.z };
            let mut kelvin = plane.at(along, up);
            if let Some((stud, spacing)) = &studs {
                let off = (along - spacing * (along / spacing).round()).abs();
                let t = ((STUD_M / 2.0 - off) / STUD_EDGE_M + 0.5).clamp(0.0, 1.0);
                kelvin += (stud.at(along, up) - kelvin) * t * t * (3.0 - 2.0 * t);
            }
            kelvin
                + offset
                + SWAY_K
                    * (noise(seed, along / 0.9, up / 0.9)
                        + 0.4 * noise(seed, along / 0.23, up / 0.31))
        })
    }

    fn thing_body(&self, thing: &Thing, one: &ObjectSpec, t_s: f64) -> Body {
        let at = |index: usize| kelvin_at(&self.zones[thing.first + index], self.spec.step_s, t_s);
        let zones: [f64; 6] = std::array::from_fn(at);
        let base = if one.alive {
            self.spec.ambient_k
        } else {
            one.initial_k
        };
        let rises = zones.map(|kelvin| kelvin - base);
        let (low, high, towards) = (thing.low, thing.high, thing.towards);
        let middle = (low + high) / 2.0;
        let half = ((high - low).truncate().length() / 2.0).max(0.02);
        let rise = move |p: DVec3| {
            let side = ((p - middle).dot(towards) / half).clamp(-1.0, 1.0);
            let side = f64::midpoint(1.0, side);
            let up = ((p.z - low.z) / (high.z - low.z).max(0.01)).clamp(0.0, 1.0);
            let level = |i: usize| rises[2 * i] + (rises[2 * i + 1] - rises[2 * i]) * side;
            if up < 0.5 {
                let t = ((up - 0.15) / 0.35).clamp(0.0, 1.0);
                level(0) + (level(1) - level(0)) * t
            } else {
                let t = ((up - 0.5) / 0.35).clamp(0.0, 1.0);
                level(1) + (level(2) - level(1)) * t
            }
        };
        let ember = one.ember.as_ref().zip(thing.ember).map(|(ember, index)| {
            let hot = kelvin_at(&self.zones[index], self.spec.step_s, t_s) - self.spec.ambient_k;
            (hot, ember.at, ember.radius_m)
        });
        let (initial_k, seed) = (one.initial_k, thing.seed);
        let mut body = thing.body.clone();
        body.temperature = Skin::field(move |p| {
            let patch = ember.map_or(0.0, |(hot, at, radius)| {
                let ragged = 1.0 + 0.25 * noise(seed, p.x / 0.05, p.y / 0.05);
                hot * (-(p.distance(at) / (radius * ragged)).powi(2)).exp()
            });
            initial_k + rise(p) + patch + 0.25 * noise(seed, (p.x + p.y) / 0.15, p.z / 0.2)
        });
        for detail in &mut body.details {
            if let Skin::Uniform(kelvin) = detail.temperature {
                detail.temperature = Skin::field(move |p| kelvin + rise(p));
            }
        }
        body
    }

    /// The world at an instant, in seconds.
    #[must_use]
    pub fn world(&self, t_s: f64) -> World {
        let mut world = World::new(self.spec.ambient_k);
        for panel in &self.panels {
            let skin = self.panel_skin(panel, t_s);
            world.bodies.push(panel.body.clone().with_skin(skin));
        }
        for (thing, one) in self.things.iter().zip(&self.spec.objects) {
            world.bodies.push(self.thing_body(thing, one, t_s));
        }
        world.bodies.extend(self.still.iter().cloned());
        if let Some(air) = &self.fire {
            self.burn(&mut world, air, t_s);
        }
        world
    }

    fn burn(&self, world: &mut World, air: &Air, t_s: f64) {
        let now = air.state(t_s);
        let (fire, room) = (&air.fire, &self.spec.rooms[air.room]);
        let (bed_k, ambient_k, seed) = (now.bed_k, self.spec.ambient_k, self.spec.seed);
        let radius = fire.diameter_m / 2.0;
        let at = fire.position;
        let bed = Body::new(
            "seat of the fire",
            Shape::Cylinder {
                radius_m: radius,
                length_m: 0.06,
                axis: Axis::Z,
            },
            Placement::at(at.x, at.y, at.z),
            Surface::matt(0.92),
            bed_k,
        );
        world.bodies.push(bed.with_skin(Skin::field(move |p| {
            let glow = 0.55 + 0.45 * noise(seed ^ 0x5eed, p.x / 0.14, p.y / 0.14);
            let edge = 1.0 - (p.truncate().length() / radius).powi(4).min(1.0) * 0.6;
            ambient_k + (bed_k - ambient_k) * glow * edge
        })));
        // The layer of the medium has no upper end: from a storey above it must not be looked through.
        let below_ceiling = self.spec.imager(t_s).position.z < room.far().z;
        if below_ceiling && now.extinction_per_m > 1e-4 {
            let (low, high) = (room.corner.truncate(), room.far().truncate());
            world.media.push(Medium::Hot(HotLayer {
                interface_m: now.interface_m,
                transition_m: 2.0 * EDGE_M,
                gas_k: now.layer_k,
                extinction_per_m: now.extinction_per_m,
                bounds: Some(Bounds {
                    low: DVec2::new(low.x, low.y),
                    high: DVec2::new(high.x, high.y),
                }),
            }));
        }
        if now.flame_m > 0.05 {
            let share = (now.power_kw / fire.peak_kw).sqrt().clamp(0.25, 1.0);
            world.media.push(Medium::Flame(Flame {
                base: at + DVec3::Z * 0.05,
                width_m: fire.diameter_m * share,
                height_m: now.flame_m,
                flame_k: FLAME_K,
                extinction_per_m: 1.0,
                seed,
                seconds: t_s,
            }));
        }
    }

    /// The imager at an instant, in seconds.
    #[must_use]
    pub fn camera(&self, t_s: f64) -> Camera {
        let key = self.spec.imager(t_s);
        let mut camera = Camera::new(key.position, key.look_at);
        camera.vertical_fov_deg = key.field_of_view_deg;
        (camera.width, camera.height) = self.spec.size;
        camera
    }

    /// The scene at an instant, in seconds.
    #[must_use]
    pub fn view_at(&self, t_s: f64) -> View {
        let world = self.world(t_s);
        let seen = cast(&world, &self.camera(t_s));
        let names: Vec<&str> = self.spec.marks.iter().map(String::as_str).collect();
        View {
            marks: seen.marks(&world, &names),
            apparent: seen.apparent,
        }
    }

    /// Seconds of a frame.
    #[must_use]
    pub fn time_of(&self, frame: u32) -> f64 {
        (f64::from(frame) * self.spec.frame_s).min(self.spec.duration_s)
    }

    fn sentences(&self) -> Vec<String> {
        let spec = &self.spec;
        let mut told = spec.unseen.clone();
        for one in &spec.openings {
            match one.filling {
                Filling::Open => {}
                Filling::Closed(_) => told.push(format!(
                    "What lies behind '{}': an imager sees the surface of the closed leaf, which \
                     follows the other side late or not at all.",
                    one.name
                )),
                Filling::Glass(_) => told.push(format!(
                    "What lies behind '{}': glass is opaque in the band; it shows its own \
                     temperature and mirrors what stands before it.",
                    one.name
                )),
            }
        }
        told.push(
            "What lies behind or inside walls, ceilings and floors: only their near surface is \
             seen, and it changes late."
                .to_owned(),
        );
        if !spec.sprays.is_empty() {
            told.push(
                "What a film of water covers: the imager reads the water, not what is under it."
                    .to_owned(),
            );
        }
        let camera = self.camera(0.0);
        for one in &spec.objects {
            let distance = (one.position - camera.position).length();
            let spot = camera.spot_m(distance);
            let (low, high) = extent(&one.shape);
            let least = (high - low).truncate().min_element().min((high - low).z);
            if one.mirror > 0.2 && one.emissivity < 0.6 {
                told.push(format!(
                    "The true temperature of '{}': it emits {:.0} % and mirrors its surroundings.",
                    one.name,
                    100.0 * one.emissivity
                ));
            }
            if let Some(ember) = &one.ember {
                told.push(format!(
                    "How hot the embers in '{}' are: {:.0} mm lie over them, and only the warmth that \
                     gets through is seen.",
                    one.name,
                    1000.0 * ember.cover.thickness_m()
                ));
            }
            if least < 3.0 * spot {
                told.push(format!(
                    "Detail of '{}' below {:.0} mm: one pixel covers a spot of that side at its \
                     distance of {distance:.1} m (distance to spot {:.0}:1), and mixes what is in it.",
                    one.name,
                    1000.0 * spot,
                    camera.distance_to_spot()
                ));
            }
        }
        told
    }
}

impl Scene for Staged {
    fn view(&self, frame: u32) -> View {
        self.view_at(self.time_of(frame))
    }

    fn image(&self, frame: u32) -> Image<f64> {
        let t_s = self.time_of(frame);
        cast(&self.world(t_s), &self.camera(t_s)).apparent
    }

    fn frame_seconds(&self) -> f64 {
        self.spec.frame_s
    }

    fn unseen(&self) -> Vec<String> {
        self.unseen.clone()
    }
}
