//! Cards: picture, legend and facts, side by side in rows.

use image::imageops::{self, FilterType};
use plotters::style::RGBColor;

use super::{BACK, GAP, INK, LINE, Layout, MARGIN, Mark, RULE, SOFT, TEXT, abreast};
use crate::measure::reading::real;
use crate::sheet::{Badge, Card, Fact, Swatch};

const GOOD: RGBColor = RGBColor(0x0b, 0x4f, 0x2c);
const BAD: RGBColor = RGBColor(0x8c, 0x11, 0x16);
const THERE: RGBColor = RGBColor(0x7b, 0x2d, 0x8b);
/// Widest a picture of a card is enlarged to, pixels; half of it with four abreast.
const CARD_WIDTH: u32 = 640;
/// Width of a patch of a legend, in text sizes.
const PATCH: f64 = 1.9;

/// How many times larger the picture of one of so many cards is drawn, so that up to three stand side by side in
/// full size.
fn enlargement(card: &Card, cards: usize) -> u32 {
    let room = if abreast(cards) > 3 {
        CARD_WIDTH / 2
    } else {
        CARD_WIDTH
    };
    (room / card.picture.width().max(1)).max(1)
}

/// Width of each of the cards of a block.
pub(super) fn width_of(cards: &[Card]) -> f64 {
    let widths = cards
        .iter()
        .map(|card| f64::from(card.picture.width() * enlargement(card, cards.len())));
    widths.fold(320.0, f64::max)
}

impl Layout<'_> {
    /// Rows of cards; a row is as high as its highest card.
    pub(super) fn cards(&mut self, cards: &[Card]) {
        self.y += 8.0;
        let width = width_of(cards);
        for row in cards.chunks(abreast(cards.len())) {
            let top = self.y;
            let mut bottom = top;
            for (index, card) in row.iter().enumerate() {
                self.y = top;
                let x = MARGIN + real(index) * (width + GAP);
                self.card(card, x, width, enlargement(card, cards.len()));
                bottom = bottom.max(self.y);
            }
            for index in 0..row.len() {
                let x = MARGIN + real(index) * (width + GAP);
                self.marks.push(Mark::Frame {
                    from: (x, top),
                    to: (x + width, bottom),
                    colour: RULE,
                    width: 1.5,
                });
            }
            self.y = bottom + GAP;
        }
    }

    fn card(&mut self, card: &Card, x: f64, width: f64, times: u32) {
        // Narrow cards have smaller text, so that a temperature fits a line.
        let size = if width < 480.0 { 18.5 } else { TEXT };
        self.title(card, x, width, size);
        let (w, h) = card.picture.dimensions();
        let large = if times == 1 {
            card.picture.clone()
        } else {
            imageops::resize(&card.picture, w * times, h * times, FilterType::Nearest)
        };
        self.pictures.push(((x, self.y), large));
        self.y += f64::from(h * times) + 10.0;
        for entry in &card.legend {
            self.swatch(entry, x + 12.0, x + width - 8.0, size);
        }
        if !card.legend.is_empty() {
            self.y += 6.0;
            self.marks.push(Mark::Fill {
                from: (x + 12.0, self.y),
                to: (x + width - 12.0, self.y + 1.5),
                colour: RULE,
            });
            self.y += 8.0;
        }
        let names = card
            .facts
            .iter()
            .map(|fact| self.surface.text_width(size, &fact.name));
        let column = names.fold(0.0, f64::max) + 14.0;
        for fact in &card.facts {
            self.fact(fact, x + 12.0, column, x + width - 8.0, size);
        }
        self.y += 8.0;
    }

    /// The heading on its ground, and the badge beside it, or below where there is no room.
    fn title(&mut self, card: &Card, x: f64, width: f64, size: f64) {
        let (top, first) = (self.y, self.marks.len());
        self.y += 0.24 * size;
        self.text(x + 12.0, 1.1 * size, INK, &card.heading);
        if let Some((badge, words)) = &card.badge {
            let text = format!("{} {words}", badge.symbol());
            let beside = x + 26.0 + self.surface.text_width(1.1 * size, &card.heading);
            let wide = self.surface.text_width(size, &text) + 8.0;
            let left = if beside + wide + 8.0 > x + width {
                self.y += 1.6 * size;
                x + 12.0
            } else {
                beside
            };
            self.badge(*badge, &text, left, size);
        }
        self.y += 1.66 * size;
        let ground = Mark::Fill {
            from: (x, top),
            to: (x + width, self.y),
            colour: BACK,
        };
        self.marks.insert(first, ground);
    }

    /// A framed word; gives its width.
    fn badge(&mut self, badge: Badge, text: &str, left: f64, size: f64) -> f64 {
        let (colour, width) = match badge {
            Badge::Good => (GOOD, 1.0),
            Badge::Bad => (BAD, 3.0),
            Badge::Neutral => (SOFT, 1.0),
            Badge::Caution => (THERE, 2.0),
        };
        let wide = self.surface.text_width(size, text) + 8.0;
        let (top, bottom) = (self.y + 1.0, self.y + LINE * size - 1.0);
        self.marks.push(Mark::Frame {
            from: (left, top),
            to: (left + wide, bottom),
            colour,
            width,
        });
        // The letters hang above the middle of their line.
        let line = self.y;
        self.y += 0.1 * size;
        self.text(left + 6.0, size, colour, text);
        self.y = line;
        wide
    }

    fn swatch(&mut self, entry: &Swatch, x: f64, right: f64, size: f64) {
        let (top, bottom) = (self.y + 0.24 * size, self.y + 1.18 * size);
        let end = x + PATCH * size;
        // Many narrow fills, because a mark has one colour.
        let steps = if entry.colours.len() > 1 { 24 } else { 1 };
        for step in 0..steps {
            let share = |at: usize| x + (end - x) * real(at) / real(steps);
            let [r, g, b] = between(&entry.colours, real(step) / (real(steps) - 1.0).max(1.0));
            self.marks.push(Mark::Fill {
                from: (share(step), top),
                to: (end, bottom),
                colour: RGBColor(r, g, b),
            });
        }
        self.marks.push(Mark::Frame {
            from: (x, top),
            to: (end, bottom),
            colour: INK,
            width: 1.0,
        });
        for line in self.wrapped(&entry.words, size, right - end - 10.0) {
            self.text(end + 10.0, size, INK, &line);
            self.y += LINE * size;
        }
    }

    fn fact(&mut self, fact: &Fact, x: f64, column: f64, right: f64, size: f64) {
        self.text(x, size, SOFT, &fact.name);
        let mut left = x + column;
        if let Some((badge, word)) = &fact.badge {
            let text = format!("{} {word}", badge.symbol());
            left += self.badge(*badge, &text, left, size) + 10.0;
        }
        for line in self.wrapped(&fact.value, size, right - left) {
            self.text(left, size, INK, &line);
            self.y += LINE * size;
        }
    }
}

