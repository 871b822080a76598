//! A scene that lives: a room of the scenery workshop, a person who walks through it, a fire that
//! grows and shrinks, hot air below the ceiling, dead samples, and a corner where the two gain states
//! disagree.
//!
//! The two planes are what a sensor with the calibrations of [`still`](crate::still) would give,
//! before correction. Noise comes from a sequence that starts anew with every frame number, so that
//! frame 7 is frame 7 on every machine and in every order.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "samples are made from small whole numbers; each narrowing is clamped beside it"
)]

use crate::still::{HIGH_Q8, LOW_Q8, Sequence, ZERO};

/// Columns.
pub const WIDTH: usize = 160;
/// Rows.
pub const HEIGHT: usize = 120;
/// Pixels.
pub const PIXELS: usize = WIDTH * HEIGHT;
/// Frames after which the fire has come and gone.
pub const PERIOD: u32 = 40;

/// One kelvin in codes.
const K: i32 = 32;

/// What stands where in one frame.
struct Stage {
    /// Columns of the person.
    person: (i32, i32),
    /// Middle and squared radius of the fire.
    fire: (i32, i32, i32),
    /// Temperature that the fire's middle lies above its edge.
    glow: i32,
}

impl Stage {
    fn at(frame: u32) -> Self {
        let phase = (frame % PERIOD) as i32;
        let half = PERIOD as i32 / 2;
        // Up to 1 and back, in 1/`half`.
        let grown = if phase < half {
            phase
        } else {
            2 * half - phase
        };
        let walk = (phase * (WIDTH as i32 - 20)) / PERIOD as i32;
        let radius = 4 + 52 * grown / half;
        Self {
            person: (walk, walk + 14),
            fire: (WIDTH as i32 * 5 / 8, HEIGHT as i32 / 2, radius * radius),
            glow: 560 * K * grown / half,
        }
    }

    /// Temperature code of a pixel.
    fn code(&self, x: i32, y: i32) -> i32 {
        let (cx, cy, reach) = self.fire;
        let distance = (x - cx) * (x - cx) + (y - cy) * (y - cy);
        if distance < reach {
            return 410 * K + self.glow * (reach - distance) / reach;
        }
        if x >= self.person.0 && x < self.person.1 && y > 40 {
            return 303 * K;
        }
        // Hot air gathers below the ceiling while the fire burns.
        let air = if y < 30 {
            self.glow * (30 - y) / 300
        } else {
            0
        };
        291 * K + x * K / 20 + air
    }
}

/// Correction tables of one state.
pub type Table<'t> = (&'t [u16], &'t [i16]);

/// Fills both planes, [`PIXELS`] samples each, for a frame; `noise` is the number that the noise
/// starts from: equal numbers of equal frames give equal samples.
pub fn frame(
    frame: u32,
    noise: u32,
    tables: (Table<'_>, Table<'_>),
    high: &mut [u16],
    low: &mut [u16],
) {
    let stage = Stage::at(frame);
    let mut sequence = Sequence::new(noise.wrapping_mul(2_654_435_761).wrapping_add(1));
    let places = (0..HEIGHT as i32).flat_map(|y| (0..WIDTH as i32).map(move |x| (x, y)));
    let planes = high.iter_mut().zip(low.iter_mut());
    let tables = (tables.0.0.iter().zip(tables.0.1)).zip(tables.1.0.iter().zip(tables.1.1));
    for (((x, y), (high, low)), (high_table, low_table)) in places.zip(planes).zip(tables) {
        let code = stage.code(x, y);
        // A polished corner: the low state sees 60 K more than the high one.
        let odd = if x < 8 && y < 8 { 60 * K } else { 0 };
        let raw = sequence.next();
        *high = sample(code + (raw & 7) - 4, HIGH_Q8, high_table);
        *low = sample(code + odd + (raw >> 3 & 31) - 16, LOW_Q8, low_table);
        // One pair in 4,096 is lost.
        if raw >> 4 == 77 {
            (*high, *low) = (0, 0);
        }
    }
}

/// Undoes calibration and correction of a code.
fn sample(code: i32, codes_q8: u32, (gain, offset): (&u16, &i16)) -> u16 {
    let counts = ((code - ZERO as i32) << 8) / codes_q8 as i32;
    // A tilted gain is undone to the first order: enough for a picture, and no second division.
    let tilt = i32::from(*gain) - 16_384;
    let even = counts.clamp(0, 20_000) - i32::from(*offset);
    (even - ((even * tilt) >> 14)).clamp(1, 16_383) as u16
}
