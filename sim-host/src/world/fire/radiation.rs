//! Flux that a flame or a hot layer radiates on a target.
//!
//! Point source: seen in an open-source library of fire engineering. Shokri and Beyler's fit for pool
//! fires: seen, after the SFPE handbook. Flame as a surface of one emissive power and the layer as a
//! grey ceiling: textbooks.

use std::f64::consts::PI;

use super::warning::Warning;
use crate::world::conduction::STEFAN_BOLTZMANN;

/// Flux of a flame taken as a point, χ Q/(4π R²), kW/m², on a target that faces it at a distance in
/// metres; with a warning nearer than two flame diameters and a half (from memory, not seen).
///
/// ```
/// use glowsill::world::fire::radiation::point_source_kw_m2;
/// let (flux, warning) = point_source_kw_m2(750.0, 0.3, 0.5, 2.5);
/// assert!((flux - 2.864789).abs() < 1e-6);
/// assert!(warning.is_none());
/// ```
#[must_use]
pub fn point_source_kw_m2(
    power_kw: f64,
    radiative_share: f64,
    diameter_m: f64,
    distance_m: f64,
) -> (f64, Option<Warning>) {
    let least_m = 2.5 * diameter_m;
    let warning = (distance_m < least_m).then_some(Warning::NearFlame {
        distance_m,
        least_m,
    });
    let flux = radiative_share * power_kw / (4.0 * PI * distance_m * distance_m);
    (flux, warning)
}

/// Flux of a pool fire on an upright target at the ground, 15.4 (L/D)^(−1.59) kW/m² (Shokri and
/// Beyler); L is the distance to the pool's middle, D its diameter, metres.
#[must_use]
pub fn pool_fire_kw_m2(distance_m: f64, diameter_m: f64) -> f64 {
    15.4 * (distance_m / diameter_m).powf(-1.59)
}

/// Flux of a flame taken as a surface: view factor times what it emits, kW/m². The emissive power is
/// the radiated share spread over the flame's cylinder, at most 150 kW/m² (assumed).
#[must_use]
pub fn flame_surface_kw_m2(
    power_kw: f64,
    radiative_share: f64,
    diameter_m: f64,
    flame_m: f64,
    view_factor: f64,
) -> f64 {
    let surface_m2 = PI * diameter_m * (flame_m + 0.25 * diameter_m);
    view_factor * (radiative_share * power_kw / surface_m2).min(150.0)
}

/// Flux of a hot layer on a target, W/m²: ε σ T⁴ times the view factor. Emissivity 1 − e^(−κs) for an
/// absorption coefficient in 1/m and a thickness in metres.
#[must_use]
pub fn layer_w_m2(layer_k: f64, absorption_per_m: f64, thickness_m: f64, view_factor: f64) -> f64 {
    let emissivity = -(-absorption_per_m * thickness_m).exp_m1();
    view_factor * emissivity * STEFAN_BOLTZMANN * layer_k.powi(4)
}
