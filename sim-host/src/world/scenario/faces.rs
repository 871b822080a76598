//! Walls, leaves and bodies in time: a grid of zones, each with conduction through what it is made of.

use std::sync::Arc;

use glam::DVec3;
use rayon::prelude::*;

use super::air::{self, Air, behind};
use super::spec::{Spec, SpraySpec};
use crate::world::conduction::library::SOFTWOOD;
use crate::world::conduction::{Assembly, Boundary, ConductionError, Grid, Ply, Spray, Wall};
use crate::world::rounding::{count_f64, floor_index};

/// A zone before it is computed.
pub(super) struct Zone {
    /// Where it is in the world, and where its shown face looks.
    pub(super) at: DVec3,
    pub(super) normal: DVec3,
    pub(super) assembly: Arc<Assembly>,
    /// What lies before the shown face, and whether that is the fire's side of the assembly.
    pub(super) room: Option<usize>,
    pub(super) fire_side_shown: bool,
    /// What acts on the hidden face.
    pub(super) hidden: Hidden,
    pub(super) initial_k: f64,
    /// Water on the shown face.
    pub(super) spray: Option<SpraySpec>,
}

/// What acts on the face that is not shown.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Hidden {
    /// The room behind, or the open.
    Behind,
    /// Nothing: no heat passes.
    Insulated,
    /// Embers of a temperature at 0 s that cool with a time in seconds.
    Embers { kelvin: f64, cools_s: f64 },
}

/// Kelvin of the shown face, one a step from 0 s on.
pub(super) type History = Arc<[f64]>;

/// Steps that are kept, from 0 s to the end.
pub(super) fn kept(spec: &Spec) -> usize {
    floor_index((spec.duration_s / spec.step_s).ceil(), 100_000) + 1
}

impl Zone {
    fn acts(&self, spec: &Spec, fire: Option<&Air>, t_s: f64) -> (Boundary, Boundary) {
        let emissivities = [self.assembly.emissivity_fire, self.assembly.emissivity_room];
        let (shown, hidden) = if self.fire_side_shown {
            (emissivities[0], emissivities[1])
        } else {
            (emissivities[1], emissivities[0])
        };
        let act = |at, normal, room, emissivity| match fire {
            Some(fire) => fire.boundary(spec, at, normal, room, emissivity, t_s),
            None => air::at_rest(spec, room, emissivity),
        };
        let mut front = act(self.at, self.normal, self.room, shown);
        if let Some(spray) = &self.spray
            && (spray.from_s..spray.until_s).contains(&t_s)
        {
            front = front.sprayed(Spray {
                rate_kg_m2s: spray.rate_kg_m2s,
                water_k: spray.water_k,
            });
        }
        let back = match self.hidden {
            Hidden::Insulated => Boundary::INSULATED,
            Hidden::Embers { kelvin, cools_s } => {
                let now =
                    spec.ambient_k + (kelvin - spec.ambient_k) * (-t_s.max(0.0) / cools_s).exp();
                // Glowing grains touch their cover: assumed, of the order of packed grains.
                Boundary::exchange(now, 200.0, 0.0)
            }
            Hidden::Behind => {
                let room = behind(spec, self.at, -self.normal);
                act(self.at - self.normal * 0.05, -self.normal, room, hidden)
            }
        };
        (front, back)
    }

    fn is_still(&self, spec: &Spec, fire: Option<&Air>) -> bool {
        let warmed = fire.is_some_and(|fire| {
            fire.reaches(spec, self.at, self.normal, self.room)
                || (self.hidden == Hidden::Behind
                    && fire.reaches(
                        spec,
                        self.at,
                        -self.normal,
                        behind(spec, self.at, -self.normal),
                    ))
        });
        let own = (self.initial_k - spec.ambient_k).abs() > 1e-9;
        let insulated = self.hidden == Hidden::Insulated;
        let embers = matches!(self.hidden, Hidden::Embers { .. });
        !(warmed || self.spray.is_some() || embers || (own && insulated))
    }

    /// The shown face in time.
    fn history(
        &self,
        spec: &Spec,
        fire: Option<&Air>,
        since_s: f64,
    ) -> Result<History, (f64, ConductionError)> {
        let kept = kept(spec);
        if self.is_still(spec, fire) {
            return Ok(vec![self.initial_k; kept].into());
        }
        let start_s = fire.map_or(0.0, Air::start_s).min(-since_s);
        // Steps before 0 s are whole ones too, so that one falls on 0 s.
        let before = floor_index((-start_s / spec.step_s).ceil(), 100_000);
        let thickness = self.assembly.thickness_m();
        let grid = Grid {
            cell_m: (thickness / 60.0).max(1e-3),
            at_least: 4,
        };
        let mut wall = Wall::new(&self.assembly, self.initial_k, grid).map_err(|e| (start_s, e))?;
        let mut history = Vec::with_capacity(kept);
        for step in 0..before + kept {
            if step >= before {
                history.push(if self.fire_side_shown {
                    wall.fire_face_k()
                } else {
                    wall.room_face_k()
                });
            }
            let t_s = (count_f64(step) - count_f64(before) + 0.5) * spec.step_s;
            let (front, back) = self.acts(spec, fire, t_s);
            let (fire_side, room_side) = if self.fire_side_shown {
                (front, back)
            } else {
                (back, front)
            };
            wall.step(spec.step_s, fire_side, room_side)
                .map_err(|error| (t_s, error))?;
        }
        Ok(history.into())
    }
}

