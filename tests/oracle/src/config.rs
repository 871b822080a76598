//! Configuration of the oracle: the words of the pipeline page as plain types.

/// An 8-bit sRGB colour.
pub type Rgb = [u8; 3];

/// Conversion from counts to apparent temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// 6, 7 or 8: the knots stand 2^shift counts apart.
    pub shift: u32,
    /// 257 temperatures, kelvin, at counts i·2^shift; never falling.
    pub knots: Vec<f64>,
    /// Counts from here on are saturated.
    pub saturation: u16,
}

impl Calibration {
    /// Counts that are 1/32 K codes over 16 bits, saturated at 65535.
    #[must_use]
    pub fn identity() -> Self {
        let knots = (0..=256u16).map(|i| (f64::from(i) * 256.0 / 32.0).min(65_535.0 / 32.0));
        Self {
            shift: 8,
            knots: knots.collect(),
            saturation: u16::MAX,
        }
    }

    /// Temperature at a count, linear between the knots; beyond the last knot its value holds.
    #[must_use]
    pub fn temperature(&self, counts: u16) -> f64 {
        let step = 1usize << self.shift;
        let index = usize::from(counts) / step;
        if index + 1 >= self.knots.len() {
            return self.knots[self.knots.len() - 1];
        }
        let share = crate::number::count(usize::from(counts) % step) / crate::number::count(step);
        self.knots[index] + share * (self.knots[index + 1] - self.knots[index])
    }
}

/// Per-pixel non-uniformity correction of one gain state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// Factor, 16384 is 1; one a pixel.
    pub gain_q14: Vec<u16>,
    /// Added counts; one a pixel.
    pub offset: Vec<i16>,
}

/// How the two gain states become one temperature picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GainPlan {
    /// Each pixel chooses.
    PerPixel {
        /// Kelvin; up to here high gain alone.
        from: f64,
        /// Kelvin; from here low gain alone.
        to: f64,
        /// Kelvin; above this difference the hotter is shown.
        dispute: f64,
    },
    /// The whole frame switches.
    WholeFrame(WholeFrame),
    /// Only high gain.
    HighOnly,
    /// Only low gain.
    LowOnly,
}

/// Switching rule of the whole-frame plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WholeFrame {
    /// Kelvin.
    pub enter_above: f64,
    /// Thousandths of the valid pixels.
    pub enter_permille: u16,
    /// Frames in a row.
    pub enter_frames: u32,
    /// Kelvin.
    pub leave_above: f64,
    /// Thousandths of the valid pixels.
    pub leave_permille: u16,
    /// Frames in a row.
    pub leave_frames: u32,
    /// Frames without a picture at each switch.
    pub blank_frames: u32,
}

/// How grey is assigned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScalePlan {
    /// The law.
    pub law: ScaleLaw,
    /// Kelvin of black before statistics exist.
    pub start_low: f64,
    /// Kelvin of white before statistics exist.
    pub start_high: f64,
    /// N of a move toward hotter, frames.
    pub frames_to_hotter: f64,
    /// N of a move toward colder, frames.
    pub frames_to_colder: f64,
    /// Least span, kelvin.
    pub min_span: f64,
    /// Steepest scale, grey codes of 255 per kelvin.
    pub max_grey_per_kelvin: f64,
}

/// The law that finds the target ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ScaleLaw {
    /// The start values.
    Fixed,
    /// Coldest and hottest pixel.
    Extremes,
    /// Two shares, thousandths.
    Percentile {
        /// Share below black.
        low: u16,
        /// Share below white.
        high: u16,
    },
    /// Plateau-limited equalisation mixed with linear.
    Plateau {
        /// Share below the first bin in use.
        low: u16,
        /// Share below the last bin in use.
        high: u16,
        /// Most of the valid pixels one bin counts for, thousandths.
        plateau: u16,
        /// 256 is the curve alone, 0 is linear alone.
        weight_q8: u16,
    },
}

