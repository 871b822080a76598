//! The stages in order, frame by frame.

use crate::bands;
use crate::config::{ColourPlan, Config, Rgb};
use crate::merge::{GainInUse, Merge, Pixel, merge};
use crate::overlay::{self, Codes};
use crate::scale::Scale;
use crate::statistics::{Spot, measure};

/// What was used and seen for one frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Number of the frame, from 0.
    pub frame: u32,
    /// Gain state in use.
    pub gain: GainInUse,
    /// Kelvin of black used.
    pub scale_low: f64,
    /// Kelvin of white used.
    pub scale_high: f64,
    /// Pixels of the frame.
    pub pixels: usize,
    /// Pixels with a temperature.
    pub valid: usize,
    /// Pixels taken mostly or wholly from low gain.
    pub from_low: usize,
    /// Pixels with colour over them.
    pub coloured: usize,
    /// Pixels in each band; entry 6 is the ceiling.
    pub in_band: [usize; 7],
    /// Hottest valid pixel.
    pub hottest: Option<Spot>,
    /// Coldest valid pixel.
    pub coldest: Option<Spot>,
    /// Pixels at the top of what the states in use can tell.
    pub saturated: usize,
    /// Pixels without temperature.
    pub invalid: usize,
    /// Pixels whose states disagree.
    pub disputed: usize,
    /// Defective pixels replaced by a mean.
    pub replaced: usize,
}

/// One drawn frame, everything in row order.
#[derive(Clone, Debug, PartialEq)]
pub struct OracleFrame {
    /// Pixels as merged from the counts.
    pub merged: Vec<Pixel>,
    /// Apparent temperature the later stages used, kelvin; `merged` 's unless given from outside.
    pub temperature: Vec<Option<f64>>,
    /// Grey 0 to 255, unrounded; of an invalid or blank pixel, as drawn.
    pub grey: Vec<f64>,
    /// Band; 0 is grey, one more than the number of bands the ceiling.
    pub band: Vec<u8>,
    /// Colour, unrounded codes.
    pub rgb: Vec<Codes>,
    /// Colour, 8-bit codes.
    pub rounded: Vec<Rgb>,
    /// Record.
    pub record: Record,
}

/// The reference pipeline with its memory.
#[derive(Clone, Debug)]
pub struct Oracle {
    config: Config,
    merge: Merge,
    scale: Scale,
    band: Vec<u8>,
    frame: u32,
}

impl Oracle {
    /// A pipeline before its first frame.
    ///
    /// The configuration is taken as it is: validation belongs to the code under test.
    #[must_use]
    pub fn new(config: Config) -> Self {
        let merge = Merge::new(&config.gain);
        let scale = Scale::new(&config.scale);
        let band = vec![0; config.width * config.height];
        Self {
            config,
            merge,
            scale,
            band,
            frame: 0,
        }
    }

    /// The configuration.
    #[must_use]
    pub fn config(&self) -> &Config {
        &self.config
    }

    /// The scale the next frame is drawn with.
    #[must_use]
    pub fn scale(&self) -> &Scale {
        &self.scale
    }

    /// Gain state of the frame to come.
    #[must_use]
    pub fn in_use(&self) -> GainInUse {
        self.merge.in_use()
    }

    /// Draws one frame from counts.
    pub fn frame(&mut self, high: Option<&[u16]>, low: Option<&[u16]>) -> OracleFrame {
        let pixels = merge(&self.config, self.merge.in_use(), high, low);
        let temperature = pixels.iter().map(|p| p.temperature).collect();
        self.draw(&pixels, temperature)
    }

    /// Draws one frame from counts, but with these temperatures for every stage after the merge.
    ///
    /// A comparison of later stages then does not start from two roundings of the merge.
    pub fn frame_with_temperature(
        &mut self,
        high: Option<&[u16]>,
        low: Option<&[u16]>,
        temperature: &[Option<f64>],
    ) -> OracleFrame {
        let pixels = merge(&self.config, self.merge.in_use(), high, low);
        self.draw(&pixels, temperature.to_vec())
    }

