//! The transfer curve of a frame: apparent temperature → grey, before any colour.

use std::collections::BTreeMap;

use glowsill_core::profile::{ProfileSpec, ScaleLaw};

use crate::measure::reading::real;
use crate::run::Shown;
use crate::temperature::Kelvin;

/// Grey (0 to 255) against apparent temperature (kelvin).
#[derive(Clone, Debug)]
pub struct Transfer {
    points: Vec<(f64, f64)>,
}

impl Transfer {
    /// A straight line from black to white.
    #[must_use]
    pub fn between(black: Kelvin, white: Kelvin) -> Self {
        Self {
            points: vec![(black.0, 0.0), (white.0, 255.0)],
        }
    }

    /// The curve a frame was drawn with. A linear law is its two ends; an equalised one is read from the
    /// pixels, because all of one temperature have one grey.
    #[must_use]
    pub fn of(spec: &ProfileSpec, shown: &Shown) -> Self {
        if !matches!(spec.scale.law, ScaleLaw::Plateau { .. }) {
            return Self::between(
                shown.record.scale_low.into(),
                shown.record.scale_high.into(),
            );
        }
        let mut greys: BTreeMap<u16, (f64, usize)> = BTreeMap::new();
        for (code, grey) in shown.temperature.iter().zip(&shown.grey_q8) {
            if *code != 0 {
                let entry = greys.entry(*code).or_default();
                entry.0 += f64::from(*grey) / 256.0;
                entry.1 += 1;
            }
        }
        Self {
            points: greys
                .into_iter()
                .map(|(code, (sum, count))| (f64::from(code) / 32.0, sum / real(count)))
                .collect(),
        }
    }

    /// Grey of a temperature, 0 to 255, linear between known points and level beyond them.
    #[must_use]
    pub fn grey(&self, kelvin: f64) -> f64 {
        let after = self.points.partition_point(|point| point.0 <= kelvin);
        match (
            after.checked_sub(1).and_then(|i| self.points.get(i)),
            self.points.get(after),
        ) {
            (Some((t0, g0)), Some((t1, g1))) => g0 + (g1 - g0) * (kelvin - t0) / (t1 - t0),
            (Some((_, grey)), None) | (None, Some((_, grey))) => *grey,
            (None, None) => 0.0,
        }
    }

    /// Share of the grey range between two temperatures, 0 to 1.
    #[must_use]
    pub fn share(&self, low_k: f64, high_k: f64) -> f64 {
        (self.grey(high_k) - self.grey(low_k)) / 255.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: a linear scale from 280 K to 380 K gives 30 K 30 % of the greys.
    #[test]
    fn a_linear_scale_gives_greys_by_proportion() {
        let curve = Transfer {
            points: vec![(280.0, 0.0), (380.0, 255.0)],
        };
        assert!((curve.grey(330.0) - 127.5).abs() < 1e-9);
        assert!((curve.share(290.0, 320.0) - 0.3).abs() < 1e-9);
        assert!(curve.grey(100.0).abs() < 1e-9);
        assert!((curve.grey(999.0) - 255.0).abs() < 1e-9);
    }
}
