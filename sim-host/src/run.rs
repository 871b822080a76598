//! The only caller of the pipeline: counts and a profile go in, pictures and records come out.

use glowsill_core::calibration::{Calibration, CalibrationError, KNOTS};
use glowsill_core::error::{ConfigError, FrameError};
use glowsill_core::health::{Health, HealthPlan};
use glowsill_core::panel::{PanelRgb565, PanelRgb565Dithered, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::Profile;
use glowsill_core::record::FrameRecord;
use glowsill_core::units::Temperature;
use serde::{Deserialize, Serialize};

use crate::world::image::Image;
use crate::world::sensor::{CalibrationTable, Exposure, Sensor, SensorError, SensorModel};

/// A frame that could not be shown.
#[derive(Debug, thiserror::Error)]
pub enum RunError {
    /// The pipeline cannot be built.
    #[error("{0}")]
    Config(#[from] ConfigError),
    /// A frame does not fit.
    #[error("{0}")]
    Frame(#[from] FrameError),
    /// A calibration is impossible.
    #[error("{0}")]
    Calibration(#[from] CalibrationError),
    /// The sensor model is impossible, or the picture does not fit it.
    #[error("{0}")]
    Sensor(#[from] SensorError),
    /// A calibration table has the wrong number of knots.
    #[error("calibration has {0} knots; {KNOTS} are needed")]
    Knots(usize),
    /// A picture larger than a geometry can name.
    #[error("{0} x {1} pixels do not fit the pipeline: 8 x 8 to 1280 x 1024")]
    Size(usize, usize),
}

/// What one pixel of the glass takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Panel {
    /// 24 bits.
    #[default]
    Rgb888,
    /// 16 bits, rounded.
    Rgb565,
    /// 16 bits, with ordered dither.
    Rgb565Dithered,
}

/// What the pipeline must know of a sensor, owned.
#[derive(Clone, Debug, Default)]
pub struct SensorTables {
    high: Option<Calibration>,
    low: Option<Calibration>,
    high_correction: Option<(Vec<u16>, Vec<i16>)>,
    low_correction: Option<(Vec<u16>, Vec<i16>)>,
    defects: Option<Vec<u8>>,
    health: Option<HealthPlan>,
}

impl SensorTables {
    /// With a watch over the health of the picture. Without it nothing is struck out: a bench
    /// measures the picture itself, and shows it scenes without noise that stand still.
    #[must_use]
    pub fn watched(mut self, plan: HealthPlan) -> Self {
        self.health = Some(plan);
        self
    }

    /// The tables of a simulated sensor.
    ///
    /// # Errors
    /// [`RunError`] when its calibration is impossible.
    pub fn of(sensor: &Sensor) -> Result<Self, RunError> {
        let (high, low) = sensor.model().calibrations()?;
        let owned = |(gain, offset): (&[u16], &[i16])| (gain.to_vec(), offset.to_vec());
        Ok(Self {
            high_correction: Some(owned(sensor.correction_high())),
            low_correction: Some(owned(sensor.correction_low())),
            defects: Some(sensor.defects().to_vec()),
            ..Self::calibrated(Some(&high), Some(&low))?
        })
    }

    /// Calibrations alone: samples that are already corrected.
    ///
    /// # Errors
    /// [`RunError`] when a calibration is impossible.
    pub fn calibrated(
        high: Option<&CalibrationTable>,
        low: Option<&CalibrationTable>,
    ) -> Result<Self, RunError> {
        Ok(Self {
            high: high.map(calibration).transpose()?,
            low: low.map(calibration).transpose()?,
            ..Self::default()
        })
    }

    fn config(&self) -> SensorConfig<'_> {
        fn lent(tables: &Option<(Vec<u16>, Vec<i16>)>) -> Option<Correction<'_>> {
            tables
                .as_ref()
                .map(|(gain_q14, offset)| Correction { gain_q14, offset })
        }
        SensorConfig {
            high: self.high.as_ref(),
            low: self.low.as_ref(),
            high_correction: lent(&self.high_correction),
            low_correction: lent(&self.low_correction),
            defects: self.defects.as_deref(),
            health: self.health.unwrap_or(HealthPlan::OFF),
            ..SensorConfig::default()
        }
    }
}

/// A table as the pipeline takes it.
///
/// # Errors
/// [`RunError`] for another number of knots than 257, or an impossible table.
pub fn calibration(table: &CalibrationTable) -> Result<Calibration, RunError> {
    let knots: [u16; KNOTS] = table
        .knots
        .as_slice()
        .try_into()
        .map_err(|_| RunError::Knots(table.knots.len()))?;
    Ok(Calibration::new(
        table.shift,
        knots.map(Temperature::from_bits),
        table.saturation,
    )?)
}

/// One shown frame, with what each pixel went through.
#[derive(Clone, Debug)]
pub struct Shown {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// What the panel shows, as 8-bit codes.
    pub picture: Vec<Rgb888>,
    /// Apparent temperature codes, 1/32 K; 0 is no sample.
    pub temperature: Vec<u16>,
    /// Grey before the overlay, 8.8 bits.
    pub grey_q8: Vec<u16>,
    /// Band: 0 is grey.
    pub band: Vec<u8>,
    /// What the pipeline used and saw.
    pub record: FrameRecord,
}

impl Shown {
    /// The picture as an image.
    #[must_use]
    pub fn image(&self) -> image::RgbImage {
        let mut image = image::RgbImage::new(size_u32(self.width), size_u32(self.height));
        for (pixel, colour) in image.pixels_mut().zip(&self.picture) {
            pixel.0 = [colour.r, colour.g, colour.b];
        }
        image
    }

    /// The apparent temperature of a pixel in kelvin, if it has one.
    #[must_use]
    pub fn kelvin(&self, index: usize) -> Option<f64> {
        self.temperature
            .get(index)
            .filter(|code| **code != 0)
            .map(|code| f64::from(*code) / 32.0)
    }
}

fn size_u32(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

/// A display that runs: the pipeline and its last frame.
pub struct Display<'a> {
    pipeline: Pipeline<'a>,
    panel: Panel,
    words: Vec<u16>,
    shown: Shown,
}

impl Display<'_> {
    /// Shows one frame of counts.
    ///
    /// # Errors
    /// [`RunError::Frame`] when a plane does not fit or one that the gain plan needs is missing.
    pub fn show(&mut self, high: Option<&[u16]>, low: Option<&[u16]>) -> Result<&Shown, RunError> {
        let Shown {
            picture,
            temperature,
            grey_q8,
            band,
            record,
            ..
        } = &mut self.shown;
        let trace = Trace {
            temperature,
            grey_q8,
            band,
        };
        *record = match self.panel {
            Panel::Rgb888 => self
                .pipeline
                .frame_traced::<PanelRgb888>(high, low, picture, trace)?,
            Panel::Rgb565 => {
                self.pipeline
                    .frame_traced::<PanelRgb565>(high, low, &mut self.words, trace)?
            }
            Panel::Rgb565Dithered => self.pipeline.frame_traced::<PanelRgb565Dithered>(
                high,
                low,
                &mut self.words,
                trace,
            )?,
        };
        if self.panel != Panel::Rgb888 {
            for (pixel, word) in picture.iter_mut().zip(&self.words) {
                *pixel = Rgb888::from_565(*word);
            }
        }
        Ok(&self.shown)
    }

    /// Shows an exposure of a simulated sensor.
    ///
    /// # Errors
    /// As [`Self::show`].
    pub fn expose(&mut self, exposure: &Exposure) -> Result<&Shown, RunError> {
        self.show(Some(&exposure.high), Some(&exposure.low))
    }

    /// Shows exposures in turn until `frames` frames have passed, and gives the last one.
    ///
    /// # Errors
    /// As [`Self::show`].
    pub fn settle(&mut self, exposures: &[Exposure], frames: usize) -> Result<&Shown, RunError> {
        for exposure in exposures.iter().cycle().take(frames) {
            self.expose(exposure)?;
        }
        Ok(&self.shown)
    }

    /// The last frame shown.
    #[must_use]
    pub fn last(&self) -> &Shown {
        &self.shown
    }
}

/// Builds a display over buffers of its own and hands it to `body`.
///
/// # Errors
/// [`RunError::Config`] when the pipeline cannot be built; what `body` gives otherwise.
pub fn with_display<R, E: From<RunError>>(
    profile: &Profile,
    tables: &SensorTables,
    (width, height): (usize, usize),
    panel: Panel,
    body: impl FnOnce(&mut Display<'_>) -> Result<R, E>,
) -> Result<R, E> {
    let geometry = geometry((width, height))?;
    let (mut memory, mut scratch) = buffers(geometry);
    let mut display = build(profile, tables, geometry, panel, &mut memory, &mut scratch)?;
    body(&mut display)
}

/// Builds a display for each profile and hands them all to `body`, to be shown the same frames.
///
/// # Errors
/// As [`with_display`].
pub fn with_displays<R, E: From<RunError>>(
    profiles: &[&Profile],
    tables: &SensorTables,
    size: (usize, usize),
    panel: Panel,
    body: impl FnOnce(&mut [Display<'_>]) -> Result<R, E>,
) -> Result<R, E> {
    let geometry = geometry(size)?;
    let mut lent: Vec<_> = profiles.iter().map(|_| buffers(geometry)).collect();
    let mut displays = profiles
        .iter()
        .zip(&mut lent)
        .map(|(profile, (memory, scratch))| {
            build(profile, tables, geometry, panel, memory, scratch)
        })
        .collect::<Result<Vec<_>, _>>()?;
    body(&mut displays)
}

fn geometry((width, height): (usize, usize)) -> Result<Geometry, RunError> {
    let size = |value| u16::try_from(value).map_err(|_| RunError::Size(width, height));
    Ok(Geometry::new(size(width)?, size(height)?)?)
}

/// The memory and the scratch that a pipeline borrows.
fn buffers(geometry: Geometry) -> (Vec<u8>, Vec<u16>) {
    (
        vec![0; geometry.pixels()],
        vec![0; Pipeline::scratch_len(geometry)],
    )
}

fn build<'a>(
    profile: &Profile,
    tables: &'a SensorTables,
    geometry: Geometry,
    panel: Panel,
    memory: &'a mut [u8],
    scratch: &'a mut [u16],
) -> Result<Display<'a>, RunError> {
    let pixels = geometry.pixels();
    let pipeline = Pipeline::new(geometry, profile, tables.config(), memory, scratch)?;
    Ok(Display {
        pipeline,
        panel,
        words: vec![0; pixels],
        shown: Shown {
            width: usize::from(geometry.width()),
            height: usize::from(geometry.height()),
            picture: vec![Rgb888::default(); pixels],
            temperature: vec![0; pixels],
            grey_q8: vec![0; pixels],
            band: vec![0; pixels],
            record: empty_record(),
        },
    })
}

/// The record of a display that has shown nothing yet.
fn empty_record() -> FrameRecord {
    FrameRecord {
        frame: 0,
        gain: glowsill_core::record::GainInUse::Blank,
        scale_low: Temperature::INVALID,
        scale_high: Temperature::INVALID,
        pixels: 0,
        valid: 0,
        from_low: 0,
        coloured: 0,
        in_band: [0; 7],
        hottest: None,
        coldest: None,
        saturated: 0,
        invalid: 0,
        disputed: 0,
        replaced: 0,
        is_struck: false,
        health: Health::GOOD,
    }
}

/// A simulated sensor and a display behind it, handed to `body`.
///
/// # Errors
/// [`RunError`] when the sensor or the pipeline cannot be built; what `body` gives otherwise.
pub fn with_bench<R, E: From<RunError>>(
    profile: &Profile,
    model: &SensorModel,
    (width, height): (usize, usize),
    seed: u64,
    body: impl FnOnce(&mut Sensor, &mut Display<'_>) -> Result<R, E>,
) -> Result<R, E> {
    let mut sensor = Sensor::new(model.clone(), width, height, seed).map_err(RunError::from)?;
    let tables = SensorTables::of(&sensor)?;
    with_display(
        profile,
        &tables,
        (width, height),
        Panel::Rgb888,
        |display| body(&mut sensor, display),
    )
}

/// Takes `count` exposures of a scene that stands still, each with its own noise.
///
/// # Errors
/// [`RunError::Sensor`] when the scene does not fit the sensor.
pub fn still(
    sensor: &mut Sensor,
    scene: &Image<f64>,
    count: usize,
) -> Result<Vec<Exposure>, RunError> {
    (0..count)
        .map(|_| sensor.expose(scene).map_err(RunError::from))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use glowsill_core::profile::ProfileSpec;

    #[test]
    fn the_bench_shows_the_temperature_that_stands_before_it() {
        let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
        let scene = Image::new(16, 12, 338.15);
        let shown = with_bench(
            &profile,
            &SensorModel::ideal(),
            (16, 12),
            1,
            |sensor, display| {
                let exposures = still(sensor, &scene, 1)?;
                Ok::<_, RunError>(display.settle(&exposures, 2)?.clone())
            },
        )
        .unwrap();
        // 65 °C is the middle of the example's -20 °C to 150 °C.
        assert!((shown.kelvin(5).unwrap() - 338.15).abs() < 0.1);
        assert!(shown.picture[5].r.abs_diff(128) <= 1);
        assert_eq!(shown.record.frame, 1);
    }

    #[test]
    fn a_sixteen_bit_panel_shows_codes_it_has() {
        let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
        let identity = CalibrationTable::identity();
        let tables = SensorTables::calibrated(Some(&identity), None).unwrap();
        let picture = with_display(&profile, &tables, (8, 8), Panel::Rgb565, |display| {
            Ok::<_, RunError>(display.show(Some(&[10_821; 64]), None)?.picture.clone())
        })
        .unwrap();
        assert_eq!(picture[0], Rgb888::from_565(0x8410));
    }
}
