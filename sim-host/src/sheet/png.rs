//! The sheet as one picture: blocks laid out from top to bottom, then drawn.

mod card;

use image::RgbImage;
use image::imageops;
use plotters::style::RGBColor;

use super::{Block, Figure, Sheet, SheetError};
use crate::measure::reading::real;
use crate::plot::PlotError;
use crate::plot::canvas::{Anchor, INK, RULE, SOFT, Stroke, Surface, device, draw_pixels};

const BACK: RGBColor = RGBColor(0xf5, 0xf7, 0xf8);
/// Ground and bar of a notice, and of the one that must be read first.
const PLAIN: (RGBColor, RGBColor) = (BACK, RGBColor(0x5b, 0x67, 0x70));
const FIRST: (RGBColor, RGBColor) = (RGBColor(0xff, 0xf6, 0xe5), RGBColor(0xb2, 0x6a, 0x00));
/// Blank border of the sheet and space between cards, pixels.
const MARGIN: f64 = 48.0;
const GAP: f64 = 28.0;
/// Narrowest sheet, so that sentences have room.
const LEAST_WIDTH: f64 = 1240.0;
/// Text sizes.
const TITLE: f64 = 44.0;
const HEADING: f64 = 33.0;
const TEXT: f64 = 24.0;
const CAPTION: f64 = 21.0;
/// From line to line, in text sizes.
const LINE: f64 = 1.42;

/// Something to draw, placed.
enum Mark {
    Text {
        at: (f64, f64),
        size: f64,
        colour: RGBColor,
        text: String,
    },
    Fill {
        from: (f64, f64),
        to: (f64, f64),
        colour: RGBColor,
    },
    Frame {
        from: (f64, f64),
        to: (f64, f64),
        colour: RGBColor,
        width: f64,
    },
}

/// What is placed so far.
struct Layout<'s> {
    surface: &'s dyn Surface,
    width: f64,
    y: f64,
    marks: Vec<Mark>,
    pictures: Vec<((f64, f64), RgbImage)>,
}

pub(super) fn draw(sheet: &Sheet) -> Result<RgbImage, SheetError> {
    let width = sheet_width(sheet);
    let mut placed = None;
    // A surface is needed to measure texts before the height of the sheet is known.
    draw_pixels((16, 16), |surface| {
        let mut layout = Layout {
            surface,
            width,
            y: MARGIN,
            marks: Vec::new(),
            pictures: Vec::new(),
        };
        layout.sheet(sheet);
        placed = Some((layout.y + MARGIN, layout.marks, layout.pictures));
        Ok(())
    })?;
    let Some((height, marks, pictures)) = placed else {
        return Err(PlotError::Draw("nothing was laid out".to_owned()).into());
    };
    let mut image = draw_pixels((pixels(width), pixels(height)), |surface| {
        marks.iter().try_for_each(|mark| put(surface, mark))
    })?;
    for ((x, y), picture) in &pictures {
        imageops::replace(
            &mut image,
            picture,
            i64::from(device(*x)),
            i64::from(device(*y)),
        );
    }
    Ok(image)
}

fn pixels(length: f64) -> u32 {
    u32::try_from(device(length)).unwrap_or(1).max(1)
}

/// How many cards stand side by side: rows are as even as they can be.
pub(super) fn abreast(cards: usize) -> usize {
    match cards {
        0 => 1,
        1..=4 => cards,
        5 | 6 | 9 => 3,
        _ => 4,
    }
}

/// Wide enough for the widest row of cards or figures.
fn sheet_width(sheet: &Sheet) -> f64 {
    let rows = sheet.blocks.iter().map(|block| match block {
        Block::Cards(cards) => real(abreast(cards.len())) * (card::width_of(cards) + GAP) - GAP,
        // Two abreast at the size they are drawn in: smaller, their numbers could not be read.
        Block::Figures(figures) => {
            let widths = figures.iter().map(|figure| f64::from(figure.image.width()));
            2.0 * widths.fold(0.0, f64::max) + GAP
        }
        _ => 0.0,
    });
    rows.fold(LEAST_WIDTH, f64::max) + 2.0 * MARGIN
}

fn put(surface: &mut dyn Surface, mark: &Mark) -> Result<(), PlotError> {
    match mark {
        Mark::Text {
            at,
            size,
            colour,
            text,
        } => surface.text(*at, *size, Anchor::Start, *colour, text),
        Mark::Fill { from, to, colour } => surface.rectangle(*from, *to, *colour),
        Mark::Frame {
            from,
            to,
            colour,
            width,
        } => {
            let corners = [*from, (to.0, from.1), *to, (from.0, to.1), *from];
            surface.line(&corners, Stroke::solid(*colour, *width))
        }
    }
}

