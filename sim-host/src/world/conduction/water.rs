//! Water on a face: what a spray takes away.
//!
//! Water falls on the face at a rate and at a temperature. It takes heat in three ways:
//! it is warmed to the face's temperature, at most to 100 °C (212 °F); below that it evaporates into
//! the gas as the analogy of heat and mass transfer says; from 100 °C up it boils. It can take no
//! more than all of it evaporating. What runs off leaves at the temperature of the face.
//!
//! Sources: latent heat and specific heat of water, from memory, not seen (steam tables);
//! saturation pressure, the Magnus form of Alduchov and Eskridge, J. Appl. Meteorol. 35 (1996) 601,
//! from memory, not seen; analogy with the Lewis number of water vapour in air, from memory, not
//! seen (textbooks of heat transfer). **Assumed**: that boiling takes up all the water within 20 K
//! above 100 °C, and that no film of vapour keeps drops off a very hot face (it does, from some
//! 200 °C to 300 °C (392 °F to 572 °F) up: then less is taken than computed here).

use super::boundary::Boundary;
use super::error::{ConductionError, within};

/// Latent heat of evaporation at 100 °C, J/kg.
pub const LATENT_J_KG: f64 = 2.257e6;
/// Specific heat of liquid water, J kg⁻¹ K⁻¹.
pub const LIQUID_J_KGK: f64 = 4_186.0;
const BOILING_K: f64 = 373.15;
/// Over this rise above boiling all the water comes to evaporate; assumed.
const BOILING_SPAN_K: f64 = 20.0;
/// Specific gas constant of water vapour, J kg⁻¹ K⁻¹ (8.314 46/0.018 015).
const VAPOUR_J_KGK: f64 = 461.5;
/// Lewis number of water vapour in air to the power of 2/3 (0.26e-4 m²/s against 22.5e-6 m²/s).
const LEWIS_POWER: f64 = 0.908;
/// Volumetric heat capacity of air at constant pressure near 300 K, J m⁻³ K⁻¹.
const AIR_J_M3K: f64 = 1_170.0;
const ATMOSPHERE_PA: f64 = 101_325.0;

/// Water that falls on a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spray {
    /// How much reaches the face, kg m⁻² s⁻¹ (1 kg/m² of water is 1 mm).
    pub rate_kg_m2s: f64,
    /// Its temperature, kelvin.
    pub water_k: f64,
}

/// Pressure of saturated water vapour, Pa; 0 °C to 100 °C.
///
/// ```
/// use glowsill::world::conduction::water::saturation_pa;
/// assert!((saturation_pa(293.15) / 2339.0 - 1.0).abs() < 0.003); // steam tables: 2.339 kPa
/// ```
#[must_use]
pub fn saturation_pa(kelvin: f64) -> f64 {
    let celsius = kelvin - 273.15;
    610.94 * (17.625 * celsius / (celsius + 243.04)).exp()
}

impl Spray {
    /// Heat taken from a face of temperature `face_k`, W/m².
    ///
    /// Range: from a negative value (the water is warmer than the face) to
    /// rate·(4186 J kg⁻¹ K⁻¹·(100 °C − water) + 2.257 MJ/kg).
    #[must_use]
    pub fn heat_w_m2(&self, face_k: f64, boundary: &Boundary) -> f64 {
        let wet_k = face_k.min(BOILING_K);
        let warming = self.rate_kg_m2s * LIQUID_J_KGK * (wet_k - self.water_k);
        warming + self.evaporation_kg_m2s(face_k, boundary) * LATENT_J_KG
    }

    /// How much evaporates from a face of temperature `face_k`, kg m⁻² s⁻¹; 0 to the rate.
    #[must_use]
    pub fn evaporation_kg_m2s(&self, face_k: f64, boundary: &Boundary) -> f64 {
        let wet_k = face_k.min(BOILING_K);
        // Above some 100 Pa below the atmosphere's pressure the analogy has no sense any more.
        let pressure = saturation_pa(wet_k).min(ATMOSPHERE_PA);
        let density = pressure / (VAPOUR_J_KGK * wet_k);
        // The gas is taken as dry, so that evaporation is rather over- than understated.
        let into_gas = boundary.convection_w_m2k / (AIR_J_M3K * LEWIS_POWER) * density;
        let boiling = ((face_k - BOILING_K) / BOILING_SPAN_K).clamp(0.0, 1.0);
        let drying = into_gas.min(self.rate_kg_m2s);
        drying + boiling * (self.rate_kg_m2s - drying)
    }

    /// Checks both fields.
    ///
    /// # Errors
    /// [`ConductionError::Range`] naming the field, its value and its limits.
    pub fn check(&self) -> Result<(), ConductionError> {
        within("spray.rate_kg_m2s", self.rate_kg_m2s, 0.0, 100.0)?;
        within("spray.water_k", self.water_k, 273.15, BOILING_K)
    }
}
