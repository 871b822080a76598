//! The pipeline: the only place that knows the order of the stages.

use crate::calibration::Calibration;
use crate::error::{ConfigError, FrameError};
use crate::fixedpoint::{count_u32, grey_q8_to_u8_round};
use crate::health::{Cause, HealthPlan};
use crate::mark::strike_row;
use crate::panel::{PanelFormat, Rgb888};
use crate::profile::{GainPlan, Profile};
use crate::record::{FrameRecord, GainInUse};
use crate::stage::colour::{BandTable, ColourTable};
use crate::stage::correct::{self, DefectRows};
use crate::stage::merge::{self, GainControl, MergeCounts, State, Transition};
use crate::stage::overlay::Blend;
use crate::stage::scale::{GreyLaw, ScaleControl};
use crate::stage::statistics::{BINS, Statistics};
use crate::watch::{FrameCounts, Plane, Tables, Watch};

pub use crate::stage::correct::Correction;

/// Size of the picture, 8x8 to 1280x1024 pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Geometry {
    width: u16,
    height: u16,
}

impl Geometry {
    /// 320 by 240 pixels.
    pub const DEFAULT: Self = Self {
        width: 320,
        height: 240,
    };

    /// Checks a size.
    ///
    /// # Errors
    /// [`ConfigError::Geometry`] outside 8x8 to 1280x1024.
    pub const fn new(width: u16, height: u16) -> Result<Self, ConfigError> {
        if width < 8 || width > 1280 {
            return Err(ConfigError::Geometry {
                field: "width",
                value: width,
                min: 8,
                max: 1280,
            });
        }
        if height < 8 || height > 1024 {
            return Err(ConfigError::Geometry {
                field: "height",
                value: height,
                min: 8,
                max: 1024,
            });
        }
        Ok(Self { width, height })
    }

    /// Columns.
    #[must_use]
    pub const fn width(self) -> u16 {
        self.width
    }

    /// Rows.
    #[must_use]
    pub const fn height(self) -> u16 {
        self.height
    }

    /// Pixels.
    #[must_use]
    pub fn pixels(self) -> usize {
        usize::from(self.width) * usize::from(self.height)
    }
}

/// What the pipeline must know of the sensor. Fixed for a session.
#[derive(Clone, Copy, Debug, Default)]
pub struct SensorConfig<'a> {
    /// Calibration of the sensitive state.
    pub high: Option<&'a Calibration>,
    /// Calibration of the wide-range state.
    pub low: Option<&'a Calibration>,
    /// Per-pixel correction of the sensitive state.
    pub high_correction: Option<Correction<'a>>,
    /// Per-pixel correction of the wide-range state.
    pub low_correction: Option<Correction<'a>>,
    /// Check sum of the sensitive state's correction, [`Correction::crc32`], as it was stored.
    pub high_crc: Option<u32>,
    /// Check sum of the wide-range state's correction.
    pub low_crc: Option<u32>,
    /// Defect map, one byte a pixel; 0 is a sound pixel.
    pub defects: Option<&'a [u8]>,
    /// From when on something is wrong.
    pub health: HealthPlan,
}

/// Rows lent by the caller, cut to their uses.
struct Rows<'a> {
    high: &'a mut [u16],
    high_above: &'a mut [u16],
    low: &'a mut [u16],
    low_above: &'a mut [u16],
    temperature: &'a mut [u16],
    grey_q8: &'a mut [u16],
}

const ROWS: usize = 6;

impl<'a> Rows<'a> {
    fn new(scratch: &'a mut [u16], width: usize) -> Option<Self> {
        let (high, rest) = scratch.split_at_mut_checked(width)?;
        let (high_above, rest) = rest.split_at_mut_checked(width)?;
        let (low, rest) = rest.split_at_mut_checked(width)?;
        let (low_above, rest) = rest.split_at_mut_checked(width)?;
        let (temperature, rest) = rest.split_at_mut_checked(width)?;
        let (grey_q8, _) = rest.split_at_mut_checked(width)?;
        Some(Self {
            high,
            high_above,
            low,
            low_above,
            temperature,
            grey_q8,
        })
    }
}

