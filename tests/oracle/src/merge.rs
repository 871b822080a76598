//! Stage 3, merge: one temperature picture from one or two gain states.

use crate::config::{Calibration, Config, GainPlan, WholeFrame};
use crate::correct::{Corrected, Sample, correct};

/// Coldest temperature a valid pixel has, kelvin.
pub const LEAST: f64 = 1.0 / 32.0;

/// Gain state a frame is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GainInUse {
    /// Both, pixel by pixel.
    PerPixel,
    /// High gain.
    High,
    /// Low gain.
    Low,
    /// None: the sensor is switching.
    Blank,
}

/// One merged pixel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pixel {
    /// Kelvin; none if the pixel is invalid.
    pub temperature: Option<f64>,
    /// Counts as taken from low gain.
    pub from_low: bool,
    /// At the top of what the states in use can tell.
    pub saturated: bool,
    /// Both states valid and further apart than the dispute limit.
    pub disputed: bool,
    /// Defective, replaced in a state in use.
    pub replaced: bool,
    /// Kelvin from the nearest decision (dispute limit, half weight); infinite if none was made.
    pub margin: f64,
    /// |tl − th|/(to − from) inside the blend and 1 K around it, 0 elsewhere: how far the result moves
    /// for a kelvin of error in the high-gain temperature.
    pub steepness: f64,
}

impl Default for Pixel {
    fn default() -> Self {
        Self {
            temperature: None,
            from_low: false,
            saturated: false,
            disputed: false,
            replaced: false,
            margin: f64::INFINITY,
            steepness: 0.0,
        }
    }
}

/// A classified sample as temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Reading {
    Dead,
    Saturated(f64),
    Valid(f64),
}

/// The merge with its state.
#[derive(Clone, Debug)]
pub struct Merge {
    state: GainInUse,
    run: u32,
    blanks_left: u32,
}

impl Merge {
    /// State before the first frame: high gain for the whole-frame plan.
    #[must_use]
    pub fn new(plan: &GainPlan) -> Self {
        let state = match plan {
            GainPlan::PerPixel { .. } => GainInUse::PerPixel,
            GainPlan::LowOnly => GainInUse::Low,
            GainPlan::HighOnly | GainPlan::WholeFrame(_) => GainInUse::High,
        };
        Self {
            state,
            run: 0,
            blanks_left: 0,
        }
    }

    /// Gain state of the frame to come.
    #[must_use]
    pub fn in_use(&self) -> GainInUse {
        if self.blanks_left > 0 {
            GainInUse::Blank
        } else {
            self.state
        }
    }

    /// Passes one blank frame.
    pub fn pass_blank(&mut self) {
        self.blanks_left = self.blanks_left.saturating_sub(1);
    }

    /// Whole-frame decision after a frame with these temperatures; other plans never change.
    pub fn decide(&mut self, plan: &GainPlan, temperature: &[Option<f64>]) {
        let GainPlan::WholeFrame(rule) = plan else {
            return;
        };
        let valid = temperature.iter().flatten().count();
        let above = |limit: f64| temperature.iter().flatten().filter(|&&t| t > limit).count();
        let (holds, frames, next) = if self.state == GainInUse::High {
            let count = above(rule.enter_above);
            (
                count * 1000 >= usize::from(rule.enter_permille) * valid,
                rule.enter_frames,
                GainInUse::Low,
            )
        } else {
            let count = above(rule.leave_above);
            (
                count * 1000 <= usize::from(rule.leave_permille) * valid,
                rule.leave_frames,
                GainInUse::High,
            )
        };
        self.count(holds && valid > 0, frames, next, rule);
    }

    fn count(&mut self, holds: bool, frames: u32, next: GainInUse, rule: &WholeFrame) {
        self.run = if holds { self.run + 1 } else { 0 };
        if self.run >= frames {
            self.state = next;
            self.run = 0;
            self.blanks_left = rule.blank_frames;
        }
    }
}

