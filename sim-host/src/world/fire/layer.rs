//! How far the hot layer has come down.
//!
//! Two zones, hot above cold, meet at the interface. The plume lifts air through it (Zukoski's
//! entrainment), openings let hot gas out above a neutral plane and air in below it, and the hot
//! layer's temperature is that of the MQH correlation. The balances of mass of both zones give the
//! neutral plane and the speed of the interface. Until the interface reaches the highest soffit, all
//! that the plume lifts stays.
//!
//! Filling: Yamana and Tanaka 1985, equation 2.10 of NUREG-1805 (seen in an open-source library):
//! z = [2kQ^⅓t/(3A) + h^(−⅔)]^(−3/2), k = 0.076/ρ. Openings: Karlsson and Quintiere, *Enclosure Fire
//! Dynamics*, from memory, not seen, flow coefficient 0.7. Density of gas: 353/T (seen, same library).

use super::compartment::{Compartment, Vent};
use super::plume::{AIR_DENSITY_KELVIN, entrained_kg_s};

const GRAVITY_M_S2: f64 = 9.81;
const FLOW_COEFFICIENT: f64 = 0.7;
/// The interface never comes nearer to the floor, metres.
const LOWEST_M: f64 = 0.05;
/// Thinnest layer that counts as one, metres.
const THINNEST_M: f64 = 0.01;

/// Density of gas at atmospheric pressure, 353/T, kg/m³.
///
/// ```
/// use glowsill::world::fire::layer::gas_density_kg_m3;
/// assert!((gas_density_kg_m3(500.0) - 0.706).abs() < 1e-9);
/// ```
#[must_use]
pub fn gas_density_kg_m3(kelvin: f64) -> f64 {
    AIR_DENSITY_KELVIN / kelvin
}

/// Height of the smoke layer's lower face in a closed, leaky room with a steady fire, metres:
/// [2kQ^⅓t/(3A) + h^(−⅔)]^(−3/2), with k in kg s⁻¹ kW^(−⅓) m^(−5/3) per kg/m³ of smoke.
///
/// ```
/// use glowsill::world::fire::layer::filling_height_m;
/// assert!((filling_height_m(0.12, 1000.0, 90.0, 250.0, 4.5) - 1.886_933_556).abs() < 1e-8);
/// ```
#[must_use]
pub fn filling_height_m(k: f64, power_kw: f64, t_s: f64, floor_m2: f64, height_m: f64) -> f64 {
    let sunk = 2.0 * k * power_kw.cbrt() * t_s / (3.0 * floor_m2);
    (sunk + height_m.powf(-2.0 / 3.0)).powf(-1.5)
}

/// The hot layer at one instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layer {
    /// Time since the start, seconds.
    pub t_s: f64,
    /// Height of its lower face above the floor, metres.
    pub interface_m: f64,
    /// Its temperature, kelvin.
    pub gas_k: f64,
    /// Hot gas that leaves through the openings, kg/s.
    pub out_kg_s: f64,
    /// Air that enters through the openings, kg/s.
    pub in_kg_s: f64,
}

/// A hot layer that comes down in a room, followed in time.
#[derive(Clone, Debug)]
pub struct Descent<'r> {
    room: &'r Compartment,
    ambient_k: f64,
    base_m: f64,
    layer: Layer,
}

/// Flows through openings with hot gas above the interface and air below it.
struct Flows {
    out_kg_s: f64,
    in_kg_s: f64,
}

/// ∫ √(y) dy between heights above the neutral plane, both not below 0.
fn root_integral(from_m: f64, to_m: f64) -> f64 {
    let (from, to) = (from_m.max(0.0), to_m.max(0.0));
    2.0 / 3.0 * (to.powf(1.5) - from.powf(1.5)).max(0.0)
}

