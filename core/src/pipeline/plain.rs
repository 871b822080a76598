//! The plain form: row by row, a stage after the other, a question a pixel.
//!
//! It states what the quick form must give, and takes no short cut that would need a proof.

use super::Pipeline;
use super::draw;
use super::rows::{Lane, column};
use crate::calibration::Calibration;
use crate::fixedpoint::add_count;
use crate::panel::PanelFormat;
use crate::record::GainInUse;
use crate::stage::correct::{self, Correction, DefectRows};
use crate::stage::merge;
use crate::stage::scale::GreyLaw;

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
        bands,
        ..
    } = pipeline;
    let width = usize::from(setup.geometry.width());
    let start = usize::from(y) * width;
    core::mem::swap(&mut rows.high, &mut rows.high_above);
    core::mem::swap(&mut rows.low, &mut rows.low_above);
    let sensor = &setup.sensor;
    let correct = |raw: Option<&[u16]>,
                   calibration: Option<&Calibration>,
                   table: Option<Correction<'_>>,
                   row: &mut [u16]| {
        if let (Some(raw), Some(calibration)) = (raw, calibration) {
            Lane::new(raw, table, calibration.saturation(), start).correct(0, row);
        }
    };
    correct(high, sensor.high, sensor.high_correction, rows.high);
    correct(low, sensor.low, sensor.low_correction, rows.low);
    if let Some(map) = sensor.defects
        && let Some(here) = map.get(start..start + width)
    {
        let above = start
            .checked_sub(width)
            .and_then(|above| map.get(above..start));
        let replaced = correct::replace_row(
            DefectRows { here, above },
            high.is_some()
                .then_some((&mut *rows.high, &*rows.high_above)),
            low.is_some().then_some((&mut *rows.low, &*rows.low_above)),
        );
        add_count(&mut tally.replaced, replaced);
    }

    let codes = &mut *rows.temperature;
    merge::row(
        gain,
        setup.states(),
        setup.transition,
        (rows.high, rows.low),
        codes,
        &mut tally.merge,
    );
    statistics.add_row((0, y), codes, control.watches(&setup.profile.spec().gain));
    scale.apply_row(law, codes, rows.grey_q8);
    let Some(bands) = bands.get_mut(start..start + width) else {
        return;
    };
    let chunks = codes.chunks(CHUNK).zip(rows.grey_q8.chunks(CHUNK));
    let drawn = out.chunks_mut(CHUNK).zip(bands.chunks_mut(CHUNK));
    for ((out, bands), (at, chunk)) in drawn.zip((0..width).step_by(CHUNK).zip(chunks)) {
        draw::draw::<P>(setup, (column(at), y), chunk, bands, out, tally);
    }
}

/// Pixels that are drawn together: where all of them are grey, nothing else is looked at.
const CHUNK: usize = 32;
