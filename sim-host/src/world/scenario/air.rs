//! The fire in time, and what it does at a place: gas, layer, jet under the ceiling, radiation.

mod limit;

use std::f64::consts::PI;

use glam::DVec3;

use super::spec::{Filling, FireSpec, OpeningSpec, RoomSpec, Side, Spec};
use crate::world::conduction::{Boundary, Ply};
use crate::world::fire::compartment::{Compartment, Lining, Vent};
use crate::world::fire::growth::Growth;
use crate::world::fire::layer::Descent;
use crate::world::fire::plume::flame_height_m;
use crate::world::rounding::{count_f64, floor_index};
use limit::{Limit, is_worth_telling, note};

/// Share of the power that a flame radiates; 0.3 is usual (from memory, not seen).
const RADIATIVE: f64 = 0.3;
/// Most that falls on a face from the flame, kW/m²; assumed, the contact flux of large flames.
const MOST_KW_M2: f64 = 60.0;
/// After knock-down the layer cools no faster than this, seconds; assumed.
const LAYER_COOLS_S: f64 = 40.0;
/// Coefficients of convection of still air and of a hot layer, W m⁻² K⁻¹ (order of magnitude of
/// handbooks, from memory, not seen).
const STILL_W_M2K: f64 = 5.0;
const HOT_W_M2K: f64 = 15.0;
const OUTDOORS_W_M2K: f64 = 8.0;
/// Half of the soft edge of the layer, metres; assumed.
pub(super) const EDGE_M: f64 = 0.35;

/// The fire and its layer at an instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Power, kW.
    pub power_kw: f64,
    /// Height of the flame over its base, metres.
    pub flame_m: f64,
    /// Temperature of the hot layer, kelvin.
    pub layer_k: f64,
    /// Height of the layer's lower face above z = 0, metres.
    pub interface_m: f64,
    /// Extinction of the layer in the band, 1/m.
    pub extinction_per_m: f64,
    /// Temperature of the burning or smouldering base, kelvin.
    pub bed_k: f64,
}

/// The fire and its layer in time.
#[derive(Clone, Debug)]
pub(super) struct Air {
    pub(super) fire: FireSpec,
    pub(super) room: usize,
    start_s: f64,
    step_s: f64,
    states: Vec<State>,
    pub(super) warnings: Vec<String>,
}

fn lining(room: &RoomSpec) -> Lining {
    let ply = room.faces[3].assembly.plies.first();
    match ply {
        Some(Ply::Solid {
            material,
            thickness_m,
        }) => Lining {
            material: *material,
            thickness_m: *thickness_m,
        },
        _ => Lining {
            material: crate::world::conduction::library::PLASTERBOARD,
            thickness_m: 0.0125,
        },
    }
}

/// A flux that comes near [`MOST_KW_M2`] without a kink: 1.5 % low at half of it, 16 % low at it.
fn bounded(flux_kw_m2: f64) -> f64 {
    flux_kw_m2 / (1.0 + (flux_kw_m2 / MOST_KW_M2).powi(4)).powf(0.25)
}

/// Power, kW: t-squared growth to the peak, then a straight fall while it is knocked down.
fn power_kw(fire: &FireSpec, t_s: f64) -> f64 {
    let mut growth = Growth::new(fire.alpha_kw_s2, fire.peak_kw);
    growth.start_s = fire.start_s;
    growth.steady_s = 1e9;
    let down = fire.knocked_down_s.unwrap_or(f64::INFINITY);
    let left = (1.0 - (t_s - down).max(0.0) / fire.knock_down_takes_s).clamp(0.0, 1.0);
    growth.kw(t_s.min(down)) * left
}

