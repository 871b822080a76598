//! The sensor: apparent temperature in, raw counts of both gain states out.
//!
//! Light path, in this order: apparent temperature → in-band radiance → blur of the optics
//! (Gaussian) → lag of the bolometer (first order) → per gain state: counts linear in radiance,
//! residual fixed pattern, temporal noise, per-pixel gain and offset, rounding, clipping, defects.
//!
//! Noise is constant in radiance, so its size in kelvin falls as dL/dT rises: at 150 °C it is less
//! than half of the size set at 300 K. Raw 0 is kept for dead pixels. Equal seeds give equal bits.

mod model;
mod noise;

pub use model::{CalibrationTable, SensorError, SensorModel};

use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::image::Image;
use super::radiometry::RadianceTable;
use super::rounding::to_u16;
use model::GainScale;
use noise::{Blur, Defect, FixedPattern, stream};

/// Raw counts of one frame, row-major; both gain states have the size of the sensor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exposure {
    /// High gain: sensitive, saturates near 150 °C.
    pub high: Vec<u16>,
    /// Low gain: noisy, reaches 650 °C and more.
    pub low: Vec<u16>,
}

/// One gain state with its own flaws.
struct Gain {
    scale: GainScale,
    pattern: FixedPattern,
    sigma_counts: f64,
    noise: ChaCha8Rng,
    noise_name: &'static str,
}

impl Gain {
    fn read(&mut self, radiance: &[f64], defects: &[Defect], ceiling: u16) -> Vec<u16> {
        let mut raw = Vec::with_capacity(radiance.len());
        for (i, &light) in radiance.iter().enumerate() {
            let noise: f64 = StandardNormal.sample(&mut self.noise);
            let count = self.scale.count(light) + self.sigma_counts * noise;
            raw.push(match defects[i] {
                Defect::None => to_u16(self.pattern.raw(i, count), 1, ceiling),
                Defect::Dead => 0,
                Defect::Stuck(share) => to_u16(share * f64::from(ceiling), 1, ceiling),
            });
        }
        raw
    }
}

/// A sensor of one size with its flaws drawn from a seed.
///
/// ```
/// use glowsill::world::{image::Image, sensor::{Sensor, SensorModel}};
/// let mut sensor = Sensor::new(SensorModel::ideal(), 16, 12, 1).unwrap();
/// let (high, _) = sensor.model().calibrations().unwrap();
/// let exposure = sensor.expose(&Image::new(16, 12, 300.0)).unwrap();
/// assert!((high.kelvin(exposure.high[0]) - 300.0).abs() < 0.05);
/// ```
pub struct Sensor {
    model: SensorModel,
    width: usize,
    height: usize,
    seed: u64,
    table: RadianceTable,
    blur: Blur,
    high: Gain,
    low: Gain,
    defects: Vec<Defect>,
    defect_map: Vec<u8>,
    settled: Option<Vec<f64>>,
}

impl Sensor {
    /// Draws a sensor of `width` by `height` pixels from a seed.
    ///
    /// # Errors
    /// [`SensorError::Field`] if the model does not pass [`SensorModel::check`];
    /// [`SensorError::Size`] for a width or height of 0 or more than 1280 by 1024.
    pub fn new(
        model: SensorModel,
        width: usize,
        height: usize,
        seed: u64,
    ) -> Result<Self, SensorError> {
        model.check()?;
        if !(1..=1280).contains(&width) || !(1..=1024).contains(&height) {
            return Err(SensorError::Size { width, height });
        }
        let pixels = width * height;
        let (high_scale, low_scale) = model.scales();
        let gain = |scale: GainScale, netd, residual, names: [&'static str; 2]| Gain {
            scale,
            pattern: FixedPattern::draw(&model, &scale, residual, pixels, seed, names[0]),
            sigma_counts: model.noise_counts(&scale, netd),
            noise: stream(seed, names[1]),
            noise_name: names[1],
        };
        let high = gain(
            high_scale,
            model.netd_high_k,
            model.fixed_pattern_high_k,
            ["pattern high", "noise high"],
        );
        let low = gain(
            low_scale,
            model.netd_low_k,
            model.fixed_pattern_low_k,
            ["pattern low", "noise low"],
        );
        let defects = Defect::draw(model.defect_share, pixels, seed);
        let defect_map = defects
            .iter()
            .map(|d| u8::from(*d != Defect::None))
            .collect();
        Ok(Self {
            table: RadianceTable::new(model.band),
            blur: Blur::new(model.blur_sigma_px),
            model,
            width,
            height,
            seed,
            high,
            low,
            defects,
            defect_map,
            settled: None,
        })
    }

    /// Exposes one frame. The first frame after [`Sensor::new`] or [`Sensor::reset`] finds the
    /// bolometer settled on it. If the gains are taken one after the other, low gain sees the
    /// frame before (the first frame: the same).
    ///
    /// Apparent temperatures are kelvin; 0 and below count as no light.
    ///
    /// # Errors
    /// [`SensorError::Image`] if the picture is not of the sensor's size.
    pub fn expose(&mut self, apparent: &Image<f64>) -> Result<Exposure, SensorError> {
        if (apparent.width, apparent.height) != (self.width, self.height)
            || apparent.data.len() != self.width * self.height
        {
            return Err(SensorError::Image {
                got: (apparent.width, apparent.height),
                want: (self.width, self.height),
            });
        }
        let light = apparent.map(|&kelvin| self.table.radiance(kelvin));
        let mut now = self.blur.apply(light).data;
        let before = self.settled.take();
        if let Some(before) = &before {
            let step = self.model.lag_step();
            for (new, old) in now.iter_mut().zip(before) {
                *new = old + step * (*new - old);
            }
        }
        let ceiling = self.model.ceiling();
        let high = self.high.read(&now, &self.defects, ceiling);
        let seen_low = match &before {
            Some(before) if !self.model.simultaneous => before,
            _ => &now,
        };
        let low = self.low.read(seen_low, &self.defects, ceiling);
        self.settled = Some(now);
        Ok(Exposure { high, low })
    }

    /// Forgets the lag and starts the noise again: the next frames repeat bit for bit.
    pub fn reset(&mut self) {
        self.settled = None;
        for gain in [&mut self.high, &mut self.low] {
            gain.noise = stream(self.seed, gain.noise_name);
        }
    }

    /// The model in use.
    #[must_use]
    pub fn model(&self) -> &SensorModel {
        &self.model
    }

    /// Width and height in pixels.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        (self.width, self.height)
    }

    /// One byte a pixel, row-major: 0 good, 1 defective in both gain states.
    #[must_use]
    pub fn defects(&self) -> &[u8] {
        &self.defect_map
    }

    /// Gain (Q14) and offset (counts) of every pixel that undo the non-uniformity of high gain up
    /// to the residual fixed pattern.
    #[must_use]
    pub fn correction_high(&self) -> (&[u16], &[i16]) {
        (&self.high.pattern.gain_q14, &self.high.pattern.offset)
    }

    /// As [`Sensor::correction_high`], for low gain.
    #[must_use]
    pub fn correction_low(&self) -> (&[u16], &[i16]) {
        (&self.low.pattern.gain_q14, &self.low.pattern.offset)
    }
}
