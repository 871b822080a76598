//! Flame height, virtual origin, centreline temperature and entrainment of a fire's plume.
//!
//! Sources: Heskestad's relations (SFPE handbook): flame height from memory, not seen; virtual origin
//! and centreline rise seen in an open-source library of fire engineering. McCaffrey's three regions:
//! NBSIR 79-1910, from memory, not seen. Zukoski's entrainment: from memory, not seen; it agrees with
//! the filling relation of NUREG-1805 (seen in the same library).

use super::warning::Warning;

const GRAVITY_M_S2: f64 = 9.81;
const AIR_KJ_KGK: f64 = 1.0;
/// ρT of air at atmospheric pressure, kg K/m³.
pub const AIR_DENSITY_KELVIN: f64 = 353.0;

/// A fire on a round base, in still air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plume {
    /// Power, kW.
    pub power_kw: f64,
    /// Share of the power that is radiated, 0 to 1; 0.3 is usual.
    pub radiative_share: f64,
    /// Diameter of the base (of the circle of the same area), metres.
    pub diameter_m: f64,
    /// Temperature of the air, kelvin.
    pub ambient_k: f64,
}

/// Height of a flame, 0.235 Q^⅖ − 1.02 D, metres; not below 0.
///
/// ```
/// use glowsill::world::fire::plume::flame_height_m;
/// assert!((flame_height_m(1000.0, 1.0) - 2.7045).abs() < 1e-4);
/// ```
#[must_use]
pub fn flame_height_m(power_kw: f64, diameter_m: f64) -> f64 {
    (0.235 * power_kw.powf(0.4) - 1.02 * diameter_m).max(0.0)
}

/// Virtual origin above the base, −1.02 D + 0.083 Q^⅖, metres; may lie below it.
#[must_use]
pub fn virtual_origin_m(power_kw: f64, diameter_m: f64) -> f64 {
    0.083 * power_kw.powf(0.4) - 1.02 * diameter_m
}

/// Centreline rise 9.1·(T∞/(g c_p² ρ∞²))^⅓·Q_c^⅔·(z − z₀)^(−5/3), kelvin, for air at ambient
/// temperature and density (kelvin, kg/m³), convective power in kW and height above the virtual origin
/// in metres.
///
/// ```
/// use glowsill::world::fire::plume::centreline_rise_k;
/// // The source takes g = 9.8 m/s², 0.03 % less.
/// assert!((centreline_rise_k(288.0, 1.2, 700.0, 2.25) / 507.4624 - 1.0).abs() < 5e-4);
/// ```
#[must_use]
pub fn centreline_rise_k(
    ambient_k: f64,
    density_kg_m3: f64,
    convective_kw: f64,
    above_m: f64,
) -> f64 {
    let air = ambient_k / (GRAVITY_M_S2 * (AIR_KJ_KGK * density_kg_m3).powi(2));
    9.1 * air.cbrt() * convective_kw.powf(2.0 / 3.0) * above_m.powf(-5.0 / 3.0)
}

/// Centreline rise by McCaffrey's three regions (continuous flame, intermittent flame, plume), kelvin;
/// height above the base in metres.
#[must_use]
pub fn mccaffrey_rise_k(ambient_k: f64, power_kw: f64, height_m: f64) -> f64 {
    let scaled = height_m / power_kw.powf(0.4);
    let (kappa, eta) = if scaled < 0.08 {
        (6.8, 0.5)
    } else if scaled < 0.2 {
        (1.9, 0.0)
    } else {
        (1.1, -1.0 / 3.0)
    };
    let speed: f64 = kappa / (0.9 * (2.0 * GRAVITY_M_S2).sqrt());
    speed.powi(2) * scaled.powf(2.0 * eta - 1.0) * ambient_k
}

/// Gas that a plume carries up through a height above its base, kg/s: Zukoski's
/// 0.21·(ρ∞² g/(c_p T∞))^⅓·Q^⅓·z^(5/3), 0.076 Q^⅓ z^(5/3) in air of 20 °C.
#[must_use]
pub fn entrained_kg_s(ambient_k: f64, power_kw: f64, height_m: f64) -> f64 {
    let density = AIR_DENSITY_KELVIN / ambient_k;
    let air = density.powi(2) * GRAVITY_M_S2 / (AIR_KJ_KGK * ambient_k);
    0.21 * (air * power_kw).cbrt() * height_m.max(0.0).powf(5.0 / 3.0)
}

impl Plume {
    /// Height of the flame, metres.
    #[must_use]
    pub fn flame_m(&self) -> f64 {
        flame_height_m(self.power_kw, self.diameter_m)
    }

    /// Virtual origin above the base, metres.
    #[must_use]
    pub fn origin_m(&self) -> f64 {
        virtual_origin_m(self.power_kw, self.diameter_m)
    }

    /// Rise on the centreline at a height above the base in metres, kelvin.
    ///
    /// Heskestad's relation above the flame. Inside the flame McCaffrey's, with a warning: it does
    /// not follow the diameter, so that the two need not meet at the tip.
    #[must_use]
    pub fn rise_k(&self, height_m: f64) -> (f64, Option<Warning>) {
        if self.power_kw <= 0.0 {
            return (0.0, None);
        }
        let flame_m = self.flame_m();
        let inside = mccaffrey_rise_k(self.ambient_k, self.power_kw, height_m.max(1e-3));
        let density = AIR_DENSITY_KELVIN / self.ambient_k;
        let convective_kw = (1.0 - self.radiative_share) * self.power_kw;
        let above_m = height_m - self.origin_m();
        if height_m < flame_m || above_m <= 0.0 {
            return (inside, Some(Warning::InFlame { height_m, flame_m }));
        }
        let rise_k = centreline_rise_k(self.ambient_k, density, convective_kw, above_m);
        (rise_k, None)
    }
}
