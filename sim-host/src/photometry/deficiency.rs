//! What observers with a colour-vision deficiency see of a display colour.
//!
//! **Input**: sRGB codes or linear sRGB. **Output**: the colour that shows a normal observer what the
//! other observer sees, clipped to the gamut. **Source**: Machado, Oliveira, Fernandes, IEEE TVCG 15
//! (2009) 1291-1298, severity 1.0 (dichromats), applied in linear RGB. A model of the mean observer:
//! it tells risky colour pairs, not what one person sees.

use std::fmt;

use super::colour;

/// Colour vision of an observer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Vision {
    /// Normal trichromatic vision.
    Normal,
    /// Long-wave cones missing (about 1 % of men).
    Protan,
    /// Middle-wave cones missing (about 1 % of men; the weaker form about 5 %).
    Deutan,
    /// Short-wave cones missing (rare).
    Tritan,
}

const PROTAN: [[f64; 3]; 3] = [
    [0.152_286, 1.052_583, -0.204_868],
    [0.114_503, 0.786_281, 0.099_216],
    [-0.003_882, -0.048_116, 1.051_998],
];
const DEUTAN: [[f64; 3]; 3] = [
    [0.367_322, 0.860_646, -0.227_968],
    [0.280_085, 0.672_501, 0.047_413],
    [-0.011_820, 0.042_940, 0.968_881],
];
const TRITAN: [[f64; 3]; 3] = [
    [1.255_528, -0.076_749, -0.178_779],
    [-0.078_411, 0.930_809, 0.147_602],
    [0.004_733, 0.691_367, 0.303_900],
];

impl Vision {
    /// Every observer, normal vision first.
    pub const ALL: [Self; 4] = [Self::Normal, Self::Protan, Self::Deutan, Self::Tritan];

    /// Name in conditions and captions.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Protan => "protan",
            Self::Deutan => "deutan",
            Self::Tritan => "tritan",
        }
    }

    /// The matrix from linear RGB to seen linear RGB; `None` for normal vision.
    #[must_use]
    pub fn matrix(self) -> Option<[[f64; 3]; 3]> {
        match self {
            Self::Normal => None,
            Self::Protan => Some(PROTAN),
            Self::Deutan => Some(DEUTAN),
            Self::Tritan => Some(TRITAN),
        }
    }

    /// Linear RGB as seen, clipped to 0 to 1.
    #[must_use]
    pub fn see_linear(self, linear: [f64; 3]) -> [f64; 3] {
        let Some(matrix) = self.matrix() else {
            return linear;
        };
        matrix.map(|row| {
            let value: f64 = row.iter().zip(linear).map(|(m, c)| m * c).sum();
            value.clamp(0.0, 1.0)
        })
    }

    /// sRGB codes as seen.
    ///
    /// ```
    /// use glowsill::photometry::deficiency::Vision;
    /// assert_eq!(Vision::Protan.see([255, 0, 0]), [109, 95, 0]);
    /// ```
    #[must_use]
    pub fn see(self, rgb: [u8; 3]) -> [u8; 3] {
        colour::codes(self.see_linear(colour::linear(rgb)))
    }

    /// L*a*b* of sRGB codes as seen, without rounding to codes in between.
    #[must_use]
    pub fn see_lab(self, rgb: [u8; 3]) -> colour::Lab {
        colour::lab_of_linear(self.see_linear(colour::linear(rgb)))
    }
}

impl fmt::Display for Vision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