/// Computes zones, in parallel; every zone is its own, so that the number of threads changes nothing.
pub(super) fn histories(
    spec: &Spec,
    fire: Option<&Air>,
    zones: &[Zone],
    since_s: f64,
    done: &(dyn Fn() + Sync),
) -> Result<Vec<History>, (f64, ConductionError)> {
    zones
        .par_iter()
        .map(|zone| {
            let history = zone.history(spec, fire, since_s);
            done();
            history
        })
        .collect()
}

/// An instant of a history, straight between the steps.
pub(super) fn kelvin_at(history: &History, spec_step_s: f64, t_s: f64) -> f64 {
    let last = history.len() - 1;
    let at = (t_s / spec_step_s).max(0.0);
    let index = floor_index(at, last);
    let share = (at - count_f64(index)).clamp(0.0, 1.0);
    history[index] + (history[(index + 1).min(last)] - history[index]) * share
}

/// The assembly where a stud fills its air spaces.
pub(super) fn at_stud(assembly: &Assembly) -> Assembly {
    let plies = assembly.plies.iter().map(|ply| match ply {
        Ply::Gap { thickness_m, .. } => Ply::solid(SOFTWOOD, *thickness_m),
        solid @ Ply::Solid { .. } => solid.clone(),
    });
    Assembly {
        plies: plies.collect(),
        ..assembly.clone()
    }
}

/// How many zones fit along a length.
pub(super) fn zones_along(length_m: f64, zone_m: f64) -> usize {
    floor_index((length_m / zone_m).ceil(), 40).max(2)
}

/// A plane of zones at one instant, smooth between their middles.
#[derive(Clone)]
pub(super) struct Plane {
    pub(super) length_m: f64,
    pub(super) height_m: f64,
    pub(super) columns: usize,
    pub(super) rows: usize,
    pub(super) kelvin: Vec<f64>,
}

impl Plane {
    fn axis(at_m: f64, length_m: f64, count: usize) -> (usize, usize, f64) {
        let at = (at_m / length_m * count_f64(count) - 0.5).clamp(0.0, count_f64(count - 1));
        let low = floor_index(at, count - 1);
        (low, (low + 1).min(count - 1), at - count_f64(low))
    }

    fn cubic(values: [f64; 4], t: f64) -> f64 {
        let [a, b, c, d] = values;
        // Catmull-Rom through the middles, kept between the neighbours so that nothing overshoots.
        let smooth = b + 0.5
            * t
            * (c - a + t * (2.0 * a - 5.0 * b + 4.0 * c - d + t * (3.0 * (b - c) + d - a)));
        smooth.clamp(b.min(c), b.max(c))
    }

    /// Kelvin at a place from the least corner, metres.
    pub(super) fn at(&self, along_m: f64, up_m: f64) -> f64 {
        let (x0, x1, tx) = Self::axis(along_m, self.length_m, self.columns);
        let (y0, y1, ty) = Self::axis(up_m, self.height_m, self.rows);
        let row = |y: usize| {
            let k = |x: usize| self.kelvin[y * self.columns + x];
            let before = x0.saturating_sub(1);
            let after = (x1 + 1).min(self.columns - 1);
            Self::cubic([k(before), k(x0), k(x1), k(after)], tx)
        };
        let before = row(y0.saturating_sub(1));
        let after = row((y1 + 1).min(self.rows - 1));
        Self::cubic([before, row(y0), row(y1), after], ty)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_gives_its_zones_in_their_middles_and_nothing_beyond_them() {
        let plane = Plane {
            length_m: 4.0,
            height_m: 2.0,
            columns: 4,
            rows: 2,
            kelvin: vec![300.0, 310.0, 330.0, 331.0, 300.0, 300.0, 300.0, 300.0],
        };
        assert!((plane.at(1.5, 0.5) - 310.0).abs() < 1e-9);
        assert!((plane.at(2.5, 0.5) - 330.0).abs() < 1e-9);
        assert!((plane.at(0.0, 2.0) - 300.0).abs() < 1e-9);
        for i in 0..400 {
            let k = plane.at(f64::from(i) * 0.01, 0.7);
            assert!((300.0..=331.0).contains(&k), "{k}");
        }
    }
}
