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
//! - The *name* of the profile stands at the bottom left, cut after a whole word; the *gain state* at
//!   the top left.
//! - A picture that cannot be trusted is struck out by the pipeline itself; the *cause* stands here.
//! - Two arrow heads point at the *hottest spot*, off by default: it draws the eye away from the rest.
//!
//! Every stroke is at least 2 pixels wide at 240 rows, white on black or black on white, and brings its
//! own ground, so that no picture takes its contrast; white plates have a black rim. What the eye gets, in a
//! room and with water on the visor, is measured in `sim-host/tests/symbols_contrast.rs`. Nothing lies
//! in the middle of the picture, and all of it covers at most 14 % of it, 18 % with a cause.

mod canvas;
mod scale;
mod text;

pub use canvas::{Canvas, GraphicsFormat, Picture};

use embedded_graphics::Drawable;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::{self, RgbColor};
use embedded_graphics::primitives::{Primitive, PrimitiveStyle, Triangle};
use heapless::String;

use crate::profile::Profile;
use crate::record::{FrameRecord, GainInUse, Spot};
use scale::ReferenceScale;
use text::{Grid, MOST, fitting, plate, push_number, rimmed_plate};

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
            // At most 32 bytes, as many as this text has.
            let _ = name.push_str(fitting(&self.profile.spec().name, room));
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
            rimmed_plate(target, grid, at, &text, (D::Color::BLACK, D::Color::WHITE))?;
        }
        Ok(())
    }
}

/// Two arrow heads, left and right of a spot.
fn point_at<D>(target: &mut D, grid: Grid, spot: Spot) -> Result<(), D::Error>
where
    D: DrawTarget<Color: RgbColor>,
{
    let at = Point::new(spot.x.into(), spot.y.into());
    for side in [-1, 1] {
        let tip = at + Point::new(side * 5 * grid.stroke, 0);
        arrow_head(target, grid, tip, (side * 5, 3), (3, 5))?;
    }
    Ok(())
}

