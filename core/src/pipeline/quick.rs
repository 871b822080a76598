//! The quick form: 32 neighbours together, and what a proof spares is not computed.
//!
//! Every row is cut into chunks of 32 pixels. A chunk is drawn and counted by the cells of the frame
//! ([`cells`](crate::stage::cells)) where they answer for all of it ([`by_cells`](super::by_cells));
//! the rest of a row, and chunks of which that is not so, are done pixel by pixel
//! ([`each`](super::each)). The proofs, each exact for all gains and offsets of the tables:
//!
//! | of a chunk is known | then |
//! | --- | --- |
//! | all cells found are met | valid samples below the transition ([`sense`](crate::stage::sense)), no new extremes |
//! | all high samples raw-saturated, all cells of low gain met | high gain is not corrected |
//! | all high counts in a window, raw low counts that cannot dispute any of it | low gain is not corrected |
//! | no cell found has a step | grey, band memory 0 |

use super::each;
use super::mingled;
use super::rows::{Calm, Lane, Setup, Tally};
use super::{Frame, Pipeline};
use crate::calibration::Calibration;
use crate::fixedpoint::{CELLS, Window};
use crate::panel::PanelFormat;
use crate::record::GainInUse;
use crate::stage::agreement::{WIDE, WINDOW};
use crate::stage::cells::{Cells, CountTables};
use crate::stage::colour::ColourTable;
use crate::stage::correct::DefectRows;
use crate::stage::scale::{GreyLaw, ScaleControl};
use crate::stage::sense::{CHUNK, Samples, correct, correct_at, extremes};
use crate::stage::statistics::Statistics;
use crate::units::Temperature;

/// What a row is made from.
pub(super) struct Row<'r> {
    pub(super) setup: &'r Setup<'r>,
    pub(super) scale: &'r ScaleControl,
    pub(super) law: GreyLaw,
    pub(super) gain: GainInUse,
    pub(super) y: u16,
    pub(super) high: Option<Lane<'r>>,
    pub(super) low: Option<Lane<'r>>,
    pub(super) high_above: Option<Lane<'r>>,
    pub(super) low_above: Option<Lane<'r>>,
    pub(super) defects: Option<DefectRows<'r>>,
    pub(super) watched: Option<Temperature>,
    /// Bands by step and last band, where all bands are flat.
    pub(super) next: Option<&'r [u8; 128]>,
    pub(super) keeps_codes: bool,
}

/// The cells of a gain state, and what they are made from.
pub(super) struct Source<'t> {
    pub(super) cells: &'t mut Cells,
    pub(super) calibration: &'t Calibration,
    /// Counts that can be met.
    pub(super) span: (u16, u16),
    pub(super) is_low: bool,
}

impl<'t> Source<'t> {
    fn new(
        cells: &'t mut Cells,
        calibration: Option<&'t Calibration>,
        calm: Option<Calm>,
        is_low: bool,
    ) -> Option<Self> {
        Some(Self {
            cells,
            calibration: calibration?,
            span: calm?.span,
            is_low,
        })
    }
}

/// The cells of both states, of those that have some.
pub(super) struct Sources<'t> {
    pub(super) high: Option<Source<'t>>,
    pub(super) low: Option<Source<'t>>,
}

/// The cells of both states.
pub(super) struct Both<'t> {
    pub(super) high: Source<'t>,
    pub(super) low: Source<'t>,
}

/// What a row adds to.
pub(super) struct Sums<'s> {
    pub(super) statistics: &'s mut Statistics,
    pub(super) tally: &'s mut Tally,
}

/// The planes of a chunk: counts or codes, greys, band memory, picture.
pub(super) struct Chunk<'c, Pixel> {
    pub(super) codes: &'c mut [u16; CHUNK],
    greys: &'c mut [u16; CHUNK],
    pub(super) bands: &'c mut [u8; CHUNK],
    pub(super) out: &'c mut [Pixel; CHUNK],
}

impl<Pixel> Chunk<'_, Pixel> {
    pub(super) fn planes(&mut self) -> each::Planes<'_, Pixel> {
        (self.codes, self.greys, self.bands, self.out)
    }

    /// A part of the chunk.
    pub(super) fn part(&mut self, span: core::ops::Range<usize>) -> each::Planes<'_, Pixel> {
        (
            self.codes.get_mut(span.clone()).unwrap_or_default(),
            self.greys.get_mut(span.clone()).unwrap_or_default(),
            self.bands.get_mut(span.clone()).unwrap_or_default(),
            self.out.get_mut(span).unwrap_or_default(),
        )
    }
}

