//! Overlay: how the band's colour meets the grey picture.
//!
//! **Purpose.** Blends the colour of a pixel's band with its grey. **Input**: 8-bit grey, band
//! colour in sRGB codes. **Output**: sRGB codes. **Parameters**: [`Overlay`], checked with the
//! profile. **Latency**: none. **Memory**: one table of 256 pairs for the tint. **Source**: veil is
//! the usual "over" blend in codes; the tint is our own (`docs/decisions/0002-tint.md`).

use crate::fixedpoint::{
    div255_round, mix_q8_round, mix255_round, tint_factors_q16, tint_q16_round,
};
use crate::panel::Rgb888;
use crate::profile::Overlay;

/// Mixes two colours in codes; `position` runs from 0 (the first) to 256 (the second).
#[must_use]
pub const fn mix_colour(from: Rgb888, to: Rgb888, position: u16) -> Rgb888 {
    Rgb888 {
        r: mix_q8_round(from.r, to.r, position),
        g: mix_q8_round(from.g, to.g, position),
        b: mix_q8_round(from.b, to.b, position),
    }
}

/// The tint's course over grey: black, the colour at the knee, then toward white.
#[derive(Clone, Debug)]
pub struct TintCurve {
    /// Per grey: factor of the colour and amount of white, Q16.
    factors: [(u32, u32); 256],
}

impl TintCurve {
    /// Tabulates the course for a knee (1 to 254) and a lift (1 to 255).
    #[must_use]
    pub const fn new(knee: u8, lift: u8) -> Self {
        let mut factors = [(0, 0); 256];
        let mut grey = 0;
        while grey < 256 {
            factors[grey] = tint_factors_q16(grey, knee, lift);
            grey += 1;
        }
        Self { factors }
    }

    /// Gives the tinted colour at a grey.
    #[inline]
    #[must_use]
    pub fn apply(&self, colour: Rgb888, grey: u8) -> Rgb888 {
        let (factor, white) = self.factors[usize::from(grey)];
        Rgb888 {
            r: tint_q16_round(colour.r, factor, white),
            g: tint_q16_round(colour.g, factor, white),
            b: tint_q16_round(colour.b, factor, white),
        }
    }

    /// Counts the grey steps (of 255) at which some channel rises and none falls.
    #[must_use]
    pub fn strict_steps(&self, colour: Rgb888) -> u16 {
        let mut strict = 0;
        for grey in 1..=255u8 {
            let (a, b) = (self.apply(colour, grey - 1), self.apply(colour, grey));
            let falls = b.r < a.r || b.g < a.g || b.b < a.b;
            if !falls && a != b {
                strict = u16::saturating_add(strict, 1);
            }
        }
        strict
    }
}

/// The overlay ready to apply.
#[derive(Clone, Debug)]
#[allow(
    clippy::large_enum_variant,
    reason = "one a pipeline, and there is no heap"
)]
pub(crate) enum Blend {
    Opaque,
    Veil(u8),
    Tint(TintCurve),
}

impl Blend {
    pub(crate) fn new(overlay: Overlay) -> Self {
        match overlay {
            Overlay::Opaque => Self::Opaque,
            Overlay::Veil { opacity } => Self::Veil(opacity),
            Overlay::Tint { knee, lift } => Self::Tint(TintCurve::new(knee, lift)),
        }
    }

    /// Blends a band colour over a grey.
    #[inline]
    pub(crate) fn apply(&self, colour: Rgb888, grey: u8) -> Rgb888 {
        match self {
            Self::Opaque => colour,
            Self::Veil(opacity) => Rgb888 {
                r: mix255_round(colour.r, grey, *opacity),
                g: mix255_round(colour.g, grey, *opacity),
                b: mix255_round(colour.b, grey, *opacity),
            },
            Self::Tint(curve) => curve.apply(colour, grey),
        }
    }
}

const _: () = assert!(div255_round(255 * 255) == 255);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn veil_identities_hold_at_both_ends_and_for_equal_inputs() {
        let colour = Rgb888::new(255, 165, 0);
        for grey in 0..=255 {
            assert_eq!(Blend::Veil(0).apply(colour, grey), Rgb888::grey(grey));
            assert_eq!(Blend::Veil(255).apply(colour, grey), colour);
            assert_eq!(
                Blend::Veil(77).apply(Rgb888::grey(grey), grey),
                Rgb888::grey(grey)
            );
        }
    }

    #[test]
    fn tint_passes_through_black_colour_and_lift() {
        let tint = TintCurve::new(150, 255);
        let colour = Rgb888::new(255, 150, 0);
        assert_eq!(tint.apply(colour, 0), Rgb888::grey(0));
        assert_eq!(tint.apply(colour, 150), colour);
        assert_eq!(tint.apply(colour, 255), Rgb888::grey(255));
        assert_eq!(tint.apply(colour, 75), Rgb888::new(128, 75, 0)); // 127.5 rounds up
    }

    #[test]
    fn tint_is_exact_for_every_knee_lift_grey_and_corner_code() {
        for knee in 1..=254u8 {
            for lift in (1..=255u8).step_by(2) {
                for grey in 0..=255usize {
                    let (factor, white) = tint_factors_q16(grey, knee, lift);
                    for code in [0u8, 1, 127, 128, 254, 255] {
                        let (c, g, k) = (f64::from(code), grey as f64, f64::from(knee));
                        let exact = if g < k {
                            c * g / k
                        } else {
                            c + (255.0 - c) * f64::from(lift) / 255.0 * (g - k) / (255.0 - k)
                        };
                        let got = f64::from(tint_q16_round(code, factor, white));
                        assert!(
                            (got - exact).abs() <= 0.5 + 0.01,
                            "{knee} {lift} {grey} {code}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn a_dull_colour_is_not_strictly_ordered() {
        assert!(TintCurve::new(200, 255).strict_steps(Rgb888::new(100, 0, 0)) < 255);
        assert_eq!(
            TintCurve::new(150, 200).strict_steps(Rgb888::new(255, 0, 0)),
            255
        );
    }
}
