//! Colour: onset and bands by apparent temperature, with hysteresis.
//!
//! **Purpose.** Decides each pixel's band and its colour. **Input**: temperature code, the pixel's
//! last band. **Output**: band (0 grey, 1 to 6, then the ceiling) and colour. **Parameters**:
//! [`ColourPlan`]. **Latency**: none. **Memory**: one byte a pixel. **Source**: our own; the scale
//! has no say here, so it cannot move the onset.

use crate::fixedpoint::{
    band_u8, low_byte, mix_ratio_round, page_code, page_of, position_q8, ratio_q16_round,
    split_255, step_of, step_place,
};
use crate::panel::Rgb888;
use crate::profile::{BandPlan, ColourPlan, Fill, MAX_BANDS};
use crate::stage::overlay::mix_colour;

/// Most thresholds: the bands and the ceiling.
const MOST: usize = MAX_BANDS + 1;

#[derive(Clone, Copy, Debug, Default)]
struct Course {
    start: u16,
    from: Rgb888,
    to: Rgb888,
    /// Q16 factor from codes above `start` to a Q8 position; 0 for a flat band.
    factor_q16: u64,
}

/// A band plan made ready for pixels.
#[derive(Clone, Debug)]
pub(crate) struct BandTable {
    rising: [u16; MOST],
    falling: [u16; MOST],
    thresholds: usize,
    courses: [Course; MOST],
    ceiling: Option<u8>,
    /// By the upper half of a code: its step; or [`SPLIT`].
    pages: [u8; 256],
    /// The band by step and last band.
    next: [u8; STEPS * 8],
}

/// A page of 256 codes in which a threshold lies.
const SPLIT: u8 = u8::MAX;
/// Steps: codes between neighbouring thresholds, rising or falling, treat every last band alike.
const STEPS: usize = 2 * MOST + 2;

impl BandTable {
    fn new(plan: &BandPlan) -> Self {
        let mut table = Self {
            rising: [u16::MAX; MOST],
            falling: [u16::MAX; MOST],
            thresholds: 0,
            courses: [Course::default(); MOST],
            ceiling: None,
            pages: [SPLIT; 256],
            next: [0; STEPS * 8],
        };
        let next = plan
            .bands
            .iter()
            .skip(1)
            .map(|band| (band.start, band.colour));
        let end = plan.ramp_end.map(|end| (end.temperature, end.colour));
        let mut ends = next.chain(end);
        for band in &plan.bands {
            let (end, to) = ends.next().unwrap_or((band.start, band.colour));
            let span = end.to_bits().saturating_sub(band.start.to_bits());
            let course = Course {
                start: band.start.to_bits(),
                from: band.colour,
                to,
                factor_q16: match band.fill {
                    Fill::Ramp => ratio_q16_round(256, u32::from(span)),
                    Fill::Flat => 0,
                },
            };
            table.push(course, plan.hysteresis_k32);
        }
        if let Some(ceiling) = plan.ceiling {
            let course = Course {
                start: ceiling.start.to_bits(),
                from: ceiling.colour,
                to: ceiling.colour,
                factor_q16: 0,
            };
            table.push(course, plan.hysteresis_k32);
            table.ceiling = Some(band_u8(table.thresholds));
        }
        let pages = core::array::from_fn(|page| {
            let page = low_byte(page);
            let first = table.step_among_edges(page_code(page, 0));
            if first == table.step_among_edges(page_code(page, u8::MAX)) {
                first
            } else {
                SPLIT
            }
        });
        table.pages = pages;
        for code in table.starts_of_steps() {
            let step = table.step_among_edges(code);
            for previous in 0..8 {
                let band = table.band(code, previous);
                if let Some(next) = table.next.get_mut(step_place(step, previous)) {
                    *next = band;
                }
            }
        }
        table
    }

    /// First codes of every step.
    fn starts_of_steps(&self) -> [u16; STEPS] {
        let edges = self.rising.iter().chain(&self.falling);
        let mut starts = [0; STEPS];
        for (start, edge) in starts.iter_mut().skip(1).zip(edges) {
            *start = *edge;
        }
        starts
    }

