//! What a frame works on: lent rows, what a session keeps ready, and what a frame gathers.

use super::{Geometry, SensorConfig};
use crate::calibration::Calibration;
use crate::fixedpoint::{CELLS, add_count, index_u16};
use crate::panel::{Rgb888, ShadeTables};
use crate::profile::{GainPlan, Profile};
use crate::stage::agreement::{Agreement, first_from};
use crate::stage::colour::ColourTable;
use crate::stage::correct::{self, Correction};
use crate::stage::merge::{MergeCounts, State, Transition};
use crate::stage::overlay::Blend;
use crate::stage::sense::{CHUNK, Reach, Samples, sure_counts};

/// Rows lent by the caller, cut to their uses. `high_above` and `low_above` hold the row before: its
/// corrected counts in the plain form, its raw counts in the quick one.
pub(super) struct Rows<'a> {
    pub(super) high: &'a mut [u16],
    pub(super) high_above: &'a mut [u16],
    pub(super) low: &'a mut [u16],
    pub(super) low_above: &'a mut [u16],
    pub(super) temperature: &'a mut [u16],
    pub(super) grey_q8: &'a mut [u16],
}

/// Rows of scratch.
pub(super) const ROWS: usize = 6;

impl<'a> Rows<'a> {
    pub(super) fn new(scratch: &'a mut [u16], width: usize) -> Option<Self> {
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
pub(super) struct Setup<'a> {
    pub(super) geometry: Geometry,
    pub(super) profile: Profile,
    pub(super) sensor: SensorConfig<'a>,
    pub(super) colour: ColourTable,
    pub(super) blend: Blend,
    /// Soft transition of the per-pixel plan.
    pub(super) transition: Option<Transition>,
    pub(super) quick: Quick,
}

/// What the quick form keeps ready in addition.
pub(super) struct Quick {
    pub(super) high: Option<Calm>,
    pub(super) low: Option<Calm>,
    pub(super) agreement: Agreement,
    pub(super) shades: ShadeTables,
    /// Whether every band's colour follows from grey alone.
    pub(super) is_flat: bool,
}

/// Counts of one gain state that ask nothing of a pixel but its cell. Only 14-bit states have them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Calm {
    /// From the first to the second: a valid sample, and in high gain below the transition.
    pub(super) span: (u16, u16),
}

impl Calm {
    fn new(calibration: &Calibration, reach: Reach, highest_code: u16) -> Option<Self> {
        if calibration.shift() != 6 {
            return None;
        }
        let (from, to) = sure_counts(calibration, reach);
        let above = first_from(0, index_u16(CELLS - 1), |counts| {
            calibration.code(counts) > highest_code
        });
        Some(Self {
            span: (from, to.min(above.saturating_sub(1))),
        })
    }
}

impl<'a> Setup<'a> {
    pub(super) fn new(geometry: Geometry, profile: &Profile, sensor: SensorConfig<'a>) -> Self {
        let spec = profile.spec();
        let colour = ColourTable::new(&spec.colour);
        let blend = Blend::new(spec.overlay);
        let (high_reach, low_reach) = (
            Reach::of(sensor.high_correction),
            Reach::of(sensor.low_correction),
        );
        let (mut transition, mut highest) = (None, u16::MAX);
        if let GainPlan::PerPixel {
            blend_from,
            blend_to,
            dispute_k32,
        } = spec.gain
        {
            transition = Some(Transition::new(blend_from, blend_to, dispute_k32));
            highest = blend_from.to_bits();
        }
        let calm =
            |table: Option<&'a Calibration>, reach, highest| Calm::new(table?, reach, highest);
        let high = calm(sensor.high, high_reach, highest);
        let mut agreement = Agreement::none();
        if let GainPlan::PerPixel { dispute_k32, .. } = spec.gain
            && let (Some(tables), Some(calm)) = (sensor.high.zip(sensor.low), high)
        {
            agreement = Agreement::new(tables, low_reach, dispute_k32, calm.span.1);
        }
        let shades = ShadeTables::new(|band, grey| shade(&colour, &blend, band, grey));
        let is_flat = match &colour {
            ColourTable::Bands(table) => {
                (1..=table.len()).all(|band| table.flat_colour(band_number(band)).is_some())
            }
            _ => true,
        };
        Self {
            geometry,
            profile: profile.clone(),
            sensor,
            quick: Quick {
                high,
                low: calm(sensor.low, low_reach, u16::MAX),
                agreement,
                shades,
                is_flat,
            },
            colour,
            blend,
            transition,
        }
    }

    /// Calibrations of the high and the low state.
    pub(super) fn calibrations(&self) -> [Option<&'a Calibration>; 2] {
        [self.sensor.high, self.sensor.low]
    }

    /// The two states with their tables.
    pub(super) fn states(&self) -> (Option<State<'a>>, Option<State<'a>>) {
        (
            self.sensor.high.map(State::new),
            self.sensor.low.map(State::new),
        )
    }
}