/// The colour at a share, 0 to 1, of the way along a row of colours.
fn between(colours: &[[u8; 3]], share: f64) -> [u8; 3] {
    let along = share * (real(colours.len()) - 1.0).max(0.0);
    let index = crate::world::rounding::floor_index(along, colours.len().saturating_sub(1));
    let from = colours.get(index).copied().unwrap_or_default();
    let to = colours.get(index + 1).copied().unwrap_or(from);
    let part = along - real(index);
    let mix = |a: u8, b: u8| {
        let (a, b) = (f64::from(a), f64::from(b));
        crate::photometry::colour::nearest_code(a + (b - a) * part)
    };
    [
        mix(from[0], to[0]),
        mix(from[1], to[1]),
        mix(from[2], to[2]),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: halfway along three colours is the second; a quarter lies halfway between the first two.
    #[test]
    fn colours_run_evenly_along_a_patch() {
        let row = [[0, 0, 0], [200, 100, 0], [255, 255, 255]];
        assert_eq!(between(&row, 0.5), [200, 100, 0]);
        assert_eq!(between(&row, 0.25), [100, 50, 0]);
        assert_eq!(between(&row, 1.0), [255, 255, 255]);
        assert_eq!(between(&[[7, 8, 9]], 0.0), [7, 8, 9]);
    }

    #[test]
    fn rows_are_as_even_as_they_can_be() {
        let found: Vec<usize> = (1..=8).map(abreast).collect();
        assert_eq!(found, [1, 2, 3, 4, 3, 3, 4, 4]);
    }
}
