//! What acts on a face of a wall.

use super::error::{ConductionError, within};
use super::water::Spray;

/// Stefan-Boltzmann constant, W m⁻² K⁻⁴ (exact SI, rounded as CODATA 2018 prints it).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// What acts on one face during one step; where it changes with time, its value at mid-step.
///
/// Heat into the face, W/m²: h (T_gas − T) + ε σ (T_radiant⁴ − T⁴) + imposed flux − what water takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Boundary {
    /// Temperature of the gas at the face, kelvin.
    pub gas_k: f64,
    /// Coefficient of convection, W m⁻² K⁻¹; 0 is none.
    pub convection_w_m2k: f64,
    /// Temperature of the black surroundings that the face exchanges radiation with, kelvin.
    pub radiant_k: f64,
    /// Emissivity of the exchange, 0 to 1; 0 is no exchange.
    pub emissivity: f64,
    /// Flux that the face absorbs besides, W/m², positive into the wall.
    pub flux_w_m2: f64,
    /// Water that falls on the face.
    pub spray: Option<Spray>,
}

impl Boundary {
    /// A face through which no heat passes.
    pub const INSULATED: Self = Self {
        gas_k: 293.15,
        convection_w_m2k: 0.0,
        radiant_k: 293.15,
        emissivity: 0.0,
        flux_w_m2: 0.0,
        spray: None,
    };

    /// Gas and black surroundings of one temperature.
    #[must_use]
    pub fn exchange(kelvin: f64, convection_w_m2k: f64, emissivity: f64) -> Self {
        Self {
            gas_k: kelvin,
            convection_w_m2k,
            radiant_k: kelvin,
            emissivity,
            ..Self::INSULATED
        }
    }

    /// An imposed flux and nothing else, W/m².
    #[must_use]
    pub fn flux(flux_w_m2: f64) -> Self {
        Self {
            flux_w_m2,
            ..Self::INSULATED
        }
    }

    /// The same with water on the face.
    #[must_use]
    pub fn sprayed(self, spray: Spray) -> Self {
        Self {
            spray: Some(spray),
            ..self
        }
    }

    /// Heat into a face of temperature `face_k`, W/m².
    ///
    /// ```
    /// use glowsill::world::conduction::Boundary;
    /// let boundary = Boundary::exchange(400.0, 10.0, 1.0);
    /// // 10·100 W/m² by convection, σ(400⁴ − 300⁴) = 992.3 W/m² by radiation.
    /// assert!((boundary.heat_w_m2(300.0) - 1992.3).abs() < 0.1);
    /// ```
    #[must_use]
    pub fn heat_w_m2(&self, face_k: f64) -> f64 {
        let radiation =
            self.emissivity * STEFAN_BOLTZMANN * (self.radiant_k.powi(4) - face_k.powi(4));
        let water = self
            .spray
            .map_or(0.0, |spray| spray.heat_w_m2(face_k, self));
        self.convection_w_m2k * (self.gas_k - face_k) + radiation + self.flux_w_m2 - water
    }

    /// Slope of [`Boundary::heat_w_m2`] with the temperature of the face, W m⁻² K⁻¹; never above 0.
    pub(crate) fn slope(&self, face_k: f64) -> f64 {
        let radiation = 4.0 * self.emissivity * STEFAN_BOLTZMANN * face_k.powi(3);
        let water = self.spray.map_or(0.0, |spray| {
            let half = 0.005;
            (spray.heat_w_m2(face_k + half, self) - spray.heat_w_m2(face_k - half, self))
                / (2.0 * half)
        });
        -(self.convection_w_m2k + radiation + water)
    }

    /// Checks every field.
    ///
    /// # Errors
    /// [`ConductionError::Range`] naming the field, its value and its limits.
    pub fn check(&self) -> Result<(), ConductionError> {
        within("gas_k", self.gas_k, 1.0, 3000.0)?;
        within("convection_w_m2k", self.convection_w_m2k, 0.0, 1e9)?;
        within("radiant_k", self.radiant_k, 1.0, 3000.0)?;
        within("emissivity", self.emissivity, 0.0, 1.0)?;
        within("flux_w_m2", self.flux_w_m2, -1e7, 1e7)?;
        self.spray.map_or(Ok(()), |spray| spray.check())
    }
}
