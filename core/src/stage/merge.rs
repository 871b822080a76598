//! Merge: two gain states become one row of apparent temperature.
//!
//! **Purpose.** Takes each pixel from the state that can see it. **Input**: corrected counts of one
//! or two states. **Output**: temperature codes (1/32 K), 0 where no sample is valid.
//! **Parameters**: [`GainPlan`]. **Latency**: none; the whole-frame plan acts on the frame after.
//! **Memory**: the whole-frame plan's state and run counter. **Source**: the merge is in
//! temperature, because a 16-bit radiance code costs more than the sensor's noise at 300 K.

use crate::calibration::Calibration;
use crate::fixedpoint::{blend_q12_round, permille_of_round, ratio_q16_round, scale_q16_round};
use crate::profile::{GainPlan, WholeFramePlan};
use crate::record::GainInUse;
use crate::stage::correct::{DEAD, SATURATED};
use crate::units::Temperature;

/// What the merge of a frame saw.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct MergeCounts {
    pub(crate) from_low: u32,
    pub(crate) saturated: u32,
    pub(crate) disputed: u32,
}

/// One gain state's table and the temperature its saturation stands for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct State<'a> {
    pub(crate) calibration: &'a Calibration,
    top: u16,
}

impl<'a> State<'a> {
    pub(crate) fn new(calibration: &'a Calibration) -> Self {
        Self {
            calibration,
            top: calibration.code(calibration.saturation()),
        }
    }
}

/// Soft transition of the per-pixel plan.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Transition {
    from: u16,
    weight_factor_q16: u64,
    dispute: u16,
}

impl Transition {
    pub(crate) fn new(from: Temperature, to: Temperature, dispute_k32: u16) -> Self {
        let span = to.to_bits().saturating_sub(from.to_bits());
        Self {
            from: from.to_bits(),
            weight_factor_q16: ratio_q16_round(4096, u32::from(span)),
            dispute: dispute_k32,
        }
    }
}

/// Merges a row, or a part of one, by the state in use.
pub(crate) fn row(
    gain: GainInUse,
    (high_state, low_state): (Option<State<'_>>, Option<State<'_>>),
    transition: Option<Transition>,
    (high, low): (&[u16], &[u16]),
    temperature: &mut [u16],
    counts: &mut MergeCounts,
) {
    match (gain, high_state, low_state, transition) {
        (GainInUse::PerPixel, Some(high_state), Some(low_state), Some(transition)) => {
            per_pixel_row(
                (high_state, low_state),
                transition,
                (high, low),
                temperature,
                counts,
            );
        }
        (GainInUse::High, Some(state), _, _) => {
            single_row(state, false, high, temperature, counts);
        }
        (GainInUse::Low, _, Some(state), _) => single_row(state, true, low, temperature, counts),
        _ => temperature.fill(0),
    }
}

/// Merges a row of one state alone.
pub(crate) fn single_row(
    state: State<'_>,
    is_low: bool,
    samples: &[u16],
    temperature: &mut [u16],
    counts: &mut MergeCounts,
) {
    let (mut saturated, mut valid) = (0, 0);
    for (out, &sample) in temperature.iter_mut().zip(samples) {
        *out = match sample {
            DEAD => 0,
            SATURATED => {
                saturated += 1;
                state.top
            }
            counts => state.calibration.code(counts),
        };
        valid += u32::from(*out != 0);
    }
    counts.saturated += saturated;
    if is_low {
        counts.from_low += valid;
    }
}

