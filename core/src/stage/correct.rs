//! Correction: two-point correction and replacement of defective pixels.
//!
//! **Purpose.** Makes the samples of one gain state comparable. **Input**: raw counts, one row.
//! **Output**: corrected counts, with `DEAD` and `SATURATED` reserved. **Parameters**: gain
//! (Q14, 16384 is 1) and offset (counts) per pixel; defect map. **Latency**: none; a defective pixel
//! sees its own row and the row above. **Memory**: two rows per gain state.
//! **Source**: two-point correction is common practice, no published source.

use crate::fixedpoint::{add_count, mean_round, two_point_q14_round};

/// Corrected counts of a sample that does not exist.
pub(crate) const DEAD: u16 = 0;
/// Corrected counts of a sample that only means "at least the top of this gain state".
pub(crate) const SATURATED: u16 = u16::MAX;
const GREATEST: u16 = SATURATED - 1;

/// Per-pixel correction of one gain state.
#[derive(Clone, Copy, Debug)]
pub struct Correction<'a> {
    /// Gain of each pixel, Q14.
    pub gain_q14: &'a [u16],
    /// Offset of each pixel, counts.
    pub offset: &'a [i16],
}

/// Corrects one sample, or marks it.
#[inline]
pub(crate) fn correct_one(raw: u16, saturation: u16, table: Option<(u16, i16)>) -> u16 {
    if raw == 0 {
        DEAD
    } else if raw >= saturation {
        SATURATED
    } else {
        table.map_or(raw.min(GREATEST), |(gain, offset)| {
            two_point_q14_round(raw, gain, offset)
        })
    }
}

/// Corrects a row of raw counts, or a part of one.
pub(crate) fn correct_row(
    raw: &[u16],
    saturation: u16,
    table: Option<(&[u16], &[i16])>,
    corrected: &mut [u16],
) {
    match table {
        None => {
            for (out, &raw) in corrected.iter_mut().zip(raw) {
                *out = correct_one(raw, saturation, None);
            }
        }
        Some((gain, offset)) => {
            let tables = gain.iter().zip(offset);
            for ((out, &raw), (&gain, &offset)) in corrected.iter_mut().zip(raw).zip(tables) {
                *out = correct_one(raw, saturation, Some((gain, offset)));
            }
        }
    }
}

/// Two rows of a defect map: this one, and the one above if there is one.
#[derive(Clone, Copy)]
pub(crate) struct DefectRows<'a> {
    pub(crate) here: &'a [u8],
    pub(crate) above: Option<&'a [u8]>,
}

/// Gives the mean of a defective pixel's sound, valid neighbours (W, E, NW, N, NE); `here` and
/// `above` give the corrected counts of a column, if there is one.
pub(crate) fn replacement(
    x: usize,
    defects: DefectRows<'_>,
    here: impl Fn(usize) -> Option<u16>,
    above: impl Fn(usize) -> Option<u16>,
) -> Option<u16> {
    let (mut sum, mut count) = (0u32, 0u32);
    let mut take = |counts: Option<u16>, defect: Option<&u8>| {
        if let (Some(counts), Some(0)) = (counts, defect)
            && counts != DEAD
            && counts != SATURATED
        {
            sum += u32::from(counts);
            count += 1;
        }
    };
    let west = x.wrapping_sub(1);
    take(here(west), defects.here.get(west));
    let east = x.wrapping_add(1);
    take(here(east), defects.here.get(east));
    if let Some(map) = defects.above {
        for column in [west, x, east] {
            take(above(column), map.get(column));
        }
    }
    (count > 0).then(|| mean_round(sum, count))
}

/// Replaces the defective pixels of a row in the gain states in use; gives how many took a mean.
pub(crate) fn replace_row<'r>(
    defects: DefectRows<'_>,
    mut high: Option<(&'r mut [u16], &'r [u16])>,
    mut low: Option<(&'r mut [u16], &'r [u16])>,
) -> u32 {
    let mut replaced = 0;
    let here = (0..defects.here.len()).zip(defects.here);
    for (x, _) in here.filter(|(_, defect)| **defect != 0) {
        let mut any = false;
        for (row, above) in [&mut high, &mut low].into_iter().flatten() {
            let mean = replacement(
                x,
                defects,
                |x| row.get(x).copied(),
                |x| above.get(x).copied(),
            );
            any |= mean.is_some();
            if let Some(sample) = row.get_mut(x) {
                *sample = mean.unwrap_or(DEAD);
            }
        }
        add_count(&mut replaced, u32::from(any));
    }
    replaced
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_win_over_the_table() {
        let mut out = [9; 4];
        let (gain, offset) = ([16_384; 4], [-5i16; 4]);
        correct_row(&[0, 3, 100, 200], 200, Some((&gain, &offset)), &mut out);
        assert_eq!(out, [DEAD, 1, 95, SATURATED]);
    }

    #[test]
    fn a_defect_takes_the_mean_of_its_sound_neighbours() {
        let defects = DefectRows {
            here: &[0, 1, 0],
            above: Some(&[0, 1, 0]),
        };
        // W 10, E 21, NW 30, NE saturated, N defective: (10 + 21 + 30) / 3 = 20.33.
        let mut here = [10, 999, 21];
        let above = [30, 777, SATURATED];
        assert_eq!(replace_row(defects, Some((&mut here, &above)), None), 1);
        assert_eq!(here, [10, 20, 21]);
    }

    #[test]
    fn a_defect_without_neighbours_is_dead_and_not_counted() {
        let defects = DefectRows {
            here: &[1, 1, 1],
            above: None,
        };
        let mut here = [5, 6, 7];
        assert_eq!(replace_row(defects, None, Some((&mut here, &[0; 3]))), 0);
        assert_eq!(here, [DEAD; 3]);
    }
}
