//! The quick form where no proof covers a chunk: pixel by pixel, but by the session's tables.

use super::draw;
use super::quick::{Row, Sums};
use super::rows::{Tally, column};
use crate::fixedpoint::{count_u32, grey_q8_to_u8_round, step_place, word_place};
use crate::panel::PanelFormat;
use crate::stage::colour::{BandTable, ColourTable};
use crate::stage::correct;
use crate::stage::merge;
use crate::stage::sense::CHUNK;

/// Codes, greys, band memory and picture of neighbouring pixels.
pub(super) type Planes<'p, Pixel> = (&'p mut [u16], &'p mut [u16], &'p mut [u8], &'p mut [Pixel]);

/// Takes and draws up to 32 pixels from a column on.
#[inline(never)]
pub(super) fn draw<P: PanelFormat>(
    row: &Row<'_>,
    x: usize,
    (codes, greys, bands, out): Planes<'_, P::Pixel>,
    sums: &mut Sums<'_>,
) {
    row.sense_each(x, codes, sums.tally);
    sums.statistics
        .add_row((column(x), row.y), codes, row.watched);
    draw_codes::<P>(row, x, (codes, greys, bands, out), sums.tally);
}

/// Draws up to 32 pixels from their codes.
pub(super) fn draw_codes<P: PanelFormat>(
    row: &Row<'_>,
    x: usize,
    (codes, greys, bands, out): Planes<'_, P::Pixel>,
    tally: &mut Tally,
) {
    row.scale.apply_row(row.law, codes, greys);
    let at = (column(x), row.y);
    match &row.setup.colour {
        ColourTable::Bands(table) if row.setup.quick.is_flat => {
            draw_flat::<P>(row, table, at, (codes, greys, bands, out), tally);
        }
        _ => draw::draw::<P>(row.setup, at, (codes, greys), bands, out, tally),
    }
}

/// Draws pixels of flat bands, some of which may have no sample.
fn draw_flat<P: PanelFormat>(
    row: &Row<'_>,
    table: &BandTable,
    (x, y): (u16, u16),
    (codes, greys, bands, out): Planes<'_, P::Pixel>,
    tally: &mut Tally,
) {
    let planes = codes.iter().zip(greys).zip(bands);
    for ((x, ((&code, grey), band)), pixel) in (x..).zip(planes).zip(out) {
        if code == 0 {
            *band = 0;
            tally.invalid += 1;
            *pixel = P::pack(draw::checker(x, y), x, y);
            continue;
        }
        *band = table.next()[step_place(table.step(code), *band)];
        tally.by_band[usize::from(*band & 7)] += 1;
        let place = word_place(*band, grey_q8_to_u8_round(*grey));
        *pixel = P::shade(&row.setup.quick.shades, place, x, y);
    }
}

impl Row<'_> {
    /// Computes the codes of up to 32 pixels one by one.
    fn sense_each(&self, x: usize, codes: &mut [u16], tally: &mut Tally) {
        let (mut high, mut low) = ([0; CHUNK], [0; CHUNK]);
        let len = codes.len().min(CHUNK);
        let lanes = [
            (self.high, self.high_above, &mut high),
            (self.low, self.low_above, &mut low),
        ];
        let mut replaced = [false; CHUNK];
        for (lane, above, counts) in lanes {
            let Some(lane) = lane else { continue };
            let (counts, _) = counts.split_at_mut(len);
            lane.correct(x, counts);
            let Some(defects) = self.defects else {
                continue;
            };
            let here = defects.here.iter().skip(x).zip(counts.iter_mut());
            for ((at, (defect, counts)), replaced) in here.enumerate().zip(&mut replaced) {
                if *defect != 0 {
                    let mean = correct::replacement(
                        x + at,
                        defects,
                        |x| lane.counts(x),
                        |x| above.and_then(|lane| lane.counts(x)),
                    );
                    *replaced |= mean.is_some();
                    *counts = mean.unwrap_or(correct::DEAD);
                }
            }
        }
        tally.replaced += count_u32(replaced.iter().filter(|any| **any).count());
        let (high, low) = (high.split_at(len).0, low.split_at(len).0);
        merge::row(
            self.gain,
            self.setup.states(),
            self.setup.transition,
            (high, low),
            codes,
            &mut tally.merge,
        );
    }
}
