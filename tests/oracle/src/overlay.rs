//! Stage 7, overlay: how colour meets the grey picture.

use crate::bands;
use crate::config::{ColourPlan, Config, Overlay, Rgb};
use crate::number::{code8, count};

/// One drawn pixel, unrounded codes.
pub type Codes = [f64; 3];

/// Draws one valid pixel from its grey (0 to 255, unrounded), band and temperature.
#[must_use]
pub fn draw(config: &Config, grey: f64, band: u8, temperature: f64) -> Codes {
    let level = f64::from(code8(grey));
    match &config.colour {
        ColourPlan::Grey => [level; 3],
        ColourPlan::Pseudo(stops) => pseudo(stops, level),
        ColourPlan::Bands(plan) => {
            let Some(colour) = bands::colour(plan, band, temperature) else {
                return [level; 3];
            };
            let is_ceiling = usize::from(band) > plan.bands.len();
            let overlay = if is_ceiling {
                Overlay::Opaque
            } else {
                config.overlay
            };
            colour.map(|c| meet(overlay, c, level))
        }
    }
}

/// Draws an invalid pixel: white where x + y is odd, black where it is even.
#[must_use]
pub fn checker(x: usize, y: usize) -> Codes {
    [if (x + y) % 2 == 1 { 255.0 } else { 0.0 }; 3]
}

/// One channel of the overlay: colour code `c` over a whole grey level `g`.
#[must_use]
pub fn meet(overlay: Overlay, c: f64, g: f64) -> f64 {
    match overlay {
        Overlay::Opaque => c,
        Overlay::Veil(opacity) => {
            let a = f64::from(opacity);
            (a * c + (255.0 - a) * g) / 255.0
        }
        Overlay::Tint { knee, lift } => {
            let (k, l) = (f64::from(knee), f64::from(lift));
            if g < k {
                c * g / k
            } else {
                // One division, so that exact halves stay exact.
                c + (255.0 - c) * l * (g - k) / (255.0 * (255.0 - k))
            }
        }
    }
}

/// Pseudo-colour at a whole grey level: stops at equal distances from 0 to 255.
#[must_use]
pub fn pseudo(stops: &[Rgb], g: f64) -> Codes {
    let segments = count(stops.len() - 1);
    let segment = (0..stops.len() - 1)
        .rfind(|&i| count(i) * 255.0 <= g * segments)
        .unwrap_or(0);
    let part = g * segments - count(segment) * 255.0;
    let (from, to) = (
        stops[segment].map(f64::from),
        stops[segment + 1].map(f64::from),
    );
    [0, 1, 2].map(|i| from[i] + (to[i] - from[i]) * part / 255.0)
}

/// Rounds to 8-bit codes, halves upward.
#[must_use]
pub fn rounded(codes: Codes) -> Rgb {
    codes.map(code8)
}

/// Number of the 255 grey steps at which a tint of this colour rises in some channel and falls in
/// none; 255 means strictly ordered.
#[must_use]
pub fn tint_strict_steps(colour: Codes, knee: u8, lift: u8) -> usize {
    let at = |g: u8| rounded(colour.map(|c| meet(Overlay::Tint { knee, lift }, c, f64::from(g))));
    (0..255u8)
        .filter(|&g| {
            let (now, next) = (at(g), at(g + 1));
            let pairs = || now.iter().zip(&next);
            pairs().all(|(a, b)| b >= a) && pairs().any(|(a, b)| b > a)
        })
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_veil_keeps_its_identities() {
        assert_eq!(meet(Overlay::Veil(0), 200.0, 31.0), 31.0);
        assert_eq!(meet(Overlay::Veil(255), 200.0, 31.0), 200.0);
        assert_eq!(meet(Overlay::Veil(51), 200.0, 100.0), 120.0); // a fifth of the way
        assert_eq!(meet(Overlay::Opaque, 7.0, 250.0), 7.0);
    }

    #[test]
    fn the_tint_runs_black_colour_lifted() {
        let tint = Overlay::Tint {
            knee: 155,
            lift: 102,
        };
        assert_eq!(meet(tint, 100.0, 0.0), 0.0);
        assert_eq!(meet(tint, 100.0, 31.0), 20.0);
        assert_eq!(meet(tint, 100.0, 155.0), 100.0);
        // 100 + 155·0.4·(205 - 155)/100 = 131
        assert!((meet(tint, 100.0, 205.0) - 131.0).abs() < 1e-12);
        assert!((meet(tint, 100.0, 255.0) - 162.0).abs() < 1e-12);
    }

    #[test]
    fn strict_steps_are_counted_after_rounding() {
        // A channel at 255 rises by 255/200 a step up to the knee; another, lifted by the whole
        // 255 from 0, rises by 255/55 above it.
        assert_eq!(tint_strict_steps([255.0, 0.0, 0.0], 200, 255), 255);
        // Black never rises below the knee: only the 55 steps above it count.
        assert_eq!(tint_strict_steps([0.0; 3], 200, 255), 55);
        // White cannot rise above the knee.
        assert_eq!(tint_strict_steps([255.0; 3], 200, 255), 200);
    }

    #[test]
    fn pseudo_colour_is_linear_between_equal_stops() {
        let stops = [[0, 0, 0], [255, 0, 51], [255, 255, 255]];
        assert_eq!(pseudo(&stops, 0.0), [0.0; 3]);
        assert_eq!(pseudo(&stops, 51.0), [102.0, 0.0, 20.4]);
        assert_eq!(pseudo(&stops, 255.0), [255.0; 3]);
        assert_eq!(rounded(pseudo(&stops, 51.0)), [102, 0, 20]);
    }

    #[test]
    fn the_checker_is_white_on_odd_places() {
        assert_eq!(
            (checker(0, 0), checker(1, 0), checker(1, 1)),
            ([0.0; 3], [255.0; 3], [0.0; 3])
        );
    }
}