fn vent_flows(vent: &Vent, interface_m: f64, neutral_m: f64, hot: f64, cold: f64) -> Flows {
    let soffit_m = vent.sill_m + vent.height_m;
    let per_metre = FLOW_COEFFICIENT * vent.width_m;
    let drive = 2.0 * GRAVITY_M_S2 * (cold - hot).max(0.0);
    // Above the neutral plane the hot zone's pressure exceeds the air's; it grows with height.
    let from_m = vent.sill_m.max(interface_m);
    let out_kg_s =
        per_metre * (drive * hot).sqrt() * root_integral(from_m - neutral_m, soffit_m - neutral_m);
    // Below it air enters: with growing pressure down to the interface, with even pressure below.
    let top_m = neutral_m.min(soffit_m);
    let bottom_m = interface_m.clamp(vent.sill_m, top_m.max(vent.sill_m));
    let graded = root_integral(neutral_m - top_m, neutral_m - bottom_m);
    let even = (bottom_m - vent.sill_m).max(0.0) * (neutral_m - interface_m).max(0.0).sqrt();
    Flows {
        out_kg_s,
        in_kg_s: per_metre * (drive * cold).sqrt() * (graded + even),
    }
}

impl<'r> Descent<'r> {
    /// A room without a layer yet; the fire's base stands at a height above the floor, in metres, and
    /// the air has a temperature in kelvin.
    #[must_use]
    pub fn new(room: &'r Compartment, base_m: f64, ambient_k: f64) -> Self {
        Self {
            room,
            ambient_k,
            base_m,
            layer: Layer {
                t_s: 0.0,
                interface_m: room.height_m - THINNEST_M,
                gas_k: ambient_k,
                out_kg_s: 0.0,
                in_kg_s: 0.0,
            },
        }
    }

    /// The layer as it is now.
    #[must_use]
    pub fn layer(&self) -> Layer {
        self.layer
    }

    fn flows(&self, neutral_m: f64, hot: f64, cold: f64) -> Flows {
        let mut sum = Flows {
            out_kg_s: 0.0,
            in_kg_s: 0.0,
        };
        for vent in &self.room.vents {
            let flows = vent_flows(vent, self.layer.interface_m, neutral_m, hot, cold);
            sum.out_kg_s += flows.out_kg_s;
            sum.in_kg_s += flows.in_kg_s;
        }
        sum
    }

    fn soffit_m(&self) -> f64 {
        let soffits = self
            .room
            .vents
            .iter()
            .map(|vent| vent.sill_m + vent.height_m);
        soffits.fold(0.0, f64::max)
    }

    /// Lets a time pass in which the fire has a power in kW and the layer a temperature in kelvin;
    /// steps of a second or less follow a room well.
    pub fn step(&mut self, dt_s: f64, power_kw: f64, gas_k: f64) {
        let gas_k = gas_k.max(self.ambient_k);
        let (cold, hot) = (gas_density_kg_m3(self.ambient_k), gas_density_kg_m3(gas_k));
        let z = self.layer.interface_m;
        let lifted = entrained_kg_s(self.ambient_k, power_kw.max(0.0), z - self.base_m);
        let thickness_m = self.room.height_m - z;
        // A layer that is heated swells.
        let thinning = (hot - gas_density_kg_m3(self.layer.gas_k)) / dt_s;
        let swelling_kg_s = self.room.floor_m2() * thickness_m * thinning;
        let soffit_m = self.soffit_m();
        let excess = |neutral_m: f64| {
            let flows = self.flows(neutral_m, hot, cold);
            flows.out_kg_s - lifted - hot / cold * (flows.in_kg_s - lifted) + swelling_kg_s
        };
        let flows = if z >= soffit_m || hot >= cold {
            None
        } else {
            let (mut low, mut high) = (z, soffit_m);
            // A layer that cools so fast that air enters everywhere keeps its plane at the soffit.
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if excess(middle) > 0.0 {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            Some(self.flows(0.5 * (low + high), hot, cold))
        };
        let (out_kg_s, in_kg_s) = flows.map_or((0.0, 0.0), |flows| (flows.out_kg_s, flows.in_kg_s));
        // What the hot zone gains in mass, at its density, is volume taken from the air.
        let sinking = (lifted - out_kg_s - swelling_kg_s) / (hot * self.room.floor_m2());
        let lowest_m = LOWEST_M.max(self.base_m.min(z));
        self.layer = Layer {
            t_s: self.layer.t_s + dt_s,
            interface_m: (z - sinking * dt_s).clamp(lowest_m, self.room.height_m - THINNEST_M),
            gas_k,
            out_kg_s,
            in_kg_s,
        };
    }
}