/// Merges the frames of the states in use; a state without frame or calibration is dead throughout.
#[must_use]
pub fn merge(
    config: &Config,
    in_use: GainInUse,
    high: Option<&[u16]>,
    low: Option<&[u16]>,
) -> Vec<Pixel> {
    let len = config.width * config.height;
    let defects = config.defects.as_deref();
    let state = |raw: Option<&[u16]>, calibration: &Option<Calibration>, table| {
        let (Some(raw), Some(calibration)) = (raw, calibration) else {
            return (vec![Reading::Dead; len], vec![false; len]);
        };
        let out: Corrected = correct(raw, config.width, calibration.saturation, table, defects);
        (
            out.samples
                .iter()
                .map(|&s| reading(s, calibration))
                .collect(),
            out.replaced,
        )
    };
    let (th, replaced_h) = state(high, &config.high, config.high_correction.as_ref());
    let (tl, replaced_l) = state(low, &config.low, config.low_correction.as_ref());
    (0..len)
        .map(|i| match (in_use, config.gain) {
            (GainInUse::PerPixel, GainPlan::PerPixel { from, to, dispute }) => Pixel {
                replaced: replaced_h[i] || replaced_l[i],
                ..both(th[i], tl[i], from, to, dispute)
            },
            (GainInUse::Low, _) => {
                let pixel = single(tl[i]);
                Pixel {
                    from_low: pixel.temperature.is_some(),
                    replaced: replaced_l[i],
                    ..pixel
                }
            }
            (GainInUse::Blank, _) => Pixel::default(),
            _ => Pixel {
                replaced: replaced_h[i],
                ..single(th[i])
            },
        })
        .collect()
}

fn reading(sample: Sample, calibration: &Calibration) -> Reading {
    match sample {
        Sample::Dead => Reading::Dead,
        Sample::Saturated => {
            Reading::Saturated(calibration.temperature(calibration.saturation).max(LEAST))
        }
        Sample::Valid(counts) => Reading::Valid(calibration.temperature(counts).max(LEAST)),
    }
}

fn single(reading: Reading) -> Pixel {
    match reading {
        Reading::Dead => Pixel::default(),
        Reading::Saturated(top) => Pixel {
            temperature: Some(top),
            saturated: true,
            ..Pixel::default()
        },
        Reading::Valid(t) => Pixel {
            temperature: Some(t),
            ..Pixel::default()
        },
    }
}

