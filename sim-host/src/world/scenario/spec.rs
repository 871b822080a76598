//! What a scenario file says, after reading. Metres, seconds, kelvin, kW, W/m².

use glam::DVec3;

use crate::world::conduction::Assembly;
use crate::world::scene::shape::{Outfit, Posture, Shape};

/// Smoke and fire of a scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct FireSpec {
    /// Middle of the burning base.
    pub position: DVec3,
    /// Growth coefficient, kW/s².
    pub alpha_kw_s2: f64,
    /// Greatest power, kW.
    pub peak_kw: f64,
    /// Diameter of the burning base, metres.
    pub diameter_m: f64,
    /// When it starts; may lie before the first frame.
    pub start_s: f64,
    /// From when on it is being knocked down.
    pub knocked_down_s: Option<f64>,
    /// How long the knock-down takes.
    pub knock_down_takes_s: f64,
    /// Extinction of the smoke in the imager's band when the layer is fully formed, 1/m.
    pub smoke_per_m: f64,
    /// Whether embers stay in the base after knock-down.
    pub embers: bool,
}

/// One side of a room.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// At the least x.
    Left,
    /// At the greatest x.
    Right,
    /// At the least y.
    Front,
    /// At the greatest y.
    Back,
    /// Below.
    Floor,
    /// Above.
    Ceiling,
}

impl Side {
    /// All sides with the words of the file.
    pub const ALL: [(&'static str, Self); 6] = [
        ("left", Self::Left),
        ("right", Self::Right),
        ("front", Self::Front),
        ("back", Self::Back),
        ("floor", Self::Floor),
        ("ceiling", Self::Ceiling),
    ];

    /// The word of the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, side)| *side == self)
            .map_or("", |(word, _)| word)
    }
}

/// Water that falls on a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct SpraySpec {
    /// Name of a wall (`room.side`), an opening or an object.
    pub on: String,
    /// From when.
    pub from_s: f64,
    /// Until when.
    pub until_s: f64,
    /// What reaches the surface, kg m⁻² s⁻¹.
    pub rate_kg_m2s: f64,
    /// Temperature of the water.
    pub water_k: f64,
}

/// A wall, floor or ceiling.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceSpec {
    /// Which assembly, the fire side first.
    pub assembly: Assembly,
    /// Distance of its studs, metres; 0 without any.
    pub studs_m: f64,
    /// How much warmer or cooler it is than the air at the start, kelvin.
    pub offset_k: f64,
}

/// A box room.
#[derive(Clone, Debug, PartialEq)]
pub struct RoomSpec {
    /// Its name.
    pub name: String,
    /// Corner of least x, y and z.
    pub corner: DVec3,
    /// Width, depth and height.
    pub size: DVec3,
    /// Left, right, front, back, floor, ceiling.
    pub faces: [FaceSpec; 6],
}

impl RoomSpec {
    /// Corner of greatest x, y and z.
    #[must_use]
    pub fn far(&self) -> DVec3 {
        self.corner + self.size
    }

    /// Whether a point lies inside by at least a distance in metres.
    #[must_use]
    pub fn holds(&self, at: DVec3, margin_m: f64) -> bool {
        let (low, high) = (self.corner + margin_m, self.far() - margin_m);
        at.cmpge(low).all() && at.cmple(high).all()
    }
}

/// What fills a hole in a wall.
#[derive(Clone, Debug, PartialEq)]
pub enum Filling {
    /// Nothing: gas, heat and sight pass.
    Open,
    /// A leaf or panel.
    Closed(Assembly),
    /// A pane that mirrors.
    Glass(Assembly),
}

/// A hole in a wall.
#[derive(Clone, Debug, PartialEq)]
pub struct OpeningSpec {
    /// Its name.
    pub name: String,
    /// Name of the room.
    pub room: String,
    /// In which wall; never floor or ceiling.
    pub side: Side,
    /// Distance of its edge from the end of the wall at the least x or y, metres.
    pub from_m: f64,
    /// Width, metres.
    pub width_m: f64,
    /// Lower edge above the floor, metres.
    pub sill_m: f64,
    /// Height, metres.
    pub height_m: f64,
    /// How far a leaf or pane lies behind the face of the wall, metres.
    pub recess_m: f64,
    /// What fills it.
    pub filling: Filling,
}