/// Merges a row pixel by pixel.
pub(crate) fn per_pixel_row(
    (high_state, low_state): (State<'_>, State<'_>),
    transition: Transition,
    (high, low): (&[u16], &[u16]),
    temperature: &mut [u16],
    counts: &mut MergeCounts,
) {
    const _: () = assert!(DEAD == 0 && SATURATED == u16::MAX);
    // One comparison: both marks wrap to the top.
    let is_valid = |sample: u16| sample.wrapping_sub(1) < SATURATED - 1;
    for (out, (&high, &low)) in temperature.iter_mut().zip(high.iter().zip(low)) {
        *out = if is_valid(high) {
            let th = high_state.calibration.code(high);
            if is_valid(low) {
                let tl = low_state.calibration.code(low);
                if th.abs_diff(tl) > transition.dispute {
                    counts.disputed += 1;
                    counts.from_low += u32::from(tl > th);
                    th.max(tl)
                } else if th <= transition.from {
                    th
                } else {
                    let above = u32::from(th.saturating_sub(transition.from));
                    let weight_q12 = scale_q16_round(above, transition.weight_factor_q16, 4096);
                    counts.from_low += u32::from(weight_q12 >= 2048);
                    blend_q12_round(th, tl, weight_q12)
                }
            } else {
                th
            }
        } else if is_valid(low) {
            counts.from_low += 1;
            low_state.calibration.code(low)
        } else if low == SATURATED {
            counts.from_low += 1;
            counts.saturated += 1;
            low_state.top
        } else if high == SATURATED {
            counts.saturated += 1;
            high_state.top
        } else {
            0
        };
    }
}

/// Which state a whole-frame plan shows, and its way to the other one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shown {
    High,
    Low,
    Blank { left: u8, next_is_low: bool },
}

/// Memory of the gain plan.
#[derive(Clone, Copy, Debug)]
pub(crate) struct GainControl {
    shown: Shown,
    run: u8,
}

impl GainControl {
    pub(crate) const fn new() -> Self {
        Self {
            shown: Shown::High,
            run: 0,
        }
    }

    /// Which state the coming frame is made from.
    pub(crate) const fn in_use(&self, plan: &GainPlan) -> GainInUse {
        match plan {
            GainPlan::PerPixel { .. } => GainInUse::PerPixel,
            GainPlan::HighOnly => GainInUse::High,
            GainPlan::LowOnly => GainInUse::Low,
            GainPlan::WholeFrame(_) => match self.shown {
                Shown::High => GainInUse::High,
                Shown::Low => GainInUse::Low,
                Shown::Blank { .. } => GainInUse::Blank,
            },
        }
    }

    /// The temperature above which the state in use counts pixels.
    pub(crate) const fn watches(&self, plan: &GainPlan) -> Option<Temperature> {
        match (plan, self.shown) {
            (GainPlan::WholeFrame(plan), Shown::High) => Some(plan.enter_above),
            (GainPlan::WholeFrame(plan), Shown::Low) => Some(plan.leave_above),
            _ => None,
        }
    }

    /// Decides after a frame: `above` of its `valid` pixels were above the watched temperature.
    pub(crate) fn decide(&mut self, plan: &GainPlan, above: u32, valid: u32) {
        let GainPlan::WholeFrame(plan) = plan else {
            return;
        };
        let (holds, frames, to_low) = match self.shown {
            Shown::High => {
                let share = u64::from(above) * 1000;
                let needed = u64::from(plan.enter_permille) * u64::from(valid);
                (valid > 0 && share >= needed, plan.enter_frames, true)
            }
            Shown::Low => {
                let share = u64::from(above) * 1000;
                let allowed = u64::from(plan.leave_permille) * u64::from(valid);
                (valid > 0 && share <= allowed, plan.leave_frames, false)
            }
            Shown::Blank { left, next_is_low } => {
                self.shown = match left.checked_sub(1) {
                    None | Some(0) => Self::state(next_is_low),
                    Some(left) => Shown::Blank { left, next_is_low },
                };
                return;
            }
        };
        self.run = if holds { self.run.saturating_add(1) } else { 0 };
        if self.run >= frames {
            self.switch(plan, to_low);
        }
    }

    fn switch(&mut self, plan: &WholeFramePlan, to_low: bool) {
        self.run = 0;
        self.shown = match plan.blank_frames {
            0 => Self::state(to_low),
            left => Shown::Blank {
                left,
                next_is_low: to_low,
            },
        };
    }

