//! A staged scenario at one instant: the temperatures of its bodies, its smoke and its flame.

use glam::DVec3;

use super::air::{Air, EDGE_M};
use super::build::{Panel, Thing};
use super::faces::{Plane, kelvin_at};
use super::spec::ObjectSpec;
use super::stage::Staged;
use super::sway::noise;
use crate::world::scene::body::{Body, Placement, Skin, Surface};
use crate::world::scene::cast::{Room, World};
use crate::world::scene::medium::{Bounds, Flame, HotLayer, Medium};
use crate::world::scene::shape::{Axis, Shape};

/// How much a wall differs from place to place, kelvin; invented.
const SWAY_K: f64 = 0.18;
/// Temperature of glowing soot in a flame of the workshop, kelvin; assumed, of the order of pool fires.
const FLAME_K: f64 = 1150.0;
/// Width of a stud and of its soft edge, metres; common practice, no published source.
const STUD_M: f64 = 0.045;
const STUD_EDGE_M: f64 = 0.03;

impl Staged {
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
        let rooms = self.spec.rooms.iter();
        world.rooms = rooms
            .map(|room| Room {
                low: room.corner,
                high: room.far(),
            })
            .collect();
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
        if now.extinction_per_m > 1e-4 {
            world.media.push(Medium::Hot(HotLayer {
                interface_m: now.interface_m,
                transition_m: 2.0 * EDGE_M,
                gas_k: now.layer_k,
                extinction_per_m: now.extinction_per_m,
                bounds: Some(Bounds {
                    low: room.corner.truncate(),
                    high: room.far().truncate(),
                }),
                top_m: room.far().z,
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
}
