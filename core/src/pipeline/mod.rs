//! The pipeline: the only place that knows the order of the stages.
//!
//! It exists in two forms that give the same picture, memory and record, bit for bit. The plain form
//! ([`Pipeline::frame_plain`]) asks every question of every pixel; the quick one takes 32
//! neighbours together and computes only what no proof spares.

mod by_cells;
mod config;
mod draw;
mod each;
mod frame;
mod mingled;
mod plain;
mod quick;
mod rows;

use crate::error::{ConfigError, FrameError};
use crate::health::Cause;
use crate::panel::PanelFormat;
use crate::profile::{GainPlan, Profile};
use crate::record::FrameRecord;
use crate::stage::merge::GainControl;
use crate::stage::scale::ScaleControl;
use crate::stage::statistics::{BINS, Statistics};
use crate::watch::Watch;
use rows::{ROWS, Rows, Setup, Tally};

pub use crate::stage::cells::CountTables;
pub use crate::stage::correct::Correction;
pub use config::{Geometry, SensorConfig};
pub use frame::Frame;

/// How a frame is computed; both give the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Quick,
    Plain,
}

/// The display pipeline: configuration, memory, and the lent buffers.
///
/// ```
/// use glowsill_core::calibration::Calibration;
/// use glowsill_core::panel::{PanelRgb888, Rgb888};
/// use glowsill_core::pipeline::{Geometry, Pipeline, SensorConfig};
/// use glowsill_core::profile::{Profile, ProfileSpec};
///
/// let geometry = Geometry::new(8, 8).unwrap();
/// let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
/// let identity = Calibration::identity();
/// let sensor = SensorConfig { high: Some(&identity), ..SensorConfig::default() };
/// let (mut memory, mut scratch) = ([0; 64], [0; 48]);
/// let mut pipeline =
///     Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
/// let mut picture = [Rgb888::default(); 64];
/// // 65 °C stands in the middle of -20 °C to 150 °C: code 10,821 is 338.16 K.
/// let record = pipeline.frame::<PanelRgb888>(Some(&[10_821; 64]), None, &mut picture).unwrap();
/// assert_eq!(picture[0], Rgb888::grey(128));
/// assert_eq!(record.valid, 64);
/// ```
pub struct Pipeline<'a> {
    setup: Setup<'a>,
    rows: Rows<'a>,
    bands: &'a mut [u8],
    gain: GainControl,
    scale: ScaleControl,
    statistics: Statistics,
    tables: Option<&'a mut CountTables>,
    /// Whether rows keep their temperature codes, for a trace.
    keeps_codes: bool,
    work: [u32; BINS + 1],
    tally: Tally,
    watch: Watch,
    frame: u32,
}

fn check_length(field: &'static str, value: usize, needed: usize) -> Result<(), ConfigError> {
    if value == needed {
        Ok(())
    } else {
        Err(ConfigError::Length {
            field,
            value,
            needed,
        })
    }
}

fn check_row(field: &'static str, value: usize, needed: usize) -> Result<(), FrameError> {
    if value == needed {
        Ok(())
    } else {
        Err(FrameError::Length {
            field,
            value,
            needed,
        })
    }
}

impl<'a> Pipeline<'a> {
    /// Elements of scratch that a geometry needs: six rows.
    #[must_use]
    pub fn scratch_len(geometry: Geometry) -> usize {
        ROWS * usize::from(geometry.width())
    }

    /// Builds a pipeline over lent buffers: `memory` has one byte a pixel, `scratch` has
    /// [`Self::scratch_len`] elements.
    ///
    /// # Errors
    /// [`ConfigError`] when a buffer or table has the wrong length or a calibration is missing.
    pub fn new(
        geometry: Geometry,
        profile: &Profile,
        sensor: SensorConfig<'a>,
        memory: &'a mut [u8],
        scratch: &'a mut [u16],
    ) -> Result<Self, ConfigError> {
        let pixels = geometry.pixels();
        check_length("memory", memory.len(), pixels)?;
        let (scratch_len, needed) = (scratch.len(), Self::scratch_len(geometry));
        check_length("scratch", scratch_len, needed)?;
        if let Some(defects) = sensor.defects {
            check_length("defects", defects.len(), pixels)?;
        }
        for correction in [sensor.high_correction, sensor.low_correction]
            .into_iter()
            .flatten()
        {
            check_length("correction gain", correction.gain_q14.len(), pixels)?;
            check_length("correction offset", correction.offset.len(), pixels)?;
        }
        let plan = &profile.spec().gain;
        if sensor.high.is_none() && !matches!(plan, GainPlan::LowOnly) {
            return Err(ConfigError::NoCalibration { gain: "high" });
        }
        if sensor.low.is_none() && !matches!(plan, GainPlan::HighOnly) {
            return Err(ConfigError::NoCalibration { gain: "low" });
        }
        let rows =
            Rows::new(scratch, usize::from(geometry.width())).ok_or(ConfigError::Length {
                field: "scratch",
                value: scratch_len,
                needed,
            })?;
        memory.fill(0);
        let spec = profile.spec();
        Ok(Self {
            scale: ScaleControl::new(&spec.scale),
            setup: Setup::new(geometry, profile, sensor),
            rows,
            bands: memory,
            gain: GainControl::new(),
            statistics: Statistics::new(),
            tables: None,
            keeps_codes: false,
            work: [0; BINS + 1],
            tally: Tally::EMPTY,
            watch: Watch::new(sensor.health, sensor.defects),
            frame: 0,
        })
    }