/// Takes a row of samples of the states in use and draws it.
pub(super) fn row<P: PanelFormat>(
    pipeline: &mut Pipeline<'_>,
    (gain, law, y): (GainInUse, GreyLaw, u16),
    (high, low): (Option<&[u16]>, Option<&[u16]>),
    out: &mut [P::Pixel],
) {
    let Pipeline {
        setup,
        rows,
        statistics,
        tally,
        gain: control,
        scale,
        tables,
        bands,
        keeps_codes,
        ..
    } = pipeline;
    let width = usize::from(setup.geometry.width());
    let start = usize::from(y) * width;
    let Some(bands) = bands.get_mut(start..start + width) else {
        return;
    };
    let sensor = &setup.sensor;
    let above = start.checked_sub(width);
    let defects = sensor.defects.and_then(|map| {
        Some(DefectRows {
            here: map.get(start..start + width)?,
            above: above.and_then(|above| map.get(above..start)),
        })
    });
    {
        let high_lane = |raw, start| {
            let saturation = sensor.high?.saturation();
            Some(Lane::new(raw, sensor.high_correction, saturation, start))
        };
        let low_lane = |raw, start| {
            let saturation = sensor.low?.saturation();
            Some(Lane::new(raw, sensor.low_correction, saturation, start))
        };
        let row = Row {
            setup,
            scale,
            law,
            gain,
            y,
            high: high.and_then(|raw| high_lane(raw, start)),
            low: low.and_then(|raw| low_lane(raw, start)),
            high_above: above.and_then(|start| high_lane(&*rows.high_above, start)),
            low_above: above.and_then(|start| low_lane(&*rows.low_above, start)),
            defects,
            watched: control.watches(&setup.profile.spec().gain),
            next: match &setup.colour {
                ColourTable::Bands(table) if setup.quick.is_flat => Some(table.next()),
                _ => None,
            },
            keeps_codes: *keeps_codes,
        };
        let mut sums = Sums { statistics, tally };
        let planes = (&mut *rows.temperature, &mut *rows.grey_q8, bands, out);
        let sources = tables.as_deref_mut().map(|tables| {
            let watched = row.watched.map(Temperature::to_bits);
            let width = u32::from(setup.geometry.width());
            tables.begin_row(width, setup.calibrations(), sums.statistics, watched);
            let CountTables { high, low, .. } = tables;
            Sources {
                high: Source::new(high, sensor.high, setup.quick.high, false),
                low: Source::new(low, sensor.low, setup.quick.low, true),
            }
        });
        chunks::<P>(&row, sources, planes, &mut sums);
    }
    if defects.is_some() {
        // The row below may need these as neighbours.
        for (row, kept) in [(high, &mut *rows.high_above), (low, &mut *rows.low_above)] {
            if let Some(row) = row
                && row.len() == kept.len()
            {
                kept.copy_from_slice(row);
            }
        }
    }
}

#[inline(never)]
fn chunks<P: PanelFormat>(
    row: &Row<'_>,
    sources: Option<Sources<'_>>,
    planes: each::Planes<'_, P::Pixel>,
    sums: &mut Sums<'_>,
) {
    let Sources { high, low } = sources.unwrap_or(Sources {
        high: None,
        low: None,
    });
    let count = planes.0.len() / CHUNK;
    let lanes = (
        row.high.and_then(|lane| lane.chunks(count)),
        row.low.and_then(|lane| lane.chunks(count)),
    );
    match (row.gain, high.zip(lanes.0), low.zip(lanes.1), row.high) {
        (GainInUse::PerPixel, Some((high, h)), Some((low, l)), Some(lane)) => {
            let mut sources = Both { high, low };
            each_chunk::<P>(row, planes, sums, |number, chunk, sums| {
                let (Some(h), Some(l)) = (h.samples(number), l.samples(number)) else {
                    return false;
                };
                let x = number.wrapping_mul(CHUNK);
                row.take::<P>((h, l), lane.saturation, &mut sources, x, chunk, sums)
                    || mingled::draw::<P>(row, (h, l), &mut sources, x, chunk, sums)
            });
        }
        (GainInUse::High, Some((mut source, lane)), ..)
        | (GainInUse::Low, _, Some((mut source, lane)), _) => {
            each_chunk::<P>(row, planes, sums, |number, chunk, sums| {
                let x = number.wrapping_mul(CHUNK);
                lane.samples(number).is_some_and(|samples| {
                    row.by_all_cells::<P>(&mut source, samples, x, chunk, sums)
                })
            });
        }
        _ => each_chunk::<P>(row, planes, sums, |_, _, _| false),
    }
}