/// What the smouldering base keeps, kelvin above the air: assumed, from the look of overhaul.
fn bed_k(fire: &FireSpec, ambient_k: f64, t_s: f64) -> f64 {
    let burning = |t: f64| 580.0 * (power_kw(fire, t) / fire.peak_kw).sqrt();
    let Some(down) = fire.knocked_down_s.filter(|down| *down < t_s) else {
        return ambient_k + burning(t_s);
    };
    let since = t_s - down;
    let before = burning(down);
    let quenched = before * (-since / 25.0).exp();
    let embers = if fire.embers {
        0.2 * before * (-since / 900.0).exp()
    } else {
        0.0
    };
    ambient_k + quenched.max(burning(t_s)).max(embers)
}

impl Air {
    /// The fire of a scenario; `None` without one.
    pub(super) fn new(spec: &Spec) -> Option<Self> {
        let fire = spec.fire.clone()?;
        let room = spec.room_at(fire.position)?;
        let own = &spec.rooms[room];
        let vents = spec
            .openings
            .iter()
            .filter(|one| one.room == own.name && one.filling == Filling::Open)
            .chain(spec.openings.iter().filter(|one| {
                one.filling == Filling::Open
                    && one.room != own.name
                    && beyond(spec, one) == Some(room)
            }))
            .map(|one| Vent {
                width_m: one.width_m,
                height_m: one.height_m,
                sill_m: one.sill_m,
            })
            .collect();
        let compartment = Compartment {
            length_m: own.size.x,
            width_m: own.size.y,
            height_m: own.size.z,
            vents,
            lining: lining(own),
        };
        let start_s = fire.start_s.min(0.0);
        let steps = floor_index(((spec.duration_s - start_s) / spec.step_s).ceil(), 100_000) + 1;
        let mut descent =
            Descent::new(&compartment, fire.position.z - own.corner.z, spec.ambient_k);
        let mut layer_k = spec.ambient_k;
        let mut states = Vec::with_capacity(steps);
        let mut limits: Vec<Limit> = Vec::new();
        for step in 0..steps {
            let t_s = start_s + count_f64(step) * spec.step_s;
            let power = power_kw(&fire, t_s);
            let since = (t_s - fire.start_s).max(0.0);
            let mut rise = 0.0;
            let cooled =
                spec.ambient_k + (layer_k - spec.ambient_k) * (-spec.step_s / LAYER_COOLS_S).exp();
            if power > 0.0 {
                let found = compartment.layer_rise(power, since.max(1.0));
                rise = found.rise_k.min(1000.0);
                if spec.ambient_k + rise >= cooled {
                    let is_grown = power >= 0.99 * fire.peak_kw;
                    for warning in found.warnings {
                        if is_worth_telling(&warning, rise, is_grown) {
                            note(&mut limits, warning, t_s);
                        }
                    }
                }
            }
            layer_k = (spec.ambient_k + rise).max(cooled);
            let height = own.size.z;
            states.push(State {
                power_kw: power,
                flame_m: flame_height_m(power, fire.diameter_m)
                    .min(height - (fire.position.z - own.corner.z)),
                layer_k,
                interface_m: own.corner.z + descent.layer().interface_m,
                extinction_per_m: fire.smoke_per_m
                    * ((layer_k - spec.ambient_k) / 150.0).clamp(0.0, 1.0),
                bed_k: bed_k(&fire, spec.ambient_k, t_s),
            });
            descent.step(spec.step_s, power, layer_k);
        }
        Some(Self {
            fire,
            room,
            start_s,
            step_s: spec.step_s,
            states,
            warnings: limits.iter().map(ToString::to_string).collect(),
        })
    }

    /// The instant from which on there is something to compute.
    pub(super) fn start_s(&self) -> f64 {
        self.start_s
    }

