//! Black-body radiance in a spectral band, and what stands between a surface and the lens.
//!
//! An imager sees radiance. It shows the *apparent temperature*: that of the black body of the
//! same in-band radiance. A grey surface, reflected surroundings and warm air move it away from
//! the true temperature: **apparent is not true temperature**.
//!
//! Radiance is in W m⁻² sr⁻¹ with unit spectral response inside the band. Method: the series of
//! Chang and Rhee (1984) for the band fraction, Σ e^(−nz)(z³/n + 3z²/n² + 6z/n³ + 6/n⁴), run to
//! the last bit; for small z the power series of x³/(eˣ − 1). Constants are the exact SI values of
//! h, c and k (SI Brochure, 9th edition, 2019).

mod table;

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use crate::temperature::Kelvin;
pub use table::RadianceTable;

const PLANCK_J_S: f64 = 6.626_070_15e-34;
const LIGHT_M_S: f64 = 299_792_458.0;
const BOLTZMANN_J_K: f64 = 1.380_649e-23;
/// Second radiation constant hc/k, in µm K.
const C2_UM_K: f64 = PLANCK_J_S * LIGHT_M_S / BOLTZMANN_J_K * 1e6;
/// 15/π⁴: normalises ∫ x³/(eˣ − 1) to 1.
const NORMAL: f64 = 15.0 / (PI * PI * PI * PI);

/// Coldest temperature the inverse gives, in kelvin.
pub const COLDEST_K: f64 = 30.0;
/// Hottest temperature the inverse gives, in kelvin.
pub const HOTTEST_K: f64 = 6000.0;

/// A radiometric request that has no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RadiometryError {
    /// The band's wavelengths are not rising, or lie outside 0.1 to 1000 µm.
    #[error(
        "band {short_um} to {long_um} um: both ends must lie in 0.1 to 1000 um and the first must be the shorter; the long-wave band is 8 to 14"
    )]
    Band {
        /// The shorter end asked for, in µm.
        short_um: f64,
        /// The longer end asked for, in µm.
        long_um: f64,
    },
    /// No black body between 30 K and 6000 K has this radiance in the band.
    #[error(
        "radiance {radiance} W/(m2 sr) is outside {low:e} to {high:.1}, which black bodies of {} to {} give in this band: check emissivity, transmission and the temperatures",
        Kelvin(COLDEST_K),
        Kelvin(HOTTEST_K)
    )]
    Radiance {
        /// What was asked for.
        radiance: f64,
        /// The least that can be inverted.
        low: f64,
        /// The most that can be inverted.
        high: f64,
    },
    /// The apparent temperature is below what reflection and air give on their own.
    #[error(
        "apparent temperature {} is not above {}, which the reflected surroundings and the air alone give at emissivity {emissivity}: give a higher reading, colder surroundings or air, or a higher emissivity",
        Kelvin(*.apparent_k), Kelvin(*.floor_k)
    )]
    BelowSurroundings {
        /// What was asked for, in kelvin.
        apparent_k: f64,
        /// The apparent temperature of a surface that emits nothing, in kelvin.
        floor_k: f64,
        /// The emissivity in use.
        emissivity: f64,
    },
    /// A number of the path is outside its range.
    #[error("{}", path_message(.field, *.value, *.low, *.high))]
    Path {
        /// Which field.
        field: &'static str,
        /// Its value.
        value: f64,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
}

/// A temperature of the path in °C and °F, a ratio as it is; and what to do.
fn path_message(field: &str, value: f64, low: f64, high: f64) -> String {
    match field.strip_suffix("_k") {
        Some(name) => format!(
            "{name} = {} is outside {} to {}: give the temperature of what is reflected or of the air, such as 20C",
            Kelvin(value),
            Kelvin(low),
            Kelvin(high)
        ),
        None => format!(
            "{field} = {value} is outside {low} to {high}: it is a share; give for example 0.95 (painted wood, 8 to 14 \
             µm), or 1 for none lost"
        ),
    }
}

