//! Stage 5, scale: which temperature becomes which grey, with memory.

mod percentile;
mod plateau;

pub use percentile::percentile;
pub use plateau::{capped, curve_target, plateau_lut};

use crate::config::{ScaleLaw, ScalePlan};
use crate::statistics::{Statistics, bin_of, edges};

/// The scale as the next frame is drawn with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    /// Kelvin of black in the linear part.
    pub low: f64,
    /// Kelvin of white in the linear part.
    pub high: f64,
    /// Grey at every bin edge, once a plateau law has seen statistics.
    pub curve: Option<Vec<f64>>,
    seen: bool,
}

impl Scale {
    /// The start scale.
    #[must_use]
    pub fn new(plan: &ScalePlan) -> Self {
        Self {
            low: plan.start_low,
            high: plan.start_high,
            curve: None,
            seen: false,
        }
    }

    /// Linear grey, 0 to 255.
    #[must_use]
    pub fn linear(&self, temperature: f64) -> f64 {
        255.0 * ((temperature - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }

    /// Grey of a temperature, 0 to 255.
    #[must_use]
    pub fn grey(&self, plan: &ScalePlan, temperature: f64) -> f64 {
        let linear = self.linear(temperature);
        let (ScaleLaw::Plateau { weight_q8, .. }, Some(curve)) = (plan.law, &self.curve) else {
            return linear;
        };
        let edges = edges();
        let k = bin_of(&edges, temperature);
        let share = ((temperature - edges[k]) / (edges[k + 1] - edges[k])).clamp(0.0, 1.0);
        let equalised = curve[k] + share * (curve[k + 1] - curve[k]);
        let weight = f64::from(weight_q8) / 256.0;
        weight * equalised + (1.0 - weight) * linear
    }

    /// Takes in the statistics of the frame just drawn.
    pub fn update(&mut self, plan: &ScalePlan, statistics: &Statistics) {
        let Some(target) = Target::find(plan, statistics) else {
            return;
        };
        let first = !self.seen;
        self.seen = true;
        let follow = |now: f64, target: f64, hotter: bool| {
            let frames = if hotter {
                plan.frames_to_hotter
            } else {
                plan.frames_to_colder
            };
            if first {
                target
            } else {
                now + (target - now) / frames
            }
        };
        self.low = follow(self.low, target.low, target.low > self.low);
        self.high = follow(self.high, target.high, target.high > self.high);
        if let Some(goal) = target.curve {
            self.curve = Some(match self.curve.take() {
                None => goal,
                Some(now) => now
                    .iter()
                    .zip(&goal)
                    .map(|(&e, &g)| follow(e, g, g < e))
                    .collect(),
            });
        }
    }
}

/// Where the scale wants to be.
#[derive(Clone, Debug, PartialEq)]
struct Target {
    low: f64,
    high: f64,
    curve: Option<Vec<f64>>,
}

impl Target {
    fn find(plan: &ScalePlan, statistics: &Statistics) -> Option<Self> {
        let (coldest, hottest) = (statistics.coldest?, statistics.hottest?);
        let share = |permille| percentile(&statistics.histogram, permille);
        let (low, high, curve) = match plan.law {
            ScaleLaw::Fixed => (plan.start_low, plan.start_high, None),
            ScaleLaw::Extremes => (coldest.temperature, hottest.temperature, None),
            ScaleLaw::Percentile { low, high } => (share(low)?, share(high)?, None),
            ScaleLaw::Plateau {
                low, high, plateau, ..
            } => {
                let (low, high) = (share(low)?, share(high)?);
                let edges = edges();
                let bins = (bin_of(&edges, low), bin_of(&edges, high));
                let curve = curve_target(
                    &statistics.histogram,
                    bins,
                    plateau,
                    plan.max_grey_per_kelvin,
                );
                (low, high, curve)
            }
        };
        let (low, high) = widened(plan, low, high);
        Some(Self { low, high, curve })
    }
}

/// Moves both ends apart evenly to the least span; a pair that would start below 0 K is moved up.
#[must_use]
pub fn widened(plan: &ScalePlan, low: f64, high: f64) -> (f64, f64) {
    let least = plan.min_span.max(255.0 / plan.max_grey_per_kelvin);
    if high - low >= least {
        return (low, high);
    }
    let start = (f64::midpoint(low, high) - least / 2.0).max(0.0);
    (start, start + least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statistics::measure;

    fn plan(law: ScaleLaw) -> ScalePlan {
        ScalePlan {
            law,
            start_low: 250.0,
            start_high: 450.0,
            frames_to_hotter: 4.0,
            frames_to_colder: 2.0,
            min_span: 20.0,
            max_grey_per_kelvin: 128.0,
        }
    }

    fn seen(temperatures: &[f64]) -> Statistics {
        let frame: Vec<Option<f64>> = temperatures.iter().map(|&t| Some(t)).collect();
        measure(&frame, frame.len())
    }

    #[test]
    fn the_scale_jumps_then_follows_with_its_two_speeds() {
        let plan = plan(ScaleLaw::Extremes);
        let mut scale = Scale::new(&plan);
        assert_eq!(scale.grey(&plan, 350.0), 127.5);
        scale.update(&plan, &measure(&[None], 1));
        assert_eq!((scale.low, scale.high), (250.0, 450.0));
        scale.update(&plan, &seen(&[280.0, 300.0]));
        assert_eq!((scale.low, scale.high), (280.0, 300.0));
        // High 300 -> 400 is hotter: a quarter. Low 280 -> 270 is colder: a half.
        scale.update(&plan, &seen(&[270.0, 400.0]));
        assert_eq!((scale.low, scale.high), (275.0, 325.0));
        assert_eq!(scale.grey(&plan, 285.0), 51.0);
        assert_eq!(scale.grey(&plan, 200.0), 0.0);
        assert_eq!(scale.grey(&plan, 900.0), 255.0);
    }

    #[test]
    fn narrow_scales_are_widened_evenly_and_kept_above_zero() {
        let mut plan = plan(ScaleLaw::Extremes);
        assert_eq!(widened(&plan, 300.0, 300.0), (290.0, 310.0));
        assert_eq!(widened(&plan, 300.0, 320.0), (300.0, 320.0));
        assert_eq!(widened(&plan, 2.0, 4.0), (0.0, 20.0));
        plan.max_grey_per_kelvin = 5.0; // 255 / 5 = 51 K is the wider need
        assert_eq!(widened(&plan, 300.0, 320.0), (284.5, 335.5));
    }

    #[test]
    fn a_fixed_scale_stays() {
        let mut plan = plan(ScaleLaw::Fixed);
        plan.min_span = 300.0;
        let mut scale = Scale::new(&plan);
        assert_eq!((scale.low, scale.high), (250.0, 450.0));
        scale.update(&plan, &seen(&[500.0]));
        assert_eq!((scale.low, scale.high), (200.0, 500.0));
    }

    #[test]
    fn plateau_grey_mixes_curve_and_line() {
        let law = ScaleLaw::Plateau {
            low: 0,
            high: 1000,
            plateau: 1000,
            weight_q8: 128,
        };
        let plan = plan(law);
        let mut scale = Scale::new(&plan);
        scale.update(&plan, &seen(&[300.0, 300.0, 500.0, 500.0]));
        // Two bins of equal share would take 127.5 each; 128 codes/K over 0.25 K allows 32.
        // Step at 300 K is 32, at 500 K (1 K wide) 127.5, so the curve starts at (255 - 159.5)/2.
        let curve = scale.curve.clone().unwrap();
        let at = |t: f64| curve[bin_of(&edges(), t)];
        assert_eq!((at(299.0), at(301.0), at(501.0)), (47.75, 79.75, 207.25));
        // Ends: 300 K and the upper edge of the 500 K bin, 501 K. Line at 500.5 K:
        // 255·200.5/201 = 254.366; curve there: 79.75 + 127.5/2 = 143.5.
        let grey = scale.grey(&plan, 500.5);
        assert!(
            (grey - (143.5 + 255.0 * 200.5 / 201.0) / 2.0).abs() < 1e-9,
            "{grey}"
        );
        // Hotter lowers the curve (a quarter of the way), colder raises it (half of it).
        scale.update(&plan, &seen(&[500.0, 500.0]));
        // New target: one step 127.5 capped at 128 -> 128; o = 63.5.
        let curve = scale.curve.clone().unwrap();
        let at = |t: f64| curve[bin_of(&edges(), t)];
        assert_eq!(at(301.0), 79.75 + (63.5 - 79.75) / 4.0);
        assert_eq!(at(299.0), 47.75 + (63.5 - 47.75) / 2.0);
    }

    #[test]
    fn the_first_curve_is_taken_at_once_even_after_a_frame_without_one() {
        let plan = plan(ScaleLaw::Plateau {
            low: 500,
            high: 501,
            plateau: 1000,
            weight_q8: 256,
        });
        let mut scale = Scale::new(&plan);
        // Both ranks are 2 of 4: the upper edge of the 300 K bin, held by an empty bin.
        scale.update(&plan, &seen(&[300.0, 300.0, 400.0, 400.0]));
        assert_eq!(scale.curve, None);
        // One step of min(255, 128·0.25) = 32 stands in the middle, from 111.5.
        scale.update(&plan, &seen(&[300.0; 4]));
        assert_eq!(scale.grey(&plan, 300.0), 111.5);
        assert_eq!(scale.grey(&plan, 300.125), 127.5);
    }
}
