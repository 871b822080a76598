//! An assembly with a temperature in every place, stepped in time.
//!
//! **In space**: finite volumes. Nodes stand on both faces, on every interface and evenly between; a
//! node holds the half cells on its two sides. What leaves one node enters the next, so that heat is
//! conserved whatever the grid; the error falls with the square of the cell.
//!
//! **In time**: two implicit stages with γ = 1 − 1/√2 (R. Alexander, SIAM J. Numer. Anal. 14 (1977)
//! 1006, from memory, not seen; the order is shown by a test): second order like the rule of Crank and
//! Nicolson, but stiff parts, such as a thin steel face that meets a fire within one step, do not
//! ring. Radiation, air spaces, bound water and sprays are iterated in every stage (Newton) until no
//! temperature moves by a microkelvin, so that the balance of energy closes.

mod node;
mod stage;

use super::assembly::{Assembly, Ply};
use super::boundary::Boundary;
use super::cavity;
use super::error::{ConductionError, within};
use crate::world::rounding::{count_f64, floor_index};
use node::{Link, Water};
use stage::Scratch;

/// γ of the two stages, 1 − 1/√2.
const GAMMA: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
const MOST_CELLS: usize = 100_000;

/// How finely a wall is divided.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// No cell is thicker, metres.
    pub cell_m: f64,
    /// Every solid layer has at least so many cells.
    pub at_least: usize,
}

impl Default for Grid {
    /// 1 mm, four cells a layer.
    fn default() -> Self {
        Self {
            cell_m: 1e-3,
            at_least: 4,
        }
    }
}

impl Grid {
    fn cells(self, thickness_m: f64) -> usize {
        // A thickness that is a whole number of cells must not gain one by rounding.
        let whole = floor_index((thickness_m / self.cell_m - 1e-9).ceil(), MOST_CELLS);
        whole.max(self.at_least).max(1)
    }
}

/// A layer that has passed the limit of its material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exceeded {
    /// The material.
    pub material: &'static str,
    /// What happens there.
    pub happens: &'static str,
    /// The limit, kelvin.
    pub kelvin: f64,
    /// When it was first passed, seconds from the start.
    pub at_s: f64,
}

#[derive(Clone, Debug)]
struct Watch {
    first: usize,
    last: usize,
    limit: Exceeded,
}

/// An assembly with a temperature in every place.
#[derive(Clone, Debug)]
pub struct Wall {
    name: &'static str,
    initial_k: f64,
    depth_m: Vec<f64>,
    kelvin: Vec<f64>,
    capacity: Vec<f64>,
    links: Vec<Link>,
    waters: Vec<Water>,
    watches: Vec<Watch>,
    exceeded: Vec<Exceeded>,
    elapsed_s: f64,
    fire_j_m2: f64,
    room_j_m2: f64,
    scratch: Scratch,
}

impl Wall {
    /// A wall of one temperature, in kelvin.
    ///
    /// # Errors
    /// [`ConductionError`] if the assembly, the temperature (200 K to 1500 K) or the grid (1 µm to
    /// 1 m) cannot be used.
    pub fn new(assembly: &Assembly, initial_k: f64, grid: Grid) -> Result<Self, ConductionError> {
        assembly.check()?;
        within("initial_k", initial_k, 200.0, 1500.0)?;
        within("cell_m", grid.cell_m, 1e-6, 1.0)?;
        let mut wall = Self {
            name: assembly.name,
            initial_k,
            depth_m: vec![0.0],
            kelvin: vec![initial_k],
            capacity: vec![0.0],
            links: vec![],
            waters: vec![],
            watches: vec![],
            exceeded: vec![],
            elapsed_s: 0.0,
            fire_j_m2: 0.0,
            room_j_m2: 0.0,
            scratch: Scratch::default(),
        };
        for ply in &assembly.plies {
            wall.add(ply, grid);
        }
        for water in &mut wall.waters {
            water.gone = water.share(initial_k);
        }
        Ok(wall)
    }

    fn last(&self) -> usize {
        self.kelvin.len() - 1
    }

    fn add_node(&mut self, step_m: f64, link: Link) {
        let depth_m = self.depth_m[self.last()] + step_m;
        self.depth_m.push(depth_m);
        self.kelvin.push(self.initial_k);
        self.capacity.push(0.0);
        self.links.push(link);
    }

