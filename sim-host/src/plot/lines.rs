//! A line plot: title, legend, axes, series, named vertical and horizontal lines.

use plotters::style::{RGBColor, WHITE};

use super::PlotError;
use super::axes::Axes;
use super::axis::{Axis, range};
use super::canvas::{Anchor, INK, Stroke, Surface, fit};
use super::legend::{self, look};
use crate::measure::Plot;

const MARK: RGBColor = RGBColor(0x7b, 0x2d, 0x8b);
const LIMIT: RGBColor = RGBColor(0xa4, 0x1e, 0x22);
/// Size of the labels of marks and limits, CSS pixels.
const LABELS: f64 = 12.5;
/// About this many markers a series, so that long ones stay readable.
const MARKERS: usize = 9;

pub(super) struct Drawing<'a>(pub(super) &'a Plot);

impl Drawing<'_> {
    pub(super) fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let plot = self.0;
        let points = || {
            let all = plot
                .series
                .iter()
                .flat_map(|series| series.points.iter().copied());
            all.filter(|(x, y)| x.is_finite() && y.is_finite())
        };
        let no_points = || PlotError::NoPoints {
            stem: plot.stem.clone(),
        };
        let xs = points()
            .map(|point| point.0)
            .chain(plot.marks.iter().map(|mark| mark.0));
        let ys = points()
            .map(|point| point.1)
            .chain(plot.limits.iter().map(|limit| limit.0));
        points().next().ok_or_else(no_points)?;
        let (x_from, x_to) = range(xs, false).ok_or_else(no_points)?;
        let (y_from, y_to) = range(ys, true).ok_or_else(no_points)?;

        let (width, _) = surface.size();
        surface.text(
            (20.0, 24.0),
            fit(surface, 17.0, width - 32.0, &plot.title),
            Anchor::Start,
            INK,
            &plot.title,
        )?;
        let names: Vec<_> = plot
            .series
            .iter()
            .map(|series| series.name.as_str())
            .collect();
        let legend = legend::draw(surface, (20.0, 42.0), width - 16.0, &names)?;
        let placed = |surface: &dyn Surface, top| {
            let labels = (plot.x_label.as_str(), plot.y_label.as_str());
            Axes::place(surface, (x_from, x_to), (y_from, y_to), labels, top)
        };
        let rows = self.mark_rows(surface, placed(surface, 0.0).x);
        let highest = rows.iter().copied().max().map_or(0, |row| row + 1);
        let axes = placed(surface, 50.0 + legend + 18.0 * f64::from(highest));
        axes.draw(surface)?;
        let Axes { x, y, .. } = axes;
        self.draw_marks(surface, x, y, &rows)?;
        self.draw_limits(surface, x, y)?;
        self.draw_series(surface, x, y)
    }

    fn draw_series(&self, surface: &mut dyn Surface, x: Axis, y: Axis) -> Result<(), PlotError> {
        for (number, series) in self.0.series.iter().enumerate() {
            let (stroke, marker) = look(number);
            // A missing value breaks the line instead of being bridged.
            for run in series
                .points
                .split(|(x, y)| !(x.is_finite() && y.is_finite()))
            {
                let run: Vec<_> = run.iter().map(|(px, py)| (x.at(*px), y.at(*py))).collect();
                surface.line(&run, stroke)?;
            }
            let finite: Vec<_> = series
                .points
                .iter()
                .filter(|(x, y)| x.is_finite() && y.is_finite())
                .collect();
            let every = finite.len().div_ceil(MARKERS).max(1);
            // Series that lie on each other show their markers in turn.
            let first = (number * every / self.0.series.len().max(1)).min(every - 1);
            for (px, py) in finite.into_iter().skip(first).step_by(every) {
                marker.draw(surface, (x.at(*px), y.at(*py)), stroke.colour)?;
            }
        }
        Ok(())
    }

    /// Row of each mark's label above the axes, so that no two labels overlap.
    fn mark_rows(&self, surface: &dyn Surface, x: Axis) -> Vec<u32> {
        let (width, _) = surface.size();
        let mut ends: Vec<f64> = vec![];
        let mut order: Vec<usize> = (0..self.0.marks.len()).collect();
        order.sort_by(|a, b| self.0.marks[*a].0.total_cmp(&self.0.marks[*b].0));
        let mut rows = vec![0; self.0.marks.len()];
        for index in order {
            let (value, label) = &self.0.marks[index];
            let half = 0.5 * surface.text_width(LABELS, label) + 6.0;
            let centre = x.at(*value).clamp(half, (width - half).max(half));
            let row = ends
                .iter()
                .position(|end| *end < centre - half)
                .unwrap_or(ends.len());
            if row == ends.len() {
                ends.push(0.0);
            }
            ends[row] = centre + half;
            rows[index] = u32::try_from(row).unwrap_or(0);
        }
        rows
    }

    fn draw_marks(
        &self,
        surface: &mut dyn Surface,
        x: Axis,
        y: Axis,
        rows: &[u32],
    ) -> Result<(), PlotError> {
        let dashed = Stroke {
            colour: MARK,
            width: 1.4,
            dash: &[6.0, 4.0],
        };
        let shown: Vec<_> = self
            .0
            .marks
            .iter()
            .zip(rows)
            .filter(|((value, _), _)| x.contains(*value))
            .collect();
        let label_y = |row: &u32| y.end - 10.0 - 18.0 * f64::from(*row);
        for ((value, _), row) in &shown {
            let at = x.at(*value);
            surface.line(&[(at, y.start), (at, label_y(row) + 9.0)], dashed)?;
        }
        // Labels come last, on white, so that the line of another mark does not cross them.
        for ((value, label), row) in shown {
            let half = 0.5 * surface.text_width(LABELS, label) + 4.0;
            let (width, _) = surface.size();
            let at = (
                x.at(*value).clamp(half, (width - half).max(half)),
                label_y(row),
            );
            surface.rectangle(
                (at.0 - half + 2.0, at.1 - 8.0),
                (at.0 + half - 2.0, at.1 + 8.0),
                WHITE,
            )?;
            surface.text(at, LABELS, Anchor::Middle, MARK, label)?;
        }
        Ok(())
    }

    /// The place beside a limit's line where a label covers the least of the series and other labels.
    fn free_place(&self, x: Axis, y: Axis, at: f64, width: f64, taken: &[Place]) -> Place {
        let mut best: Option<(usize, Place)> = None;
        for share in [1.0, 0.0, 0.5, 0.75, 0.25] {
            for offset in [-11.0, 11.0] {
                let left = x.start + 4.0 + share * (x.end - x.start - width - 8.0);
                let (top, bottom) = (at + offset - 8.0, at + offset + 8.0);
                let place = Place {
                    left,
                    right: left + width,
                    top,
                    bottom,
                };
                let outside = top < y.end - 4.0 || bottom > y.start + 2.0;
                let crossed = taken.iter().filter(|other| place.meets(other)).count();
                let covered = self
                    .samples(x, y)
                    .filter(|point| place.holds(*point))
                    .count();
                let cost = covered + 1000 * crossed + if outside { 100_000 } else { 0 };
                if best.is_none_or(|(least, _)| cost < least) {
                    best = Some((cost, place));
                }
            }
        }
        best.map_or(
            Place {
                left: x.start,
                right: x.end,
                top: at,
                bottom: at,
            },
            |(_, place)| place,
        )
    }

    /// Points along every series, in pixels, eight to a stretch.
    fn samples(&self, x: Axis, y: Axis) -> impl Iterator<Item = (f64, f64)> {
        self.0.series.iter().flat_map(move |series| {
            series.points.windows(2).flat_map(move |pair| {
                let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
                (0..8u32).map(move |step| {
                    let share = f64::from(step) / 8.0;
                    (x.at(x0 + share * (x1 - x0)), y.at(y0 + share * (y1 - y0)))
                })
            })
        })
    }

    fn draw_limits(&self, surface: &mut dyn Surface, x: Axis, y: Axis) -> Result<(), PlotError> {
        let dashed = Stroke {
            colour: LIMIT,
            width: 1.6,
            dash: &[3.0, 3.0],
        };
        let mut taken: Vec<Place> = vec![];
        for (value, label) in &self.0.limits {
            let at = y.at(*value);
            surface.line(&[(x.start, at), (x.end, at)], dashed)?;
            let width = surface.text_width(LABELS, label);
            let place = self.free_place(x, y, at, width, &taken);
            surface.rectangle((place.left, place.top), (place.right, place.bottom), WHITE)?;
            let middle = (
                0.5 * (place.left + place.right),
                0.5 * (place.top + place.bottom),
            );
            surface.text(middle, LABELS, Anchor::Middle, LIMIT, label)?;
            taken.push(place);
        }
        Ok(())
    }
}

/// A rectangle in pixels.
#[derive(Clone, Copy)]
struct Place {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Place {
    fn holds(&self, (x, y): (f64, f64)) -> bool {
        (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}
