//! Scale: from a frame's statistics, with memory, to the next frame's grey.
//!
//! **Purpose.** Finds black and white (and the equalisation curve), smooths them, and applies them.
//! **Input**: statistics of the frame before; temperature codes. **Output**: grey, 8.8 bits.
//! **Parameters**: [`ScalePlan`]. **Latency**: one frame, plus the smoothing. **Memory**: two ends
//! and one curve value a bin edge. **Source**: plateau-limited equalisation after Vickers, Opt.
//! Eng. 35(7), 1996 (from memory); the slope limit is our own.

use crate::fixedpoint::{
    approach, blend_q8_round, code_to_q13, edge_to_q13, grey_q16_to_q8_round, half_floor,
    lerp_shift_round, permille_of_round, q13_to_code_round, ratio_q24_round,
    scale_q24_to_grey_q8_round, share_round, slope_step_q16, span_of_slope_q13, width_q13,
};
use crate::profile::{ScaleLaw, ScalePlan};
use crate::stage::merge::plateau_cap;
use crate::stage::statistics::{BINS, Statistics, bin_of, edge_of, width_shift};
use crate::units::Temperature;

/// White in the Q16 grey of a curve.
const WHITE_Q16: u32 = 255 << 16;

/// Gives the plateau-limited equalisation curve of a histogram at its `histogram.len() + 1` edges.
///
/// Bins `first` to `last` count for at most `cap` each; the rest for nothing. `limit` is the
/// greatest step over a bin. Grey is Q16, 0 to 255.0; steps that the limit cut leave the curve in
/// the middle of the range. Gives `false`, and leaves the curve alone, if no bin counts.
///
/// ```
/// use glowsill_core::stage::scale::plateau_curve;
/// let mut edges = [0; 4];
/// assert!(plateau_curve(&[5, 0, 20], 0, 2, 10, |_| u32::MAX, &mut edges));
/// assert_eq!(edges, [0, 85 << 16, 85 << 16, 255 << 16]); // 5 and 10 of 15
/// ```
pub fn plateau_curve(
    histogram: &[u32],
    first: usize,
    last: usize,
    cap: u32,
    limit: impl Fn(usize) -> u32,
    edges: &mut [u32],
) -> bool {
    let counted = |bin: usize, count: u32| {
        if bin < first || bin > last {
            0
        } else {
            count.min(cap)
        }
    };
    let bins = || (0..histogram.len()).zip(histogram);
    let total = bins().fold(0u32, |sum, (bin, count)| {
        sum.saturating_add(counted(bin, *count))
    });
    if total == 0 {
        return false;
    }
    let mut height = 0u32;
    let mut edge = edges.iter_mut();
    if let Some(lowest) = edge.next() {
        *lowest = 0;
    }
    for ((bin, count), edge) in bins().zip(edge) {
        let step = share_round(WHITE_Q16, counted(bin, *count), total).min(limit(bin));
        height = height.saturating_add(step).min(WHITE_Q16);
        *edge = height;
    }
    let lift = half_floor(WHITE_Q16 - height);
    // A curve that no limit cut misses white by rounding alone.
    let lift = if lift < 1024 { 0 } else { lift };
    for edge in edges.iter_mut() {
        *edge = edge.saturating_add(lift);
    }
    true
}

/// Gives the temperature (1/8192 K) below which a share of the valid pixels lies.
fn percentile_q13(seen: &Statistics, permille: u16) -> u32 {
    let rank = permille_of_round(seen.valid, permille);
    let mut before = 0u32;
    for (bin, &count) in (0..BINS).zip(&seen.histogram) {
        let reached = before.saturating_add(count);
        if count > 0 && reached >= rank {
            let wanted = rank.saturating_sub(before);
            let part = share_round(width_q13(width_shift(bin)), wanted, count);
            return edge_to_q13(edge_of(bin)).saturating_add(part);
        }
        before = reached;
    }
    0
}

/// Memory of the scale.
#[derive(Clone, Debug)]
pub(crate) struct ScaleControl {
    low_q13: u32,
    high_q13: u32,
    /// Equalisation curve at the bin edges, Q16.
    curve: [u32; BINS + 1],
    has_curve: bool,
    started: bool,
}

impl ScaleControl {
    pub(crate) fn new(plan: &ScalePlan) -> Self {
        Self {
            low_q13: code_to_q13(plan.start_low.to_bits()),
            high_q13: code_to_q13(plan.start_high.to_bits()),
            curve: [0; BINS + 1],
            has_curve: false,
            started: false,
        }
    }