    /// Thresholds that a code has passed: rising (`up`) and falling (`down`).
    #[inline]
    fn passed(&self, code: u16) -> (u8, u8) {
        let passed = |edges: &[u16; MOST]| {
            band_u8(
                edges
                    .iter()
                    .take(self.thresholds)
                    .filter(|edge| code >= **edge)
                    .count(),
            )
        };
        (passed(&self.rising), passed(&self.falling))
    }

    fn step_among_edges(&self, code: u16) -> u8 {
        let (up, down) = self.passed(code);
        step_of(usize::from(up) + usize::from(down))
    }

    /// Step of a code, for [`Self::next_band`].
    #[inline]
    pub(crate) fn step(&self, code: u16) -> u8 {
        match self.pages[page_of(code)] {
            SPLIT => self.step_among_edges(code),
            step => step,
        }
    }

    /// Bands by step and last band.
    #[inline(always)]
    pub(crate) const fn next(&self) -> &[u8; STEPS * 8] {
        &self.next
    }

    /// Bands, the ceiling among them.
    pub(crate) const fn len(&self) -> usize {
        self.thresholds
    }

    /// The one colour of a band (1 or more), if it is flat.
    pub(crate) fn flat_colour(&self, band: u8) -> Option<Rgb888> {
        let course = self.courses.get(usize::from(band.wrapping_sub(1)))?;
        (course.factor_q16 == 0).then_some(course.from)
    }

    fn push(&mut self, course: Course, hysteresis_k32: u16) {
        let at = self.thresholds;
        if let (Some(rising), Some(falling), Some(slot)) = (
            self.rising.get_mut(at),
            self.falling.get_mut(at),
            self.courses.get_mut(at),
        ) {
            *rising = course.start;
            *falling = course.start.saturating_sub(hysteresis_k32);
            *slot = course;
            self.thresholds = at.saturating_add(1);
        }
    }

    /// Gives the band of a pixel from its temperature code and its last band.
    #[inline]
    pub(crate) fn band(&self, code: u16, previous: u8) -> u8 {
        if code < self.falling[0] {
            return 0;
        }
        let (up, down) = self.passed(code);
        previous.max(up).min(down)
    }

    /// Whether every one of some codes has a sample and is below every threshold, hysteresis
    /// included: band 0 whatever the last band was.
    #[inline]
    pub(crate) fn all_grey(&self, codes: &[u16]) -> bool {
        let coldest = self.falling[0];
        // Code 0 wraps to the top. No early exit, so that the comparison runs several codes at once.
        codes.iter().fold(true, |all, code| {
            all & (code.wrapping_sub(1) < coldest.wrapping_sub(1))
        })
    }

    /// Gives the colour of a band (1 or more) at a temperature code.
    #[inline]
    pub(crate) fn colour(&self, band: u8, code: u16) -> Rgb888 {
        let Some(course) = self.courses.get(usize::from(band.wrapping_sub(1))) else {
            return Rgb888::default();
        };
        let position = position_q8(code.saturating_sub(course.start), course.factor_q16);
        mix_colour(course.from, course.to, position)
    }

    /// Entry of the record that counts a band (1 or more).
    #[inline]
    pub(crate) fn slot(&self, band: u8) -> usize {
        if self.is_ceiling(band) {
            6
        } else {
            usize::from(band.wrapping_sub(1))
        }
    }

    /// Whether a band is the ceiling, which is opaque under every overlay.
    #[inline]
    pub(crate) fn is_ceiling(&self, band: u8) -> bool {
        self.ceiling == Some(band)
    }
}

/// A colour plan made ready for pixels.
#[derive(Clone, Debug)]
#[allow(
    clippy::large_enum_variant,
    reason = "one a pipeline, and there is no heap"
)]
pub(crate) enum ColourTable {
    GreyOnly,
    Bands(BandTable),
    PseudoColour([Rgb888; 256]),
}

impl ColourTable {
    /// Step of a code; without bands there is but one.
    pub(crate) fn step(&self, code: u16) -> u8 {
        match self {
            Self::Bands(table) => table.step(code),
            Self::GreyOnly | Self::PseudoColour(_) => 0,
        }
    }

    pub(crate) fn new(plan: &ColourPlan) -> Self {
        match plan {
            ColourPlan::GreyOnly => Self::GreyOnly,
            ColourPlan::Bands(plan) => Self::Bands(BandTable::new(plan)),
            ColourPlan::PseudoColour { stops } => {
                Self::PseudoColour(core::array::from_fn(|grey| pseudo_colour(stops, grey)))
            }
        }
    }
}

