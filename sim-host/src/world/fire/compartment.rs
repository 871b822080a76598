//! The room of a fire and the temperature of its hot layer.
//!
//! MQH correlation (McCaffrey, Quintiere, Harkleroad, Fire Technology 17 (1981) 98):
//! ΔT = 6.85·[Q²/(A₀√H₀·hₖ·A_T)]^⅓, with Q in kW, hₖ in kW m⁻² K⁻¹, metres and kelvin. Formula and
//! inputs: worksheets of the US NRC (seen). hₖ = √(kρc/t) until the thermal penetration time
//! t_p = (ρc/k)(δ/2)², k/δ from then on. A_T is the inner surface without the openings.
//!
//! Limits, from memory, not seen (chapter on compartment fire temperatures in the SFPE handbook):
//! rises from 20 K to 600 K; one room with openings in its walls; a fire away from the walls, with air
//! enough; steady or slow against the lining. What leaves them is computed all the same and carries
//! warnings. Typical scatter of the data behind it is some 15 %.

use super::warning::{FireError, Warning, within};
use crate::world::conduction::Material;

/// Rise above which rooms flash over and the correlation ends, kelvin.
pub const FLASHOVER_RISE_K: f64 = 600.0;
const FAINT_RISE_K: f64 = 20.0;
/// Power that the air through an opening can burn per A₀√H₀, kW m⁻⁵ᐟ²: 0.5 kg/s of air (Kawagoe's
/// rule, from memory, not seen) times 3.03 MJ per kg of air (Huggett, from memory, not seen).
const AIR_KW: f64 = 1515.0;
/// Time before which no hot layer stands, seconds; assumed.
const EARLY_S: f64 = 10.0;

/// An opening in a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vent {
    /// Its width, metres.
    pub width_m: f64,
    /// Its height, metres.
    pub height_m: f64,
    /// Its lower edge above the floor, metres.
    pub sill_m: f64,
}

impl Vent {
    /// Area, m².
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        self.width_m * self.height_m
    }

    /// A₀√H₀, m^(5/2).
    #[must_use]
    pub fn factor(&self) -> f64 {
        self.area_m2() * self.height_m.sqrt()
    }
}

/// What the room's inside is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lining {
    /// The material.
    pub material: Material,
    /// Its thickness, metres.
    pub thickness_m: f64,
}

impl Lining {
    /// Thermal penetration time (ρc/k)(δ/2)², seconds.
    #[must_use]
    pub fn penetration_s(&self) -> f64 {
        (0.5 * self.thickness_m).powi(2) / self.material.diffusivity()
    }

    /// Effective coefficient of heat transfer hₖ at a time in seconds, kW m⁻² K⁻¹.
    #[must_use]
    pub fn coefficient_kw_m2k(&self, t_s: f64) -> f64 {
        let watts = if t_s < self.penetration_s() {
            (self.material.inertia() / t_s).sqrt()
        } else {
            self.material.conductivity_w_mk / self.thickness_m
        };
        watts / 1000.0
    }
}

/// Rise of the hot layer by the MQH correlation, kelvin.
///
/// Units: kW; Σ A₀√H₀ in m^(5/2); kW m⁻² K⁻¹; m². 0 where there is no fire.
///
/// ```
/// use glowsill::world::fire::compartment::mqh_rise_k;
/// assert!((mqh_rise_k(1000.0, 2.5 * 2f64.sqrt(), 0.035, 75.0) - 325.9586).abs() < 1e-3);
/// ```
#[must_use]
pub fn mqh_rise_k(
    power_kw: f64,
    vent_factor: f64,
    coefficient_kw_m2k: f64,
    surface_m2: f64,
) -> f64 {
    let loss = vent_factor * coefficient_kw_m2k * surface_m2;
    6.85 * (power_kw * power_kw / loss).cbrt()
}

/// Power at which a room flashes over, 610·√(hₖ A_T A₀√H₀) kW (the MQH correlation at 500 K).
#[must_use]
pub fn mqh_flashover_kw(vent_factor: f64, coefficient_kw_m2k: f64, surface_m2: f64) -> f64 {
    610.0 * (vent_factor * coefficient_kw_m2k * surface_m2).sqrt()
}