/// A white arrow head on a black one that is at least a stroke larger on each side, across the slopes
/// too. White: from its tip `long` strokes to the right, `half` up and down. Black: `ahead` of
/// the tip, `ground` up and down.
fn arrow_head<D>(
    target: &mut D,
    grid: Grid,
    tip: Point,
    (long, half): (i32, i32),
    (ahead, ground): (i32, i32),
) -> Result<(), D::Error>
where
    D: DrawTarget<Color: RgbColor>,
{
    let (stroke, side) = (grid.stroke, long.signum());
    for (ahead, behind, half, colour) in [
        (ahead * side, long + side, ground, D::Color::BLACK),
        (0, long, half, D::Color::WHITE),
    ] {
        let base = tip + Point::new(behind * stroke, 0);
        let (up, tip) = (
            Point::new(0, half * stroke),
            tip - Point::new(ahead * stroke, 0),
        );
        Triangle::new(tip, base + up, base - up)
            .into_styled(PrimitiveStyle::with_fill(colour))
            .draw(target)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::health::{Cause, Health};
    use crate::panel::PanelRgb888;
    use crate::panel::Rgb888;
    use crate::pipeline::{Geometry, SensorConfig};
    use crate::units::Temperature;
    use std::vec::Vec;

    /// A colour that no symbol has, so that what is untouched shows.
    const UNTOUCHED: Rgb888 = Rgb888::new(1, 2, 3);

    fn record(health: Health) -> FrameRecord {
        let at = |milli| Temperature::from_millicelsius(milli).unwrap();
        FrameRecord {
            frame: 9,
            gain: GainInUse::PerPixel,
            scale_low: at(12_000),
            scale_high: at(118_000),
            pixels: 76_800,
            valid: 76_800,
            from_low: 0,
            coloured: 0,
            in_band: [0; 7],
            hottest: Some(Spot {
                temperature: at(300_000),
                x: 100,
                y: 90,
            }),
            coldest: None,
            saturated: 0,
            invalid: 0,
            disputed: 0,
            replaced: 0,
            is_struck: !health.is_good(),
            health,
        }
    }

    fn draw(width: u16, height: u16, plan: SymbolPlan, health: Health) -> Vec<Rgb888> {
        let geometry = Geometry::new(width, height).unwrap();
        let profile = Profile::safe(&SensorConfig::default());
        let mut pixels = std::vec![UNTOUCHED; geometry.pixels()];
        Symbols::new(&profile, plan)
            .draw(
                &record(health),
                &mut Canvas::<PanelRgb888>::new(&mut pixels, geometry),
            )
            .unwrap();
        pixels
    }

    fn covered(pixels: &[Rgb888]) -> f64 {
        let touched = pixels.iter().filter(|pixel| **pixel != UNTOUCHED).count();
        touched as f64 / pixels.len() as f64
    }

    #[test]
    fn symbols_cover_no_more_than_they_may_and_leave_the_middle_free() {
        for (width, height) in [(160, 120), (320, 240), (640, 480), (1280, 1024)] {
            let good = draw(width, height, SymbolPlan::default(), Health::GOOD);
            let share = covered(&good);
            assert!((0.04..=0.14).contains(&share), "{width}: {share}");
            // Every cause at once gives the longest text there is.
            let worst = Cause::ALL.into_iter().fold(Health::GOOD, Health::with);
            let struck = draw(width, height, SymbolPlan::default(), worst);
            let share = covered(&struck);
            assert!((0.05..=0.18).contains(&share), "{width}: {share}");
            for (i, pixel) in struck.iter().enumerate() {
                let (x, y) = (i % usize::from(width), i / usize::from(width));
                let is_middle = (usize::from(width) / 5..usize::from(width) * 3 / 4).contains(&x)
                    && (usize::from(height) / 4..usize::from(height) * 3 / 4).contains(&y);
                assert!(!is_middle || *pixel == UNTOUCHED, "{width}: {x}, {y}");
            }
        }
    }

    #[test]
    fn no_white_pixel_meets_the_picture() {
        let plan = SymbolPlan {
            shows_hottest: true,
            ..SymbolPlan::default()
        };
        for (width, height) in [(160u16, 120u16), (320, 240), (640, 480)] {
            let pixels = draw(width, height, plan, Health::GOOD.with(Cause::Frozen));
            let (w, h) = (usize::from(width), usize::from(height));
            for (i, _) in pixels
                .iter()
                .enumerate()
                .filter(|(_, p)| p.r == 255 && p.b == 255)
            {
                let (x, y) = (i % w, i / w);
                for ny in y.saturating_sub(1)..=(y + 1).min(h - 1) {
                    for nx in x.saturating_sub(1)..=(x + 1).min(w - 1) {
                        assert_ne!(pixels[ny * w + nx], UNTOUCHED, "{width}: {x}, {y}");
                    }
                }
            }
        }
    }

    #[test]
    fn every_lit_pixel_of_a_text_belongs_to_a_stroke_two_pixels_wide() {
        let plan = SymbolPlan {
            shows_scale: false,
            ..SymbolPlan::default()
        };
        let pixels = draw(320, 240, plan, Health::GOOD);
        let white = |x: usize, y: usize| pixels[y * 320 + x] == Rgb888::grey(255);
        let mut lit = 0;
        for y in 1..239 {
            for x in 1..319 {
                if white(x, y) {
                    lit += 1;
                    let square = [(0, 0), (1, 0), (0, 1), (1, 1)]
                        .into_iter()
                        .any(|(dx, dy)| {
                            let (left, top) = (x - dx, y - dy);
                            white(left, top)
                                && white(left + 1, top)
                                && white(left, top + 1)
                                && white(left + 1, top + 1)
                        });
                    assert!(square, "{x}, {y}");
                }
            }
        }
        assert!(lit > 500, "{lit}");
    }

    #[test]
    fn the_cause_is_written_whatever_the_plan_says() {
        let nothing = SymbolPlan {
            unit: TemperatureUnit::Fahrenheit,
            shows_scale: false,
            shows_name: false,
            shows_gain: false,
            shows_hottest: false,
        };
        assert!(covered(&draw(320, 240, nothing, Health::GOOD)) == 0.0);
        let frozen = Health::GOOD.with(Cause::Frozen);
        assert!(covered(&draw(320, 240, nothing, frozen)) > 0.01);
    }

    #[test]
    fn the_pointer_is_off_unless_asked_for_and_leaves_its_spot_free() {
        let shown = SymbolPlan {
            shows_hottest: true,
            ..SymbolPlan::default()
        };
        let (without, with) = (
            draw(320, 240, SymbolPlan::default(), Health::GOOD),
            draw(320, 240, shown, Health::GOOD),
        );
        let changed: Vec<usize> = (0..76_800).filter(|i| without[*i] != with[*i]).collect();
        assert!(changed.len() > 100);
        for i in changed {
            let (dx, dy) = ((i % 320).abs_diff(100), (i / 320).abs_diff(90));
            assert!((4..=22).contains(&dx) && dy <= 10, "{dx}, {dy}");
        }
    }

    #[test]
    fn the_onset_is_marked_by_position_and_text_in_both_units() {
        for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
            let plan = SymbolPlan {
                unit,
                ..SymbolPlan::default()
            };
            let pixels = draw(320, 240, plan, Health::GOOD);
            // The arrow's base and the label's white plate stand left of the bar, near the height
            // of 160 °C on a bar from 0 °C to 180 °C between rows 20 and 220.
            let row = 219 - (160 * 199 / 180);
            let white = |x: usize| pixels[row * 320 + x] == Rgb888::grey(255);
            assert!((294..302).any(white) && (240..290).filter(|x| white(*x)).count() > 10);
        }
    }
}
