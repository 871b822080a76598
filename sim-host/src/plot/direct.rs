//! Names written beside what they name: where a label covers least.

use plotters::style::{RGBColor, WHITE};

use super::PlotError;
use super::canvas::{Anchor, INK, Stroke, Surface};
use crate::photometry::colour::{nearest_code, relative_luminance};
use crate::world::rounding::{count_f64, floor_index};

/// Size of the labels, CSS pixels.
pub(super) const SIZE: f64 = 12.5;
/// Half of their height.
const HALF: f64 = 8.0;
/// Side of a cell of the map of what is drawn, CSS pixels.
const CELL: f64 = 3.0;
/// Places along a curve that are tried.
const ANCHORS: usize = 40;
/// Distances from the curve that are tried, CSS pixels.
const REACH: [f64; 5] = [13.0, 22.0, 36.0, 54.0, 76.0];

/// Luminance of the lightest ink of thin text on white, of that of white: a contrast of 4.5 to 1. Source: WCAG 2.2,
/// success criterion 1.4.3 (from memory, not seen).
const LIGHTEST: f64 = 1.05 / 4.5 - 0.05;

/// The colour, darker where text in it could not be read on white.
fn legible(colour: RGBColor) -> RGBColor {
    let darker = |step: u32| {
        let share = 1.0 - f64::from(step) / 20.0;
        let [r, g, b] =
            [colour.0, colour.1, colour.2].map(|code| nearest_code(share * f64::from(code)));
        RGBColor(r, g, b)
    };
    let reads = |ink: &RGBColor| relative_luminance([ink.0, ink.1, ink.2]) <= LIGHTEST;
    (0..20).map(darker).find(reads).unwrap_or(INK)
}

/// A rectangle in pixels.
#[derive(Clone, Copy)]
pub(super) struct Place {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Place {
    fn around(centre: (f64, f64), width: f64) -> Self {
        Self {
            left: centre.0 - 0.5 * width,
            right: centre.0 + 0.5 * width,
            top: centre.1 - HALF,
            bottom: centre.1 + HALF,
        }
    }

    fn centre(&self) -> (f64, f64) {
        (
            0.5 * (self.left + self.right),
            0.5 * (self.top + self.bottom),
        )
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn holds_line(&self, (from, to): ((f64, f64), (f64, f64))) -> bool {
        (0..=8u32).any(|step| {
            let share = f64::from(step) / 8.0;
            let (x, y) = (
                from.0 + share * (to.0 - from.0),
                from.1 + share * (to.1 - from.1),
            );
            (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
        })
    }
}

/// A label that was placed.
struct Label<'a> {
    place: Place,
    text: &'a str,
    colour: RGBColor,
    /// From the label to what it names, where they do not touch.
    leader: Option<((f64, f64), (f64, f64))>,
}

/// Labels over a rectangle, each placed where it covers least of the lines and of the others.
pub(super) struct Labels<'a> {
    inside: Place,
    columns: usize,
    rows: usize,
    /// How many lines pass each cell.
    lines: Vec<u16>,
    labels: Vec<Label<'a>>,
}

impl<'a> Labels<'a> {
    /// No label and no line yet, in a rectangle from its left upper to its right lower corner.
    pub(super) fn new(from: (f64, f64), to: (f64, f64)) -> Self {
        let count = |length: f64| floor_index(length / CELL, 4000) + 1;
        let (columns, rows) = (count(to.0 - from.0), count(to.1 - from.1));
        Self {
            inside: Place {
                left: from.0,
                right: to.0,
                top: from.1,
                bottom: to.1,
            },
            columns,
            rows,
            lines: vec![0; columns * rows],
            labels: vec![],
        }
    }

    fn cell(&self, (x, y): (f64, f64)) -> (usize, usize) {
        let column = floor_index((x - self.inside.left).max(0.0) / CELL, self.columns - 1);
        let row = floor_index((y - self.inside.top).max(0.0) / CELL, self.rows - 1);
        (column, row)
    }