    const fn state(is_low: bool) -> Shown {
        if is_low { Shown::Low } else { Shown::High }
    }
}

/// Cap of a bin: a share of the valid pixels, at least one.
pub(crate) fn plateau_cap(valid: u32, plateau_permille: u16) -> u32 {
    permille_of_round(valid, plateau_permille).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn linear(offset: u16) -> Calibration {
        let knots = core::array::from_fn(|i| Temperature::from_bits((i * 64) as u16 + offset));
        Calibration::new(6, knots, 16_000).unwrap()
    }

    #[test]
    fn the_transition_is_hand_calculated_at_its_ends_and_middle() {
        let (a, b) = (linear(0), linear(320)); // low gain reads 10 K higher
        let transition = Transition::new(
            Temperature::from_bits(1000),
            Temperature::from_bits(2000),
            640,
        );
        let mut out = [0; 5];
        let mut counts = MergeCounts::default();
        per_pixel_row(
            (State::new(&a), State::new(&b)),
            transition,
            (
                &[1000, 1500, 2000, 500, 1250],
                &[1000, 1500, 2000, 500, 1250],
            ),
            &mut out,
            &mut counts,
        );
        assert_eq!(out, [1000, 1660, 2320, 500, 1330]);
        assert_eq!(
            (counts.from_low, counts.disputed, counts.saturated),
            (2, 0, 0)
        );
    }

    #[test]
    fn dispute_shows_the_hotter_and_saturation_falls_through() {
        let (a, b) = (linear(0), linear(0));
        let transition = Transition::new(
            Temperature::from_bits(1000),
            Temperature::from_bits(2000),
            100,
        );
        let mut out = [0; 6];
        let mut counts = MergeCounts::default();
        per_pixel_row(
            (State::new(&a), State::new(&b)),
            transition,
            (
                &[1000, 1300, SATURATED, SATURATED, DEAD, SATURATED],
                &[1300, 1000, 5000, SATURATED, DEAD, DEAD],
            ),
            &mut out,
            &mut counts,
        );
        assert_eq!(out, [1300, 1300, 5000, 16_000, 0, 16_000]);
        assert_eq!(
            (counts.from_low, counts.disputed, counts.saturated),
            (3, 2, 2)
        );
    }

    #[test]
    fn the_whole_frame_switches_after_its_run_and_its_blanks() {
        let whole = WholeFramePlan {
            enter_above: Temperature::from_bits(12_000),
            enter_permille: 100,
            enter_frames: 2,
            leave_above: Temperature::from_bits(11_000),
            leave_permille: 20,
            leave_frames: 3,
            blank_frames: 1,
        };
        let plan = GainPlan::WholeFrame(whole);
        let mut control = GainControl::new();
        let mut seen = std::vec::Vec::new();
        // Share above: 10 % for 4 frames, then 2 %.
        for frame in 0..10 {
            seen.push(control.in_use(&plan));
            control.decide(&plan, if frame < 4 { 10 } else { 2 }, 100);
        }
        use GainInUse::{Blank, High, Low};
        assert_eq!(
            seen,
            [High, High, Blank, Low, Low, Low, Low, Blank, High, High]
        );
    }

    #[test]
    fn one_cold_frame_breaks_the_run() {
        let mut control = GainControl::new();
        let plan = GainPlan::WholeFrame(WholeFramePlan {
            enter_above: Temperature::from_bits(12_000),
            enter_permille: 100,
            enter_frames: 2,
            leave_above: Temperature::from_bits(11_000),
            leave_permille: 0,
            leave_frames: 1,
            blank_frames: 0,
        });
        for above in [50, 9, 50, 9, 50] {
            control.decide(&plan, above, 100);
            assert_eq!(control.in_use(&plan), GainInUse::High);
        }
        control.decide(&plan, 50, 100);
        assert_eq!(control.in_use(&plan), GainInUse::Low);
    }
}