    /// Fire and layer at an instant, straight between the steps.
    pub(super) fn state(&self, t_s: f64) -> State {
        let at = ((t_s - self.start_s) / self.step_s).max(0.0);
        let last = self.states.len() - 1;
        let index = floor_index(at, last);
        let (a, b) = (self.states[index], self.states[(index + 1).min(last)]);
        let share = (at - count_f64(index)).clamp(0.0, 1.0);
        let mix = |p: f64, q: f64| p + (q - p) * share;
        State {
            power_kw: mix(a.power_kw, b.power_kw),
            flame_m: mix(a.flame_m, b.flame_m),
            layer_k: mix(a.layer_k, b.layer_k),
            interface_m: mix(a.interface_m, b.interface_m),
            extinction_per_m: mix(a.extinction_per_m, b.extinction_per_m),
            bed_k: mix(a.bed_k, b.bed_k),
        }
    }

    /// What falls on a face at a point that looks along `normal`, W/m².
    fn flame_w_m2(
        &self,
        spec: &Spec,
        at: DVec3,
        normal: DVec3,
        room: Option<usize>,
        now: &State,
    ) -> f64 {
        if now.power_kw <= 0.0 {
            return 0.0;
        }
        let source = self.fire.position + DVec3::Z * (0.5 * now.flame_m).max(0.1);
        let way = source - at;
        let distance = way.length().max(0.5 * self.fire.diameter_m + 0.15);
        let cosine = (way.normalize_or(normal).dot(normal)).max(0.0);
        if cosine <= 0.0 || !(room == Some(self.room) || sees(spec, at, source)) {
            return 0.0;
        }
        let flux = RADIATIVE * now.power_kw / (4.0 * PI * distance * distance);
        1000.0 * bounded(flux * cosine)
    }

    /// Rise of the jet under the ceiling over the fire, kelvin.
    ///
    /// Alpert's correlations, 16.9 Q^⅔/H^(5/3) over the fire and 5.38 (Q/r)^⅔/H beside it; from memory,
    /// not seen.
    fn jet_rise_k(&self, spec: &Spec, at: DVec3, now: &State) -> f64 {
        let ceiling = spec.rooms[self.room].far().z;
        let height = (ceiling - self.fire.position.z).max(0.3);
        let radius = (at - self.fire.position).truncate().length();
        let rise = if radius < 0.18 * height {
            16.9 * now.power_kw.powf(2.0 / 3.0) / height.powf(5.0 / 3.0)
        } else {
            5.38 * (now.power_kw / radius).powf(2.0 / 3.0) / height
        };
        let depth = (0.1 * height).max(0.05);
        rise.min(850.0) * (-((ceiling - at.z) / depth).powi(2)).exp()
    }

    /// What acts on a face at a point that looks along `normal` into a room, `None` for the open.
    pub(super) fn boundary(
        &self,
        spec: &Spec,
        at: DVec3,
        normal: DVec3,
        room: Option<usize>,
        emissivity: f64,
        t_s: f64,
    ) -> Boundary {
        let now = self.state(t_s);
        let flux = emissivity * self.flame_w_m2(spec, at, normal, room, &now);
        let still = Boundary {
            flux_w_m2: flux,
            ..at_rest(spec, room, emissivity)
        };
        if room != Some(self.room) {
            return still;
        }
        let soft = |t: f64| {
            let t = t.clamp(0.0, 1.0);
            t * t * (3.0 - 2.0 * t)
        };
        let inside = soft((at.z - now.interface_m) / (2.0 * EDGE_M) + 0.5);
        let jet_k = spec.ambient_k + self.jet_rise_k(spec, at, &now);
        let gas_k = (spec.ambient_k + (now.layer_k - spec.ambient_k) * inside).max(jet_k);
        // A layer glows as thick as it is; a face below it sees a part of it that falls with distance.
        let thickness = (spec.rooms[self.room].far().z - now.interface_m).max(0.0);
        let glow = 1.0 - (-(now.extinction_per_m + 0.2) * 2.0 * thickness).exp();
        let below = (now.interface_m - at.z).max(0.0);
        let reach = 0.5 * spec.rooms[self.room].size.truncate().min_element();
        let upward = if normal.z > 0.5 { 1.0 } else { 0.5 };
        let seen = upward / (1.0 + (below / reach).powi(2));
        let share = glow * (inside + (1.0 - inside) * seen);
        let radiant = share * now.layer_k.powi(4) + (1.0 - share) * spec.ambient_k.powi(4);
        Boundary {
            gas_k,
            convection_w_m2k: STILL_W_M2K
                + (HOT_W_M2K - STILL_W_M2K) * ((gas_k - spec.ambient_k) / 200.0).clamp(0.0, 1.0),
            radiant_k: radiant.powf(0.25),
            ..still
        }
    }