fn band_number(band: usize) -> u8 {
    crate::fixedpoint::band_u8(band)
}

/// Colour of a grey in a flat band; band 0 is the picture without a band.
fn shade(colour: &ColourTable, blend: &Blend, band: u8, grey: u8) -> Rgb888 {
    match colour {
        ColourTable::PseudoColour(colours) if band == 0 => colours[usize::from(grey)],
        ColourTable::Bands(table) if band > 0 => match table.flat_colour(band) {
            Some(colour) if table.is_ceiling(band) => colour,
            Some(colour) => blend.apply(colour, grey),
            None => Rgb888::default(),
        },
        _ => Rgb888::grey(grey),
    }
}

/// What one frame has gathered so far.
pub(super) struct Tally {
    pub(super) merge: MergeCounts,
    pub(super) invalid: u32,
    pub(super) replaced: u32,
    pub(super) coloured: u32,
    pub(super) in_band: [u32; 7],
    /// Pixels by band number, of the chunks that were drawn by table; entry 0 means nothing.
    pub(super) by_band: [u32; 8],
}

impl Tally {
    pub(super) const EMPTY: Self = Self {
        merge: MergeCounts {
            from_low: 0,
            saturated: 0,
            disputed: 0,
        },
        invalid: 0,
        replaced: 0,
        coloured: 0,
        in_band: [0; 7],
        by_band: [0; 8],
    };

    /// Coloured pixels, and pixels by band with the ceiling in entry 6.
    pub(super) fn bands(&self, colour: &ColourTable) -> (u32, [u32; 7]) {
        let (mut coloured, mut in_band) = (self.coloured, self.in_band);
        if let ColourTable::Bands(table) = colour {
            for (band, count) in (0..8).zip(self.by_band).skip(1) {
                add_count(&mut coloured, count);
                if let Some(slot) = in_band.get_mut(table.slot(band)) {
                    add_count(slot, count);
                }
            }
        }
        (coloured, in_band)
    }
}

/// One row of one gain state: raw counts and their correction.
#[derive(Clone, Copy)]
pub(super) struct Lane<'s> {
    pub(super) raw: &'s [u16],
    pub(super) table: Option<(&'s [u16], &'s [i16])>,
    pub(super) saturation: u16,
}

impl<'s> Lane<'s> {
    /// The lane of some raw counts of one row, which starts at pixel `start`.
    pub(super) fn new(
        raw: &'s [u16],
        correction: Option<Correction<'s>>,
        saturation: u16,
        start: usize,
    ) -> Self {
        let table = correction.and_then(|table| {
            let span = start..start.wrapping_add(raw.len());
            Some((table.gain_q14.get(span.clone())?, table.offset.get(span)?))
        });
        Self {
            raw,
            table,
            saturation,
        }
    }

    /// Corrected counts of one column.
    pub(super) fn counts(&self, x: usize) -> Option<u16> {
        let table = match self.table {
            None => None,
            Some((gain, offset)) => Some((*gain.get(x)?, *offset.get(x)?)),
        };
        Some(correct::correct_one(
            *self.raw.get(x)?,
            self.saturation,
            table,
        ))
    }

    /// So many chunks of the lane, if it has as many.
    #[inline(always)]
    pub(super) fn chunks(self, count: usize) -> Option<Chunks<'s>> {
        let table = match self.table {
            None => None,
            Some((gain, offset)) => Some((
                gain.as_chunks().0.get(..count)?,
                offset.as_chunks().0.get(..count)?,
            )),
        };
        Some(Chunks {
            raw: self.raw.as_chunks().0.get(..count)?,
            gain: table.map(|(gain, _)| gain),
            offset: table.map_or(&[], |(_, offset)| offset),
        })
    }

    /// Corrects as many samples as `out` has, from a column on.
    pub(super) fn correct(&self, x: usize, out: &mut [u16]) {
        let span = x..x.wrapping_add(out.len());
        let table = self
            .table
            .and_then(|(gain, offset)| Some((gain.get(span.clone())?, offset.get(span.clone())?)));
        if let Some(raw) = self.raw.get(span) {
            correct::correct_row(raw, self.saturation, table, out);
        }
    }
}

/// The chunks of a lane.
#[derive(Clone, Copy)]
pub(super) struct Chunks<'s> {
    raw: &'s [[u16; CHUNK]],
    gain: Option<&'s [[u16; CHUNK]]>,
    offset: &'s [[i16; CHUNK]],
}

impl<'s> Chunks<'s> {
    /// The samples of a chunk.
    #[inline(always)]
    pub(super) fn samples(&self, chunk: usize) -> Option<Samples<'s>> {
        let raw = self.raw.get(chunk)?;
        match self.gain {
            None => Some(Samples::uncorrected(raw)),
            Some(gain) => Some(Samples {
                raw,
                gain: gain.get(chunk)?,
                offset: self.offset.get(chunk)?,
            }),
        }
    }
}

/// Column of a place in a row.
pub(super) fn column(x: usize) -> u16 {
    index_u16(x)
}
