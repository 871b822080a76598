//! Symbols: what stands over the picture and says how to read it.
//!
//! **Purpose.** Reference scale, profile name, gain state, health and, if wanted, the hottest spot.
//! **Input**: profile and frame record. **Output**: drawing on any `embedded-graphics` target of the
//! picture's size. **Latency**: none. **Memory**: none. **Source**: designs of our own.
//!
//! - The *reference scale* at the right runs from 0 °C to above the last threshold. It shows grey as
//!   the frame's scale assigns it and each band's colour, with a line and as many notches as the
//!   band's number, so that no colour vision is needed. An arrow and a text mark the onset; two
//!   ticks with texts mark the present ends of the grey scale.
//! - The *name* of the profile stands at the bottom left, the *gain state* at the top left.
//! - A picture that cannot be trusted is struck out by the pipeline itself; the *cause* stands here.
//! - Two arrow heads point at the *hottest spot*, off by default: it draws the eye away from the rest.
//!
//! Every stroke is at least 2 pixels wide at 240 rows, white on black or black on white. Nothing lies
//! in the middle of the picture, and all of it covers at most 12 % of 320x240, 16 % with a cause.

mod canvas;
mod scale;
mod text;

pub use canvas::{Canvas, GraphicsFormat, Picture};

use embedded_graphics::Drawable;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::{self, RgbColor};
use embedded_graphics::primitives::{Primitive, PrimitiveStyleBuilder, StrokeAlignment, Triangle};
use heapless::String;

use crate::profile::Profile;
use crate::record::{FrameRecord, GainInUse, Spot};
use scale::ReferenceScale;
use text::{Grid, MOST, plate, push_number};

/// Unit of the temperatures in symbols.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[default]
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

/// Which symbols are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SymbolPlan {
    /// Unit of the temperatures.
    pub unit: TemperatureUnit,
    /// The reference scale with onset and present ends.
    pub shows_scale: bool,
    /// The profile's name.
    pub shows_name: bool,
    /// The gain state.
    pub shows_gain: bool,
    /// Arrow heads at the hottest spot.
    pub shows_hottest: bool,
}

impl Default for SymbolPlan {
    /// Everything but the hottest spot, in degrees Celsius.
    fn default() -> Self {
        Self {
            unit: TemperatureUnit::Celsius,
            shows_scale: true,
            shows_name: true,
            shows_gain: true,
            shows_hottest: false,
        }
    }
}

/// The symbols of one profile.
#[derive(Clone, Debug)]
pub struct Symbols<'p> {
    profile: &'p Profile,
    plan: SymbolPlan,
    scale: ReferenceScale,
}

impl<'p> Symbols<'p> {
    /// Prepares the symbols of a profile.
    #[must_use]
    pub fn new(profile: &'p Profile, plan: SymbolPlan) -> Self {
        Self {
            profile,
            plan,
            scale: ReferenceScale::new(profile),
        }
    }

    /// Draws them over a picture. The cause of a bad picture is drawn whatever the plan says.
    ///
    /// # Errors
    /// Those of the target.
    pub fn draw<D>(&self, record: &FrameRecord, target: &mut D) -> Result<(), D::Error>
    where
        D: DrawTarget<Color: RgbColor + From<pixelcolor::Rgb888>>,
    {
        let grid = Grid::new(target.bounding_box().size);
        let normal = (D::Color::WHITE, D::Color::BLACK);
        if self.plan.shows_hottest
            && let Some(spot) = record.hottest
        {
            point_at(target, grid, spot)?;
        }
        if self.plan.shows_scale {
            self.scale.draw(record, self.plan.unit, grid, target)?;
        }
        let gap = grid.stroke * 2;
        if self.plan.shows_gain {
            let text = match record.gain {
                GainInUse::PerPixel => "both",
                GainInUse::High => "high",
                GainInUse::Low => "low",
                GainInUse::Blank => "wait",
            };
            plate(target, grid, Point::new(gap, gap), text, normal)?;
        }
        if self.plan.shows_name {
            let mut name: String<MOST> = String::new();
            let room = grid.letters(grid.width / 2 - gap);
            for letter in self.profile.spec().name.chars().take(room) {
                let _ = name.push(letter);
            }
            let top = grid.height - gap - grid.plate(&name).1;
            plate(target, grid, Point::new(gap, top), &name, normal)?;
        }
        if record.is_struck || !record.health.is_good() {
            let mut causes = record.health.causes();
            let mut text: String<MOST> = String::new();
            let first = causes.next().map_or("checking", crate::health::Cause::name);
            let _ = text.push_str(first);
            let others = causes.count();
            if others > 0 {
                let _ = text.push_str(" +");
                push_number(&mut text, i64::try_from(others).unwrap_or(0));
            }
            let (width, height) = grid.plate(&text);
            let left = (grid.width - width) / 2;
            // Below the gain state, so that the longest cause has the whole width.
            let at = Point::new(left, gap * 2 + height);
            plate(target, grid, at, &text, (D::Color::BLACK, D::Color::WHITE))?;
        }
        Ok(())
    }
}

/// Two arrow heads, left and right of a spot, white with a black border.
fn point_at<D>(target: &mut D, grid: Grid, spot: Spot) -> Result<(), D::Error>
where
    D: DrawTarget<Color: RgbColor>,
{
    let style = PrimitiveStyleBuilder::new()
        .fill_color(D::Color::WHITE)
        .stroke_color(D::Color::BLACK)
        .stroke_width(u32::try_from(grid.stroke).unwrap_or(1))
        .stroke_alignment(StrokeAlignment::Outside)
        .build();
    let at = Point::new(spot.x.into(), spot.y.into());
    let (near, long, half) = (3 * grid.stroke, 5 * grid.stroke, 3 * grid.stroke);
    for side in [-1, 1] {
        let tip = at + Point::new(side * near, 0);
        let base = tip + Point::new(side * long, 0);
        let head = Triangle::new(tip, base + Point::new(0, half), base - Point::new(0, half));
        head.into_styled(style).draw(target)?;
    }
    Ok(())
}
