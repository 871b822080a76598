//! What absorbs and glows along the ray: smoke layers and flames.
//!
//! All of them absorb without scattering (Beer and Lambert): over a length s of extinction κ the
//! radiance L becomes L·e^(−κs) + L_gas·(1 − e^(−κs)). Soot grains are far smaller than the
//! wavelengths of the long-wave band, so scattering is neglected there.

use glam::{DVec2, DVec3};

/// Part of the in-band extinction of a smoke in that of visible light (633 nm): about 0.06.
///
/// Source: absorption of small grains goes as 1/wavelength (Rayleigh limit; Modest, *Radiative Heat
/// Transfer*), from memory, not seen; 0.633 µm / 10.6 µm. Assumed for every smoke here.
pub const BAND_SHARE_OF_VISIBLE: f64 = 0.633 / 10.6;

/// A level rectangle that bounds a smoke layer: a room seen from above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Corner of least x and y, m.
    pub low: DVec2,
    /// Corner of greatest x and y, m.
    pub high: DVec2,
}

/// Hot smoke under a ceiling: everything above an interface.
///
/// Extinction rises smoothly from 0 to `extinction_per_m` over `transition_m` around the interface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HotLayer {
    /// Height of the interface, m.
    pub interface_m: f64,
    /// Thickness of the soft transition, centred on the interface, m; 0 for a sharp one.
    pub transition_m: f64,
    /// Temperature of the gas, kelvin.
    pub gas_k: f64,
    /// Extinction in the band, 1/m. Assumed: see [`BAND_SHARE_OF_VISIBLE`].
    pub extinction_per_m: f64,
    /// The room that it fills; everywhere if `None`.
    pub bounds: Option<Bounds>,
    /// Height of the ceiling that it lies under, m; infinite where there is none.
    pub top_m: f64,
}

/// Cool smoke that lies on the floor: everything below a height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FloorLayer {
    /// Height of its upper side, m.
    pub top_m: f64,
    /// Thickness of the soft transition, centred on the upper side, m.
    pub transition_m: f64,
    /// Temperature of the gas, kelvin.
    pub gas_k: f64,
    /// Extinction in the band, 1/m.
    pub extinction_per_m: f64,
    /// The room that it fills; everywhere if `None`.
    pub bounds: Option<Bounds>,
}

/// A flame: a semi-transparent glowing volume, soft at the edge, that sways and flickers.
///
/// Shape: an axisymmetric taper that surges, leans and is torn by seeded noise rising with the gas.
/// The puffing frequency is 1.5/√width Hz (pool-fire correlation of Cetegen and Ahmed 1993, from
/// memory, not seen). It is a picture of a flame, not a computed one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flame {
    /// Middle of the base, m.
    pub base: DVec3,
    /// Diameter at the base, m.
    pub width_m: f64,
    /// Mean height of the tip over the base, m.
    pub height_m: f64,
    /// Temperature of the glowing soot, kelvin.
    pub flame_k: f64,
    /// Extinction in the band in the middle of the flame, 1/m; assumed, about 1.
    pub extinction_per_m: f64,
    /// Chooses the flicker.
    pub seed: u64,
    /// The instant, s.
    pub seconds: f64,
}

/// Something that a ray passes through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Medium {
    /// Hot smoke under a ceiling.
    Hot(HotLayer),
    /// Cool smoke on the floor.
    Floor(FloorLayer),
    /// A flame.
    Flame(Flame),
}

impl HotLayer {
    /// A layer everywhere above an interface, without a ceiling, with a transition of 0.3 m.
    #[must_use]
    pub fn new(interface_m: f64, gas_k: f64, extinction_per_m: f64) -> Self {
        Self {
            interface_m,
            transition_m: 0.3,
            gas_k,
            extinction_per_m,
            bounds: None,
            top_m: f64::INFINITY,
        }
    }
}

impl Flame {
    /// Puffs a second: 1.5/√width.
    ///
    /// ```
    /// use glam::DVec3;
    /// use glowsill::world::scene::medium::Flame;
    /// let flame = Flame::new(DVec3::ZERO, 0.25, 1.0);
    /// assert_eq!(flame.puffing_hz(), 3.0);
    /// ```
    #[must_use]
    pub fn puffing_hz(&self) -> f64 {
        1.5 / self.width_m.max(0.01).sqrt()
    }

    /// A flame of 1100 K and an extinction of 1/m at second 0 (both assumed).
    #[must_use]
    pub fn new(base: DVec3, width_m: f64, height_m: f64) -> Self {
        Self {
            base,
            width_m,
            height_m,
            flame_k: 1100.0,
            extinction_per_m: 1.0,
            seed: 1,
            seconds: 0.0,
        }
    }

    /// At another instant, s.
    #[must_use]
    pub fn at_seconds(self, seconds: f64) -> Self {
        Self { seconds, ..self }
    }
}
