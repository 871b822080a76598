//! Sections 2 and 3: correction, calibration, merge, and the switching of the whole frame.

use super::plan::{Calibration, Gain};
use super::{floor, place, rnd};

/// What is known of one sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sample {
    Dead,
    Saturated,
    Valid(i64),
}

impl Sample {
    /// As written in vectors: 0 dead, 65535 saturated, else corrected counts.
    pub(crate) fn read(n: i64) -> Self {
        match n {
            0 => Self::Dead,
            65_535 => Self::Saturated,
            counts => Self::Valid(counts),
        }
    }

    pub(crate) fn write(self) -> i64 {
        match self {
            Self::Dead => 0,
            Self::Saturated => 65_535,
            Self::Valid(counts) => counts,
        }
    }
}

/// A correction table; empty lists correct nothing.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Table<'a> {
    pub(crate) gain: &'a [i64],
    pub(crate) offset: &'a [i64],
}

/// Corrected samples of a frame, and which of them are means of neighbours.
pub(crate) fn correct(
    raw: &[i64],
    width: usize,
    saturation: i64,
    table: Table<'_>,
    defects: &[i64],
) -> (Vec<Sample>, Vec<bool>) {
    let own: Vec<Sample> = raw
        .iter()
        .enumerate()
        .map(|(i, &raw)| match raw {
            0 => Sample::Dead,
            _ if raw >= saturation => Sample::Saturated,
            _ => Sample::Valid(match (table.gain.get(i), table.offset.get(i)) {
                (Some(gain), Some(offset)) => (rnd(raw * gain, 16_384) + offset).clamp(1, 65_534),
                _ => raw,
            }),
        })
        .collect();
    let is_defective = |i: usize| defects.get(i).is_some_and(|d| *d != 0);
    let mut samples = own.clone();
    let mut replaced = vec![false; raw.len()];
    for i in (0..raw.len()).filter(|i| is_defective(*i)) {
        let (x, y) = (i % width, i / width);
        let mut around = Vec::new();
        if x > 0 {
            around.push(i - 1);
        }
        if x + 1 < width {
            around.push(i + 1);
        }
        if y > 0 {
            around.extend(
                (x.saturating_sub(1)..=(x + 1).min(width - 1)).map(|x| (y - 1) * width + x),
            );
        }
        let good: Vec<i64> = around
            .into_iter()
            .filter(|n| !is_defective(*n))
            .filter_map(|n| match own.get(n) {
                Some(Sample::Valid(counts)) => Some(*counts),
                _ => None,
            })
            .collect();
        samples[i] = if good.is_empty() {
            Sample::Dead
        } else {
            replaced[i] = true;
            Sample::Valid(rnd(good.iter().sum(), super::length(good.len())))
        };
    }
    (samples, replaced)
}

/// Temperature code at corrected counts.
pub(crate) fn temperature(calibration: &Calibration, counts: i64) -> i64 {
    let step = 1_i64 << calibration.shift;
    let (i, rest) = (place(floor(counts, step)), counts.rem_euclid(step));
    let code = match calibration.knots.get(i..i + 2) {
        Some(&[from, to]) => from + rnd((to - from) * rest, step),
        _ => calibration.knots[256],
    };
    code.max(1)
}

/// What became of one pixel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Pixel {
    /// 0: no temperature.
    pub(crate) code: i64,
    pub(crate) from_low: bool,
    pub(crate) saturated: bool,
    pub(crate) disputed: bool,
}

/// A pixel of one state alone.
pub(crate) fn single(calibration: &Calibration, sample: Sample, is_low: bool) -> Pixel {
    let (code, saturated) = match sample {
        Sample::Dead => (0, false),
        Sample::Saturated => (temperature(calibration, calibration.saturation), true),
        Sample::Valid(counts) => (temperature(calibration, counts), false),
    };
    Pixel {
        code,
        saturated,
        from_low: is_low && code != 0,
        disputed: false,
    }
}

/// A pixel of both states.
pub(crate) fn both(
    (from, to, dispute): (i64, i64, i64),
    (high_table, high): (&Calibration, Sample),
    (low_table, low): (&Calibration, Sample),
) -> Pixel {
    match (high, low) {
        (Sample::Valid(h), Sample::Valid(l)) => {
            let (th, tl) = (temperature(high_table, h), temperature(low_table, l));
            if (th - tl).abs() > dispute {
                return Pixel {
                    code: th.max(tl),
                    from_low: tl > th,
                    saturated: false,
                    disputed: true,
                };
            }
            let factor = rnd(4096 * 65_536, to - from);
            let weight = if th <= from {
                0
            } else {
                rnd((th - from) * factor, 65_536).min(4096)
            };
            Pixel {
                code: th + rnd((tl - th) * weight, 4096),
                from_low: weight >= 2048,
                ..Pixel::default()
            }
        }
        (Sample::Valid(_), _) => single(high_table, high, false),
        (_, Sample::Valid(_) | Sample::Saturated) => single(low_table, low, true),
        (_, Sample::Dead) => single(high_table, high, false),
    }
}

/// Gain state in use, as the record writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum InUse {
    PerPixel,
    High,
    Low,
    Blank,
}

impl InUse {
    pub(crate) fn write(self) -> i64 {
        match self {
            Self::PerPixel => 0,
            Self::High => 1,
            Self::Low => 2,
            Self::Blank => 3,
        }
    }
}

/// Memory of the gain plan.
#[derive(Clone, Debug)]
pub(crate) struct Switch {
    is_low: bool,
    run: i64,
    blanks_left: i64,
}

impl Switch {
    pub(crate) const fn new() -> Self {
        Self {
            is_low: false,
            run: 0,
            blanks_left: 0,
        }
    }

    pub(crate) fn in_use(&self, plan: &Gain) -> InUse {
        match plan {
            Gain::PerPixel { .. } => InUse::PerPixel,
            Gain::HighOnly => InUse::High,
            Gain::LowOnly => InUse::Low,
            Gain::WholeFrame(_) if self.blanks_left > 0 => InUse::Blank,
            Gain::WholeFrame(_) if self.is_low => InUse::Low,
            Gain::WholeFrame(_) => InUse::High,
        }
    }

    /// Decides after a frame with these codes.
    pub(crate) fn after(&mut self, plan: &Gain, codes: &[i64]) {
        let Gain::WholeFrame(rule) = plan else { return };
        if self.blanks_left > 0 {
            self.blanks_left -= 1;
            return;
        }
        let count = |above: i64| super::length(codes.iter().filter(|t| **t > above).count());
        let valid = count(0);
        let holds = if self.is_low {
            1000 * count(rule.leave_above) <= rule.leave_permille * valid
        } else {
            1000 * count(rule.enter_above) >= rule.enter_permille * valid
        };
        self.run = if holds && valid > 0 { self.run + 1 } else { 0 };
        let frames = if self.is_low {
            rule.leave_frames
        } else {
            rule.enter_frames
        };
        if self.run >= frames {
            self.is_low = !self.is_low;
            self.run = 0;
            self.blanks_left = rule.blank_frames;
        }
    }
}