    /// Draws one frame from temperatures alone; nothing is from low, saturated or disputed.
    pub fn frame_from_temperature(&mut self, temperature: &[Option<f64>]) -> OracleFrame {
        let pixels: Vec<Pixel> = temperature
            .iter()
            .map(|&temperature| Pixel {
                temperature,
                ..Pixel::default()
            })
            .collect();
        self.draw(&pixels, temperature.to_vec())
    }

    fn draw(&mut self, pixels: &[Pixel], temperature: Vec<Option<f64>>) -> OracleFrame {
        let len = self.config.width * self.config.height;
        let mut record = Record {
            frame: self.frame,
            gain: self.merge.in_use(),
            scale_low: self.scale.low,
            scale_high: self.scale.high,
            pixels: len,
            valid: 0,
            from_low: 0,
            coloured: 0,
            in_band: [0; 7],
            hottest: None,
            coldest: None,
            saturated: 0,
            invalid: 0,
            disputed: 0,
            replaced: 0,
        };
        self.frame += 1;
        if record.gain == GainInUse::Blank {
            self.merge.pass_blank();
            return OracleFrame {
                merged: vec![Pixel::default(); len],
                temperature: vec![None; len],
                grey: vec![0.0; len],
                band: self.band.clone(),
                rgb: vec![[0.0; 3]; len],
                rounded: vec![[0; 3]; len],
                record,
            };
        }
        let mut grey = Vec::with_capacity(len);
        let mut rgb = Vec::with_capacity(len);
        for (i, &t) in temperature.iter().enumerate() {
            self.band[i] = bands::step(&self.config.colour, self.band[i], t);
            let Some(t) = t else {
                let codes = overlay::checker(i % self.config.width, i / self.config.width);
                grey.push(codes[0]);
                rgb.push(codes);
                continue;
            };
            let level = self.scale.grey(&self.config.scale, t);
            grey.push(level);
            rgb.push(overlay::draw(&self.config, level, self.band[i], t));
        }
        self.count(pixels, &temperature, &mut record);
        self.merge.decide(&self.config.gain, &temperature);
        let statistics = measure(&temperature, self.config.width);
        self.scale.update(&self.config.scale, &statistics);
        record.valid = statistics.valid;
        record.invalid = len - statistics.valid;
        (record.hottest, record.coldest) = (statistics.hottest, statistics.coldest);
        OracleFrame {
            merged: pixels.to_vec(),
            temperature,
            grey,
            band: self.band.clone(),
            rounded: rgb.iter().map(|&codes| overlay::rounded(codes)).collect(),
            rgb,
            record,
        }
    }