/// What stays the same for a session, made ready for pixels.
struct Setup<'a> {
    geometry: Geometry,
    profile: Profile,
    sensor: SensorConfig<'a>,
    colour: ColourTable,
    blend: Blend,
}

/// What one frame has gathered so far.
struct Tally {
    merge: MergeCounts,
    invalid: u32,
    replaced: u32,
    coloured: u32,
    in_band: [u32; 7],
}

const EMPTY: Tally = Tally {
    merge: MergeCounts {
        from_low: 0,
        saturated: 0,
        disputed: 0,
    },
    invalid: 0,
    replaced: 0,
    coloured: 0,
    in_band: [0; 7],
};

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
        ROWS * usize::from(geometry.width)
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
        let rows = Rows::new(scratch, usize::from(geometry.width)).ok_or(ConfigError::Length {
            field: "scratch",
            value: scratch_len,
            needed,
        })?;
        memory.fill(0);
        let spec = profile.spec();
        Ok(Self {
            scale: ScaleControl::new(&spec.scale),
            setup: Setup {
                geometry,
                colour: ColourTable::new(&spec.colour),
                blend: Blend::new(spec.overlay),
                profile: profile.clone(),
                sensor,
            },
            rows,
            bands: memory,
            gain: GainControl::new(),
            statistics: Statistics::new(),
            work: [0; BINS + 1],
            tally: EMPTY,
            watch: Watch::new(sensor.health, sensor.defects),
            frame: 0,
        })
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

    /// Starts a frame of a sensor that numbers its frames: an equal number is [`Cause::Stale`].
    pub fn begin_numbered_frame(&mut self, number: u32) -> Frame<'_, 'a> {
        self.begin(Some(number))
    }

    /// Starts a frame.
    pub fn begin_frame(&mut self) -> Frame<'_, 'a> {
        self.begin(None)
    }

    fn begin(&mut self, number: Option<u32>) -> Frame<'_, 'a> {
        self.watch.begin(number);
        self.statistics.clear();
        self.tally = EMPTY;
        let spec = self.setup.profile.spec();
        Frame {
            gain: self.gain.in_use(&spec.gain),
            law: self.scale.law(&spec.scale),
            is_struck: !self.watch.health().is_good(),
            y: 0,
            pipeline: self,
        }
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
        self.frame_with::<P>(high, low, picture, None)
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
        self.frame_with::<P>(high, low, picture, Some(trace))
    }

    fn frame_with<P: PanelFormat>(
        &mut self,
        high: Option<&[u16]>,
        low: Option<&[u16]>,
        picture: &mut [P::Pixel],
        mut trace: Option<Trace<'_>>,
    ) -> Result<FrameRecord, FrameError> {
        let geometry = self.setup.geometry;
        let (width, pixels) = (usize::from(geometry.width), geometry.pixels());
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
        let mut frame = self.begin_frame();
        for (y, out) in picture.chunks_exact_mut(width).enumerate() {
            let span = y * width..(y + 1) * width;
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

/// A frame being drawn, row by row.
pub struct Frame<'p, 'a> {
    pipeline: &'p mut Pipeline<'a>,
    gain: GainInUse,
    law: GreyLaw,
    is_struck: bool,
    y: u16,
}

impl Frame<'_, '_> {
    /// Takes the next row of samples and draws it.
    ///
    /// # Errors
    /// [`FrameError`] when a row does not fit the geometry or the gain plan's samples are missing.
    pub fn row<P: PanelFormat>(
        &mut self,
        high: Option<&[u16]>,
        low: Option<&[u16]>,
        out: &mut [P::Pixel],
    ) -> Result<(), FrameError> {
        let geometry = self.pipeline.setup.geometry;
        if self.y >= geometry.height {
            return Err(FrameError::TooManyRows {
                height: geometry.height,
            });
        }
        let width = usize::from(geometry.width);
        check_row("row of the picture", out.len(), width)?;
        if self.gain == GainInUse::Blank {
            for (x, pixel) in (0..).zip(out.iter_mut()) {
                *pixel = P::pack(Rgb888::grey(0), x, self.y);
            }
        } else {
            self.sense(high, low, width)?;
            self.look(high, low);
            self.draw::<P>(out, width);
        }
        if self.is_struck {
            strike_row::<P>(out, self.y);
        }
        self.y += 1;
        Ok(())
    }

    /// From samples to temperature and statistics.
    fn sense(
        &mut self,
        high: Option<&[u16]>,
        low: Option<&[u16]>,
        width: usize,
    ) -> Result<(), FrameError> {
        let Pipeline {
            setup,
            rows,
            statistics,
            tally,
            gain: control,
            ..
        } = &mut *self.pipeline;
        let start = usize::from(self.y) * width;
        let take = |name, needed: bool, samples: Option<&'_ [u16]>| match samples {
            _ if !needed => Ok(false),
            None => Err(FrameError::NoSamples { gain: name }),
            Some(samples) => check_row(name, samples.len(), width).map(|()| true),
        };
        let use_high = take("high", self.gain != GainInUse::Low, high)?;
        let use_low = take("low", self.gain != GainInUse::High, low)?;

        core::mem::swap(&mut rows.high, &mut rows.high_above);
        core::mem::swap(&mut rows.low, &mut rows.low_above);
        let sensor = &setup.sensor;
        let correct = |used, samples, calibration: Option<&Calibration>, table, row: &mut [u16]| {
            if let (true, Some(samples), Some(calibration)) = (used, samples, calibration) {
                let table = table_row(table, start, width);
                correct::correct_row(samples, calibration.saturation(), table, row);
            }
        };
        correct(
            use_high,
            high,
            sensor.high,
            sensor.high_correction,
            rows.high,
        );
        correct(use_low, low, sensor.low, sensor.low_correction, rows.low);
        if let Some(map) = sensor.defects
            && let Some(here) = map.get(start..start + width)
        {
            let above = start
                .checked_sub(width)
                .and_then(|above| map.get(above..start));
            tally.replaced += correct::replace_row(
                DefectRows { here, above },
                use_high.then_some((&mut *rows.high, &*rows.high_above)),
                use_low.then_some((&mut *rows.low, &*rows.low_above)),
            );
        }

        let out = &mut *rows.temperature;
        match (
            setup.profile.spec().gain,
            self.gain,
            sensor.high,
            sensor.low,
        ) {
            (
                GainPlan::PerPixel {
                    blend_from,
                    blend_to,
                    dispute_k32,
                },
                GainInUse::PerPixel,
                Some(high),
                Some(low),
            ) => merge::per_pixel_row(
                (State::new(high), State::new(low)),
                Transition::new(blend_from, blend_to, dispute_k32),
                (rows.high, rows.low),
                out,
                &mut tally.merge,
            ),
            (_, GainInUse::High, Some(high), _) => {
                merge::single_row(State::new(high), false, rows.high, out, &mut tally.merge);
            }
            (_, GainInUse::Low, _, Some(low)) => {
                merge::single_row(State::new(low), true, rows.low, out, &mut tally.merge);
            }
            _ => out.fill(0),
        }
        statistics.add_row(self.y, out, control.watches(&setup.profile.spec().gain));
        Ok(())
    }

    /// Shows the watch every state that was given, used or not.
    fn look(&mut self, high: Option<&[u16]>, low: Option<&[u16]>) {
        let Pipeline { setup, watch, .. } = &mut *self.pipeline;
        let (width, sensor) = (setup.geometry.width, &setup.sensor);
        let start = usize::from(self.y) * usize::from(width);
        let high = Plane::new(high, sensor.high, sensor.high_correction, start);
        let low = Plane::new(low, sensor.low, sensor.low_correction, start);
        watch.row(self.y, width, high, low);
    }

    /// From temperature to panel pixels.
    fn draw<P: PanelFormat>(&mut self, out: &mut [P::Pixel], width: usize) {
        let y = self.y;
        let Pipeline {
            setup,
            rows,
            scale,
            bands,
            tally,
            ..
        } = &mut *self.pipeline;
        scale.apply_row(self.law, rows.temperature, rows.grey_q8);
        let start = usize::from(y) * width;
        let Some(bands) = bands.get_mut(start..start + width) else {
            return;
        };
        let mut x = 0;
        let chunks = rows
            .temperature
            .chunks(CHUNK)
            .zip(rows.grey_q8.chunks(CHUNK));
        for (out, ((codes, greys), bands)) in out
            .chunks_mut(CHUNK)
            .zip(chunks.zip(bands.chunks_mut(CHUNK)))
        {
            let at = (x, y);
            match &setup.colour {
                ColourTable::Bands(table) if !table.all_grey(codes) => {
                    draw_bands::<P>((table, &setup.blend), at, codes, greys, bands, out, tally);
                }
                ColourTable::PseudoColour(colours) => {
                    bands.fill(0);
                    draw_mapped::<P>(at, codes, greys, out, tally, |grey| {
                        colours[usize::from(grey)]
                    });
                    tally.coloured += count_u32(codes.iter().filter(|code| **code != 0).count());
                }
                ColourTable::GreyOnly => {
                    bands.fill(0);
                    draw_mapped::<P>(at, codes, greys, out, tally, Rgb888::grey);
                }
                ColourTable::Bands(_) => {
                    bands.fill(0);
                    for (x, (pixel, &grey)) in (x..).zip(out.iter_mut().zip(greys)) {
                        *pixel = P::pack(Rgb888::grey(grey_q8_to_u8_round(grey)), x, y);
                    }
                }
            }
            x += CHUNK_COLUMNS;
        }
    }

    fn trace_row(&self, trace: &mut Trace<'_>, span: core::ops::Range<usize>) {
        let Pipeline { rows, bands, .. } = &*self.pipeline;
        if self.gain == GainInUse::Blank {
            for plane in [&mut *trace.temperature, &mut *trace.grey_q8] {
                if let Some(row) = plane.get_mut(span.clone()) {
                    row.fill(0);
                }
            }
        } else {
            copy_row(trace.temperature, span.clone(), rows.temperature);
            copy_row(trace.grey_q8, span.clone(), rows.grey_q8);
        }
        if let Some(band) = bands.get(span.clone()) {
            copy_row(trace.band, span, band);
        }
    }

    /// Ends the frame: decides the next frame's scale and gain state, and gives the record.
    ///
    /// # Errors
    /// [`FrameError::Incomplete`] when rows are missing; nothing is decided then but that the next
    /// picture is struck out.
    pub fn end_frame(self) -> Result<FrameRecord, FrameError> {
        let Pipeline {
            setup,
            gain,
            scale,
            statistics,
            work,
            tally,
            watch,
            frame,
            ..
        } = self.pipeline;
        let height = setup.geometry.height;
        if self.y < height {
            watch.drop_rows();
            return Err(FrameError::Incomplete {
                rows: self.y,
                height,
            });
        }
        let pixels = count_u32(setup.geometry.pixels());
        let sensor = &setup.sensor;
        let health = watch.end(
            FrameCounts {
                pixels,
                valid: statistics.valid,
                saturated: tally.merge.saturated,
                is_blank: self.gain == GainInUse::Blank,
            },
            Tables {
                high: (sensor.high_correction, sensor.high_crc),
                low: (sensor.low_correction, sensor.low_crc),
                width: setup.geometry.width,
                height,
            },
        );
        let record = FrameRecord {
            frame: *frame,
            gain: self.gain,
            scale_low: scale.low(),
            scale_high: scale.high(),
            pixels,
            valid: statistics.valid,
            from_low: tally.merge.from_low,
            coloured: tally.coloured,
            in_band: tally.in_band,
            hottest: statistics.hottest,
            coldest: statistics.coldest,
            saturated: tally.merge.saturated,
            invalid: tally.invalid,
            disputed: tally.merge.disputed,
            replaced: tally.replaced,
            is_struck: self.is_struck,
            health,
        };
        let spec = setup.profile.spec();
        gain.decide(&spec.gain, statistics.above_watched, statistics.valid);
        if self.gain != GainInUse::Blank {
            scale.decide(&spec.scale, statistics, work);
        }
        *frame = frame.wrapping_add(1);
        Ok(record)
    }
}

/// Pixels that are drawn together: where all of them are grey, nothing else is looked at.
const CHUNK: usize = 32;
const CHUNK_COLUMNS: u16 = 32;

/// What stands for a pixel without a sample.
fn checker(x: u16, y: u16) -> Rgb888 {
    Rgb888::grey(if (x ^ y) & 1 == 1 { 255 } else { 0 })
}

/// Draws pixels whose colour follows from their grey alone.
fn draw_mapped<P: PanelFormat>(
    (x, y): (u16, u16),
    codes: &[u16],
    greys: &[u16],
    out: &mut [P::Pixel],
    tally: &mut Tally,
    colour: impl Fn(u8) -> Rgb888,
) {
    for (x, (pixel, (&code, &grey))) in (x..).zip(out.iter_mut().zip(codes.iter().zip(greys))) {
        let shown = if code == 0 {
            tally.invalid += 1;
            checker(x, y)
        } else {
            colour(grey_q8_to_u8_round(grey))
        };
        *pixel = P::pack(shown, x, y);
    }
}

/// Draws pixels that may lie in a band, and keeps their band memory.
fn draw_bands<P: PanelFormat>(
    (table, blend): (&BandTable, &Blend),
    (x, y): (u16, u16),
    codes: &[u16],
    greys: &[u16],
    bands: &mut [u8],
    out: &mut [P::Pixel],
    tally: &mut Tally,
) {
    let cells = codes.iter().zip(greys).zip(bands);
    for (x, (pixel, ((&code, &grey), band))) in (x..).zip(out.iter_mut().zip(cells)) {
        let grey = grey_q8_to_u8_round(grey);
        let shown = if code == 0 {
            tally.invalid += 1;
            *band = 0;
            checker(x, y)
        } else {
            *band = table.band(code, *band);
            if *band == 0 {
                Rgb888::grey(grey)
            } else {
                tally.coloured += 1;
                let is_ceiling = table.is_ceiling(*band);
                let slot = if is_ceiling {
                    6
                } else {
                    usize::from(*band - 1)
                };
                if let Some(count) = tally.in_band.get_mut(slot) {
                    *count += 1;
                }
                let colour = table.colour(*band, code);
                if is_ceiling {
                    colour
                } else {
                    blend.apply(colour, grey)
                }
            }
        };
        *pixel = P::pack(shown, x, y);
    }
}

fn copy_row<T: Copy>(plane: &mut [T], span: core::ops::Range<usize>, row: &[T]) {
    if let Some(to) = plane.get_mut(span)
        && to.len() == row.len()
    {
        to.copy_from_slice(row);
    }
}

fn table_row(
    table: Option<Correction<'_>>,
    start: usize,
    width: usize,
) -> Option<(&[u16], &[i16])> {
    let table = table?;
    Some((
        table.gain_q14.get(start..start + width)?,
        table.offset.get(start..start + width)?,
    ))
}