    /// Puts a line on the map.
    pub(super) fn cover(&mut self, line: &[(f64, f64)]) {
        let mut last = None;
        for pair in line.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let steps = floor_index((to.0 - from.0).hypot(to.1 - from.1) / CELL, 4000) + 1;
            for step in 0..=steps {
                let share = count_f64(step) / count_f64(steps);
                let at = self.cell((
                    from.0 + share * (to.0 - from.0),
                    from.1 + share * (to.1 - from.1),
                ));
                if last != Some(at) {
                    let here = &mut self.lines[at.1 * self.columns + at.0];
                    *here = here.saturating_add(1);
                    last = Some(at);
                }
            }
        }
    }

    fn covered(&self, place: &Place) -> f64 {
        let (left, top) = self.cell((place.left, place.top));
        let (right, bottom) = self.cell((place.right, place.bottom));
        let rows = (top..=bottom).map(|row| &self.lines[row * self.columns..][left..=right]);
        rows.flatten().map(|count| f64::from(*count)).sum()
    }

    fn cost(&self, place: &Place) -> f64 {
        let edge = &self.inside;
        let outside = place.left < edge.left
            || place.right > edge.right
            || place.top < edge.top
            || place.bottom > edge.bottom;
        let crowded = self.labels.iter().filter(|label| {
            label.place.meets(place) || label.leader.is_some_and(|line| place.holds_line(line))
        });
        self.covered(place)
            + 1000.0 * count_f64(crowded.count())
            + if outside { 100_000.0 } else { 0.0 }
    }

    /// Names a level line at a height, just above or below it.
    pub(super) fn beside_level(
        &mut self,
        surface: &dyn Surface,
        y: f64,
        colour: RGBColor,
        text: &'a str,
    ) {
        let width = surface.text_width(SIZE, text);
        let room = self.inside.right - self.inside.left - width - 8.0;
        let places = (0..=16u32).rev().flat_map(|part| {
            let x = self.inside.left + 4.0 + f64::from(part) / 16.0 * room + 0.5 * width;
            [-HALF - 3.0, HALF + 3.0].map(|offset| Place::around((x, y + offset), width))
        });
        let best = places.min_by(|a, b| self.cost(a).total_cmp(&self.cost(b)));
        self.labels.extend(best.map(|place| Label {
            place,
            text,
            colour,
            leader: None,
        }));
    }

    /// Names a curve, beside a point of it; `curve` is in pixels, without gaps.
    pub(super) fn beside_curve(
        &mut self,
        surface: &dyn Surface,
        curve: &[(f64, f64)],
        colour: RGBColor,
        text: &'a str,
    ) {
        let width = surface.text_width(SIZE, text);
        let colour = legible(colour);
        let every = curve.len().div_ceil(ANCHORS).max(1);
        let mut best: Option<(f64, Label<'a>)> = None;
        for anchor in curve.iter().rev().step_by(every) {
            for reach in REACH {
                for (across, up) in [
                    (1.0, 0.0),
                    (1.0, -0.7),
                    (0.0, -1.0),
                    (-1.0, -0.7),
                    (-1.0, 0.0),
                    (-1.0, 0.7),
                    (0.0, 1.0),
                    (1.0, 0.7),
                ] {
                    let beside = across * (0.5 * width + 0.6 * reach);
                    let centre = (anchor.0 + beside, anchor.1 + up * reach);
                    let place = Place::around(centre, width);
                    let edge = (
                        anchor.0.clamp(place.left, place.right),
                        anchor.1.clamp(place.top + 2.0, place.bottom - 2.0),
                    );
                    let far = (anchor.0 - edge.0).hypot(anchor.1 - edge.1);
                    let leader = (far > 9.0).then_some((edge, *anchor));
                    // A leader that crosses other curves leads to the wrong one.
                    let crossed = leader.map_or(0.0, |line| self.along(line));
                    let cost = 4.0 * self.cost(&place) + 6.0 * crossed + 0.5 * far;
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        let label = Label {
                            place,
                            text,
                            colour,
                            leader,
                        };
                        best = Some((cost, label));
                    }
                }
            }
        }
        self.labels.extend(best.map(|(_, label)| label));
    }

