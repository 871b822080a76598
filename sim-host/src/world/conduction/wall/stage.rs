//! One implicit stage of a step: the temperatures at which the balance of energy closes.

use super::Wall;
use crate::world::conduction::boundary::Boundary;
use crate::world::conduction::error::ConductionError;
use crate::world::conduction::tridiagonal;

/// No temperature may move by more than this in the last round, kelvin.
const SETTLED_K: f64 = 1e-6;
const ROUNDS: usize = 60;
/// Room for the rounds of a stage, kept between steps.
#[derive(Clone, Debug, Default)]
pub(super) struct Scratch {
    pub(super) heat: Vec<f64>,
    lower: Vec<f64>,
    diagonal: Vec<f64>,
    upper: Vec<f64>,
    right: Vec<f64>,
}

/// What a stage found.
pub(super) struct Stage {
    pub(super) fire_w_m2: f64,
    pub(super) room_w_m2: f64,
}

impl Wall {
    /// Finds the temperatures of which the enthalpy is `base` plus `weight_s` times the heat that
    /// flows at them.
    pub(super) fn stage(
        &self,
        base: &[f64],
        weight_s: f64,
        sides: [Boundary; 2],
        kelvin: &mut [f64],
        scratch: &mut Scratch,
        dt_s: f64,
    ) -> Result<Stage, ConductionError> {
        for _ in 0..ROUNDS {
            self.assemble(base, weight_s, sides, kelvin, scratch);
            tridiagonal::solve(
                &scratch.lower,
                &mut scratch.diagonal,
                &scratch.upper,
                &mut scratch.right,
            );
            let mut moved = 0.0_f64;
            let mut next: Vec<_> = kelvin
                .iter()
                .zip(&scratch.right)
                .map(|(now, change)| (now + change).max(0.5 * now))
                .collect();
            for water in &self.waters {
                let node = water.node;
                next[node] = water.hold(kelvin[node], next[node]);
            }
            for (now, next) in kelvin.iter_mut().zip(next) {
                // Not `max`, which would lose a not-a-number.
                let change = (next - *now).abs();
                if change > moved || change.is_nan() {
                    moved = change;
                }
                *now = next;
            }
            if moved <= SETTLED_K {
                return Ok(self.flows(sides, kelvin, scratch));
            }
            if moved.is_nan() {
                break;
            }
        }
        Err(ConductionError::NotSettled {
            name: self.name.to_owned(),
            dt_s,
        })
    }

    /// Sets up the equations of one round: what is missing, and its slopes.
    fn assemble(
        &self,
        base: &[f64],
        weight_s: f64,
        [fire_side, room_side]: [Boundary; 2],
        kelvin: &[f64],
        scratch: &mut Scratch,
    ) {
        let nodes = kelvin.len();
        scratch.lower.clear();
        scratch.lower.resize(nodes, 0.0);
        scratch.upper.clear();
        scratch.upper.resize(nodes, 0.0);
        scratch.diagonal.clone_from(&self.capacity);
        scratch.right = self.enthalpy(kelvin);
        for (missing, base) in scratch.right.iter_mut().zip(base) {
            *missing = base - *missing;
        }
        for water in &self.waters {
            scratch.diagonal[water.node] += water.slope(kelvin[water.node]);
        }
        for (i, link) in self.links.iter().enumerate() {
            let (heat, first, second) = link.heat(kelvin[i], kelvin[i + 1]);
            scratch.right[i] -= weight_s * heat;
            scratch.right[i + 1] += weight_s * heat;
            scratch.diagonal[i] += weight_s * first;
            scratch.upper[i] -= weight_s * second;
            scratch.diagonal[i + 1] += weight_s * second;
            scratch.lower[i + 1] -= weight_s * first;
        }
        for (node, side) in [(0, fire_side), (nodes - 1, room_side)] {
            scratch.right[node] += weight_s * side.heat_w_m2(kelvin[node]);
            scratch.diagonal[node] -= weight_s * side.slope(kelvin[node]);
        }
    }

    /// Heat that flows into every node, left in the scratch, and through both faces.
    fn flows(
        &self,
        [fire_side, room_side]: [Boundary; 2],
        kelvin: &[f64],
        scratch: &mut Scratch,
    ) -> Stage {
        let last = kelvin.len() - 1;
        let stage = Stage {
            fire_w_m2: fire_side.heat_w_m2(kelvin[0]),
            room_w_m2: room_side.heat_w_m2(kelvin[last]),
        };
        scratch.heat.clear();
        scratch.heat.resize(kelvin.len(), 0.0);
        scratch.heat[0] += stage.fire_w_m2;
        scratch.heat[last] += stage.room_w_m2;
        for (i, link) in self.links.iter().enumerate() {
            let (heat, ..) = link.heat(kelvin[i], kelvin[i + 1]);
            scratch.heat[i] -= heat;
            scratch.heat[i + 1] += heat;
        }
        stage
    }

    /// Heat stored in every node above the start, J/m².
    pub(super) fn enthalpy(&self, kelvin: &[f64]) -> Vec<f64> {
        let mut stored: Vec<_> = kelvin
            .iter()
            .zip(&self.capacity)
            .map(|(kelvin, capacity)| capacity * (kelvin - self.initial_k))
            .collect();
        for water in &self.waters {
            stored[water.node] += water.latent_j_m2 * water.share(kelvin[water.node]);
        }
        stored
    }
}
