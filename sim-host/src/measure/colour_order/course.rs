//! The colours a profile can show, and the order of their luminance.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, Overlay};
use glowsill_core::stage::overlay::{TintCurve, mix_colour};
use glowsill_core::units::Temperature;

use super::VISIBLE_STEP;
use crate::photometry::deficiency::Vision;
use crate::photometry::panel_model::PanelModel;
use crate::photometry::{colour, gsdf};

/// The overlay in the arithmetic of `docs/pipeline.md`, section 7.
pub(in crate::measure) enum Blend {
    Opaque,
    Veil(u8),
    Tint(Box<TintCurve>),
}

impl Blend {
    pub(in crate::measure) fn new(overlay: Overlay) -> Self {
        match overlay {
            Overlay::Opaque => Self::Opaque,
            Overlay::Veil { opacity } => Self::Veil(opacity),
            Overlay::Tint { knee, lift } => Self::Tint(Box::new(TintCurve::new(knee, lift))),
        }
    }

    pub(in crate::measure) fn over(&self, colour: Rgb888, grey: u8) -> [u8; 3] {
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

/// A band, a stop or the ceiling.
pub(super) struct Place {
    pub(super) label: String,
    pub(super) start: Rgb888,
    pub(super) middle: Rgb888,
    pub(super) opaque: bool,
}

impl Place {
    pub(super) fn over(&self, blend: &Blend, middle: bool, grey: u8) -> [u8; 3] {
        let chosen = if middle { self.middle } else { self.start };
        if self.opaque {
            Blend::Opaque.over(chosen, grey)
        } else {
            blend.over(chosen, grey)
        }
    }
}

/// A luminance course: what is on the x axis, and the colour there for one grey.
pub(super) struct Course {
    pub(super) name: String,
    pub(super) points: Vec<(f64, [u8; 3])>,
    /// Points from here on belong to the ceiling, which is no part of the order.
    pub(super) ordered: usize,
}

pub(super) fn celsius(temperature: Temperature) -> f64 {
    f64::from(temperature.to_bits()) / 32.0 - 273.15
}

pub(super) fn band_places(plan: &BandPlan) -> Vec<Place> {
    let mut places: Vec<Place> = Vec::new();
    for (index, band) in plan.bands.iter().enumerate() {
        let middle = mix_colour(band.colour, plan.end_colour(index), 128);
        let label = (index + 1).to_string();
        places.push(Place {
            label,
            start: band.colour,
            middle,
            opaque: false,
        });
    }
    if let Some(ceiling) = plan.ceiling {
        let label = "ceiling".to_owned();
        places.push(Place {
            label,
            start: ceiling.colour,
            middle: ceiling.colour,
            opaque: true,
        });
    }
    places
}

pub(super) fn band_course(plan: &BandPlan, blend: &Blend, grey: u8) -> Course {
    // Where nothing ends the last band, it is drawn for as long as shows it.
    const TAIL_K: f64 = 50.0;
    let mut points = Vec::new();
    for (index, band) in plan.bands.iter().enumerate() {
        let from = celsius(band.start);
        let next = plan.bands.get(index + 1).map(|next| next.start);
        let ramp_end = plan.ramp_end.map(|end| end.temperature);
        let to = next.or(ramp_end).map_or(from + TAIL_K, celsius);
        let target = plan.end_colour(index);
        for position in (0..=256u16).step_by(4) {
            let at = from + (to - from) * f64::from(position) / 256.0;
            points.push((
                at,
                blend.over(mix_colour(band.colour, target, position), grey),
            ));
        }
    }
    let ordered = points.len();
    if let Some(ceiling) = plan.ceiling {
        let start = celsius(ceiling.start);
        let solid = Blend::Opaque.over(ceiling.colour, grey);
        points.retain(|(at, _)| *at <= start);
        let ordered = points.len();
        points.extend([(start, solid), (start + TAIL_K, solid)]);
        return Course {
            name: format!("over grey {grey}"),
            points,
            ordered,
        };
    }
    Course {
        name: format!("over grey {grey}"),
        points,
        ordered,
    }
}

/// Colour of a pseudo-colour plan at a grey: linear in codes between stops at equal distances.
pub(in crate::measure) fn pseudo_colour(stops: &[Rgb888], grey: u8) -> [u8; 3] {
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

pub(super) fn grey_course(name: &str, shown: impl Fn(u8) -> [u8; 3]) -> Course {
    let points: Vec<_> = (0..=255u8)
        .map(|grey| (f64::from(grey), shown(grey)))
        .collect();
    Course {
        name: name.to_owned(),
        ordered: points.len(),
        points,
    }
}

/// Order of a luminance course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Order {
    /// Luminance rises along most of the way.
    pub(super) rising: bool,
    /// Share of the way (JND) that goes in the majority direction, 0 to 1.
    pub(super) share: f64,
    /// Runs against it of at least [`VISIBLE_STEP`].
    pub(super) reversals: u32,
    /// Greatest distance (JND) against it between any earlier and later point.
    pub(super) largest: f64,
}

pub(super) fn order(course: &[f64]) -> Order {
    let steps = || course.windows(2).map(|pair| pair[1] - pair[0]);
    let up: f64 = steps().filter(|step| *step > 0.0).sum();
    let down: f64 = -steps().filter(|step| *step < 0.0).sum::<f64>();
    let rising = up >= down;
    let sign = if rising { 1.0 } else { -1.0 };
    let share = if up + down > 0.0 {
        up.max(down) / (up + down)
    } else {
        1.0
    };
    let (mut reversals, mut largest) = (0, 0.0_f64);
    let (mut highest, mut turn, mut against) = (f64::NEG_INFINITY, f64::NEG_INFINITY, false);
    for value in course.iter().map(|value| value * sign) {
        highest = highest.max(value);
        largest = largest.max(highest - value);
        if against {
            turn = turn.min(value);
            if value - turn >= VISIBLE_STEP {
                (against, turn) = (false, value);
            }
        } else {
            turn = turn.max(value);
            if turn - value >= VISIBLE_STEP {
                reversals += 1;
                (against, turn) = (true, value);
            }
        }
    }
    Order {
        rising,
        share,
        reversals,
        largest,
    }
}

/// JND index of every point as an observer sees it.
pub(super) fn indices(points: &[(f64, [u8; 3])], vision: Vision, panel: &PanelModel) -> Vec<f64> {
    let jnd = |rgb: [u8; 3]| {
        let linear = rgb.map(|code| panel.linear(code));
        gsdf::jnd(panel.luminance_of_linear(vision.see_linear(linear)))
    };
    points.iter().map(|(_, rgb)| jnd(*rgb)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: arithmetic by hand.
    #[test]
    fn reversals_are_runs_against_the_majority() {
        let found = order(&[0.0, 10.0, 8.0, 20.0, 15.0, 17.0, 16.5, 30.0]);
        assert!(found.rising);
        assert_eq!((found.reversals, found.largest), (2, 5.0));
        // Up 10 + 12 + 2 + 13.5 = 37.5; down 2 + 5 + 0.5 = 7.5.
        assert!((found.share - 37.5 / 45.0).abs() < 1e-12);
        let falling = order(&[30.0, 20.0, 20.9, 5.0]);
        assert!(!falling.rising);
        assert_eq!(falling.reversals, 0); // 0.9 JND is not seen
        assert!((falling.largest - 0.9).abs() < 1e-9);
        assert_eq!(order(&[7.0, 7.0]).share, 1.0);
    }

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
}
