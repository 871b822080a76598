//! Temporal noise of still pixels: from frame to frame, with the drift of the scene taken out.

use serde::Serialize;

use glowsill_core::record::GainInUse;

use crate::measure::reading::{mean, real};
use crate::run::Shown;
use crate::world::image::Image;

/// Frames that noise is measured over, ending at the instant.
pub(super) const WINDOW: usize = 8;
/// A pixel stands still when the scene changes by less than this over the window, kelvin.
const STILL_K: f64 = 0.1;
/// How far the blur of the optics carries a change, pixels: eight of its standard deviations.
const REACH: usize = 5;
/// Fewest pixels that noise is measured on.
const FEWEST: usize = 50;

/// Temporal standard deviation of a still pixel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Noise {
    /// Of its apparent temperature, kelvin.
    pub kelvin: f64,
    /// Of its grey, of 255.
    pub grey: f64,
    /// Pixels it was measured on.
    pub pixels: usize,
}

/// Temperature codes and greys of a frame.
type Planes = (Vec<u16>, Vec<u16>);

/// The last frames of a display.
#[derive(Default)]
pub(super) struct Window {
    frames: Vec<Planes>,
}

impl Window {
    /// Adds a frame; a blank one empties the window, because nothing was seen.
    pub(super) fn push(&mut self, shown: &Shown) {
        if shown.record.gain == GainInUse::Blank {
            self.frames.clear();
            return;
        }
        if self.frames.len() == WINDOW {
            self.frames.remove(0);
        }
        self.frames
            .push((shown.temperature.clone(), shown.grey_q8.clone()));
    }

    /// The noise of a region; `None` with fewer than two frames or too few pixels.
    pub(super) fn noise(&self, region: &[usize]) -> Option<Noise> {
        if region.len() < FEWEST {
            return None;
        }
        let of = |plane: fn(&Planes) -> &Vec<u16>, unit: f64| {
            let pairs = self.frames.windows(2);
            let variance = mean(pairs.map(|pair| {
                let steps: Vec<f64> = region
                    .iter()
                    .map(|i| f64::from(plane(&pair[1])[*i]) - f64::from(plane(&pair[0])[*i]))
                    .collect();
                half_variance(&steps)
            }))?;
            Some(variance.sqrt() / unit)
        };
        Some(Noise {
            kelvin: of(|frame| &frame.0, 32.0)?,
            grey: of(|frame| &frame.1, 256.0)?,
            pixels: region.len(),
        })
    }
}

/// Half the variance of differences: the variance of one of the two, when both are independent. The mean
/// difference, a drift common to all pixels, does not count.
fn half_variance(steps: &[f64]) -> f64 {
    let centre = mean(steps.iter().copied()).unwrap_or(0.0);
    let squares: f64 = steps.iter().map(|step| (step - centre).powi(2)).sum();
    squares / (real(steps.len()) - 1.0).max(1.0) / 2.0
}

/// The pixels of a region that stand still from one picture to another, and so does all within [`REACH`] of
/// them; all pixels, where the scene is not known.
pub(super) fn still(region: &[usize], pictures: Option<(&Image<f64>, &Image<f64>)>) -> Vec<usize> {
    let Some((before, after)) = pictures else {
        return region.to_vec();
    };
    let (width, height) = (before.width, before.height);
    let mut near = vec![false; before.data.len()];
    for (index, (was, is)) in before.data.iter().zip(&after.data).enumerate() {
        if (is - was).abs() >= STILL_K {
            let (x, y) = (index % width, index / width);
            for row in y.saturating_sub(REACH)..=(y + REACH).min(height - 1) {
                let columns = x.saturating_sub(REACH)..=(x + REACH).min(width - 1);
                columns.for_each(|column| near[row * width + column] = true);
            }
        }
    }
    region.iter().copied().filter(|i| !near[*i]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_near_a_change_does_not_stand_still() {
        let before = Image::new(20, 1, 300.0);
        let mut after = before.clone();
        after.data[0] = 310.0;
        let all: Vec<usize> = (0..20).collect();
        assert_eq!(
            still(&all, Some((&before, &after))),
            (6..20).collect::<Vec<_>>()
        );
        assert_eq!(still(&all, None), all);
    }

    // By hand: differences 1, 3, 1, 3 have mean 2 and variance 4/3; half of it is 2/3.
    #[test]
    fn a_common_drift_is_no_noise() {
        assert!((half_variance(&[1.0, 3.0, 1.0, 3.0]) - 2.0 / 3.0).abs() < 1e-12);
        assert!(half_variance(&[5.0; 9]).abs() < 1e-12);
    }
}
