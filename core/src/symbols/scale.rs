//! The reference scale: which colour stands for which temperature, and what grey means now.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::{self, RgbColor};
use embedded_graphics::primitives::Rectangle;

use super::text::{Grid, degrees, plate, rimmed_plate, size};
use super::{TemperatureUnit, arrow_head};
use crate::fixedpoint::{div_round_i64, share_round};
use crate::panel::Rgb888;
use crate::profile::{ColourPlan, Profile};
use crate::record::FrameRecord;
use crate::stage::colour::ColourTable;
use crate::units::Temperature;

/// 0 °C, the foot of the scale.
const FOOT: u16 = 8741;
/// 150 °C, its least head.
const LEAST_HEAD: u16 = 13_541;

#[derive(Clone, Debug)]
pub(super) struct ReferenceScale {
    table: ColourTable,
    onset: Option<Temperature>,
    /// Starts of the bands and of the ceiling.
    starts: heapless::Vec<u16, 7>,
    head: u16,
}

impl ReferenceScale {
    pub(super) fn new(profile: &Profile) -> Self {
        let mut starts = heapless::Vec::new();
        if let ColourPlan::Bands(plan) = &profile.spec().colour {
            let ceiling = plan.ceiling.map(|ceiling| ceiling.start);
            for start in plan.bands.iter().map(|band| band.start).chain(ceiling) {
                // Six bands and a ceiling fit.
                let _ = starts.push(start.to_bits());
            }
        }
        let last = starts.last().copied().unwrap_or(LEAST_HEAD).max(LEAST_HEAD);
        let above = (last - FOOT) / 8;
        Self {
            table: ColourTable::new(&profile.spec().colour),
            onset: profile.onset(),
            starts,
            head: last.saturating_add(above),
        }
    }

    pub(super) fn draw<D>(
        &self,
        record: &FrameRecord,
        unit: TemperatureUnit,
        grid: Grid,
        target: &mut D,
    ) -> Result<(), D::Error>
    where
        D: DrawTarget<Color: RgbColor + From<pixelcolor::Rgb888>>,
    {
        let (ink, ground) = (D::Color::WHITE, D::Color::BLACK);
        let stroke = grid.stroke;
        let label = grid.plate("0").1;
        let (top, bottom) = (label, grid.height - label);
        let (left, wide) = (grid.width - 8 * stroke, 6 * stroke);
        let tall = (bottom - top).max(1);
        let row = |code: u16| {
            let (above, range) = (
                i64::from(code.saturating_sub(FOOT).min(self.head - FOOT)),
                i64::from(self.head - FOOT),
            );
            let up = div_round_i64(above * i64::from(tall - 1), range);
            bottom - 1 - i32::try_from(up).unwrap_or(0)
        };
        let frame = Rectangle::new(
            Point::new(left - stroke, top - stroke),
            size(wide + 2 * stroke, tall + 2 * stroke),
        );
        target.fill_solid(&frame, ground)?;
        for y in 0..tall {
            let up = i64::from(tall - 1 - y) * i64::from(self.head - FOOT);
            let above = div_round_i64(up, i64::from((tall - 1).max(1)));
            let code = FOOT.saturating_add(u16::try_from(above).unwrap_or(0));
            let colour = self.colour(code, record);
            let line = Rectangle::new(Point::new(left, top + y), size(wide, 1));
            target.fill_solid(
                &line,
                pixelcolor::Rgb888::new(colour.r, colour.g, colour.b).into(),
            )?;
        }
        self.notches(grid, (left, wide), row, target)?;
        let mut labels: heapless::Vec<(i32, u16, bool), 3> = heapless::Vec::new();
        // Three labels fit.
        for end in [record.scale_low, record.scale_high] {
            if end.is_valid() {
                let _ = labels.push((row(end.to_bits()), end.to_bits(), false));
            }
        }
        if let Some(onset) = self.onset {
            let _ = labels.push((row(onset.to_bits()), onset.to_bits(), true));
        }
        labels.sort_unstable_by_key(|(at, ..)| *at);
        let mut free = top - stroke;
        let count = i32::try_from(labels.len()).unwrap_or(0);
        for (i, (at, code, is_onset)) in (0..).zip(labels) {
            // Each label stands beside its row, as far as those above and below leave room.
            let below = (count - i) * (label + stroke);
            let y = (at - label / 2).max(free).min(bottom + stroke - below);
            free = y + label + stroke;
            let text = degrees(Temperature::from_bits(code), unit);
            let tip = Point::new(left - stroke, at);
            let x = left - 6 * stroke - grid.plate(&text).0;
            let at_label = Point::new(x, y);
            if is_onset {
                rimmed_plate(target, grid, at_label, &text, (ground, ink))?;
                arrow_head(target, grid, tip, (-4, 3), (2, 6))?;
            } else {
                plate(target, grid, at_label, &text, (ink, ground))?;
                let tick = |grow: i32| {
                    let at = tip - Point::new(3 * stroke + grow, stroke / 2 + grow);
                    Rectangle::new(at, size(3 * stroke + grow, stroke + 2 * grow))
                };
                target.fill_solid(&tick(stroke), ground)?;
                target.fill_solid(&tick(0), ink)?;
            }
        }
        Ok(())
    }

    /// A line where each band starts, and as many notches as the band's number.
    fn notches<D>(
        &self,
        grid: Grid,
        (left, wide): (i32, i32),
        row: impl Fn(u16) -> i32,
        target: &mut D,
    ) -> Result<(), D::Error>
    where
        D: DrawTarget<Color: RgbColor>,
    {
        let stroke = grid.stroke;
        let ends = self.starts.iter().skip(1).copied().chain([self.head]);
        for (number, (&start, end)) in (1..).zip(self.starts.iter().zip(ends)) {
            let (foot, head) = (row(start), row(end));
            let line = Rectangle::new(Point::new(left, foot - stroke / 2), size(wide, stroke));
            target.fill_solid(&line, D::Color::BLACK)?;
            // Too short for its notches, a band has the line alone.
            if foot - head < (2 * number + 2) * stroke {
                continue;
            }
            for notch in 1..=number {
                let at = Point::new(left, foot - stroke / 2 - 2 * notch * stroke);
                target.fill_solid(&Rectangle::new(at, size(wide / 3, stroke)), D::Color::BLACK)?;
            }
        }
        Ok(())
    }

    /// Colour of a temperature: the band's own, or the present grey.
    fn colour(&self, code: u16, record: &FrameRecord) -> Rgb888 {
        let (low, high) = (record.scale_low.to_bits(), record.scale_high.to_bits());
        let span = u32::from(high.saturating_sub(low)).max(1);
        let above = u32::from(code.saturating_sub(low)).min(span);
        let grey = u8::try_from(share_round(255, above, span)).unwrap_or(255);
        match &self.table {
            ColourTable::Bands(table) => match table.band(code, 0) {
                0 => Rgb888::grey(grey),
                band => table.colour(band, code),
            },
            ColourTable::PseudoColour(colours) => {
                colours.get(usize::from(grey)).copied().unwrap_or_default()
            }
            ColourTable::GreyOnly => Rgb888::grey(grey),
        }
    }
}