    /// Whether the fire can reach a face at all.
    pub(super) fn reaches(
        &self,
        spec: &Spec,
        at: DVec3,
        normal: DVec3,
        room: Option<usize>,
    ) -> bool {
        let middle = self.fire.position + DVec3::Z * 0.5;
        room == Some(self.room) || (normal.dot(middle - at) > 0.0 && sees(spec, at, middle))
    }
}

/// What acts on a face where there is no fire.
pub(super) fn at_rest(spec: &Spec, room: Option<usize>, emissivity: f64) -> Boundary {
    let convection = if room.is_some() {
        STILL_W_M2K
    } else {
        OUTDOORS_W_M2K
    };
    Boundary::exchange(spec.ambient_k, convection, emissivity)
}

/// Middle, outward normal and half sizes of an opening in the world.
pub(super) fn opening_place(room: &RoomSpec, one: &OpeningSpec) -> (DVec3, DVec3) {
    let along = one.from_m + one.width_m / 2.0;
    let up = one.sill_m + one.height_m / 2.0;
    let (c, f) = (room.corner, room.far());
    match one.side {
        Side::Left => (DVec3::new(c.x, c.y + along, c.z + up), -DVec3::X),
        Side::Right => (DVec3::new(f.x, c.y + along, c.z + up), DVec3::X),
        Side::Front => (DVec3::new(c.x + along, c.y, c.z + up), -DVec3::Y),
        Side::Back => (DVec3::new(c.x + along, f.y, c.z + up), DVec3::Y),
        Side::Floor => (c + DVec3::new(along, up, 0.0), -DVec3::Z),
        Side::Ceiling => (c + DVec3::new(along, up, room.size.z), DVec3::Z),
    }
}

/// The room on the other side of a point of a wall; walls are up to 0.6 m thick.
pub(super) fn behind(spec: &Spec, at: DVec3, outward: DVec3) -> Option<usize> {
    [0.01, 0.05, 0.1, 0.2, 0.3, 0.45, 0.6]
        .into_iter()
        .find_map(|depth| {
            let probe = at + outward * depth;
            spec.rooms.iter().position(|room| room.holds(probe, 1e-6))
        })
}

/// The room on the other side of an opening.
pub(super) fn beyond(spec: &Spec, one: &OpeningSpec) -> Option<usize> {
    let room = spec.rooms.iter().find(|room| room.name == one.room)?;
    let (middle, outward) = opening_place(room, one);
    behind(spec, middle, outward)
}

/// Whether a straight line between two points in different rooms passes an open opening.
fn sees(spec: &Spec, from: DVec3, to: DVec3) -> bool {
    spec.openings.iter().any(|one| {
        let Some(room) = spec.rooms.iter().find(|room| room.name == one.room) else {
            return false;
        };
        if one.filling != Filling::Open {
            return false;
        }
        let (middle, outward) = opening_place(room, one);
        let (a, b) = ((from - middle).dot(outward), (to - middle).dot(outward));
        if a * b >= 0.0 {
            return false;
        }
        let crossing = from.lerp(to, a / (a - b)) - middle;
        let along = crossing.x.hypot(crossing.y);
        along < one.width_m / 2.0 && crossing.z.abs() < one.height_m / 2.0
    })
}