/// Draws the chunks of a row, and then the rest of it. Chunks that something does not draw, and those
/// with a defective pixel, are drawn pixel by pixel.
#[inline(always)]
fn each_chunk<P: PanelFormat>(
    row: &Row<'_>,
    (codes, greys, bands, out): each::Planes<'_, P::Pixel>,
    sums: &mut Sums<'_>,
    mut draw: impl FnMut(usize, &mut Chunk<'_, P::Pixel>, &mut Sums<'_>) -> bool,
) {
    let (code_chunks, code_rest) = codes.as_chunks_mut::<CHUNK>();
    let (band_chunks, band_rest) = bands.as_chunks_mut::<CHUNK>();
    let (out_chunks, out_rest) = out.as_chunks_mut::<CHUNK>();
    let (grey_chunks, grey_rest) = greys.as_chunks_mut::<CHUNK>();
    let count = code_chunks.len();
    let planes = code_chunks
        .iter_mut()
        .zip(grey_chunks)
        .zip(band_chunks)
        .zip(out_chunks);
    for (number, (((codes, greys), bands), out)) in (0..count).zip(planes) {
        let x = number.wrapping_mul(CHUNK);
        let mut chunk = Chunk {
            codes,
            greys,
            bands,
            out,
        };
        if row.has_defect(x) || !draw(number, &mut chunk, sums) {
            each::draw::<P>(row, x, chunk.planes(), sums);
        }
    }
    if !code_rest.is_empty() {
        let planes = (code_rest, grey_rest, band_rest, out_rest);
        each::draw::<P>(row, count.wrapping_mul(CHUNK), planes, sums);
    }
}

impl Row<'_> {
    /// Draws a chunk of two states by cells, if a proof covers it.
    #[inline(always)]
    fn take<P: PanelFormat>(
        &self,
        (high, low): (Samples<'_>, Samples<'_>),
        saturation: u16,
        sources: &mut Both<'_>,
        x: usize,
        chunk: &mut Chunk<'_, P::Pixel>,
        sums: &mut Sums<'_>,
    ) -> bool {
        if high.raw[0] >= saturation {
            return Window::at_least(saturation).is_some_and(|window| window.holds(high.raw))
                && self.by_all_cells::<P>(&mut sources.low, low, x, chunk, sums);
        }
        if high.raw[CHUNK - 1] >= saturation {
            return false;
        }
        // What rises or falls evenly has its middle here.
        let near = correct_at(high, 0).midpoint(correct_at(high, CHUNK - 1));
        let (from, agreeing) = self.setup.quick.agreement.window(near);
        agreeing.is_some_and(|window| window.holds(low.raw))
            && self.by_cells::<P, WINDOW>(&mut sources.high, from, high, x, chunk, sums)
            || self.by_range::<P>(&mut sources.high, (near, high, low), x, chunk, sums)
    }

    /// Draws a chunk by cells of any count.
    #[inline(never)]
    fn by_all_cells<P: PanelFormat>(
        &self,
        source: &mut Source<'_>,
        samples: Samples<'_>,
        x: usize,
        chunk: &mut Chunk<'_, P::Pixel>,
        sums: &mut Sums<'_>,
    ) -> bool {
        self.by_cells::<P, CELLS>(source, 0, samples, x, chunk, sums)
    }

    /// Draws a chunk by cells of high gain, if low gain cannot dispute what stands further from a count,
    /// or what lies between the least and the greatest one.
    #[inline(never)]
    fn by_range<P: PanelFormat>(
        &self,
        source: &mut Source<'_>,
        (near, high, low): (u16, Samples<'_>, Samples<'_>),
        x: usize,
        chunk: &mut Chunk<'_, P::Pixel>,
        sums: &mut Sums<'_>,
    ) -> bool {
        let agreement = &self.setup.quick.agreement;
        let (from, agreeing) = agreement.wide_window(near, source.span);
        if agreeing.is_some_and(|window| window.holds(low.raw))
            && self.by_cells::<P, WIDE>(source, from, high, x, chunk, sums)
        {
            return true;
        }
        let range = extremes(&correct(high));
        source.span.0 <= range.0
            && range.1 <= source.span.1
            && Window::inside(agreement.raw_low(range)).is_some_and(|window| window.holds(low.raw))
            && self.by_all_cells::<P>(source, high, x, chunk, sums)
    }

    /// Whether a defective pixel lies in the chunk at a column.
    #[inline(always)]
    fn has_defect(&self, x: usize) -> bool {
        self.defects
            .and_then(|defects| defects.here.get(x..x.wrapping_add(CHUNK)))
            .is_some_and(|map| {
                let quads = map.as_chunks::<4>().0.iter();
                quads.fold(0, |all, quad| all | u32::from_ne_bytes(*quad)) != 0
            })
    }
}

impl Frame<'_, '_> {
    /// Greys of the row just drawn, for a trace.
    pub(super) fn grey_row(&mut self) {
        let law = self.law;
        let Pipeline { scale, rows, .. } = &mut *self.pipeline;
        scale.apply_row(law, rows.temperature, rows.grey_q8);
    }
}