    /// Decides the next frame's scale from this frame's statistics.
    pub(crate) fn decide(
        &mut self,
        plan: &ScalePlan,
        seen: &Statistics,
        work: &mut [u32; BINS + 1],
    ) {
        let (Some(coldest), Some(hottest)) = (seen.coldest, seen.hottest) else {
            return;
        };
        let raw = match plan.law {
            ScaleLaw::Fixed => (
                code_to_q13(plan.start_low.to_bits()),
                code_to_q13(plan.start_high.to_bits()),
            ),
            ScaleLaw::Extremes => (
                code_to_q13(coldest.temperature.to_bits()),
                code_to_q13(hottest.temperature.to_bits()),
            ),
            ScaleLaw::Percentile {
                low_permille,
                high_permille,
            }
            | ScaleLaw::Plateau {
                low_permille,
                high_permille,
                ..
            } => (
                percentile_q13(seen, low_permille),
                percentile_q13(seen, high_permille),
            ),
        };
        let (low, high) = widen(plan, raw);
        let step = |from: u32, to: u32, is_hotter: bool| {
            let frames = if is_hotter {
                plan.frames_to_hotter
            } else {
                plan.frames_to_colder
            };
            approach(from, to, if self.started { frames } else { 1 })
        };
        self.low_q13 = step(self.low_q13, low, low > self.low_q13);
        self.high_q13 = step(self.high_q13, high, high > self.high_q13);
        if let ScaleLaw::Plateau {
            plateau_permille, ..
        } = plan.law
        {
            let first = bin_of(edge_code_of(raw.0));
            let last = bin_of(edge_code_of(raw.1));
            let cap = plateau_cap(seen.valid, plateau_permille);
            let limit = |bin| slope_step_q16(plan.max_grey_per_kelvin, width_shift(bin));
            if plateau_curve(&seen.histogram, first, last, cap, limit, work) {
                for (value, &target) in self.curve.iter_mut().zip(work.iter()) {
                    *value = if self.has_curve {
                        step(*value, target, target < *value)
                    } else {
                        target
                    };
                }
                self.has_curve = true;
            }
        }
        self.started = true;
    }

    pub(crate) fn low(&self) -> Temperature {
        Temperature::from_bits(q13_to_code_round(self.low_q13))
    }

    pub(crate) fn high(&self) -> Temperature {
        Temperature::from_bits(q13_to_code_round(self.high_q13))
    }

    /// Makes the form that rows are drawn with.
    pub(crate) fn law(&self, plan: &ScalePlan) -> GreyLaw {
        let weight_q8 = match plan.law {
            ScaleLaw::Plateau { weight_q8, .. } if self.has_curve => weight_q8,
            _ => 0,
        };
        GreyLaw::between(self.low_q13, self.high_q13, weight_q8)
    }

    /// Draws one row in grey.
    pub(crate) fn apply_row(&self, law: GreyLaw, temperature: &[u16], grey_q8: &mut [u16]) {
        if law.weight_q8 == 0 {
            for (grey, &code) in grey_q8.iter_mut().zip(temperature) {
                *grey = law.linear(code);
            }
        } else {
            for (grey, &code) in grey_q8.iter_mut().zip(temperature) {
                *grey = blend_q8_round(law.linear(code), self.equalised(code), law.weight_q8);
            }
        }
    }

    /// Grey of one code, 8.8 bits.
    #[inline]
    pub(crate) fn grey(&self, law: GreyLaw, code: u16) -> u16 {
        if law.weight_q8 == 0 {
            law.linear(code)
        } else {
            blend_q8_round(law.linear(code), self.equalised(code), law.weight_q8)
        }
    }

    #[inline]
    fn equalised(&self, code: u16) -> u16 {
        let bin = bin_of(code);
        let Some(&[from, to]) = self.curve.get(bin..bin.wrapping_add(2)) else {
            return 0;
        };
        let fraction = u32::from(code).wrapping_sub(edge_of(bin));
        lerp_shift_round(
            grey_q16_to_q8_round(from),
            grey_q16_to_q8_round(to),
            fraction,
            width_shift(bin),
        )
    }
}

/// The linear part of a frame's scale, and how much of the curve is mixed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct GreyLaw {
    low_q13: u32,
    span: u32,
    slope_q24: u64,
    weight_q8: u16,
}

impl GreyLaw {
    /// Black everywhere.
    pub(crate) const NONE: Self = Self {
        low_q13: 0,
        span: 0,
        slope_q24: 0,
        weight_q8: 0,
    };

    /// Whether no curve is mixed in.
    pub(crate) const fn is_linear(self) -> bool {
        self.weight_q8 == 0
    }

    /// The linear law between two ends in 1/8192 K.
    const fn between(low_q13: u32, high_q13: u32, weight_q8: u16) -> Self {
        let span = high_q13.saturating_sub(low_q13);
        Self {
            low_q13,
            span,
            slope_q24: ratio_q24_round(65_280, span),
            weight_q8,
        }
    }

