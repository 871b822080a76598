//! The colours a profile can show, and the order of their luminance.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::BandPlan;
use glowsill_core::stage::overlay::mix_colour;

use super::VISIBLE_STEP;
use crate::photometry::deficiency::Vision;
use crate::photometry::gsdf;
use crate::photometry::panel_model::PanelModel;
use crate::shown_colour::{Blend, band_colour};
use crate::temperature::Kelvin;

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
    const HALF_A_CODE_K: f64 = 1.0 / 64.0;
    let mut points = Vec::new();
    for (index, band) in plan.bands.iter().enumerate() {
        let from = Kelvin::from(band.start).celsius();
        let next = plan.bands.get(index + 1).map(|next| next.start);
        let ramp_end = plan.ramp_end.map(|end| end.temperature);
        let to = next
            .or(ramp_end)
            .map_or(from + TAIL_K, |end| Kelvin::from(end).celsius());
        let target = plan.end_colour(index);
        for position in (0..=256u16).step_by(4) {
            let at = from + (to - from) * f64::from(position) / 256.0;
            points.push((
                at,
                blend.over(mix_colour(band.colour, target, position), grey),
            ));
        }
    }
    let mut ordered = points.len();
    if let Some(ceiling) = plan.ceiling {
        let start = Kelvin::from(ceiling.start).celsius();
        points.retain(|(at, _)| *at <= start);
        ordered = points.len();
        // What the last band ends with stands up to the ceiling, and the ceiling starts with a step.
        let below = band_colour(plan, start - HALF_A_CODE_K);
        points.extend(below.map(|(_, colour)| (start, blend.over(colour, grey))));
        let solid = Blend::Opaque.over(ceiling.colour, grey);
        points.extend([(start, solid), (start + TAIL_K, solid)]);
    }
    Course {
        name: format!("over grey {grey}"),
        points,
        ordered,
    }
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

    #[test]
    fn a_flat_last_band_stays_level_up_to_the_ceiling_and_then_steps() {
        use glowsill_core::profile::ColourPlan;
        let search = crate::profile_file::demo().unwrap();
        let search = search.iter().find(|d| d.loaded.name() == "Search").unwrap();
        let ColourPlan::Bands(plan) = &search.loaded.spec.colour else {
            panic!("Search has bands");
        };
        let ceiling = plan.ceiling.unwrap();
        let start = Kelvin::from(ceiling.start).celsius();
        let course = band_course(plan, &Blend::Opaque, 128);
        let last = plan.bands.last().unwrap();
        // A slope would be two points at different places with different colours, in a plan of flat bands.
        for pair in course.points.windows(2) {
            let ((from, before), (to, after)) = (pair[0], pair[1]);
            assert!(before == after || from == to, "{from} to {to} °C");
        }
        let at_ceiling: Vec<_> = course.points.iter().filter(|p| p.0 == start).collect();
        let colours = [last.colour, ceiling.colour].map(|c| [c.r, c.g, c.b]);
        assert_eq!(at_ceiling.last().unwrap().1, colours[1]);
        assert!(at_ceiling.iter().any(|point| point.1 == colours[0]));
    }

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
}