/// ∫ x³/(eˣ − 1) dx from `z` up, divided by its whole: the fraction of a black body's radiation
/// at wavelengths shorter than that of `z` = c₂/λT.
fn fraction_above(z: f64) -> f64 {
    if z <= 0.0 {
        return 1.0;
    }
    if z < 0.5 {
        // B_k z^k / (k! (k + 3)) with the Bernoulli numbers B_k.
        let q = z * z;
        let tail = 1.0 / 60.0
            + q * (-1.0 / 5040.0
                + q * (1.0 / 272_160.0 + q * (-1.0 / 13_305_600.0 + q / 622_702_080.0)));
        return 1.0 - NORMAL * z * q * (1.0 / 3.0 - z / 8.0 + q * tail);
    }
    let (z2, z3) = (z * z, z * z * z);
    let mut sum = 0.0;
    let mut n = 1.0;
    loop {
        let term = (-n * z).exp()
            * (z3 / n + 3.0 * z2 / (n * n) + 6.0 * z / (n * n * n) + 6.0 / n.powi(4));
        sum += term;
        if term <= sum * 1e-18 {
            return NORMAL * sum;
        }
        n += 1.0;
    }
}

/// The fraction of a black body's radiation at wavelengths from 0 to λ, for the product λT.
///
/// Shape: one number. Unit: µm K in, none out. Range: 0 to 1; 0 for a product of 0 or less.
///
/// ```
/// use glowsill::world::radiometry::band_fraction;
/// assert!((band_fraction(4000.0) - 0.480_877).abs() < 6e-5); // printed tables: 0.480877
/// ```
#[must_use]
pub fn band_fraction(lambda_t_um_k: f64) -> f64 {
    if lambda_t_um_k > 0.0 {
        fraction_above(C2_UM_K / lambda_t_um_k)
    } else {
        0.0
    }
}

/// Radiance of a black body over all wavelengths, W m⁻² sr⁻¹.
fn total_radiance(kelvin: f64) -> f64 {
    let kt = BOLTZMANN_J_K * kelvin;
    let hc = PLANCK_J_S * LIGHT_M_S;
    // σT⁴/π = 2π⁴k⁴T⁴ / (15 h³c²)
    2.0 / NORMAL * (kt / hc).powi(3) * kt * LIGHT_M_S
}

/// A spectral band with unit response between its ends.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Band {
    /// Shorter wavelength, in µm.
    pub short_um: f64,
    /// Longer wavelength, in µm.
    pub long_um: f64,
}

impl Band {
    /// 8 to 14 µm.
    pub const LONG_WAVE: Self = Self {
        short_um: 8.0,
        long_um: 14.0,
    };

    /// A band between two wavelengths in µm.
    ///
    /// # Errors
    /// [`RadiometryError::Band`] unless 0.1 ≤ short < long ≤ 1000.
    pub fn new(short_um: f64, long_um: f64) -> Result<Self, RadiometryError> {
        if short_um >= 0.1 && short_um < long_um && long_um <= 1000.0 {
            Ok(Self { short_um, long_um })
        } else {
            Err(RadiometryError::Band { short_um, long_um })
        }
    }

    /// In-band radiance of a black body, W m⁻² sr⁻¹; 0 at 0 K and below.
    ///
    /// ```
    /// use glowsill::world::radiometry::Band;
    /// assert!((Band::LONG_WAVE.radiance(300.0) - 54.93346).abs() < 1e-4);
    /// ```
    #[must_use]
    pub fn radiance(self, kelvin: f64) -> f64 {
        if kelvin > 0.0 {
            let fraction =
                band_fraction(self.long_um * kelvin) - band_fraction(self.short_um * kelvin);
            total_radiance(kelvin) * fraction
        } else {
            0.0
        }
    }

    /// Slope dL/dT of the in-band radiance, W m⁻² sr⁻¹ K⁻¹; 0 at 0 K and below.
    #[must_use]
    pub fn radiance_slope(self, kelvin: f64) -> f64 {
        if kelvin <= 0.0 {
            return 0.0;
        }
        let edge = |um: f64| {
            let z = C2_UM_K / (um * kelvin);
            if z > 700.0 {
                0.0
            } else {
                z.powi(4) / z.exp_m1()
            }
        };
        let moved = NORMAL * (edge(self.long_um) - edge(self.short_um));
        (4.0 * self.radiance(kelvin) + total_radiance(kelvin) * moved) / kelvin
    }

