//! The figures of an explanation: histograms, curves of grey, and marks against time.

use super::Explanation;
use super::histogram::Histogram;
use crate::measure::reading::real;
use crate::measure::{Plot, Series};
use crate::plot::{self, PlotError};
use crate::sheet::Figure;
use crate::sheet::instant::say_seconds;
use crate::sheet::scale::GreyLaw;
use crate::temperature::Kelvin;

/// Points of a drawn transfer curve.
const POINTS: usize = 200;

fn figure(plot: &Plot, caption: impl Into<String>) -> Result<Figure, PlotError> {
    Figure::draw(&plot.title, caption, |surface| plot::draw(plot, surface))
}

impl Explanation {
    /// Ends of the temperature axis that both instants fit, °C.
    fn range_c(&self) -> (f64, f64) {
        let all = self.instants.iter().flat_map(|side| {
            let ends = [side.view.scale_low.0, side.view.scale_high.0];
            side.look.kelvin.iter().copied().chain(ends)
        });
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), kelvin| {
            (low.min(kelvin), high.max(kelvin))
        });
        let edge = 0.02 * (high - low).max(1.0);
        (Kelvin(low - edge).celsius(), Kelvin(high + edge).celsius())
    }

    /// All of them.
    pub(super) fn figures(&self) -> Result<Vec<Figure>, PlotError> {
        let range_c = self.range_c();
        let mut figures = Vec::new();
        for side in &self.instants {
            let (low, high) = match side.view.grey_law {
                GreyLaw::Equalised => ("lower end", "upper end"),
                GreyLaw::Straight | GreyLaw::Start => ("black", "white"),
            };
            let mut lines = vec![
                (low.to_owned(), side.view.scale_low),
                (high.to_owned(), side.view.scale_high),
            ];
            lines.extend(
                side.view
                    .onset
                    .map(|onset| ("colour from".to_owned(), onset)),
            );
            let histogram = Histogram {
                title: format!(
                    "Temperatures of the picture at {}",
                    say_seconds(side.at.seconds)
                ),
                kelvin: &side.look.kelvin,
                range_c,
                transfer: &side.look.transfer,
                lines,
            };
            figures.push(histogram.figure(
                "Share of the pixels at each temperature; each rule is ten times the one below. The strip shows the \
                 grey that each temperature gets. Letters name the dashed lines.",
            )?);
        }
        figures.push(figure(
            &self.curves(range_c),
            format!(
                "The lines mark what was background at the first instant, {} to {}: the steeper the curve between \
                 them, the more grey it has.",
                self.background.low, self.background.high
            ),
        )?);
        if self
            .marks
            .iter()
            .any(|mark| mark.points.iter().any(|point| point.1.is_finite()))
        {
            figures.push(figure(
                &self.courses(),
                "Separation of each mark from its surroundings; below the limit it counts as lost.",
            )?);
        }
        Ok(figures)
    }

    fn curves(&self, (from, to): (f64, f64)) -> Plot {
        let series = self.instants.iter().map(|side| Series {
            name: format!("at {}", say_seconds(side.at.seconds)),
            points: (0..=POINTS)
                .map(|step| {
                    let celsius = from + (to - from) * real(step) / real(POINTS);
                    (
                        celsius,
                        side.look.transfer.grey(Kelvin::from_celsius(celsius).0),
                    )
                })
                .collect(),
        });
        Plot {
            stem: "transfer".to_owned(),
            title: "Grey that each temperature gets".to_owned(),
            x_label: "apparent temperature (°C)".to_owned(),
            y_label: "grey (0 is black, 255 white)".to_owned(),
            series: series.collect(),
            marks: vec![
                (self.background.low.celsius(), "background from".to_owned()),
                (self.background.high.celsius(), "background to".to_owned()),
            ],
            limits: Vec::new(),
        }
    }

    fn courses(&self) -> Plot {
        let [first, second] = &self.instants;
        Plot {
            stem: "marks".to_owned(),
            title: "Marks against time".to_owned(),
            x_label: "time (s)".to_owned(),
            y_label: "separation (JND)".to_owned(),
            series: self
                .marks
                .iter()
                .map(|mark| Series {
                    name: mark.name.clone(),
                    points: mark.points.clone(),
                })
                .collect(),
            marks: [first, second]
                .map(|side| (side.at.seconds, say_seconds(side.at.seconds)))
                .to_vec(),
            limits: vec![(
                self.visible_jnd,
                format!("lost below {} JND", self.visible_jnd),
            )],
        }
    }
}