fn pseudo_colour(stops: &[Rgb888], grey: usize) -> Rgb888 {
    let (index, rest) = split_255(grey, stops.len().saturating_sub(1));
    match stops.get(index..) {
        Some([from, to, ..]) => Rgb888 {
            r: mix_ratio_round(from.r, to.r, rest, 255),
            g: mix_ratio_round(from.g, to.g, rest, 255),
            b: mix_ratio_round(from.b, to.b, rest, 255),
        },
        Some([last]) => *last,
        _ => Rgb888::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::{Band, Ceiling, RampEnd};
    use crate::units::Temperature;
    use heapless::Vec;

    fn table() -> BandTable {
        let band = |start, colour, fill| Band {
            start: Temperature::from_bits(start),
            colour,
            fill,
        };
        BandTable::new(&BandPlan {
            bands: Vec::from_slice(&[
                band(10_000, Rgb888::new(200, 200, 0), Fill::Ramp),
                band(11_000, Rgb888::new(200, 100, 0), Fill::Flat),
                band(12_000, Rgb888::new(200, 0, 0), Fill::Ramp),
            ])
            .unwrap(),
            hysteresis_k32: 100,
            ramp_end: Some(RampEnd {
                temperature: Temperature::from_bits(14_000),
                colour: Rgb888::new(100, 0, 100),
            }),
            ceiling: Some(Ceiling {
                start: Temperature::from_bits(15_000),
                colour: Rgb888::new(255, 0, 255),
            }),
        })
    }

    /// Source: docs/pipeline.md: a band is left below its start less the hysteresis, not at it; code 0 is no sample.
    #[test]
    fn a_row_is_grey_for_certain_only_below_the_falling_edge() {
        let table = table();
        for code in 0..=u16::MAX {
            let is_grey = (1..9_900).contains(&code);
            assert_eq!(table.all_grey(&[code]), is_grey, "code {code}");
            assert_eq!(
                table.all_grey(&[9_000, code, 9_899]),
                is_grey,
                "code {code}"
            );
        }
    }

    #[test]
    fn hysteresis_by_hand_for_every_code_and_last_band() {
        let table = table();
        let edges = [10_000u16, 11_000, 12_000, 15_000];
        for code in 1..=u16::MAX {
            let up = edges.iter().filter(|e| code >= **e).count() as u8;
            let down = edges.iter().filter(|e| code >= **e - 100).count() as u8;
            for previous in 0..=7u8 {
                let band = table.band(code, previous);
                let expected = if previous < up {
                    up
                } else if previous > down {
                    down
                } else {
                    previous
                };
                assert_eq!(band, expected, "{code} after {previous}");
                let place = step_place(table.step(code), previous);
                assert_eq!(table.next()[place], expected);
            }
        }
    }

    #[test]
    fn ramps_end_where_the_next_band_starts() {
        let table = table();
        assert_eq!(table.colour(1, 10_000), Rgb888::new(200, 200, 0));
        assert_eq!(table.colour(1, 10_500), Rgb888::new(200, 150, 0));
        assert_eq!(table.colour(1, 9_950), Rgb888::new(200, 200, 0));
        assert_eq!(table.colour(2, 11_999), Rgb888::new(200, 100, 0));
        assert_eq!(table.colour(3, 13_000), Rgb888::new(150, 0, 50));
        assert_eq!(table.colour(3, 14_999), Rgb888::new(100, 0, 100));
        assert_eq!(table.colour(4, 20_000), Rgb888::new(255, 0, 255));
        assert!(table.is_ceiling(4) && !table.is_ceiling(3));
    }

    #[test]
    fn pseudo_colour_meets_its_stops() {
        let stops = [
            Rgb888::grey(0),
            Rgb888::new(0, 0, 255),
            Rgb888::new(255, 0, 0),
            Rgb888::grey(255),
        ];
        assert_eq!(pseudo_colour(&stops, 0), stops[0]);
        assert_eq!(pseudo_colour(&stops, 85), stops[1]);
        assert_eq!(pseudo_colour(&stops, 170), stops[2]);
        assert_eq!(pseudo_colour(&stops, 255), stops[3]);
        assert_eq!(pseudo_colour(&stops, 17), Rgb888::new(0, 0, 51));
    }
}
