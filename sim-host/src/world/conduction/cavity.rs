//! Heat across an air space between two solids: radiation between its faces, and conduction or
//! convection through the air.
//!
//! Radiation: σ (T₁⁴ − T₂⁴)/(1/ε₁ + 1/ε₂ − 1), wide parallel grey faces (textbooks; exact).
//! Air: h = Nu·k/d with Nu = A·Ra^n, never below 1, where A = 0.035, n = 0.38 for an upright space
//! and A = 0.16, n = 0.28 for a level one heated from below: the correlations of EN 673 for glazing,
//! from memory, not seen. They are used here far above the temperatures of glazing, where radiation
//! outweighs the air; the error this leaves is not known. Air: Sutherland's formulas for viscosity
//! and conductivity (White, *Viscous Fluid Flow*, from memory, not seen) at the mean temperature and
//! atmospheric pressure. The heat that the air itself stores is neglected: 1 cm of air holds what
//! 3 µm of steel do.

use super::boundary::STEFAN_BOLTZMANN;

const GRAVITY_M_S2: f64 = 9.80665;
const AIR_J_KGK: f64 = 1_006.0;
/// ρT of air at atmospheric pressure, kg K/m³.
const AIR_DENSITY_KELVIN: f64 = 353.0;

/// How an air space lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lie {
    /// Upright, as in a wall.
    Upright,
    /// Level, with the fire side below, as above a ceiling.
    LevelFireBelow,
}

/// Conductivity of air, W m⁻¹ K⁻¹, Sutherland's form.
///
/// ```
/// use glowsill::world::conduction::cavity::air_conductivity;
/// assert!((air_conductivity(300.0) / 0.0263 - 1.0).abs() < 0.02); // Incropera, table A.4
/// ```
#[must_use]
pub fn air_conductivity(kelvin: f64) -> f64 {
    0.0241 * (kelvin / 273.15).powf(1.5) * (273.15 + 194.0) / (kelvin + 194.0)
}

/// Dynamic viscosity of air, Pa s, Sutherland's form.
#[must_use]
pub fn air_viscosity(kelvin: f64) -> f64 {
    1.716e-5 * (kelvin / 273.15).powf(1.5) * (273.15 + 110.6) / (kelvin + 110.6)
}

/// Coefficient of conduction and convection through the air, W m⁻² K⁻¹, between faces of two
/// temperatures in kelvin; the first is the fire side.
#[must_use]
pub fn air_coefficient(thickness_m: f64, lie: Lie, fire_k: f64, room_k: f64) -> f64 {
    let mean = 0.5 * (fire_k + room_k);
    let conductivity = air_conductivity(mean);
    let viscosity = air_viscosity(mean);
    let density = AIR_DENSITY_KELVIN / mean;
    let difference = fire_k - room_k;
    let (factor, power, drive) = match lie {
        Lie::Upright => (0.035, 0.38, difference.abs()),
        // Hot above cold is stable: it only conducts.
        Lie::LevelFireBelow => (0.16, 0.28, difference.max(0.0)),
    };
    let grashof =
        GRAVITY_M_S2 * thickness_m.powi(3) * drive * density.powi(2) / (mean * viscosity.powi(2));
    let prandtl = viscosity * AIR_J_KGK / conductivity;
    let nusselt = (factor * (grashof * prandtl).powf(power)).max(1.0);
    nusselt * conductivity / thickness_m
}

/// Emissivity of the exchange between wide parallel faces.
#[must_use]
pub fn exchange_emissivity(first: f64, second: f64) -> f64 {
    1.0 / (1.0 / first + 1.0 / second - 1.0)
}

/// Heat from the fire side to the room side of an air space, W/m², and its slopes with either
/// temperature (with the air's coefficient held), W m⁻² K⁻¹.
pub(super) fn heat_and_slopes(
    thickness_m: f64,
    lie: Lie,
    emissivity: f64,
    fire_k: f64,
    room_k: f64,
) -> (f64, f64, f64) {
    let air = air_coefficient(thickness_m, lie, fire_k, room_k);
    let radiation = emissivity * STEFAN_BOLTZMANN;
    let heat = air * (fire_k - room_k) + radiation * (fire_k.powi(4) - room_k.powi(4));
    (
        heat,
        air + 4.0 * radiation * fire_k.powi(3),
        air + 4.0 * radiation * room_k.powi(3),
    )
}
