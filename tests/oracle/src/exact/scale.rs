//! Sections 4 and 5: bins, percentiles, ends, the plateau curve, and grey.

use super::plan::{Law, Scale};
use super::{floor, length, place, rnd};

/// Zones of bins in codes: end, width.
const ZONES: [(i64, i64); 4] = [(7_680, 256), (13_824, 8), (19_968, 32), (65_536, 256)];
const WHITE: i64 = 255 * 65_536;

/// Lower edges of the bins in codes, and the upper edge of the last one.
pub(crate) fn edges() -> Vec<i64> {
    let mut edges = vec![0];
    let mut edge = 0;
    for (end, width) in ZONES {
        while edge < end {
            edge += width;
            edges.push(edge);
        }
    }
    edges
}

/// The bin with `edge[k]` ≤ T < `edge[k + 1]`.
pub(crate) fn bin_of(edges: &[i64], code: i64) -> usize {
    edges
        .partition_point(|edge| *edge <= code)
        .saturating_sub(1)
        .min(edges.len() - 2)
}

/// Code, column and row of the first pixel in row order that no other one is beyond.
pub(crate) fn extreme(codes: &[i64], width: usize, hottest: bool) -> Option<[i64; 3]> {
    let valid = || codes.iter().copied().filter(|t| *t != 0);
    let code = if hottest {
        valid().max()
    } else {
        valid().min()
    }?;
    let i = codes.iter().position(|t| *t == code)?;
    Some([code, length(i % width), length(i / width)])
}

fn move_by(from: i64, to: i64, frames: i64) -> i64 {
    // Rust's `/` rounds toward 0, as this rule does.
    from + (to - from) / frames
}

/// Memory of the scale.
#[derive(Clone, Debug)]
pub(crate) struct ScaleState {
    plan: Scale,
    edges: Vec<i64>,
    low: i64,
    high: i64,
    curve: Option<Vec<i64>>,
    started: bool,
}

impl ScaleState {
    pub(crate) fn new(plan: Scale) -> Self {
        Self {
            plan,
            edges: edges(),
            low: 256 * plan.start_low,
            high: 256 * plan.start_high,
            curve: None,
            started: false,
        }
    }

    /// Both ends as the record says them.
    pub(crate) fn ends(&self) -> [i64; 2] {
        [self.low, self.high].map(|end| rnd(end, 256).min(65_535))
    }

    /// Grey in 1/256 of a code.
    pub(crate) fn grey(&self, code: i64) -> i64 {
        let span = self.high - self.low;
        let slope = rnd(65_280 << 24, span);
        let d = (256 * code - self.low).clamp(0, span);
        let linear = rnd(d * slope, 1 << 24).min(65_280);
        let Some(curve) = self.curve.as_ref().filter(|_| self.plan.weight != 0) else {
            return linear;
        };
        let k = bin_of(&self.edges, code);
        let [from, to] = [curve[k], curve[k + 1]].map(|e| rnd(e, 256).min(65_280));
        let [edge, next] = [self.edges[k], self.edges[k + 1]];
        let equalised = from + rnd((to - from) * (code - edge), next - edge);
        linear + rnd((equalised - linear) * self.plan.weight, 256)
    }

    fn histogram(&self, codes: &[i64]) -> Vec<i64> {
        let mut histogram = vec![0; self.edges.len() - 1];
        for code in codes.iter().filter(|t| **t != 0) {
            histogram[bin_of(&self.edges, *code)] += 1;
        }
        histogram
    }

    fn percentile(&self, histogram: &[i64], permille: i64) -> i64 {
        let rank = rnd(histogram.iter().sum::<i64>() * permille, 1000);
        let mut before = 0;
        for (k, &n) in histogram.iter().enumerate() {
            if n > 0 && before + n >= rank {
                let width = self.edges[k + 1] - self.edges[k];
                return 256 * self.edges[k] + rnd(256 * width * (rank - before), n);
            }
            before += n;
        }
        0
    }

    /// Decides the next frame's scale.
    pub(crate) fn after(&mut self, codes: &[i64]) {
        let (Some(cold), Some(hot)) = (extreme(codes, 1, false), extreme(codes, 1, true)) else {
            return;
        };
        let plan = self.plan;
        let histogram = self.histogram(codes);
        let (low, high) = match plan.law {
            Law::Fixed => (256 * plan.start_low, 256 * plan.start_high),
            Law::Extremes => (256 * cold[0], 256 * hot[0]),
            Law::Percentile | Law::Plateau => (
                self.percentile(&histogram, plan.low_permille),
                self.percentile(&histogram, plan.high_permille),
            ),
        };
        let ends = widened(&plan, low, high);
        let frames = |hotter: bool| match (self.started, hotter) {
            (false, _) => 1,
            (true, true) => plan.to_hotter,
            (true, false) => plan.to_colder,
        };
        let [new_low, new_high] = [(self.low, ends.0), (self.high, ends.1)]
            .map(|(now, target)| move_by(now, target, frames(target > now)));
        let target = (plan.law == Law::Plateau)
            .then(|| self.target_curve(&histogram, low, high))
            .flatten();
        if let Some(target) = target {
            self.curve = Some(match &self.curve {
                None => target,
                Some(curve) => curve
                    .iter()
                    .zip(target)
                    .map(|(now, target)| move_by(*now, target, frames(target < *now)))
                    .collect(),
            });
        }
        (self.low, self.high, self.started) = (new_low, new_high, true);
    }

    fn target_curve(&self, histogram: &[i64], low: i64, high: i64) -> Option<Vec<i64>> {
        let [first, last] = [low, high].map(|end| bin_of(&self.edges, floor(end, 256).min(65_535)));
        let valid: i64 = histogram.iter().sum();
        let most = rnd(valid * self.plan.plateau_permille, 1000).max(1);
        let held: Vec<i64> = histogram
            .iter()
            .enumerate()
            .map(|(k, n)| {
                if (first..=last).contains(&k) {
                    *n.min(&most)
                } else {
                    0
                }
            })
            .collect();
        let total: i64 = held.iter().sum();
        if total == 0 {
            return None;
        }
        let mut heights = vec![0];
        let mut height = 0;
        for (n, edge) in held.iter().zip(self.edges.windows(2)) {
            let steepest = self.plan.slope * (edge[1] - edge[0]) * 2048;
            height = (height + rnd(WHITE * n, total).min(steepest)).min(WHITE);
            heights.push(height);
        }
        let lift = floor(WHITE - height, 2);
        let lift = if lift < 1024 { 0 } else { lift };
        Some(heights.into_iter().map(|h| h + lift).collect())
    }
}

fn widened(plan: &Scale, low: i64, high: i64) -> (i64, i64) {
    let least = (256 * plan.min_span).max(floor(255 * 8192 + plan.slope - 1, plan.slope));
    if high - low >= least {
        return (low, high);
    }
    let start = floor((low + high - least).max(0), 2);
    (start, start + least)
}

/// The bin numbers of codes and those bins' lower edges.
pub(crate) fn bins(codes: &[i64]) -> (Vec<i64>, Vec<i64>) {
    let edges = edges();
    let bins: Vec<i64> = codes.iter().map(|t| length(bin_of(&edges, *t))).collect();
    let lower = bins.iter().map(|k| edges[place(*k)]).collect();
    (bins, lower)
}
