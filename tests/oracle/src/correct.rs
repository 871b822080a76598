//! Stage 2, correct: raw counts to corrected, classified samples with defects replaced.

use crate::config::Correction;
use crate::number::round_half_up;

/// What is known of one sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sample {
    /// Raw count 0, or a defective pixel without a usable neighbour.
    Dead,
    /// Raw count at or above the saturation count.
    Saturated,
    /// Corrected counts.
    Valid(u16),
}

/// One corrected frame of one gain state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Corrected {
    /// Samples in row order.
    pub samples: Vec<Sample>,
    /// True where a defective pixel took its neighbours' mean.
    pub replaced: Vec<bool>,
}

/// Counts after gain and offset: clamp(round(raw·gain) + offset, 1, 65534).
#[must_use]
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is whole and clamped to the range of u16"
)]
pub fn corrected(raw: u16, gain_q14: u16, offset: i16) -> u16 {
    let scaled = round_half_up(f64::from(raw) * f64::from(gain_q14) / 16_384.0);
    (scaled + f64::from(offset)).clamp(1.0, 65_534.0) as u16
}

/// Corrects one frame of `width` columns.
#[must_use]
pub fn correct(
    raw: &[u16],
    width: usize,
    saturation: u16,
    correction: Option<&Correction>,
    defects: Option<&[bool]>,
) -> Corrected {
    let defective = |i: usize| defects.is_some_and(|map| map[i]);
    let own: Vec<Sample> = raw
        .iter()
        .enumerate()
        .map(|(i, &raw)| {
            if raw == 0 {
                Sample::Dead
            } else if raw >= saturation {
                Sample::Saturated
            } else {
                Sample::Valid(correction.map_or(raw, |table| {
                    corrected(raw, table.gain_q14[i], table.offset[i])
                }))
            }
        })
        .collect();
    let mut samples = own.clone();
    let mut replaced = vec![false; raw.len()];
    for i in (0..raw.len()).filter(|&i| defective(i)) {
        let good: Vec<f64> = neighbours(i, width, raw.len())
            .into_iter()
            .filter(|&n| !defective(n))
            .filter_map(|n| match own[n] {
                Sample::Valid(counts) => Some(f64::from(counts)),
                _ => None,
            })
            .collect();
        samples[i] = if good.is_empty() {
            Sample::Dead
        } else {
            replaced[i] = true;
            Sample::Valid(mean(&good))
        };
    }
    Corrected { samples, replaced }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a mean of u16 counts is within u16"
)]
fn mean(counts: &[f64]) -> u16 {
    round_half_up(counts.iter().sum::<f64>() / crate::number::count(counts.len())) as u16
}

/// Places of W, E, NW, N and NE that exist.
fn neighbours(i: usize, width: usize, len: usize) -> Vec<usize> {
    let (x, y) = (i % width, i / width);
    let mut places = Vec::new();
    if x > 0 {
        places.push(i - 1);
    }
    if x + 1 < width && i + 1 < len {
        places.push(i + 1);
    }
    if y > 0 {
        if x > 0 {
            places.push(i - width - 1);
        }
        places.push(i - width);
        if x + 1 < width {
            places.push(i - width + 1);
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gain_rounds_half_up_then_offset_then_clamps() {
        assert_eq!(corrected(1000, 16_384, 0), 1000);
        assert_eq!(corrected(1, 8192, 0), 1); // 0.5 rounds up
        assert_eq!(corrected(3, 8191, 0), 1);
        assert_eq!(corrected(1000, 16_384, -2000), 1);
        assert_eq!(corrected(60_000, 32_768, 5), 65_534);
        assert_eq!(corrected(100, 32_768, -7), 193);
    }

    #[test]
    fn a_defect_takes_the_mean_of_valid_neighbours() {
        // 3x2, defect at (1, 1): W 10, E saturated, NW 21, N 0 (dead), NE 31.
        let raw = [21, 0, 31, 10, 999, 900];
        let defects = [false, false, false, false, true, false];
        let out = correct(&raw, 3, 900, None, Some(&defects));
        // (10 + 21 + 31) / 3 = 20.67
        assert_eq!(out.samples[4], Sample::Valid(21));
        assert_eq!(out.replaced, [false, false, false, false, true, false]);
        assert_eq!(out.samples[1], Sample::Dead);
        assert_eq!(out.samples[5], Sample::Saturated);
    }

    #[test]
    fn a_defect_does_not_lean_on_defects_or_the_row_below() {
        // Top left pair defective: (0, 0) has no good neighbour above or beside it.
        let raw = [50, 60, 70, 80, 90, 100];
        let defects = [true, true, false, false, false, false];
        let out = correct(&raw, 3, 900, None, Some(&defects));
        assert_eq!(out.samples[0], Sample::Dead);
        assert!(!out.replaced[0]);
        assert_eq!(out.samples[1], Sample::Valid(70));
    }

    #[test]
    fn replacement_uses_corrected_counts_and_rounds_half_up() {
        let table = Correction {
            gain_q14: vec![16_384; 3],
            offset: vec![1, 0, 2],
        };
        let out = correct(
            &[10, 7, 10],
            3,
            900,
            Some(&table),
            Some(&[false, true, false]),
        );
        assert_eq!(out.samples[1], Sample::Valid(12)); // (11 + 12) / 2 = 11.5
    }
}
