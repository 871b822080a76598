//! How the series of a plot look, and the legend that names them.

use plotters::style::RGBColor;

use super::PlotError;
use super::canvas::{Anchor, INK, Stroke, Surface, fit};

/// Eight colours that stay apart under colour-vision deficiency (Okabe and Ito 2008, from memory; the
/// yellow is replaced by a dark olive, which shows on white).
pub(super) const COLOURS: [RGBColor; 8] = [
    RGBColor(0x00, 0x72, 0xb2),
    RGBColor(0xd5, 0x5e, 0x00),
    RGBColor(0x00, 0x9e, 0x73),
    RGBColor(0xcc, 0x79, 0xa7),
    RGBColor(0x1d, 0x25, 0x2c),
    RGBColor(0xe6, 0x9f, 0x00),
    RGBColor(0x56, 0xb4, 0xe9),
    RGBColor(0x7a, 0x75, 0x1e),
];
const DASHES: [&[f64]; 5] = [
    &[],
    &[9.0, 5.0],
    &[3.0, 3.5],
    &[12.0, 4.0, 3.0, 4.0],
    &[18.0, 5.0],
];

/// Look of the series of this number. Colour, dash and marker repeat together only after 120 series.
pub(super) fn look(number: usize) -> (Stroke, Marker) {
    let colour = COLOURS[number % COLOURS.len()];
    let dash = DASHES[number % DASHES.len()];
    let stroke = Stroke {
        colour,
        width: 2.2,
        dash,
    };
    (stroke, Marker::ALL[number % Marker::ALL.len()])
}

/// Shape at points of a series.
#[derive(Clone, Copy)]
pub(super) enum Marker {
    Disc,
    Square,
    Triangle,
    Diamond,
    Cross,
    Bar,
}

impl Marker {
    const ALL: [Self; 6] = [
        Self::Disc,
        Self::Square,
        Self::Triangle,
        Self::Diamond,
        Self::Cross,
        Self::Bar,
    ];

    pub(super) fn draw(
        self,
        surface: &mut dyn Surface,
        (x, y): (f64, f64),
        colour: RGBColor,
    ) -> Result<(), PlotError> {
        let r = 4.2;
        let thick = Stroke::solid(colour, 2.2);
        match self {
            Self::Disc => surface.disc((x, y), r, colour),
            Self::Square => surface.rectangle(
                (x - 0.9 * r, y - 0.9 * r),
                (x + 0.9 * r, y + 0.9 * r),
                colour,
            ),
            Self::Triangle => {
                let corners = [(x, y - 1.3 * r), (x + 1.2 * r, y + r), (x - 1.2 * r, y + r)];
                surface.fill(&corners, colour)
            }
            Self::Diamond => {
                let d = 1.4 * r;
                surface.fill(&[(x, y - d), (x + d, y), (x, y + d), (x - d, y)], colour)
            }
            Self::Cross => {
                surface.line(&[(x - r, y - r), (x + r, y + r)], thick)?;
                surface.line(&[(x - r, y + r), (x + r, y - r)], thick)
            }
            Self::Bar => surface.line(&[(x, y - 1.5 * r), (x, y + 1.5 * r)], thick),
        }
    }
}

/// An entry of a legend: how a line looks, and what it is.
pub(super) struct Entry<'a> {
    pub(super) stroke: Stroke,
    pub(super) marker: Option<Marker>,
    pub(super) name: &'a str,
}

/// Draws the legend in rows from the top left corner and gives the height used.
pub(super) fn draw(
    surface: &mut dyn Surface,
    (left, top): (f64, f64),
    right: f64,
    entries: &[Entry],
) -> Result<f64, PlotError> {
    let sample = if surface.is_narrow() { 28.0 } else { 36.0 };
    let words = sample + 8.0;
    let (mut x, mut y) = (left, top);
    for Entry {
        stroke,
        marker,
        name,
    } in entries
    {
        let size = fit(surface, 13.0, right - left - words, name);
        let width = words + surface.text_width(size, name);
        if x > left && x + width > right {
            (x, y) = (left, y + 21.0);
        }
        surface.line(&[(x, y + 10.0), (x + sample, y + 10.0)], *stroke)?;
        if let Some(marker) = marker {
            marker.draw(surface, (x + 0.5 * sample, y + 10.0), stroke.colour)?;
        }
        surface.text((x + words, y + 10.0), size, Anchor::Start, INK, name)?;
        x += width + 20.0;
    }
    Ok(if entries.is_empty() {
        0.0
    } else {
        y + 21.0 - top
    })
}