fn both(high: Reading, low: Reading, from: f64, to: f64, dispute: f64) -> Pixel {
    match (high, low) {
        (Reading::Valid(th), Reading::Valid(tl)) if (th - tl).abs() > dispute => Pixel {
            temperature: Some(th.max(tl)),
            from_low: tl > th,
            disputed: true,
            margin: (th - tl).abs() - dispute,
            ..Pixel::default()
        },
        (Reading::Valid(th), Reading::Valid(tl)) => {
            let w = ((th - from) / (to - from)).clamp(0.0, 1.0);
            Pixel {
                temperature: Some(th + w * (tl - th)),
                from_low: w >= 0.5,
                margin: (dispute - (th - tl).abs()).min((th - f64::midpoint(from, to)).abs()),
                steepness: if th > from - 1.0 && th < to + 1.0 {
                    (tl - th).abs() / (to - from)
                } else {
                    0.0
                },
                ..Pixel::default()
            }
        }
        (_, Reading::Valid(tl)) => Pixel {
            temperature: Some(tl),
            from_low: true,
            ..Pixel::default()
        },
        (Reading::Valid(th), _) => single(Reading::Valid(th)),
        (_, Reading::Saturated(top)) => Pixel {
            from_low: true,
            ..single(Reading::Saturated(top))
        },
        (high, Reading::Dead) => single(high),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::ScaleLaw;

    const FROM: f64 = 380.0;
    const TO: f64 = 400.0;

    fn blend(high: Reading, low: Reading) -> Pixel {
        both(high, low, FROM, TO, 30.0)
    }

    #[test]
    fn blend_moves_with_the_high_gain_temperature() {
        use Reading::Valid;
        assert_eq!(blend(Valid(380.0), Valid(390.0)).temperature, Some(380.0));
        let quarter = blend(Valid(385.0), Valid(389.0));
        assert_eq!(
            (quarter.temperature, quarter.from_low),
            (Some(386.0), false)
        );
        let half = blend(Valid(390.0), Valid(394.0));
        assert_eq!((half.temperature, half.from_low), (Some(392.0), true));
        assert_eq!(blend(Valid(405.0), Valid(420.0)).temperature, Some(420.0));
        // |385 - 389| is 26 K inside the dispute limit, 385 K is 5 K from half weight.
        assert_eq!((quarter.margin, quarter.steepness), (5.0, 0.2));
    }

    #[test]
    fn a_dispute_shows_the_hotter() {
        use Reading::Valid;
        let low_wins = blend(Valid(300.0), Valid(331.0));
        assert_eq!(
            (low_wins.temperature, low_wins.from_low),
            (Some(331.0), true)
        );
        assert!(low_wins.disputed);
        let high_wins = blend(Valid(331.0), Valid(300.0));
        assert_eq!(
            (high_wins.temperature, high_wins.from_low),
            (Some(331.0), false)
        );
        assert!(!blend(Valid(300.0), Valid(330.0)).disputed); // exactly the limit
    }

    #[test]
    fn missing_samples_follow_the_page() {
        use Reading::{Dead, Saturated, Valid};
        let t = |h, l| blend(h, l);
        assert_eq!(t(Dead, Valid(500.0)).temperature, Some(500.0));
        assert!(t(Saturated(420.0), Valid(500.0)).from_low);
        assert!(!t(Saturated(420.0), Valid(500.0)).saturated);
        assert!(!t(Valid(300.0), Dead).from_low);
        let top_l = t(Saturated(420.0), Saturated(900.0));
        assert_eq!(
            (top_l.temperature, top_l.saturated, top_l.from_low),
            (Some(900.0), true, true)
        );
        let top_h = t(Saturated(420.0), Dead);
        assert_eq!(
            (top_h.temperature, top_h.saturated, top_h.from_low),
            (Some(420.0), true, false)
        );
        assert_eq!(t(Dead, Saturated(900.0)).temperature, Some(900.0));
        assert_eq!(t(Dead, Dead).temperature, None);
    }

    fn rule() -> GainPlan {
        GainPlan::WholeFrame(WholeFrame {
            enter_above: 400.0,
            enter_permille: 500,
            enter_frames: 2,
            leave_above: 350.0,
            leave_permille: 250,
            leave_frames: 1,
            blank_frames: 2,
        })
    }

    #[test]
    fn the_whole_frame_switches_after_its_runs_and_blanks() {
        let plan = rule();
        let mut state = Merge::new(&plan);
        let hot = [Some(401.0), Some(401.0), Some(300.0), Some(300.0), None];
        let edge = [Some(400.0), Some(401.0), Some(300.0), Some(300.0), None];
        state.decide(&plan, &hot);
        state.decide(&plan, &edge); // 400 K is not above 400 K: the run starts again
        state.decide(&plan, &hot);
        assert_eq!(state.in_use(), GainInUse::High);
        state.decide(&plan, &hot);
        assert_eq!(state.in_use(), GainInUse::Blank);
        state.pass_blank();
        assert_eq!(state.in_use(), GainInUse::Blank);
        state.pass_blank();
        assert_eq!(state.in_use(), GainInUse::Low);
        state.decide(&plan, &hot); // 2 of 4 above 350 K: more than 250 permille
        assert_eq!(state.in_use(), GainInUse::Low);
        state.decide(&plan, &[None, None]); // no valid pixel decides nothing
        assert_eq!(state.in_use(), GainInUse::Low);
        state.decide(&plan, &edge[1..]); // 1 of 3 above: 333 permille
        assert_eq!(state.in_use(), GainInUse::Low);
        state.decide(&plan, &[Some(351.0), Some(350.0), Some(1.0), Some(2.0)]); // 250 permille
        assert_eq!(state.in_use(), GainInUse::Blank);
        state.pass_blank();
        state.pass_blank();
        assert_eq!(state.in_use(), GainInUse::High);
    }

    #[test]
    fn a_replaced_pixel_counts_in_the_state_in_use_alone() {
        let mut config = Config::grey(2, 1, rule(), ScaleLaw::Fixed, (200.0, 400.0));
        config.high = Some(Calibration::identity());
        config.low = Some(Calibration::identity());
        config.defects = Some(vec![false, true]);
        let high = merge(
            &config,
            GainInUse::High,
            Some(&[0, 9600]),
            Some(&[9600, 9600]),
        );
        assert_eq!((high[1].temperature, high[1].replaced), (None, false));
        let low = merge(
            &config,
            GainInUse::Low,
            Some(&[0, 9600]),
            Some(&[9632, 9600]),
        );
        assert_eq!((low[1].temperature, low[1].replaced), (Some(301.0), true));
        assert!(low[1].from_low);
    }

    #[test]
    fn a_valid_temperature_is_never_zero() {
        let mut knots = vec![0.0; 257];
        knots[256] = 100.0;
        let calibration = Calibration {
            shift: 6,
            knots,
            saturation: 16_000,
        };
        assert_eq!(
            reading(Sample::Valid(5), &calibration),
            Reading::Valid(LEAST)
        );
        assert_eq!(
            reading(Sample::Saturated, &calibration),
            Reading::Saturated(LEAST)
        );
    }
}