impl Layout<'_> {
    fn sheet(&mut self, sheet: &Sheet) {
        self.paragraph(&sheet.title, MARGIN, TITLE, INK);
        self.y += 6.0;
        self.paragraph(&sheet.lead, MARGIN, TEXT, SOFT);
        for block in &sheet.blocks {
            match block {
                Block::Heading(heading, remark) => self.heading(heading, remark),
                Block::Sentences(sentences) => self.list(sentences, MARGIN),
                Block::Cards(cards) => self.cards(cards),
                Block::Figures(figures) => self.figures(figures),
                Block::Notice(heading, sentences) => self.notice(heading, sentences, PLAIN),
                Block::Caution(heading, sentences) => self.notice(heading, sentences, FIRST),
            }
        }
    }

    fn text(&mut self, x: f64, size: f64, colour: RGBColor, text: &str) {
        self.marks.push(Mark::Text {
            at: (x, self.y + 0.5 * LINE * size),
            size,
            colour,
            text: text.to_owned(),
        });
    }

    /// Cuts a text into lines that fit a width.
    fn wrapped(&self, text: &str, size: f64, width: f64) -> Vec<String> {
        let mut lines = vec![String::new()];
        for word in text.split(' ') {
            let Some(line) = lines.last_mut() else { break };
            let longer = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if line.is_empty() || self.surface.text_width(size, &longer) <= width {
                *line = longer;
            } else {
                lines.push(word.to_owned());
            }
        }
        lines
    }

    /// A text in lines from `x` to the right margin; long texts keep to a readable width.
    fn paragraph(&mut self, text: &str, x: f64, size: f64, colour: RGBColor) {
        let room = (self.width - MARGIN - x).min(74.0 * size);
        for line in self.wrapped(text, size, room) {
            self.text(x, size, colour, &line);
            self.y += LINE * size;
        }
    }

    fn heading(&mut self, heading: &str, remark: &str) {
        self.y += 34.0;
        self.marks.push(Mark::Fill {
            from: (MARGIN, self.y),
            to: (self.width - MARGIN, self.y + 3.0),
            colour: INK,
        });
        self.y += 12.0;
        self.text(MARGIN, HEADING, INK, heading);
        if !remark.is_empty() {
            let x = MARGIN + self.surface.text_width(HEADING, heading) + 14.0;
            self.text(x, TEXT, SOFT, remark);
        }
        self.y += LINE * HEADING + 4.0;
    }

    fn list(&mut self, sentences: &[String], x: f64) {
        for sentence in sentences {
            self.text(x, TEXT, INK, "•");
            self.paragraph(sentence, x + 22.0, TEXT, INK);
            self.y += 5.0;
        }
    }

    fn notice(&mut self, heading: &str, sentences: &[String], (back, bar): (RGBColor, RGBColor)) {
        self.y += 30.0;
        let (top, first) = (self.y, self.marks.len());
        self.y += 12.0;
        self.text(MARGIN + 28.0, 1.2 * TEXT, INK, heading);
        self.y += LINE * 1.2 * TEXT + 2.0;
        self.list(sentences, MARGIN + 28.0);
        self.y += 12.0;
        // The ground goes below the text, which is placed first because it gives the height.
        let ground = |from, to, colour| Mark::Fill { from, to, colour };
        let right = self.width - MARGIN;
        let back = ground((MARGIN, top), (right, self.y), back);
        let edge = ground((MARGIN, top), (MARGIN + 7.0, self.y), bar);
        self.marks.splice(first..first, [back, edge]);
    }

    /// Figures, two abreast.
    fn figures(&mut self, figures: &[Figure]) {
        for pair in figures.chunks(2) {
            self.y += 14.0;
            let top = self.y;
            let mut bottom = top;
            let mut x = MARGIN;
            for figure in pair {
                self.y = top;
                let (w, h) = figure.image.dimensions();
                let (width, height) = (f64::from(w), f64::from(h));
                self.pictures.push(((x, top), figure.image.clone()));
                self.y = top + height + 4.0;
                for line in self.wrapped(&figure.caption, CAPTION, width - 10.0) {
                    self.text(x + 8.0, CAPTION, SOFT, &line);
                    self.y += LINE * CAPTION;
                }
                bottom = bottom.max(self.y);
                x += width + GAP;
            }
            self.y = bottom + 8.0;
        }
    }
}
