//! What a layer is made of, with handbook values.
//!
//! Marks: *seen* means read in the named source or in a carrier of it; *from memory* means a lead
//! that a reader should check; *assumed* means that this project chose the value.

use super::error::{ConductionError, within};

/// Water bound in a material, which takes heat when it is driven out, once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoundWater {
    /// Heat to drive all of it out and evaporate it, J per kg of the material.
    pub latent_j_kg: f64,
    /// Where driving out starts, kelvin.
    pub from_k: f64,
    /// Where nothing is left, kelvin; between the two it is linear in temperature.
    pub to_k: f64,
}

impl BoundWater {
    /// Share driven out at a temperature, 0 to 1.
    #[must_use]
    pub fn share(&self, kelvin: f64) -> f64 {
        ((kelvin - self.from_k) / (self.to_k - self.from_k)).clamp(0.0, 1.0)
    }
}

/// A temperature beyond which a layer is no longer what was computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The temperature, kelvin.
    pub kelvin: f64,
    /// What happens there, such as "wood chars".
    pub happens: &'static str,
}

/// A material with constant properties.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// What it is.
    pub name: &'static str,
    /// Conductivity, W m⁻¹ K⁻¹.
    pub conductivity_w_mk: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Specific heat, J kg⁻¹ K⁻¹.
    pub specific_heat_j_kgk: f64,
    /// Water bound in it.
    pub water: Option<BoundWater>,
    /// Where the material is no longer what was computed.
    pub limit: Option<Limit>,
    /// Where the values come from, with a mark.
    pub source: &'static str,
}

impl Material {
    /// A material without bound water and without a limit.
    #[must_use]
    pub const fn new(
        name: &'static str,
        conductivity_w_mk: f64,
        density_kg_m3: f64,
        specific_heat_j_kgk: f64,
        source: &'static str,
    ) -> Self {
        Self {
            name,
            conductivity_w_mk,
            density_kg_m3,
            specific_heat_j_kgk,
            water: None,
            limit: None,
            source,
        }
    }

    /// The same with a temperature beyond which it is no longer itself.
    #[must_use]
    pub const fn limited(self, kelvin: f64, happens: &'static str) -> Self {
        Self {
            limit: Some(Limit { kelvin, happens }),
            ..self
        }
    }

    /// The same with bound water.
    #[must_use]
    pub const fn with_water(self, water: BoundWater) -> Self {
        Self {
            water: Some(water),
            ..self
        }
    }

    /// Thermal inertia kρc, W² s m⁻⁴ K⁻².
    #[must_use]
    pub fn inertia(&self) -> f64 {
        self.conductivity_w_mk * self.density_kg_m3 * self.specific_heat_j_kgk
    }

    /// Diffusivity k/ρc, m²/s.
    #[must_use]
    pub fn diffusivity(&self) -> f64 {
        self.conductivity_w_mk / (self.density_kg_m3 * self.specific_heat_j_kgk)
    }

    /// Checks every number.
    ///
    /// # Errors
    /// [`ConductionError::Range`] naming the field, its value and its limits.
    pub fn check(&self) -> Result<(), ConductionError> {
        let field = |what: &str| format!("{what} of {}", self.name);
        within(
            field("conductivity_w_mk"),
            self.conductivity_w_mk,
            1e-3,
            1e4,
        )?;
        within(field("density_kg_m3"), self.density_kg_m3, 0.1, 3e4)?;
        within(
            field("specific_heat_j_kgk"),
            self.specific_heat_j_kgk,
            10.0,
            1e5,
        )?;
        if let Some(water) = self.water {
            within(field("water.latent_j_kg"), water.latent_j_kg, 0.0, 3e6)?;
            within(field("water.from_k"), water.from_k, 273.15, 1500.0)?;
            within(field("water.to_k"), water.to_k, water.from_k + 1.0, 2000.0)?;
        }
        Ok(())
    }
}