/// A body in a room.
#[derive(Clone, Debug, PartialEq)]
pub struct ObjectSpec {
    /// Its name.
    pub name: String,
    /// What it looks like.
    pub shape: Shape,
    /// What a person holds and wears; `None` for things.
    pub person: Option<(Posture, Outfit)>,
    /// Whether the person is alive: skin of its own temperature.
    pub alive: bool,
    /// Foot of the shape.
    pub position: DVec3,
    /// Turn to the left, seen from above, degrees.
    pub turn_deg: f64,
    /// Lean towards the viewer before it is turned, degrees.
    pub lean_deg: f64,
    /// Emissivity in the band.
    pub emissivity: f64,
    /// Share of the reflected part that is mirrored.
    pub mirror: f64,
    /// What warms up when the body is heated.
    pub assembly: Assembly,
    /// Temperature at the start.
    pub initial_k: f64,
    /// Whether it closes a hole in the floor, so that what lies below heats it.
    pub closes_floor: bool,
    /// Embers inside.
    pub ember: Option<EmberSpec>,
}

/// Embers under the surface of a body.
#[derive(Clone, Debug, PartialEq)]
pub struct EmberSpec {
    /// Temperature of the embers at the start.
    pub kelvin: f64,
    /// Radius of the patch that they warm, metres.
    pub radius_m: f64,
    /// Middle of the patch in the body's own frame.
    pub at: DVec3,
    /// What lies over them.
    pub cover: Assembly,
    /// Time in which they lose 63 % of what they are hotter than the air, seconds.
    pub cools_s: f64,
    /// How long they have been warming their cover before the first frame, seconds.
    pub since_s: f64,
}

/// Where the imager is at an instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Key {
    /// When.
    pub at_s: f64,
    /// Where it stands.
    pub position: DVec3,
    /// What stands in the middle of the picture.
    pub look_at: DVec3,
    /// Field of view from the lower to the upper edge, degrees.
    pub field_of_view_deg: f64,
}

/// Everything a file says.
#[derive(Clone, Debug, PartialEq)]
pub struct Spec {
    /// Title for people.
    pub title: String,
    /// What it is for.
    pub story: String,
    /// What an instructor can ask and show.
    pub notes: Vec<String>,
    /// Temperature of air and walls at the start.
    pub ambient_k: f64,
    /// Seconds shown.
    pub duration_s: f64,
    /// Seconds from frame to frame.
    pub frame_s: f64,
    /// Columns and rows.
    pub size: (usize, usize),
    /// Chooses flicker and the small differences of surfaces.
    pub seed: u64,
    /// Step of the heat computed, seconds.
    pub step_s: f64,
    /// Greatest side of a zone of a wall, metres.
    pub zone_m: f64,
    /// The rooms.
    pub rooms: Vec<RoomSpec>,
    /// Holes in walls.
    pub openings: Vec<OpeningSpec>,
    /// Bodies.
    pub objects: Vec<ObjectSpec>,
    /// The fire, if any.
    pub fire: Option<FireSpec>,
    /// Water.
    pub sprays: Vec<SpraySpec>,
    /// The imager's path, in order of time.
    pub path: Vec<Key>,
    /// Names of the bodies whose visibility is followed.
    pub marks: Vec<String>,
    /// Added to what an imager cannot see here.
    pub unseen: Vec<String>,
}

impl Spec {
    /// Frames from the first to the last instant.
    #[must_use]
    pub fn frames(&self) -> usize {
        crate::world::rounding::floor_index(self.duration_s / self.frame_s + 1e-9, 99_999) + 1
    }

    /// The room that holds a point.
    #[must_use]
    pub fn room_at(&self, at: DVec3) -> Option<usize> {
        self.rooms.iter().position(|room| room.holds(at, -1e-9))
    }

    /// The imager at an instant, between its keys with soft starts and stops.
    #[must_use]
    pub fn imager(&self, t_s: f64) -> Key {
        let after = self.path.partition_point(|key| key.at_s <= t_s);
        let Some(last) = after.checked_sub(1).and_then(|i| self.path.get(i)) else {
            return self.path[0];
        };
        let Some(next) = self.path.get(after) else {
            return *last;
        };
        let share = (t_s - last.at_s) / (next.at_s - last.at_s);
        let soft = share * share * (3.0 - 2.0 * share);
        Key {
            at_s: t_s,
            position: last.position.lerp(next.position, soft),
            look_at: last.look_at.lerp(next.look_at, soft),
            field_of_view_deg: last.field_of_view_deg
                + soft * (next.field_of_view_deg - last.field_of_view_deg),
        }
    }
}
