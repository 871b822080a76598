//! Flaws drawn from named random streams, and the blur of the optics.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::model::{GainScale, SensorModel};
use crate::world::image::Image;
use crate::world::rounding::{count_f64, floor_index, to_i16, to_u16};

/// A random stream of its own for a seed and a name (FNV-1a of the name selects the ChaCha
/// stream), so that one flaw's draws never shift another's.
pub(super) fn stream(seed: u64, name: &str) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    rng.set_stream(hash);
    rng
}

/// A normal draw cut at four standard deviations.
fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let draw: f64 = StandardNormal.sample(rng);
    draw.clamp(-4.0, 4.0)
}

/// What is wrong with a pixel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Defect {
    /// Nothing.
    None,
    /// Always raw 0.
    Dead,
    /// Always the same count, as a share of the largest.
    Stuck(f64),
}

impl Defect {
    pub(super) fn draw(share: f64, pixels: usize, seed: u64) -> Vec<Self> {
        let mut rng = stream(seed, "defects");
        (0..pixels)
            .map(|_| {
                let (hit, kind, level): (f64, f64, f64) = rng.random();
                match (hit < share, kind < 0.5) {
                    (false, _) => Self::None,
                    (true, true) => Self::Dead,
                    (true, false) => Self::Stuck(level),
                }
            })
            .collect()
    }
}

/// Per-pixel gain and offset with the table that undoes them, and what the table leaves.
pub(super) struct FixedPattern {
    pub(super) gain_q14: Vec<u16>,
    pub(super) offset: Vec<i16>,
    residual: Vec<f64>,
}

impl FixedPattern {
    pub(super) fn draw(
        model: &SensorModel,
        scale: &GainScale,
        residual_k: f64,
        pixels: usize,
        seed: u64,
        name: &str,
    ) -> Self {
        let mut rng = stream(seed, name);
        let offset_counts = model.offset_spread * (f64::from(model.ceiling()) + 1.0);
        let residual_counts = model.counts_at_300k(scale, residual_k);
        let mut pattern = Self {
            gain_q14: Vec::with_capacity(pixels),
            offset: Vec::with_capacity(pixels),
            residual: Vec::with_capacity(pixels),
        };
        for _ in 0..pixels {
            let gain = 1.0 + model.gain_spread * normal(&mut rng);
            pattern.gain_q14.push(to_u16(gain * 16_384.0, 1, u16::MAX));
            pattern
                .offset
                .push(to_i16(offset_counts * normal(&mut rng)));
            pattern.residual.push(residual_counts * normal(&mut rng));
        }
        pattern
    }

    /// The raw count, not yet rounded, of pixel `i` for an ideal count.
    pub(super) fn raw(&self, i: usize, count: f64) -> f64 {
        let wanted = count + self.residual[i] - f64::from(self.offset[i]);
        wanted * 16_384.0 / f64::from(self.gain_q14[i])
    }
}

/// A Gaussian blur with the edge pixels repeated outside.
pub(super) struct Blur {
    /// Weights of the centre and of one side, outward.
    kernel: Vec<f64>,
}

impl Blur {
    pub(super) fn new(sigma: f64) -> Self {
        let reach = floor_index((4.0 * sigma).ceil(), 40);
        let mut kernel: Vec<f64> = (0..=reach)
            .map(|d| {
                if d == 0 {
                    1.0
                } else {
                    (-0.5 * (count_f64(d) / sigma).powi(2)).exp()
                }
            })
            .collect();
        let whole: f64 = 2.0 * kernel.iter().sum::<f64>() - 1.0;
        kernel.iter_mut().for_each(|weight| *weight /= whole);
        Self { kernel }
    }

    pub(super) fn apply(&self, image: Image<f64>) -> Image<f64> {
        if self.kernel.len() == 1 {
            return image;
        }
        let (width, height) = (image.width, image.height);
        let mut across = Vec::with_capacity(width * height);
        for y in 0..height {
            let row = image.row(y);
            for x in 0..width {
                let mut sum = self.kernel[0] * row[x];
                for (d, weight) in self.kernel.iter().enumerate().skip(1) {
                    sum += weight * (row[x.saturating_sub(d)] + row[(x + d).min(width - 1)]);
                }
                across.push(sum);
            }
        }
        let across = Image {
            width,
            height,
            data: across,
        };
        let mut out = Vec::with_capacity(width * height);
        for y in 0..height {
            out.extend(across.row(y).iter().map(|value| self.kernel[0] * value));
            let line = &mut out[y * width..];
            for (d, weight) in self.kernel.iter().enumerate().skip(1) {
                let (up, down) = (
                    across.row(y.saturating_sub(d)),
                    across.row((y + d).min(height - 1)),
                );
                for (x, value) in line.iter_mut().enumerate() {
                    *value += weight * (up[x] + down[x]);
                }
            }
        }
        Image {
            width,
            height,
            data: out,
        }
    }
}