    /// Temperature in kelvin of the black body with this in-band radiance (Newton's method inside
    /// a bracket).
    ///
    /// # Errors
    /// [`RadiometryError::Radiance`] outside what 30 K to 6000 K give.
    pub fn temperature(self, radiance: f64) -> Result<f64, RadiometryError> {
        let (low, high) = (self.radiance(COLDEST_K), self.radiance(HOTTEST_K));
        if !(radiance >= low && radiance <= high) {
            return Err(RadiometryError::Radiance {
                radiance,
                low,
                high,
            });
        }
        let (mut cold, mut hot) = (COLDEST_K, HOTTEST_K);
        let mut kelvin = 300.0;
        for _ in 0..200 {
            let excess = self.radiance(kelvin) - radiance;
            if excess > 0.0 {
                hot = kelvin;
            } else {
                cold = kelvin;
            }
            let newton = kelvin - excess / self.radiance_slope(kelvin);
            let next = if newton >= cold && newton <= hot {
                newton
            } else {
                (cold + hot) / 2.0
            };
            if (next - kelvin).abs() <= 1e-12 * kelvin {
                return Ok(next);
            }
            kelvin = next;
        }
        Ok(kelvin)
    }
}

/// What lies between a surface and the lens: a grey surface that reflects black surroundings, seen
/// through air that absorbs and glows.
///
/// L(apparent) = τ·[ε·L(true) + (1 − ε)·L(surroundings)] + (1 − τ)·L(air).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Path {
    /// Emissivity in the band, above 0 to 1.
    pub emissivity: f64,
    /// Temperature of the reflected surroundings, kelvin.
    pub surroundings_k: f64,
    /// Transmission of the air in the band, above 0 to 1.
    pub transmission: f64,
    /// Temperature of the air, kelvin.
    pub air_k: f64,
}

impl Path {
    /// A black surface through clear air: apparent equals true.
    pub const BLACK: Self = Self {
        emissivity: 1.0,
        surroundings_k: 293.15,
        transmission: 1.0,
        air_k: 293.15,
    };

    /// A grey surface in surroundings of 20 °C through clear air.
    #[must_use]
    pub fn grey(emissivity: f64) -> Self {
        Self {
            emissivity,
            ..Self::BLACK
        }
    }

    /// Checks every field.
    ///
    /// # Errors
    /// [`RadiometryError::Path`] naming the field, its value and its limits.
    pub fn check(&self) -> Result<(), RadiometryError> {
        let fields = [
            ("emissivity", self.emissivity, 0.001, 1.0),
            ("surroundings_k", self.surroundings_k, COLDEST_K, HOTTEST_K),
            ("transmission", self.transmission, 0.001, 1.0),
            ("air_k", self.air_k, COLDEST_K, HOTTEST_K),
        ];
        for (field, value, low, high) in fields {
            if !(value >= low && value <= high) {
                return Err(RadiometryError::Path {
                    field,
                    value,
                    low,
                    high,
                });
            }
        }
        Ok(())
    }

    /// Radiance that arrives although the surface emits nothing.
    fn stray(&self, band: Band) -> f64 {
        let reflected = (1.0 - self.emissivity) * band.radiance(self.surroundings_k);
        self.transmission * reflected + (1.0 - self.transmission) * band.radiance(self.air_k)
    }

    /// Apparent temperature in kelvin of a surface of true temperature `true_k`; not-a-number if
    /// the path does not pass [`Path::check`] or the result is outside 30 K to 6000 K.
    ///
    /// ```
    /// use glowsill::world::radiometry::{Band, Path};
    /// let read = Path::grey(0.95).apparent(Band::LONG_WAVE, 150.0 + 273.15);
    /// assert!((read - 273.15 - 145.21).abs() < 0.01);
    /// ```
    #[must_use]
    pub fn apparent(&self, band: Band, true_k: f64) -> f64 {
        if self.check().is_err() {
            return f64::NAN;
        }
        let own = self.transmission * self.emissivity * band.radiance(true_k);
        band.temperature(own + self.stray(band)).unwrap_or(f64::NAN)
    }

    /// True temperature in kelvin of the surface that appears at `apparent_k`.
    ///
    /// # Errors
    /// [`RadiometryError::BelowSurroundings`] if reflection and air alone give as much or more;
    /// [`RadiometryError::Path`] and [`RadiometryError::Radiance`] for values out of range.
    pub fn true_temperature(&self, band: Band, apparent_k: f64) -> Result<f64, RadiometryError> {
        self.check()?;
        let stray = self.stray(band);
        let own = band.radiance(apparent_k) - stray;
        if own <= 0.0 {
            return Err(RadiometryError::BelowSurroundings {
                apparent_k,
                floor_k: band.temperature(stray)?,
                emissivity: self.emissivity,
            });
        }
        band.temperature(own / (self.transmission * self.emissivity))
    }
}