    fn add(&mut self, ply: &Ply, grid: Grid) {
        let (material, thickness_m) = match ply {
            Ply::Solid {
                material,
                thickness_m,
            } => (material, *thickness_m),
            Ply::Gap {
                thickness_m,
                emissivities: [fire, room],
                lie,
            } => {
                let link = Link::Air {
                    thickness_m: *thickness_m,
                    emissivity: cavity::exchange_emissivity(*fire, *room),
                    lie: *lie,
                };
                self.add_node(*thickness_m, link);
                return;
            }
        };
        let cells = grid.cells(thickness_m);
        let cell_m = thickness_m / count_f64(cells);
        let half_kg_m2 = 0.5 * cell_m * material.density_kg_m3;
        let first = self.last();
        for _ in 0..cells {
            self.add_node(cell_m, Link::Solid(material.conductivity_w_mk / cell_m));
        }
        let last = self.last();
        for node in first..=last {
            let halves = if node == first || node == last {
                1.0
            } else {
                2.0
            };
            self.capacity[node] += halves * half_kg_m2 * material.specific_heat_j_kgk;
            if let Some(water) = material.water {
                self.waters.push(Water {
                    node,
                    latent_j_m2: halves * half_kg_m2 * water.latent_j_kg,
                    from_k: water.from_k,
                    to_k: water.to_k,
                    gone: 0.0,
                });
            }
        }
        if let Some(limit) = material.limit {
            self.watches.push(Watch {
                first,
                last,
                limit: Exceeded {
                    material: material.name,
                    happens: limit.happens,
                    kelvin: limit.kelvin,
                    at_s: 0.0,
                },
            });
        }
    }

    /// Lets a time pass, with what acts on both faces during it.
    ///
    /// Where the boundaries change with time, give their values at mid-step: the step is then of
    /// second order in time.
    ///
    /// # Errors
    /// [`ConductionError`] if a boundary or the step (0.1 ms to 1 h) cannot be used, or if the
    /// temperatures do not settle. The wall is then as it was before.
    pub fn step(
        &mut self,
        dt_s: f64,
        fire_side: Boundary,
        room_side: Boundary,
    ) -> Result<(), ConductionError> {
        within("dt_s", dt_s, 1e-4, 3600.0)?;
        fire_side.check()?;
        room_side.check()?;
        let sides = [fire_side, room_side];
        let before = self.enthalpy(&self.kelvin);
        let mut kelvin = self.kelvin.clone();
        let mut scratch = std::mem::take(&mut self.scratch);
        let weight = GAMMA * dt_s;
        let first = self.stage(&before, weight, sides, &mut kelvin, &mut scratch, dt_s)?;
        let carried = (1.0 - GAMMA) * dt_s;
        let base: Vec<_> = before
            .iter()
            .zip(&scratch.heat)
            .map(|(enthalpy, heat)| enthalpy + carried * heat)
            .collect();
        let second = self.stage(&base, weight, sides, &mut kelvin, &mut scratch, dt_s)?;
        self.scratch = scratch;
        self.kelvin = kelvin;
        self.elapsed_s += dt_s;
        self.fire_j_m2 += carried * first.fire_w_m2 + weight * second.fire_w_m2;
        self.room_j_m2 += carried * first.room_w_m2 + weight * second.room_w_m2;
        for water in &mut self.waters {
            water.gone = water.share(self.kelvin[water.node]);
        }
        self.note_limits();
        Ok(())
    }

    fn note_limits(&mut self) {
        let (kelvin, exceeded, elapsed_s) = (&self.kelvin, &mut self.exceeded, self.elapsed_s);
        self.watches.retain(|watch| {
            let nodes = &kelvin[watch.first..=watch.last];
            if nodes.iter().all(|kelvin| *kelvin <= watch.limit.kelvin) {
                return true;
            }
            let limit = Exceeded {
                at_s: elapsed_s,
                ..watch.limit
            };
            if !exceeded
                .iter()
                .any(|known| (known.material, known.happens) == (limit.material, limit.happens))
            {
                exceeded.push(limit);
            }
            false
        });
    }

    /// Temperature of the face on the fire side, kelvin.
    #[must_use]
    pub fn fire_face_k(&self) -> f64 {
        self.kelvin[0]
    }

    /// Temperature of the face on the room side, kelvin.
    #[must_use]
    pub fn room_face_k(&self) -> f64 {
        self.kelvin[self.last()]
    }

    /// Time that has passed, seconds.
    #[must_use]
    pub fn elapsed_s(&self) -> f64 {
        self.elapsed_s
    }

    /// Heat stored since the start, bound water driven out included, J/m².
    #[must_use]
    pub fn stored_j_m2(&self) -> f64 {
        let now: f64 = self.enthalpy(&self.kelvin).iter().sum();
        let start: f64 = self
            .waters
            .iter()
            .map(|water| {
                let share = (self.initial_k - water.from_k) / (water.to_k - water.from_k);
                water.latent_j_m2 * share.clamp(0.0, 1.0)
            })
            .sum();
        now - start
    }

    /// Heat that has entered through the face on the fire side, J/m²; negative where it left.
    #[must_use]
    pub fn fire_heat_j_m2(&self) -> f64 {
        self.fire_j_m2
    }

    /// Heat that has entered through the face on the room side, J/m²; negative where it left.
    #[must_use]
    pub fn room_heat_j_m2(&self) -> f64 {
        self.room_j_m2
    }

    /// Depths from the fire face in metres, with the temperatures there in kelvin.
    pub fn nodes(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.depth_m
            .iter()
            .copied()
            .zip(self.kelvin.iter().copied())
    }

    /// Layers that have passed the limit of their material, in the order in which they did.
    #[must_use]
    pub fn exceeded(&self) -> &[Exceeded] {
        &self.exceeded
    }
}
