//! Flashes of a display sequence: pictures in, counts by every criterion out.
//!
//! **Input**: the pictures of a run in order, every displayed frame including blank ones. **Output**:
//! [`FlashReport`]. **Parameters**: panel, frame rate (1 to 1000 Hz), block size in
//! pixels. `docs/measures/steadiness.md` is normative.

use image::RgbImage;

use crate::photometry::flash::{self, BlockSample, FlashError, FlashReport};
use crate::photometry::panel_model::PanelModel;

/// Collects block averages of linear light, frame by frame.
///
/// ```
/// use glowsill::measure::flash::FlashMeter;
/// use glowsill::photometry::panel_model::PanelModel;
/// use image::{Rgb, RgbImage};
/// let mut meter = FlashMeter::new(&PanelModel::default(), 24.0, 8);
/// for frame in 0..48 {
///     let code = if (frame / 3) % 2 == 0 { 60 } else { 200 };
///     meter.push(&RgbImage::from_pixel(32, 24, Rgb([code; 3])));
/// }
/// let report = meter.finish().unwrap();
/// assert_eq!(report.general.over_area, 4); // four flashes a second
/// assert!(report.exceeded());
/// ```
#[derive(Clone, Debug)]
pub struct FlashMeter {
    panel: PanelModel,
    linear: Vec<f64>,
    frame_hz: f64,
    block_px: u32,
    frames: Vec<Vec<BlockSample>>,
}

impl FlashMeter {
    /// Starts an empty sequence. A block is about `block_px` pixels wide and high (0 is taken as 1).
    #[must_use]
    pub fn new(panel: &PanelModel, frame_hz: f64, block_px: u32) -> Self {
        Self {
            panel: *panel,
            linear: (0..=255).map(|code| panel.linear(code)).collect(),
            frame_hz,
            block_px: block_px.max(1),
            frames: Vec::new(),
        }
    }

    /// Adds the next displayed picture.
    pub fn push(&mut self, picture: &RgbImage) {
        let (width, height) = picture.dimensions();
        // Whole numbers of blocks whose sides differ by at most a pixel, so that areas stay equal.
        let across = (width / self.block_px).max(1);
        let down = (height / self.block_px).max(1);
        let mut sums: Vec<([f64; 3], f64)> = (0..across * down).map(|_| ([0.0; 3], 0.0)).collect();
        for (x, y, pixel) in picture.enumerate_pixels() {
            let block = y * down / height * across + x * across / width;
            let Some((sum, count)) = usize::try_from(block).ok().and_then(|b| sums.get_mut(b))
            else {
                continue;
            };
            for (channel, code) in sum.iter_mut().zip(pixel.0) {
                *channel += self.linear[usize::from(code)];
            }
            *count += 1.0;
        }
        let sample = |(sum, count): ([f64; 3], f64)| {
            BlockSample::new(sum.map(|channel| channel / count.max(1.0)), &self.panel)
        };
        self.frames.push(sums.into_iter().map(sample).collect());
    }

    /// Counts the flashes of everything pushed so far.
    ///
    /// # Errors
    /// [`FlashError`] for a frame rate outside 1 to 1000 Hz, no pictures, or pictures of unlike size.
    pub fn finish(&self) -> Result<FlashReport, FlashError> {
        flash::analyse(&self.frames, self.frame_hz)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    // Source: WCAG 2.2, 2.3.1: more than 25 % of the picture; here 20 of 64 columns, then 12.
    #[test]
    fn area_is_counted_in_the_picture() {
        for (columns, exceeded) in [(20, true), (12, false)] {
            let mut meter = FlashMeter::new(&PanelModel::default(), 25.0, 4);
            for frame in 0..50 {
                let flashing = if frame % 2 == 0 {
                    [128; 3]
                } else {
                    [255, 0, 0]
                };
                meter.push(&RgbImage::from_fn(64, 48, |x, _| {
                    Rgb(if x < columns { flashing } else { [128; 3] })
                }));
            }
            let report = meter.finish().unwrap();
            assert_eq!(report.red.exceeded(), exceeded, "{columns} columns");
            assert!((report.red.area_share - f64::from(columns) / 64.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_fine_checker_that_swaps_is_averaged_out() {
        // Source: WCAG 2.2, 2.3.1: fine balanced patterns are exempt; a block mean does not change.
        let mut meter = FlashMeter::new(&PanelModel::default(), 25.0, 8);
        for frame in 0..50 {
            meter.push(&RgbImage::from_fn(64, 48, |x, y| {
                Rgb([if (x + y + frame) % 2 == 0 { 0 } else { 255 }; 3])
            }));
        }
        assert_eq!(meter.finish().unwrap().general.in_any_block, 0);
    }

    #[test]
    fn pictures_of_unlike_size_are_refused() {
        let mut meter = FlashMeter::new(&PanelModel::default(), 25.0, 8);
        assert_eq!(meter.finish(), Err(FlashError::Empty));
        meter.push(&RgbImage::new(64, 48));
        meter.push(&RgbImage::new(32, 48));
        assert!(matches!(
            meter.finish(),
            Err(FlashError::Blocks { frame: 1, .. })
        ));
    }
}
