//! A scenario → what acts on the fire side of a barrier, against time.
//!
//! What acts at the place is what acts on the walls of the scenario itself: hot layer and ceiling jet by
//! convection, the glow of the layer, and the flame. Water and embers are left out.

use std::path::Path;

use glam::DVec3;

use super::air::{Air, beyond, opening_place};
use super::spec::{Filling, OpeningSpec, RoomSpec, Side, Spec};
use super::{Scenario, ScenarioError};
use crate::profile_file::source::nearest;
use crate::world::fire::exposure::{FireSide, History};
use crate::world::rounding::{count_f64, floor_index};

/// From entry to entry of the history, seconds.
const EVERY_S: f64 = 1.0;

/// What the fire of a scenario does to a barrier.
#[derive(Clone, Debug, PartialEq)]
pub struct AtBarrier {
    /// What acts, times in seconds since the fire started; level after the end of the scenario.
    pub history: History,
    /// The scenario and the place, such as `three-partitions@steel`.
    pub name: String,
    /// From the start of the fire to the end of the scenario, seconds.
    pub span_s: f64,
    /// Temperature of air and walls at the start, kelvin.
    pub ambient_k: f64,
    /// Where the model of the fire left its limits.
    pub warnings: Vec<String>,
}

/// A place on the fire's side of a barrier: where it is, and where the face looks.
struct Place {
    name: String,
    at: DVec3,
    normal: DVec3,
}

fn closed(one: &OpeningSpec) -> bool {
    one.filling != Filling::Open
}

/// Leaves and panes that the fire's room has in its walls or meets in the walls of a neighbour, then its
/// walls, floor and ceiling.
fn places(spec: &Spec, fire: usize, own: &RoomSpec) -> Vec<Place> {
    let mut places = Vec::new();
    for one in spec.openings.iter().filter(|one| closed(one)) {
        let Some(room) = spec.rooms.iter().find(|room| room.name == one.room) else {
            continue;
        };
        let (at, outward) = opening_place(room, one);
        let normal = if room.name == own.name {
            -outward
        } else if beyond(spec, one) == Some(fire) {
            outward
        } else {
            continue;
        };
        places.push(Place {
            name: one.name.clone(),
            at,
            normal,
        });
    }
    let middle = own.corner + own.size / 2.0;
    for (word, side) in Side::ALL {
        let inward = match side {
            Side::Left => DVec3::X,
            Side::Right => -DVec3::X,
            Side::Front => DVec3::Y,
            Side::Back => -DVec3::Y,
            Side::Floor => DVec3::Z,
            Side::Ceiling => -DVec3::Z,
        };
        places.push(Place {
            name: format!("{}.{word}", own.name),
            at: middle - inward * (own.size / 2.0).dot(inward.abs()),
            normal: inward,
        });
    }
    places
}