    /// Lends tables of 128 KiB, without which pixels of 14-bit sensors cost about what the plain form
    /// costs, several times as much (`docs/performance.md`); not a pixel changes. Other sensors leave
    /// them unused.
    #[must_use]
    #[inline]
    pub fn with_tables(mut self, tables: &'a mut CountTables) -> Self {
        // They may come from another session.
        tables.forget();
        self.tables = Some(tables);
        self
    }

    /// Forgets everything but the configuration: the next frame is the first one.
    pub fn reset(&mut self) {
        self.bands.fill(0);
        self.gain = GainControl::new();
        self.scale = ScaleControl::new(&self.setup.profile.spec().scale);
        let sensor = &self.setup.sensor;
        self.watch = Watch::new(sensor.health, sensor.defects);
        self.frame = 0;
    }

    /// Raises a cause that the pipeline cannot see itself and that lasts until [`Self::reset`], such
    /// as [`Cause::ProfileFallback`] after [`Profile::from_bytes_or_safe`].
    pub fn raise(&mut self, cause: Cause) {
        self.watch.raise(cause);
    }

    /// Starts a frame.
    pub fn begin_frame(&mut self) -> Frame<'_, 'a> {
        self.keeps_codes = false;
        self.begin(Form::Quick, None)
    }

    /// Starts a frame of a sensor that numbers its frames: an equal number is [`Cause::Stale`].
    pub fn begin_numbered_frame(&mut self, number: u32) -> Frame<'_, 'a> {
        self.keeps_codes = false;
        self.begin(Form::Quick, Some(number))
    }

    fn begin(&mut self, form: Form, number: Option<u32>) -> Frame<'_, 'a> {
        self.watch.begin(number);
        self.statistics.clear();
        self.tally = Tally::EMPTY;
        let spec = self.setup.profile.spec();
        let law = self.scale.law(&spec.scale);
        if let Some(tables) = &mut self.tables {
            tables.begin(law);
        }
        Frame::new(self.gain.in_use(&spec.gain), law, form, self)
    }

    /// Draws a whole frame: a loop over [`Frame::row`].
    ///
    /// # Errors
    /// [`FrameError`] when a slice does not fit the geometry or the gain plan's samples are missing.
    pub fn frame<P: PanelFormat>(
        &mut self,
        high: Option<&[u16]>,
        low: Option<&[u16]>,
        picture: &mut [P::Pixel],
    ) -> Result<FrameRecord, FrameError> {
        self.frame_with::<P>(Form::Quick, (high, low), picture, None)
    }

    /// Draws a whole frame in the plain form: the same, bit for bit, only slower. It is what
    /// [`Self::frame`] is held against; frames of both forms may follow each other.
    ///
    /// # Errors
    /// As [`Self::frame`].
    pub fn frame_plain<P: PanelFormat>(
        &mut self,
        high: Option<&[u16]>,
        low: Option<&[u16]>,
        picture: &mut [P::Pixel],
        trace: Option<Trace<'_>>,
    ) -> Result<FrameRecord, FrameError> {
        self.frame_with::<P>(Form::Plain, (high, low), picture, trace)
    }

    /// Draws a whole frame and also gives what each pixel went through.
    ///
    /// # Errors
    /// As [`Self::frame`].
    pub fn frame_traced<P: PanelFormat>(
        &mut self,
        high: Option<&[u16]>,
        low: Option<&[u16]>,
        picture: &mut [P::Pixel],
        trace: Trace<'_>,
    ) -> Result<FrameRecord, FrameError> {
        self.frame_with::<P>(Form::Quick, (high, low), picture, Some(trace))
    }

    fn frame_with<P: PanelFormat>(
        &mut self,
        form: Form,
        (high, low): (Option<&[u16]>, Option<&[u16]>),
        picture: &mut [P::Pixel],
        mut trace: Option<Trace<'_>>,
    ) -> Result<FrameRecord, FrameError> {
        let geometry = self.setup.geometry;
        let (width, pixels) = (usize::from(geometry.width()), geometry.pixels());
        for (field, plane) in [("high", high), ("low", low)] {
            if let Some(plane) = plane {
                check_row(field, plane.len(), pixels)?;
            }
        }
        check_row("picture", picture.len(), pixels)?;
        if let Some(trace) = &trace {
            check_row("trace temperature", trace.temperature.len(), pixels)?;
            check_row("trace grey", trace.grey_q8.len(), pixels)?;
            check_row("trace band", trace.band.len(), pixels)?;
        }
        self.keeps_codes = trace.is_some();
        let mut frame = self.begin(form, None);
        let rows = picture.chunks_exact_mut(width.max(1));
        for (y, out) in (0..rows.len()).zip(rows) {
            let start = y.wrapping_mul(width);
            let span = start..start.wrapping_add(width);
            let high = high.and_then(|plane| plane.get(span.clone()));
            let low = low.and_then(|plane| plane.get(span.clone()));
            frame.row::<P>(high, low, out)?;
            if let Some(trace) = &mut trace {
                frame.trace_row(trace, span);
            }
        }
        frame.end_frame()
    }
}

/// Where a traced frame puts what each pixel went through; one element a pixel.
#[derive(Debug)]
pub struct Trace<'t> {
    /// Apparent temperature codes, 1/32 K; 0 where no sample is valid.
    pub temperature: &'t mut [u16],
    /// Grey before the overlay, 8.8 bits, 0 to 255.0.
    pub grey_q8: &'t mut [u16],
    /// Band: 0 grey, 1 to 6, then the ceiling.
    pub band: &'t mut [u8],
}
