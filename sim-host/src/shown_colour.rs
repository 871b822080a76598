//! The colours that a profile gives, worked out from the profile alone, without running the pipeline.
//!
//! In the arithmetic of `docs/pipeline.md`, sections 6 and 7; tint and mixture are those of core.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, Overlay};
use glowsill_core::stage::overlay::{TintCurve, mix_colour};

use crate::photometry::colour;
use crate::temperature::Kelvin;

/// The overlay in the arithmetic of `docs/pipeline.md`, section 7.
pub(crate) enum Blend {
    Opaque,
    Veil(u8),
    Tint(Box<TintCurve>),
}

impl Blend {
    pub(crate) fn new(overlay: Overlay) -> Self {
        match overlay {
            Overlay::Opaque => Self::Opaque,
            Overlay::Veil { opacity } => Self::Veil(opacity),
            Overlay::Tint { knee, lift } => Self::Tint(Box::new(TintCurve::new(knee, lift))),
        }
    }

    pub(crate) fn over(&self, colour: Rgb888, grey: u8) -> [u8; 3] {
        let plain = [colour.r, colour.g, colour.b];
        match self {
            Self::Opaque => plain,
            Self::Veil(opacity) => plain.map(|code| {
                let (a, c, g) = (f64::from(*opacity), f64::from(code), f64::from(grey));
                colour::nearest_code((a * c + (255.0 - a) * g) / 255.0)
            }),
            Self::Tint(curve) => {
                let tinted = curve.apply(colour, grey);
                [tinted.r, tinted.g, tinted.b]
            }
        }
    }
}

/// Colour of a pseudo-colour plan at a grey: linear in codes between stops at equal distances.
pub(crate) fn pseudo_colour(stops: &[Rgb888], grey: u8) -> [u8; 3] {
    let intervals = stops.len().saturating_sub(1);
    let along = usize::from(grey) * intervals;
    let index = (along / 255).min(intervals.saturating_sub(1));
    let fraction = f64::from(u32::try_from(along - index * 255).unwrap_or(0)) / 255.0;
    let (Some(a), Some(b)) = (stops.get(index), stops.get(index + 1)) else {
        return [grey; 3];
    };
    let mix = |x: u8, y: u8| {
        colour::nearest_code(f64::from(x) + (f64::from(y) - f64::from(x)) * fraction)
    };
    [mix(a.r, b.r), mix(a.g, b.g), mix(a.b, b.b)]
}

/// The colour of a band plan at an apparent temperature in °C, with the number of the band from 1 (the ceiling is
/// the number after the last band); `None` below the onset.
pub(crate) fn band_colour(plan: &BandPlan, celsius: f64) -> Option<(usize, Rgb888)> {
    let of = |code| Kelvin::from(code).celsius();
    if let Some(ceiling) = plan.ceiling
        && celsius >= of(ceiling.start)
    {
        return Some((plan.bands.len() + 1, ceiling.colour));
    }
    let index = plan
        .bands
        .iter()
        .rposition(|band| celsius >= of(band.start))?;
    let band = plan.bands[index];
    let next = plan.bands.get(index + 1).map(|next| next.start);
    let end = next.or(plan.ramp_end.map(|end| end.temperature));
    let share = end.map_or(0.0, |end| {
        (celsius - of(band.start)) / (of(end) - of(band.start))
    });
    let position = crate::world::rounding::to_u16(256.0 * share, 0, 256);
    Some((
        index + 1,
        mix_colour(band.colour, plan.end_colour(index), position),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use glowsill_core::profile::{Band, Ceiling, Fill};
    use glowsill_core::units::Temperature;

    // Source: docs/pipeline.md section 7, worked by hand.
    #[test]
    fn veil_and_pseudo_colour_follow_the_stated_arithmetic() {
        let veil = Blend::Veil(51); // a fifth
        assert_eq!(veil.over(Rgb888::new(255, 0, 100), 100), [131, 80, 100]);
        let stops = [
            Rgb888::grey(0),
            Rgb888::new(0, 0, 255),
            Rgb888::new(255, 0, 0),
        ];
        assert_eq!(pseudo_colour(&stops, 0), [0, 0, 0]);
        assert_eq!(pseudo_colour(&stops, 51), [0, 0, 102]);
        assert_eq!(pseudo_colour(&stops, 204), [153, 0, 102]);
        assert_eq!(pseudo_colour(&stops, 255), [255, 0, 0]);
    }

    #[test]
    fn a_band_plan_gives_grey_a_ramp_a_flat_band_and_the_ceiling() {
        let at = |celsius: i32| Temperature::from_millicelsius(celsius * 1000).unwrap();
        let band = |start, colour, fill| Band {
            start: at(start),
            colour,
            fill,
        };
        let mut plan = BandPlan {
            bands: Default::default(),
            hysteresis_k32: 0,
            ramp_end: None,
            ceiling: Some(Ceiling {
                start: at(300),
                colour: Rgb888::new(255, 255, 255),
            }),
        };
        plan.bands
            .push(band(100, Rgb888::new(200, 100, 0), Fill::Ramp))
            .unwrap();
        plan.bands
            .push(band(200, Rgb888::new(100, 0, 0), Fill::Flat))
            .unwrap();
        // Source: arithmetic by hand; half of the way is position 128 of 256.
        assert_eq!(band_colour(&plan, 99.0), None);
        assert_eq!(
            band_colour(&plan, 150.0),
            Some((1, Rgb888::new(150, 50, 0)))
        );
        assert_eq!(band_colour(&plan, 299.0), Some((2, Rgb888::new(100, 0, 0))));
        assert_eq!(
            band_colour(&plan, 301.0),
            Some((3, Rgb888::new(255, 255, 255)))
        );
    }
}