impl Scenario {
    /// What the fire does to a barrier at the middle of a place: a closed door, panel or pane of the
    /// fire's room, or one of its sides, such as `workshop.ceiling`. Without a place the first door, panel
    /// or pane of the file is taken, else the ceiling.
    ///
    /// # Errors
    /// [`ScenarioError::NoFire`] and [`ScenarioError::UnknownPlace`], which lists the places there are.
    ///
    /// ```
    /// use glowsill::world::fire::Exposure;
    /// use glowsill::world::scenario::Scenario;
    /// let store = Scenario::named("paint-store-door").unwrap();
    /// let door = store.at_barrier(None).unwrap();
    /// assert_eq!(door.name, "paint-store-door@leaf");
    /// // The fire has just started: nothing but air of the store's own temperature acts on the door.
    /// assert!((door.history.fire_side(0.0).gas_k - door.ambient_k).abs() < 0.5);
    /// ```
    pub fn at_barrier(&self, place: Option<&str>) -> Result<AtBarrier, ScenarioError> {
        let spec = &self.spec;
        // A path is no part of what is written into sheets: they may be handed on.
        let short = Path::new(&self.source)
            .file_name()
            .map_or_else(|| self.source.clone(), |name| name.to_string_lossy().into());
        let air = Air::new(spec).ok_or_else(|| ScenarioError::NoFire(short.clone()))?;
        let own = &spec.rooms[air.room];
        let places = places(spec, air.room, own);
        let ceiling = format!("{}.ceiling", own.name);
        let wanted = place.unwrap_or_else(|| {
            let leaf = spec
                .openings
                .iter()
                .find(|one| places.iter().any(|place| place.name == one.name));
            leaf.map_or(ceiling.as_str(), |one| one.name.as_str())
        });
        let Some(found) = places.iter().find(|one| one.name == wanted) else {
            let names: Vec<&str> = places.iter().map(|one| one.name.as_str()).collect();
            return Err(ScenarioError::UnknownPlace {
                scenario: short,
                name: wanted.to_owned(),
                known: names.join(", "),
                meant: nearest(wanted, &names)
                    .map_or_else(String::new, |near| format!(" Did you mean '{near}'?")),
            });
        };
        let start_s = air.fire.start_s;
        let span_s = spec.duration_s - start_s;
        let entries = (0..=floor_index(span_s / EVERY_S + 1e-9, 100_000))
            .map(|step| {
                let since_s = count_f64(step) * EVERY_S;
                // Emissivity 1: what falls on the face, of which the barrier takes its own share.
                let acts = air.boundary(
                    spec,
                    found.at,
                    found.normal,
                    Some(air.room),
                    1.0,
                    start_s + since_s,
                );
                let side = FireSide {
                    gas_k: acts.gas_k,
                    radiant_k: acts.radiant_k,
                    convection_w_m2k: acts.convection_w_m2k,
                    incident_w_m2: acts.flux_w_m2,
                };
                (since_s, side)
            })
            .collect();
        let title = format!(
            "scenario '{short}', middle of '{}', {:.1} m above the floor",
            found.name,
            found.at.z - own.corner.z
        );
        Ok(AtBarrier {
            history: History::new(title, entries)?,
            name: format!("{short}@{}", found.name),
            span_s,
            ambient_k: spec.ambient_k,
            warnings: air.warnings.clone(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::world::fire::Exposure;

    // Source: MQH, 6.85 [Q²/(A₀√H₀ hₖ A_T)]^⅓ (NRC worksheets), by hand at 120 s of the shipped file: fast
    // growth, 0.0469·120² = 675.4 kW; door 2.4 m by 2.6 m, A₀√H₀ = 10.062; room 9 m by 8 m by 3.6 m,
    // A_T = 266.4 − 6.24 = 260.16 m²; the lining is that of the back wall, brick, √(0.72·1920·835/120) = 98.08
    // W/(m² K): 83.0 K over 19 °C. The ceiling jet of Alpert is cooler there, 58.9 K.
    #[test]
    fn the_ceiling_meets_the_layer_of_the_correlation() {
        let found = Scenario::named("timber-rack")
            .unwrap()
            .at_barrier(None)
            .unwrap();
        assert_eq!(found.name, "timber-rack@workshop.ceiling");
        assert!((found.span_s - 240.0).abs() < 1e-9);
        let side = found.history.fire_side(120.0);
        assert!((side.gas_k - 273.15 - 102.0).abs() < 0.3, "{side:?}");
        // The layer glows less than a black body of its own temperature.
        assert!(side.radiant_k < side.gas_k && side.radiant_k > found.ambient_k);
    }

    // Source: Alpert's ceiling jet over the fire, 16.9 Q^⅔/H^(5/3), from memory, not seen. By hand 60 s after the
    // start of the fire, which is the first frame of the shipped file: ultrafast growth, 0.1876·60² = 675.4 kW, the
    // ceiling 2.9 m above the fire: 220.6 K over 20 °C.
    #[test]
    fn time_counts_from_the_start_of_the_fire() {
        let partitions = Scenario::named("three-partitions").unwrap();
        let found = partitions.at_barrier(Some("bays.ceiling")).unwrap();
        // 5 min are shown, and the fire starts 60 s before.
        assert!((found.span_s - 360.0).abs() < 1e-9);
        let gas_c = |t_s| found.history.fire_side(t_s).gas_k - 273.15;
        assert!((gas_c(0.0) - 20.0).abs() < 1.0, "{}", gas_c(0.0));
        assert!((gas_c(60.0) - 240.6).abs() < 1.0, "{}", gas_c(60.0));
        // After the end what acted last is held.
        assert!((gas_c(3600.0) - gas_c(360.0)).abs() < 1e-9);
        // The layer reaches the middle of the door only later.
        let steel = partitions.at_barrier(Some("steel")).unwrap().history;
        assert!(steel.fire_side(60.0).gas_k - 273.15 < 60.0);
        assert!(steel.fire_side(360.0).gas_k - 273.15 > 100.0);
    }

    #[test]
    fn what_cannot_be_found_is_said_with_the_choices() {
        let partitions = Scenario::named("three-partitions").unwrap();
        let text = partitions.at_barrier(Some("stel")).unwrap_err().to_string();
        for part in [
            "'stel'",
            "plasterboard, plaster on lath, steel",
            "bays.ceiling",
            "Did you mean 'steel'?",
        ] {
            assert!(text.contains(part), "{part} in {text}");
        }
        let screen = Scenario::named("ticket-screen").unwrap();
        let text = screen.at_barrier(None).unwrap_err().to_string();
        assert!(
            text.contains("ticket-screen") && text.contains("no fire"),
            "{text}"
        );
    }
}
