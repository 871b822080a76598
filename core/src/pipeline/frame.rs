//! A frame being drawn.

use super::{Form, Pipeline, Trace, check_row, plain, quick};
use crate::error::FrameError;
use crate::fixedpoint::{add_count, count_u32};
use crate::mark::strike_row;
use crate::panel::{PanelFormat, Rgb888};
use crate::record::{FrameRecord, GainInUse};
use crate::stage::colour::ColourTable;
use crate::stage::scale::GreyLaw;
use crate::units::Temperature;
use crate::watch::{FrameCounts, Plane, Tables};

/// A frame being drawn, row by row.
pub struct Frame<'p, 'a> {
    pub(super) pipeline: &'p mut Pipeline<'a>,
    gain: GainInUse,
    pub(super) law: GreyLaw,
    form: Form,
    is_struck: bool,
    y: u16,
}

impl<'p, 'a> Frame<'p, 'a> {
    pub(super) fn new(
        gain: GainInUse,
        law: GreyLaw,
        form: Form,
        pipeline: &'p mut Pipeline<'a>,
    ) -> Self {
        Self {
            is_struck: !pipeline.watch.health().is_good(),
            pipeline,
            gain,
            law,
            form,
            y: 0,
        }
    }

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
        if self.y >= geometry.height() {
            self.pipeline.watch.drop_rows();
            return Err(FrameError::TooManyRows {
                height: geometry.height(),
            });
        }
        let width = usize::from(geometry.width());
        check_row("row of the picture", out.len(), width)?;
        if self.gain == GainInUse::Blank {
            for (x, pixel) in (0..u16::MAX).zip(out.iter_mut()) {
                *pixel = P::pack(Rgb888::grey(0), x, self.y);
            }
        } else {
            let take = |name, needed: bool, samples| match samples {
                _ if !needed => Ok(None),
                None => Err(FrameError::NoSamples { gain: name }),
                Some(samples) => {
                    let samples: &[u16] = samples;
                    check_row(name, samples.len(), width).map(|()| Some(samples))
                }
            };
            let used = (
                take("high", self.gain != GainInUse::Low, high)?,
                take("low", self.gain != GainInUse::High, low)?,
            );
            let state = (self.gain, self.law, self.y);
            match self.form {
                Form::Quick => quick::row::<P>(self.pipeline, state, used, out),
                Form::Plain => plain::row::<P>(self.pipeline, state, used, out),
            }
            self.look(high, low);
        }
        if self.is_struck {
            strike_row::<P>(out, self.y);
        }
        self.y = self.y.saturating_add(1);
        Ok(())
    }

    /// Shows the watch every state that was given, used or not.
    fn look(&mut self, high: Option<&[u16]>, low: Option<&[u16]>) {
        let Pipeline { setup, watch, .. } = &mut *self.pipeline;
        let (width, sensor) = (setup.geometry.width(), &setup.sensor);
        let start = usize::from(self.y) * usize::from(width);
        let high = Plane::new(high, sensor.high, sensor.high_correction, start);
        let low = Plane::new(low, sensor.low, sensor.low_correction, start);
        watch.row(self.y, width, high, low);
    }

    pub(super) fn trace_row(&mut self, trace: &mut Trace<'_>, span: core::ops::Range<usize>) {
        if self.form == Form::Quick {
            self.grey_row();
        }
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
            tables,
            work,
            tally,
            watch,
            frame,
            ..
        } = self.pipeline;
        let height = setup.geometry.height();
        if self.y < height {
            watch.drop_rows();
            return Err(FrameError::Incomplete {
                rows: self.y,
                height,
            });
        }
        if let Some(tables) = tables {
            let watched = gain.watches(&setup.profile.spec().gain);
            let watched = watched.map(Temperature::to_bits);
            let gathered = tables.end(setup.calibrations(), statistics, watched);
            add_count(&mut tally.merge.from_low, gathered.from_low);
            if let ColourTable::PseudoColour(_) = setup.colour {
                add_count(&mut tally.coloured, gathered.pixels);
            }
        }
        let (coloured, in_band) = tally.bands(&setup.colour);
        let (pixels, sensor) = (count_u32(setup.geometry.pixels()), &setup.sensor);
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
                width: setup.geometry.width(),
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
            coloured,
            in_band,
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

fn copy_row<T: Copy>(plane: &mut [T], span: core::ops::Range<usize>, row: &[T]) {
    if let Some(to) = plane.get_mut(span)
        && to.len() == row.len()
    {
        to.copy_from_slice(row);
    }
}