    fn count(&self, pixels: &[Pixel], temperature: &[Option<f64>], record: &mut Record) {
        let of = |property: fn(&Pixel) -> bool| pixels.iter().filter(|p| property(p)).count();
        record.from_low = of(|p| p.from_low);
        record.saturated = of(|p| p.saturated);
        record.disputed = of(|p| p.disputed);
        record.replaced = of(|p| p.replaced);
        match &self.config.colour {
            ColourPlan::Grey => {}
            ColourPlan::Pseudo(_) => record.coloured = temperature.iter().flatten().count(),
            ColourPlan::Bands(plan) => {
                for &band in self.band.iter().filter(|&&band| band > 0) {
                    let is_ceiling = usize::from(band) > plan.bands.len();
                    record.in_band[if is_ceiling { 6 } else { usize::from(band) - 1 }] += 1;
                    record.coloured += 1;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{Band, BandPlan, Calibration, GainPlan, Overlay, ScaleLaw, WholeFrame};

    fn two_by_two(gain: GainPlan, law: ScaleLaw) -> Config {
        let mut config = Config::grey(2, 2, gain, law, (200.0, 455.0));
        config.high = Some(Calibration::identity());
        config.low = Some(Calibration::identity());
        config.colour = ColourPlan::Bands(BandPlan {
            bands: vec![Band {
                start: 400.0,
                colour: [255, 0, 0],
                ramp: false,
            }],
            hysteresis: 2.0,
            ramp_end: None,
            ceiling: Some((500.0, [0, 0, 255])),
        });
        config.overlay = Overlay::Veil(51);
        config
    }

    const fn k(kelvin: u16) -> u16 {
        kelvin * 32
    }

    #[test]
    fn a_frame_is_drawn_with_the_scale_of_the_frame_before() {
        let mut oracle = Oracle::new(two_by_two(GainPlan::HighOnly, ScaleLaw::Extremes));
        let first = oracle.frame(Some(&[k(300), k(400), k(510), 0]), None);
        assert_eq!(first.grey, [100.0, 200.0, 255.0, 0.0]);
        assert_eq!(first.band, [0, 1, 2, 0]);
        // Veil of a fifth: (255 + 4·200)/5 = 211, 4·200/5 = 160. Ceiling opaque.
        assert_eq!(
            first.rounded,
            [[100; 3], [211, 160, 160], [0, 0, 255], [0; 3]]
        );
        let record = first.record;
        assert_eq!((record.valid, record.invalid, record.coloured), (3, 1, 2));
        assert_eq!(record.in_band, [1, 0, 0, 0, 0, 0, 1]);
        assert_eq!(
            record.hottest,
            Some(Spot {
                temperature: 510.0,
                x: 0,
                y: 1
            })
        );
        assert_eq!((record.scale_low, record.scale_high), (200.0, 455.0));
        let second = oracle.frame(Some(&[k(405), k(399), k(497), 0]), None);
        assert_eq!(
            (second.record.scale_low, second.record.scale_high),
            (300.0, 510.0)
        );
        assert_eq!(second.grey[0], 127.5);
        // 399 K is held by the 2 K hysteresis, 497 K has left the ceiling.
        assert_eq!(second.band, [1, 1, 1, 0]);
    }

    #[test]
    fn blank_frames_show_nothing_and_change_nothing() {
        let plan = WholeFrame {
            enter_above: 390.0,
            enter_permille: 1,
            enter_frames: 1,
            leave_above: 380.0,
            leave_permille: 0,
            leave_frames: 1,
            blank_frames: 1,
        };
        let config = two_by_two(GainPlan::WholeFrame(plan), ScaleLaw::Extremes);
        let mut oracle = Oracle::new(config);
        let hot = [k(300), k(300), k(300), k(401)];
        assert_eq!(
            oracle.frame(Some(&hot), Some(&hot)).record.gain,
            GainInUse::High
        );
        let blank = oracle.frame(Some(&hot), Some(&hot));
        assert_eq!(blank.record.gain, GainInUse::Blank);
        assert_eq!((blank.record.frame, blank.record.valid), (1, 0));
        assert_eq!(
            (blank.record.scale_low, blank.record.scale_high),
            (300.0, 401.0)
        );
        assert_eq!(blank.rounded, [[0; 3]; 4]);
        let warm = [k(300), k(300), k(300), k(399)];
        let low = oracle.frame(Some(&hot), Some(&warm));
        assert_eq!((low.record.gain, low.record.frame), (GainInUse::Low, 2));
        assert_eq!(low.band[3], 1, "band memory outlives the blank");
        assert_eq!(low.record.from_low, 4);
    }

    #[test]
    fn temperatures_from_outside_replace_the_merge_alone() {
        let mut oracle = Oracle::new(two_by_two(GainPlan::HighOnly, ScaleLaw::Fixed));
        let given = [Some(300.0), Some(301.0), None, Some(455.0)];
        let out = oracle.frame_with_temperature(Some(&[k(299); 4]), None, &given);
        assert!(out.merged.iter().all(|p| p.temperature == Some(299.0)));
        assert_eq!((out.grey[1], out.record.invalid), (101.0, 1));
        let out = oracle.frame_from_temperature(&given);
        // (0, 1) is odd: an invalid pixel there is white.
        assert_eq!(out.rounded, [[100; 3], [101; 3], [255; 3], [255, 204, 204]]);
    }
}