    /// Lines met on the way from a label to its curve, the last cells left out.
    fn along(&self, (from, to): ((f64, f64), (f64, f64))) -> f64 {
        (0..8u32)
            .map(|step| {
                let share = f64::from(step) / 10.0;
                let (column, row) = self.cell((
                    from.0 + share * (to.0 - from.0),
                    from.1 + share * (to.1 - from.1),
                ));
                f64::from(self.lines[row * self.columns + column])
            })
            .sum()
    }

    /// Draws every label on white, so that no line crosses it.
    pub(super) fn draw(&self, surface: &mut dyn Surface) -> Result<(), PlotError> {
        for label in &self.labels {
            if let Some((from, to)) = label.leader {
                surface.line(&[from, to], Stroke::solid(label.colour, 1.0))?;
            }
        }
        for label in &self.labels {
            let Place {
                left,
                right,
                top,
                bottom,
            } = label.place;
            surface.rectangle((left, top + 1.0), (right, bottom - 1.0), WHITE)?;
            let centre = label.place.centre();
            surface.text(centre, SIZE, Anchor::Middle, label.colour, label.text)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::canvas::draw_svg;

    const RED: RGBColor = RGBColor(200, 0, 0);

    // By hand: a level line at 50 in a field of 400 by 100, and a curve that fills the right half just above it:
    // the only places that cover nothing are below the line or left of the curve.
    #[test]
    fn labels_keep_off_lines_and_off_each_other() {
        draw_svg((400, 100), "labels", |surface| {
            let mut labels = Labels::new((0.0, 0.0), (400.0, 100.0));
            let curve: Vec<_> = (0..50u32)
                .map(|i| (200.0 + 4.0 * f64::from(i), 40.0))
                .collect();
            labels.cover(&curve);
            labels.cover(&[(0.0, 50.0), (400.0, 50.0)]);
            labels.beside_level(surface, 50.0, RED, "level");
            labels.beside_curve(surface, &curve, RED, "curve");
            assert_eq!(labels.labels.len(), 2);
            for label in &labels.labels {
                assert!(labels.covered(&label.place) < 1.0, "{}", label.text);
            }
            let [level, curve] = [&labels.labels[0].place, &labels.labels[1].place];
            assert!(!level.meets(curve));
            assert!(curve.right > 200.0, "beside its curve");
            labels.draw(surface)
        })
        .unwrap();
    }

    // Source: WCAG 2.2 (from memory, not seen): contrast is (1 + 0.05) / (Y + 0.05); thin text needs 4.5.
    #[test]
    fn names_beside_curves_can_be_read_on_white() {
        for colour in crate::plot::legend::COLOURS {
            let ink = legible(colour);
            let luminance = relative_luminance([ink.0, ink.1, ink.2]);
            assert!(1.05 / (luminance + 0.05) >= 4.5, "{colour:?} {ink:?}");
        }
        assert_eq!(
            legible(RGBColor(0x00, 0x72, 0xb2)),
            RGBColor(0x00, 0x72, 0xb2)
        );
    }

    #[test]
    fn a_full_field_still_gets_every_label() {
        draw_svg((120, 60), "labels", |surface| {
            let mut labels = Labels::new((0.0, 0.0), (120.0, 60.0));
            for y in 0..20u32 {
                let y = 3.0 * f64::from(y);
                labels.cover(&[(0.0, y), (120.0, y)]);
            }
            for _ in 0..6 {
                labels.beside_level(surface, 30.0, RED, "crowd");
            }
            assert_eq!(labels.labels.len(), 6);
            labels.draw(surface)
        })
        .unwrap();
    }
}