/// Power at which a room flashes over, 7.8·A_T + 378·A₀√H₀ kW (Thomas).
#[must_use]
pub fn thomas_flashover_kw(vent_factor: f64, surface_m2: f64) -> f64 {
    7.8 * surface_m2 + 378.0 * vent_factor
}

/// A room with openings.
#[derive(Clone, Debug, PartialEq)]
pub struct Compartment {
    /// Length, metres.
    pub length_m: f64,
    /// Width, metres.
    pub width_m: f64,
    /// Height, metres.
    pub height_m: f64,
    /// Openings in its walls.
    pub vents: Vec<Vent>,
    /// What its inside is made of.
    pub lining: Lining,
}

/// The hot layer's rise with what speaks against it.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerRise {
    /// Rise above the ambient temperature, kelvin.
    pub rise_k: f64,
    /// hₖ used, kW m⁻² K⁻¹.
    pub coefficient_kw_m2k: f64,
    /// Limits that were left.
    pub warnings: Vec<Warning>,
}

impl Compartment {
    /// Checks every number.
    ///
    /// # Errors
    /// [`FireError::Range`] naming the field, its value and its limits.
    pub fn check(&self) -> Result<(), FireError> {
        within("length_m", self.length_m, 0.5, 200.0)?;
        within("width_m", self.width_m, 0.5, 200.0)?;
        within("height_m", self.height_m, 1.0, 50.0)?;
        within("lining.thickness_m", self.lining.thickness_m, 1e-4, 5.0)?;
        for vent in &self.vents {
            within("vent.width_m", vent.width_m, 0.01, 100.0)?;
            within("vent.sill_m", vent.sill_m, 0.0, self.height_m)?;
            let most = self.height_m - vent.sill_m;
            within("vent.height_m", vent.height_m, 0.01, most)?;
        }
        Ok(())
    }

    /// Floor area, m².
    #[must_use]
    pub fn floor_m2(&self) -> f64 {
        self.length_m * self.width_m
    }

    /// Inner surface without the openings A_T, m².
    #[must_use]
    pub fn surface_m2(&self) -> f64 {
        let walls = 2.0 * self.height_m * (self.length_m + self.width_m);
        let vents: f64 = self.vents.iter().map(Vent::area_m2).sum();
        2.0 * self.floor_m2() + walls - vents
    }

    /// Σ A₀√H₀ over the openings, m^(5/2).
    #[must_use]
    pub fn vent_factor(&self) -> f64 {
        self.vents.iter().map(Vent::factor).sum()
    }

    /// Rise of the hot layer with a power in kW at a time in seconds since the fire started.
    ///
    /// A room without openings is computed as if it had one of 0.1 m by 0.1 m, and says so. The power
    /// is that of now and the time counts from the start, as for a slowly growing fire.
    #[must_use]
    pub fn layer_rise(&self, power_kw: f64, t_s: f64) -> LayerRise {
        let mut warnings = vec![];
        let t_s = if t_s < EARLY_S {
            warnings.push(Warning::Early { time_s: t_s });
            t_s.max(1.0)
        } else {
            t_s
        };
        let coefficient_kw_m2k = self.lining.coefficient_kw_m2k(t_s);
        let vent_factor = if self.vents.is_empty() {
            warnings.push(Warning::Closed);
            0.01 * 0.1_f64.sqrt()
        } else {
            self.vent_factor()
        };
        let rise_k = mqh_rise_k(
            power_kw.max(0.0),
            vent_factor,
            coefficient_kw_m2k,
            self.surface_m2(),
        );
        if rise_k > FLASHOVER_RISE_K {
            warnings.push(Warning::Flashover { rise_k });
        } else if rise_k < FAINT_RISE_K {
            warnings.push(Warning::Faint { rise_k });
        }
        let air_kw = AIR_KW * vent_factor;
        if power_kw > air_kw {
            warnings.push(Warning::ShortOfAir { power_kw, air_kw });
        }
        LayerRise {
            rise_k,
            coefficient_kw_m2k,
            warnings,
        }
    }
}
