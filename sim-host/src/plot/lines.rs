//! A line plot: title, legend, axes, series, named vertical and horizontal lines.

use plotters::style::{RGBColor, WHITE};

use super::PlotError;
use super::axes::{self, Axes};
use super::axis::{Axis, range};
use super::canvas::{Anchor, INK, Stroke, Surface, broken, fit};
use super::direct::{self, Labels};
use super::legend::{self, Entry, look};
use crate::measure::{Plot, Series};

const MARK: RGBColor = RGBColor(0x7b, 0x2d, 0x8b);
const LIMIT: RGBColor = RGBColor(0xa4, 0x1e, 0x22);
/// Limits differ in dash: each has its name on it, and no series has its colour.
const LIMIT_DASHES: [&[f64]; 6] = [
    &[3.0, 3.0],
    &[9.0, 3.0],
    &[2.0, 6.0],
    &[14.0, 4.0, 3.0, 4.0],
    &[18.0, 6.0],
    &[6.0, 3.0, 2.0, 3.0, 2.0, 3.0],
];
/// From the top of the plot to the middle of the lowest label of a mark, clear of the number at the topmost rule.
const MARK_ABOVE: f64 = 17.0;
/// From a row of labels of marks to the next.
const MARK_ROW: f64 = 18.0;
/// About this many markers a series, so that long ones stay readable.
const MARKERS: usize = 9;

/// Size of the title, CSS pixels.
const TITLE: f64 = 17.0;
const SMALLEST_TITLE: f64 = 14.5;

/// Look of the limit of this number.
fn limit_look(number: usize) -> Stroke {
    Stroke {
        colour: LIMIT,
        width: 1.6,
        dash: LIMIT_DASHES[number % LIMIT_DASHES.len()],
    }
}

pub(super) struct Drawing<'a>(pub(super) &'a Plot);

/// Where the parts of a plot stand.
struct Layout {
    x: (f64, f64),
    y: (f64, f64),
    /// Height of title, legend and labels above the axes.
    head: f64,
    /// Row of each mark's label.
    rows: Vec<u32>,
}

impl Drawing<'_> {
    pub(super) fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        let Layout { x, y, head, rows } = self.above(surface)?;
        let axes = self.axes(surface, x, y, head);
        axes.draw(surface)?;
        let Axes { x, y, .. } = axes;
        self.draw_marks(surface, x, y, &rows)?;
        self.draw_limits(surface, x, y)?;
        self.draw_series(surface, x, y)?;
        self.draw_labels(surface, x, y)
    }

    /// Height of what stands above the axes.
    pub(super) fn head(&self, surface: &mut dyn Surface) -> Result<f64, PlotError> {
        Ok(self.above(surface)?.head)
    }

    fn axes(&self, surface: &dyn Surface, x: (f64, f64), y: (f64, f64), top: f64) -> Axes<'_> {
        let labels = (self.0.x_label.as_str(), self.0.y_label.as_str());
        Axes::place(surface, x, y, labels, top)
    }

    /// Draws what stands above the axes, the labels of marks left out.
    fn above(&self, surface: &mut dyn Surface) -> Result<Layout, PlotError> {
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
        let x = range(xs, false).ok_or_else(no_points)?;
        let y = range(ys, true).ok_or_else(no_points)?;

        let (width, _) = surface.size();
        let left = if surface.is_narrow() { 12.0 } else { 20.0 };
        let mut head = 24.0;
        let room = width - 1.6 * left;
        // A title that is a little too long is drawn smaller, a longer one is broken.
        let size = fit(surface, TITLE, room, &plot.title).max(SMALLEST_TITLE);
        for line in broken(surface, size, room, &plot.title) {
            surface.text((left, head), size, Anchor::Start, INK, &line)?;
            head += 20.0;
        }
        head -= 2.0;
        let entries = self.entries(surface);
        head += legend::draw(surface, (left, head), width - 12.0, &entries)?;
        head += axes::label_above(surface, (left, head + 3.0), &plot.y_label)?;
        head += if surface.is_narrow() { 12.0 } else { 8.0 };
        let rows = self.mark_rows(surface, self.axes(surface, x, y, 0.0).x);
        head += rows
            .iter()
            .copied()
            .max()
            .map_or(0.0, |row| MARK_ABOVE + MARK_ROW * f64::from(row));
        Ok(Layout { x, y, head, rows })
    }

    /// The legend: every series, and where there is no room for them in the plot also the limits.
    fn entries(&self, surface: &dyn Surface) -> Vec<Entry<'_>> {
        let series = self.0.series.iter().enumerate().map(|(number, series)| {
            let (stroke, marker) = look(number);
            Entry {
                stroke,
                marker: Some(marker),
                name: &series.name,
            }
        });
        let limits = self.0.limits.iter().enumerate();
        let limits = limits.map(|(number, (_, name))| Entry {
            stroke: limit_look(number),
            marker: None,
            name,
        });
        let shown = if surface.is_narrow() {
            self.0.limits.len()
        } else {
            0
        };
        series.chain(limits.take(shown)).collect()
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
            let half = 0.5 * surface.text_width(direct::SIZE, label) + 6.0;
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
        let label_y = |row: &u32| y.end - MARK_ABOVE - MARK_ROW * f64::from(*row);
        for ((value, _), row) in &shown {
            let at = x.at(*value);
            surface.line(&[(at, y.start), (at, label_y(row) + 9.0)], dashed)?;
        }
        // Labels come last, on white, so that the line of another mark does not cross them.
        for ((value, label), row) in shown {
            let half = 0.5 * surface.text_width(direct::SIZE, label) + 4.0;
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
            surface.text(at, direct::SIZE, Anchor::Middle, MARK, label)?;
        }
        Ok(())
    }

    fn draw_limits(&self, surface: &mut dyn Surface, x: Axis, y: Axis) -> Result<(), PlotError> {
        for (number, (value, _)) in self.0.limits.iter().enumerate() {
            let at = y.at(*value);
            surface.line(&[(x.start, at), (x.end, at)], limit_look(number))?;
        }
        Ok(())
    }

    /// Names limits, and series of which some share a colour, on top of everything; on a phone the legend does.
    fn draw_labels(&self, surface: &mut dyn Surface, x: Axis, y: Axis) -> Result<(), PlotError> {
        if surface.is_narrow() {
            return Ok(());
        }
        let plot = self.0;
        let mut labels = Labels::new((x.start, y.end), (x.end, y.start));
        let runs = |series: &Series| -> Vec<Vec<(f64, f64)>> {
            series
                .points
                .split(|(x, y)| !(x.is_finite() && y.is_finite()))
                .map(|run| run.iter().map(|(px, py)| (x.at(*px), y.at(*py))).collect())
                .collect()
        };
        for run in plot.series.iter().flat_map(runs) {
            labels.cover(&run);
        }
        for (value, _) in &plot.limits {
            labels.cover(&[(x.start, y.at(*value)), (x.end, y.at(*value))]);
        }
        for (value, label) in &plot.limits {
            labels.beside_level(surface, y.at(*value), LIMIT, label);
        }
        if plot.series.len() > legend::COLOURS.len() {
            for (number, series) in plot.series.iter().enumerate() {
                let curve: Vec<_> = runs(series).into_iter().flatten().collect();
                labels.beside_curve(surface, &curve, look(number).0.colour, &series.name);
            }
        }
        labels.draw(surface)
    }
}
