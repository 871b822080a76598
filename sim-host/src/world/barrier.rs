//! What shows on the far side of a wall: the apparent temperature of its room face against time.
//!
//! The room face gives heat to a room that stays at one temperature, by convection and by radiation;
//! the imager sees what the face emits and what it mirrors of the room. Nothing else reaches it: an
//! imager does not see through a wall.

use super::conduction::{Assembly, Boundary, ConductionError, Exceeded, Grid, Wall};
use super::fire::Exposure;
use super::radiometry::{Band, Path, RadianceTable};
use super::rounding::{count_f64, floor_index};

/// How a wall is exposed and looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// How long, seconds.
    pub duration_s: f64,
    /// Length of a step, seconds.
    pub step_s: f64,
    /// Temperature of wall and room at the start, and of the room throughout, kelvin.
    pub room_k: f64,
    /// Coefficient of convection on the room side, W m⁻² K⁻¹.
    pub room_convection_w_m2k: f64,
    /// Band of the imager.
    pub band: Band,
    /// How finely the wall is divided.
    pub grid: Grid,
}

impl Default for Conditions {
    /// An hour in steps of a second; a room of 20 °C (68 °F); 4 W m⁻² K⁻¹ beside radiation, as on the
    /// unexposed side in EN 1991-1-2 (from memory, not seen); 8 to 14 µm.
    fn default() -> Self {
        Self {
            duration_s: 3600.0,
            step_s: 1.0,
            room_k: 293.15,
            room_convection_w_m2k: 4.0,
            band: Band::LONG_WAVE,
            grid: Grid::default(),
        }
    }
}

/// The wall at one instant, kelvin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Time since the start, seconds.
    pub t_s: f64,
    /// Gas on the fire side.
    pub fire_gas_k: f64,
    /// Face on the fire side.
    pub fire_face_k: f64,
    /// Face on the room side, true.
    pub room_face_k: f64,
    /// Face on the room side, apparent, as the imager sees it.
    pub apparent_k: f64,
}

/// A wall through the whole exposure.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// A moment a step, the start included.
    pub moments: Vec<Moment>,
    /// Layers that passed the limit of their material.
    pub exceeded: Vec<Exceeded>,
    /// |heat in − heat stored| over the larger of heat in and heat out.
    pub imbalance: f64,
}

impl Course {
    /// Exposes a wall and follows it.
    ///
    /// # Errors
    /// [`ConductionError`] if the assembly or the conditions cannot be used.
    ///
    /// ```
    /// use glowsill::world::barrier::{Conditions, Course};
    /// use glowsill::world::conduction::assembly;
    /// use glowsill::world::fire::exposure::Iso834;
    /// let conditions = Conditions { duration_s: 300.0, ..Conditions::default() };
    /// let sheet = Course::of(assembly("steel-sheet").unwrap(), &Iso834, &conditions).unwrap();
    /// // 160 °C show on a thin sheet within two minutes of a standard fire.
    /// assert!(sheet.reaches_s(433.15).unwrap() < 120.0);
    /// ```
    pub fn of(
        assembly: &Assembly,
        exposure: &dyn Exposure,
        conditions: &Conditions,
    ) -> Result<Self, ConductionError> {
        let mut wall = Wall::new(assembly, conditions.room_k, conditions.grid)?;
        let table = RadianceTable::new(conditions.band);
        let look = Path {
            emissivity: assembly.emissivity_room,
            surroundings_k: conditions.room_k,
            transmission: 1.0,
            air_k: conditions.room_k,
        };
        let room = Boundary::exchange(
            conditions.room_k,
            conditions.room_convection_w_m2k,
            assembly.emissivity_room,
        );
        let mirrored = (1.0 - look.emissivity) * table.radiance(conditions.room_k);
        let moment = |wall: &Wall| {
            let t_s = wall.elapsed_s();
            let radiance = look.emissivity * table.radiance(wall.room_face_k()) + mirrored;
            Moment {
                t_s,
                fire_gas_k: exposure.fire_side(t_s).gas_k,
                fire_face_k: wall.fire_face_k(),
                room_face_k: wall.room_face_k(),
                apparent_k: table.temperature(radiance).unwrap_or(f64::NAN),
            }
        };
        let steps = floor_index(
            (conditions.duration_s / conditions.step_s - 1e-9).ceil(),
            10_000_000,
        );
        let mut moments = vec![moment(&wall)];
        let (mut passed, mut lost) = (0.0, 0.0);
        for step in 0..steps {
            let middle_s = (count_f64(step) + 0.5) * conditions.step_s;
            let fire = exposure
                .fire_side(middle_s)
                .boundary(assembly.emissivity_fire);
            wall.step(conditions.step_s, fire, room)?;
            moments.push(moment(&wall));
            passed = f64::max(passed, wall.fire_heat_j_m2().abs());
            lost = f64::max(lost, wall.room_heat_j_m2().abs());
        }
        let net = wall.fire_heat_j_m2() + wall.room_heat_j_m2();
        let scale = passed.max(lost).max(1.0);
        Ok(Self {
            moments,
            exceeded: wall.exceeded().to_vec(),
            imbalance: (net - wall.stored_j_m2()).abs() / scale,
        })
    }

    /// When the apparent temperature of the room face first reaches a value in kelvin, seconds; `None`
    /// if it does not in the time followed.
    #[must_use]
    pub fn reaches_s(&self, kelvin: f64) -> Option<f64> {
        if self.moments.first()?.apparent_k >= kelvin {
            return Some(0.0);
        }
        let pair = self
            .moments
            .windows(2)
            .find(|pair| pair[1].apparent_k >= kelvin)?;
        let (before, after) = (pair[0], pair[1]);
        let share = (kelvin - before.apparent_k) / (after.apparent_k - before.apparent_k);
        Some(before.t_s + share * (after.t_s - before.t_s))
    }

    /// The hottest the room face appears, kelvin.
    #[must_use]
    pub fn hottest_apparent_k(&self) -> f64 {
        self.moments
            .iter()
            .map(|moment| moment.apparent_k)
            .fold(0.0, f64::max)
    }
}