    #[inline]
    pub(crate) fn linear(self, code: u16) -> u16 {
        let above = code_to_q13(code)
            .saturating_sub(self.low_q13)
            .min(self.span);
        scale_q24_to_grey_q8_round(above, self.slope_q24)
    }
}

/// The code of an end that may stand at the top edge of its bin: the bin below holds it.
fn edge_code_of(end_q13: u32) -> u16 {
    crate::fixedpoint::q13_to_code_floor(end_q13)
}

/// Moves the ends apart evenly until the least span and the slope limit are kept.
fn widen(plan: &ScalePlan, (low, high): (u32, u32)) -> (u32, u32) {
    let least = code_to_q13(plan.min_span_k32).max(span_of_slope_q13(plan.max_grey_per_kelvin));
    if high.saturating_sub(low) >= least {
        return (low, high);
    }
    let low = half_floor(low.saturating_add(high).saturating_sub(least));
    (low, low.saturating_add(least))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(law: ScaleLaw) -> ScalePlan {
        ScalePlan {
            law,
            start_low: Temperature::from_bits(9000),
            start_high: Temperature::from_bits(10_000),
            frames_to_hotter: 2,
            frames_to_colder: 4,
            min_span_k32: 640,
            max_grey_per_kelvin: 64,
        }
    }

    fn seen(codes: &[u16]) -> Statistics {
        let mut seen = Statistics::new();
        seen.add_row((0, 0), codes, None);
        seen
    }

    #[test]
    fn first_frame_is_the_start_then_a_jump_then_smoothing() {
        let plan = plan(ScaleLaw::Extremes);
        let mut control = ScaleControl::new(&plan);
        let mut work = [0; BINS + 1];
        assert_eq!(
            (control.low().to_bits(), control.high().to_bits()),
            (9000, 10_000)
        );
        control.decide(&plan, &seen(&[9600, 12_800]), &mut work);
        assert_eq!(
            (control.low().to_bits(), control.high().to_bits()),
            (9600, 12_800)
        );
        // Half of the way to hotter, a quarter of the way to colder.
        control.decide(&plan, &seen(&[9200, 13_800]), &mut work);
        assert_eq!(
            (control.low().to_bits(), control.high().to_bits()),
            (9500, 13_300)
        );
    }

    #[test]
    fn a_flat_scene_is_widened_about_its_middle() {
        let plan = plan(ScaleLaw::Extremes);
        let mut control = ScaleControl::new(&plan);
        control.decide(&plan, &seen(&[9600, 9610]), &mut [0; BINS + 1]);
        assert_eq!(
            (control.low().to_bits(), control.high().to_bits()),
            (9285, 9925)
        );
        let law = control.law(&plan);
        assert_eq!(law.linear(9605), 32_640); // 127.5
    }

    #[test]
    fn linear_grey_meets_its_ends() {
        let plan = plan(ScaleLaw::Fixed);
        let law = ScaleControl::new(&plan).law(&plan);
        assert_eq!((law.linear(8000), law.linear(9000)), (0, 0));
        assert_eq!((law.linear(10_000), law.linear(u16::MAX)), (65_280, 65_280));
        assert_eq!(law.linear(9250), 16_320);
    }

    #[test]
    fn percentiles_interpolate_inside_the_bin() {
        // Four pixels in the bin from 9600 (300 K, 8 codes wide), four at 9608.
        let seen = seen(&[9600, 9601, 9602, 9603, 9608, 9608, 9608, 9608]);
        assert_eq!(percentile_q13(&seen, 0), 9600 << 8);
        assert_eq!(percentile_q13(&seen, 250), 9604 << 8);
        assert_eq!(percentile_q13(&seen, 500), 9608 << 8);
        assert_eq!(percentile_q13(&seen, 1000), 9616 << 8);
    }

    #[test]
    fn the_slope_limit_leaves_a_flat_scene_in_the_middle() {
        let mut edges = [0; 3];
        assert!(plateau_curve(
            &[10, 10],
            0,
            1,
            100,
            |_| 10 << 16,
            &mut edges
        ));
        // Two steps of 10 in 255: from 117.5 to 137.5.
        assert_eq!(
            edges,
            [
                117 * 65_536 + 32_768,
                127 * 65_536 + 32_768,
                137 * 65_536 + 32_768
            ]
        );
    }

    #[test]
    fn an_empty_histogram_leaves_the_curve_alone() {
        let mut edges = [7; 3];
        assert!(!plateau_curve(&[0, 0], 0, 1, 5, |_| 1, &mut edges));
        assert_eq!(edges, [7; 3]);
    }
}
