//! The worst separation and retention over the base temperatures, and the plot of them.

use super::target::BARS_PX;
use super::{Reading, Separation};
use crate::measure::reading::real;
use crate::measure::{Outcome, Plot, Quantity, Series};
use crate::temperature::Kelvin;

/// Below this the grey picture itself shows nothing, and retention has no meaning.
const LEAST_GREY_JND: f64 = 1.0;

/// Reports the worst separation and retention over the base temperatures.
pub(super) fn summarise(readings: &[&Reading], delta_k: f64, bar_px: usize, outcome: &mut Outcome) {
    let frequency = format!("{} cycles/px", 1.0 / (2.0 * real(bar_px)));
    let under = |quantity: Quantity| {
        quantity
            .under("delta_t", format!("{delta_k} K"))
            .under("frequency", &frequency)
    };
    let worst = readings
        .iter()
        .filter_map(|r| r.with_colour.map(|seen| (seen, *r)))
        .min_by(|a, b| a.0.jnd.total_cmp(&b.0.jnd));
    match worst {
        Some((seen, reading)) => outcome.quantities.push(
            under(Quantity::new("worst_separation", seen.jnd, "JND"))
                .within(seen.half)
                .noting(format!(
                    "at a base of {}{}",
                    Kelvin(reading.base_k),
                    order_words(seen.jnd)
                )),
        ),
        None => outcome.quantities.push(under(Quantity::absent(
            "worst_separation",
            "JND",
            "every pixel behind colour is saturated, or none is coloured",
        ))),
    }
    let retained = readings
        .iter()
        .filter_map(|r| {
            let without = r
                .without_colour
                .filter(|seen| seen.jnd.abs() >= LEAST_GREY_JND)?;
            let (ratio, half) = r.with_colour?.share_of(without);
            Some((ratio, half, r.base_k))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match retained {
        Some((ratio, half, base_k)) => {
            outcome.quantities.push(
                under(Quantity::new("retention", ratio, "ratio"))
                    .within(half)
                    .noting(format!(
                        "at a base of {}{}",
                        Kelvin(base_k),
                        order_words(ratio)
                    )),
            );
            if delta_k == 10.0 && bar_px == BARS_PX[1] {
                outcome.findings.push(format!(
                    "Behind colour, bars 10 K apart at {frequency} keep at worst {:.0} % of the \
                     separation that the same picture has without colour, at a base of {}.",
                    100.0 * ratio,
                    Kelvin(base_k)
                ));
            }
        }
        None => outcome.quantities.push(under(Quantity::absent(
            "retention",
            "ratio",
            "without colour the grey picture separates the bars by less than 1 JND everywhere",
        ))),
    }
}

/// Below this a reversal is taken for rounding.
const REVERSED: f64 = -0.01;

/// What a note adds where hotter is drawn darker.
pub(super) fn order_words(value: f64) -> &'static str {
    if value < REVERSED {
        "; reversed: the hotter bars are drawn darker than their gaps"
    } else {
        ""
    }
}

pub(super) fn plot(readings: &[&Reading]) -> Plot {
    let series = |name: &str, pick: &dyn Fn(&Reading) -> Option<Separation>| Series {
        name: name.to_owned(),
        points: readings
            .iter()
            .filter(|r| r.group.delta_k == 10.0 && r.group.bar_px == BARS_PX[0])
            .filter_map(|r| Some((Kelvin(r.base_k).celsius(), pick(r)?.jnd)))
            .collect(),
    };
    Plot {
        stem: "detail-separation".to_owned(),
        title: "Separation of bars 10 K apart, 0.05 cycles/px".to_owned(),
        x_label: "apparent temperature of the panel behind the bars (°C)".to_owned(),
        y_label: "separation (JND)".to_owned(),
        series: vec![
            series("as shown", &|r| r.with_colour),
            series("without colour", &|r| r.without_colour),
        ],
        marks: Vec::new(),
        limits: vec![(1.0, "just noticeable".to_owned())],
    }
}
