//! Ranges and ticks of an axis.

use crate::temperature::Kelvin;

/// A range of values laid over a range of pixels.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Axis {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) start: f64,
    pub(crate) end: f64,
}

impl Axis {
    /// An axis from one value to another, laid over a stretch of pixels; `start` may be greater than `end`.
    pub(crate) fn new((from, to): (f64, f64), (start, end): (f64, f64)) -> Self {
        Self {
            from,
            to,
            start,
            end,
        }
    }

    /// The same stretch in °F, of an axis in °C.
    pub(crate) fn fahrenheit(self) -> Self {
        let both = |celsius| Kelvin::from_celsius(celsius).fahrenheit();
        Self {
            from: both(self.from),
            to: both(self.to),
            ..self
        }
    }

    /// Position of a value in pixels.
    pub(crate) fn at(&self, value: f64) -> f64 {
        self.start + (value - self.from) / (self.to - self.from) * (self.end - self.start)
    }

    /// Value at a position in pixels.
    pub(crate) fn value(&self, position: f64) -> f64 {
        self.from + (position - self.start) / (self.end - self.start) * (self.to - self.from)
    }

    pub(crate) fn contains(&self, value: f64) -> bool {
        (self.from..=self.to).contains(&value)
    }

    /// Round values inside the range, about `wanted` of them, with their labels.
    pub(crate) fn ticks(&self, wanted: f64) -> Vec<(f64, String)> {
        let step = round_step((self.to - self.from) / wanted);
        let places = (0..6)
            .find(|places| is_whole(step * 10f64.powi(*places)))
            .unwrap_or(6);
        let places = usize::try_from(places).unwrap_or(0);
        let mut ticks = vec![];
        let mut value = (self.from / step - 1e-9).ceil() * step;
        while value <= self.to + step * 1e-9 && ticks.len() < 100 {
            let shown = if value.abs() < step * 1e-6 {
                0.0
            } else {
                value
            };
            ticks.push((shown, format!("{shown:.places$}")));
            value += step;
        }
        ticks
    }
}

fn is_whole(x: f64) -> bool {
    (x - x.round()).abs() < 1e-6 * x.abs().max(1e-9)
}

/// The nearest larger step of 1, 2 or 5 times a power of ten.
fn round_step(rough: f64) -> f64 {
    let power = 10f64.powf(rough.log10().floor());
    let lead = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|lead| rough <= lead * power * (1.0 + 1e-9));
    lead.unwrap_or(10.0) * power
}

/// The range of finite values, widened a little; zero is its end when it is near.
pub(crate) fn range(values: impl Iterator<Item = f64>, near_zero: bool) -> Option<(f64, f64)> {
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(v), high.max(v))
        });
    if low > high {
        return None;
    }
    let span = high - low;
    if span <= 1e-9 * high.abs().max(1e-9) {
        let pad = (0.1 * high.abs()).max(0.5);
        return Some(if near_zero && low >= 0.0 {
            (0.0, high + pad)
        } else {
            (low - pad, high + pad)
        });
    }
    if !near_zero {
        return Some((low, high));
    }
    let bottom = if low >= 0.0 && low < 0.5 * high {
        0.0
    } else {
        low - 0.06 * span
    };
    let top = if high <= 0.0 && high > 0.5 * low {
        0.0
    } else {
        high + 0.08 * span
    };
    Some((bottom, top))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let axis = Axis {
            from: -20.0,
            to: 433.0,
            start: 0.0,
            end: 100.0,
        };
        let labels: Vec<_> = axis.ticks(6.0).into_iter().map(|tick| tick.1).collect();
        assert_eq!(labels, ["0", "100", "200", "300", "400"]);
        let axis = Axis {
            from: 0.0,
            to: 0.9,
            start: 0.0,
            end: 100.0,
        };
        let labels: Vec<_> = axis.ticks(5.0).into_iter().map(|tick| tick.1).collect();
        assert_eq!(labels, ["0.0", "0.2", "0.4", "0.6", "0.8"]);
        assert!((axis.value(axis.at(0.3)) - 0.3).abs() < 1e-12);
    }

    #[test]
    fn a_place_in_celsius_is_the_same_place_in_fahrenheit() {
        // Source: definition of the Fahrenheit scale: 100 °C = 212 °F, 0 °C = 32 °F, -40 °C = -40 °F.
        let celsius = Axis::new((-40.0, 100.0), (10.0, 710.0));
        let fahrenheit = celsius.fahrenheit();
        for (c, f) in [(100.0, 212.0), (0.0, 32.0), (-40.0, -40.0)] {
            assert!((celsius.at(c) - fahrenheit.at(f)).abs() < 1e-9, "{c}");
        }
    }

    #[test]
    fn ranges_survive_constants_and_missing_values() {
        assert_eq!(range([f64::NAN].into_iter(), true), None);
        let (low, high) = range([3.0, 3.0].into_iter(), false).unwrap();
        assert!(low < 3.0 && high > 3.0);
        assert_eq!(
            range([1.0, 10.0, f64::INFINITY].into_iter(), true)
                .unwrap()
                .0,
            0.0
        );
    }
}
