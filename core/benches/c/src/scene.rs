//! The scene that is timed: a warm room with a hot disc, noise, and two correction tables.

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::panel::Rgb888;
use glowsill_core::pipeline::Correction;
use glowsill_core::profile::{
    Band, BandPlan, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw,
};
use glowsill_core::units::Temperature;

/// Frames of the scene that follow each other, alike but for noise.
pub const FRAMES: usize = 4;

/// The shipped profile that is timed, as `glowsill profile pack` writes it.
pub const SHIPPED: &[u8] = include_bytes!("../profiles/interior-attack.bin");

/// Planes, tables and calibrations of one size of picture.
#[derive(Clone, Debug)]
pub struct Scene {
    /// Columns.
    pub width: u16,
    /// Rows.
    pub height: u16,
    /// Frames of high and low counts, 14 bits.
    pub frames: Vec<[Vec<u16>; 2]>,
    /// Calibrations of high and low gain: 1/80 K and 1/20 K a count from 230 K.
    pub calibrations: [Calibration; 2],
    /// Gains of both states, Q14, all different from pixel to pixel.
    gains: [Vec<u16>; 2],
    /// Offsets of both states, counts.
    offsets: [Vec<i16>; 2],
}

/// A linear congruential counter: the same scene in every run.
struct Noise(u32);

impl Noise {
    fn below(&mut self, below: u16) -> u16 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        // The remainder is below a 16-bit number.
        u16::try_from((self.0 >> 16) % u32::from(below)).unwrap_or(0)
    }

    /// From `-reach` to `reach`.
    fn around(&mut self, reach: i16) -> i16 {
        let steps = reach.unsigned_abs() * 2 + 1;
        i16::try_from(self.below(steps)).unwrap_or(0) - reach
    }
}

/// `codes_x10` tenths of a code from knot to knot.
fn calibration(codes_x10: u16) -> Result<Calibration, String> {
    let mut knots = [Temperature::MIN; KNOTS];
    for (i, knot) in (0u32..).zip(&mut knots) {
        let code = 230 * 32 + i * u32::from(codes_x10) / 10;
        *knot = Temperature::from_bits(u16::try_from(code).unwrap_or(u16::MAX));
    }
    Calibration::new(6, knots, 16_000).map_err(|error| error.to_string())
}

impl Scene {
    /// Makes the scene: a room at 22 °C (72 °F) that is 5 K warmer at the right, and a disc of 230 °C to
    /// 490 °C (446 °F to 914 °F) over about a ninth of the picture.
    ///
    /// # Errors
    /// A text if a calibration is none, which its numbers exclude.
    pub fn new(width: u16, height: u16) -> Result<Self, String> {
        let mut noise = Noise(12_345);
        let (w, h) = (i64::from(width), i64::from(height));
        let pixels = usize::from(width) * usize::from(height);
        let mut scene = Self {
            width,
            height,
            frames: Vec::new(),
            calibrations: [calibration(255)?, calibration(1025)?],
            gains: [Vec::with_capacity(pixels), Vec::with_capacity(pixels)],
            offsets: [Vec::with_capacity(pixels), Vec::with_capacity(pixels)],
        };
        for _ in 0..pixels {
            let [high, low] = &mut scene.gains;
            high.push(16_300 + noise.below(200));
            low.push(16_340 + noise.below(90));
            let [high, low] = &mut scene.offsets;
            high.push(noise.around(6));
            low.push(noise.around(3));
        }
        for _ in 0..FRAMES {
            let (mut high, mut low) = (Vec::new(), Vec::new());
            for y in 0..h {
                for x in 0..w {
                    // In 1/100 of the height, from the disc's middle.
                    let (dx, dy) = ((x - w * 5 / 8) * 100 / h, (y - h / 2) * 100 / h);
                    let centikelvin = if dx * dx + dy * dy < 22 * 22 {
                        63_000 + 600 * dx
                    } else {
                        29_500 + 500 * x / w
                    };
                    for (plane, per_kelvin, reach) in [(&mut high, 80, 3), (&mut low, 20, 4)] {
                        let counts = (centikelvin - 23_000) * per_kelvin / 100
                            + i64::from(noise.around(reach));
                        plane.push(u16::try_from(counts.clamp(1, 16_383)).unwrap_or(1));
                    }
                }
            }
            scene.frames.push([high, low]);
        }
        Ok(scene)
    }

    /// Pixels of a frame.
    #[must_use]
    pub fn pixels(&self) -> usize {
        usize::from(self.width) * usize::from(self.height)
    }

    /// The correction tables of both states.
    #[must_use]
    pub fn corrections(&self) -> [Correction<'_>; 2] {
        let [high_gain, low_gain] = &self.gains;
        let [high_offset, low_offset] = &self.offsets;
        [
            Correction {
                gain_q14: high_gain,
                offset: high_offset,
            },
            Correction {
                gain_q14: low_gain,
                offset: low_offset,
            },
        ]
    }
}

/// A profile whose scale goes from one share of the pixels to another; linear grey.
///
/// # Errors
/// A text if a field is out of its limits, which its numbers exclude.
pub fn percentile_profile() -> Result<Profile, String> {
    let celsius = |degrees: i32| {
        Temperature::from_millicelsius(degrees * 1000).map_err(|error| error.to_string())
    };
    let mut spec = ProfileSpec::grey_example();
    spec.gain = GainPlan::PerPixel {
        blend_from: celsius(105)?,
        blend_to: celsius(135)?,
        dispute_k32: 640,
    };
    spec.scale.law = ScaleLaw::Percentile {
        low_permille: 10,
        high_permille: 970,
    };
    spec.scale.frames_to_hotter = 24;
    spec.scale.frames_to_colder = 48;
    let mut bands = heapless::Vec::new();
    for (start, colour) in [
        (160, Rgb888::new(235, 210, 0)),
        (260, Rgb888::new(220, 115, 0)),
        (430, Rgb888::new(200, 0, 0)),
    ] {
        let band = Band {
            start: celsius(start)?,
            colour,
            fill: Fill::Flat,
        };
        bands.push(band).map_err(|_| "too many bands")?;
    }
    spec.colour = ColourPlan::Bands(BandPlan {
        bands,
        hysteresis_k32: 128,
        ramp_end: None,
        ceiling: None,
    });
    spec.overlay = Overlay::Tint {
        knee: 200,
        lift: 140,
    };
    Profile::new(spec).map_err(|error| error.to_string())
}

/// The shipped profile with an equalised scale.
///
/// # Errors
/// A text if its bytes are of another version of the core.
pub fn equalised_profile() -> Result<Profile, String> {
    Profile::from_bytes(SHIPPED).map_err(|error| error.to_string())
}