/// What is coloured.
#[derive(Clone, Debug, PartialEq)]
pub enum ColourPlan {
    /// Nothing.
    Grey,
    /// Bands above the onset.
    Bands(BandPlan),
    /// Stops at equal distances over the grey range.
    Pseudo(Vec<Rgb>),
}

/// Bands above the onset.
#[derive(Clone, Debug, PartialEq)]
pub struct BandPlan {
    /// Bands with rising starts.
    pub bands: Vec<Band>,
    /// Kelvin.
    pub hysteresis: f64,
    /// End of the last band's ramp: kelvin and colour.
    pub ramp_end: Option<(f64, Rgb)>,
    /// Start in kelvin and colour of the ceiling.
    pub ceiling: Option<(f64, Rgb)>,
}

/// One band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Kelvin.
    pub start: f64,
    /// Colour at the start.
    pub colour: Rgb,
    /// Whether it ramps toward the next colour.
    pub ramp: bool,
}

/// How colour meets grey.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Overlay {
    /// Colour alone.
    Opaque,
    /// Constant opacity, 0 to 255.
    Veil(u8),
    /// Hue of the band ordered by the grey picture.
    Tint {
        /// Grey at which the band's own colour stands.
        knee: u8,
        /// How far toward white grey 255 goes.
        lift: u8,
    },
}

/// Everything that stays for a session.
#[derive(Clone, Debug, PartialEq)]
pub struct Config {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Gain plan.
    pub gain: GainPlan,
    /// High-gain calibration.
    pub high: Option<Calibration>,
    /// Low-gain calibration.
    pub low: Option<Calibration>,
    /// High-gain correction.
    pub high_correction: Option<Correction>,
    /// Low-gain correction.
    pub low_correction: Option<Correction>,
    /// True where a pixel is defective, one a pixel.
    pub defects: Option<Vec<bool>>,
    /// Scale plan.
    pub scale: ScalePlan,
    /// Colour plan.
    pub colour: ColourPlan,
    /// Overlay.
    pub overlay: Overlay,
}

impl Config {
    /// A grey-only configuration without calibration, undelayed, 2 K least span, 128 codes a kelvin.
    #[must_use]
    pub fn grey(
        width: usize,
        height: usize,
        gain: GainPlan,
        law: ScaleLaw,
        (start_low, start_high): (f64, f64),
    ) -> Self {
        Self {
            width,
            height,
            gain,
            high: None,
            low: None,
            high_correction: None,
            low_correction: None,
            defects: None,
            scale: ScalePlan {
                law,
                start_low,
                start_high,
                frames_to_hotter: 1.0,
                frames_to_colder: 1.0,
                min_span: 2.0,
                max_grey_per_kelvin: 128.0,
            },
            colour: ColourPlan::Grey,
            overlay: Overlay::Opaque,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn calibration_is_linear_between_knots() {
        let mut knots = vec![200.0; 257];
        knots[1] = 200.0;
        knots[2] = 232.0;
        for (i, knot) in knots.iter_mut().enumerate().skip(3) {
            *knot = 232.0 + crate::number::count(i - 2);
        }
        let calibration = Calibration {
            shift: 6,
            knots,
            saturation: 16_000,
        };
        assert_eq!(calibration.temperature(64), 200.0);
        assert_eq!(calibration.temperature(65), 200.5); // 1/64 of 32 K
        assert_eq!(calibration.temperature(96), 216.0);
        assert_eq!(calibration.temperature(127), 231.5);
        assert_eq!(calibration.temperature(128), 232.0);
        assert_eq!(calibration.temperature(160), 232.5);
        assert_eq!(calibration.temperature(16_384), 486.0);
        assert_eq!(calibration.temperature(60_000), 486.0);
    }

    #[test]
    fn identity_reads_one_thirty_second_of_a_kelvin() {
        let identity = Calibration::identity();
        assert_eq!(identity.temperature(1), 0.031_25);
        assert_eq!(identity.temperature(9600), 300.0);
        assert_eq!(identity.temperature(13_541), 423.156_25);
    }
}
