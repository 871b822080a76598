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
/// A picture's size and the pace of the fire in it.
#[derive(Clone, Copy)]
pub struct Room {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Frames after which all begins anew.
    pub period: u32,
    /// Frames at the end of a period in which there is no fire.
    pub rest: u32,
}

/// The room in [`WIDTH`] columns, [`HEIGHT`] rows and 40 frames.
pub const USUAL: Room = Room {
    width: WIDTH,
    height: HEIGHT,
    period: 40,
    rest: 0,
};

/// The same room in 64x48; the fire takes 35 frames to grow and 35 to shrink, then it is out for long enough that a
/// plan of whole frames goes back to the high state.
pub const SMALL: Room = Room {
    width: 64,
    height: 48,
    period: 100,
    rest: 30,
};

/// One kelvin in codes.
const K: i32 = 32;

/// What stands where in one frame.
struct Stage {
    /// Columns and rows.
    size: (i32, i32),
    /// Columns of the person.
    person: (i32, i32),
    /// Middle and squared radius of the fire.
    fire: (i32, i32, i32),
    /// Temperature that the fire's middle lies above its edge.
    glow: i32,
}

impl Stage {
    fn at(room: Room, frame: u32) -> Self {
        let (width, height) = (room.width as i32, room.height as i32);
        let phase = (frame % room.period) as i32;
        let half = (room.period - room.rest) as i32 / 2;
        let burns = phase < 2 * half;
        // Up to 1 and back, in 1/`half`.
        let grown = if phase < half {
            phase
        } else {
            (2 * half - phase).max(0)
        };
        let walk = (phase * (width - width / 8)) / room.period as i32;
        let radius = i32::from(burns) * (4 + 52 * grown / half) * height / 120;
        Self {
            size: (width, height),
            person: (walk, walk + width * 14 / 160),
            fire: (width * 5 / 8, height / 2, radius * radius),
            glow: 560 * K * grown / half,
        }
    }

    /// Temperature code of a pixel.
    fn code(&self, x: i32, y: i32) -> i32 {
        let (width, height) = self.size;
        let (cx, cy, reach) = self.fire;
        let distance = (x - cx) * (x - cx) + (y - cy) * (y - cy);
        if distance < reach {
            return 410 * K + self.glow * (reach - distance) / reach;
        }
        if x >= self.person.0 && x < self.person.1 && y > height / 3 {
            return 303 * K;
        }
        // Hot air gathers below the ceiling while the fire burns.
        let ceiling = height / 4;
        let air = if y < ceiling {
            self.glow * (ceiling - y) / (10 * ceiling)
        } else {
            0
        };
        291 * K + x * 8 * K / width + air
    }
}

/// Correction tables of one state.
pub type Table<'t> = (&'t [u16], &'t [i16]);

/// Fills both planes, a sample for each pixel of the room, for a frame; `noise` is the number that the noise
/// starts from: equal numbers of equal frames give equal samples.
pub fn frame(
    room: Room,
    frame: u32,
    noise: u32,
    tables: (Table<'_>, Table<'_>),
    high: &mut [u16],
    low: &mut [u16],
) {
    let stage = Stage::at(room, frame);
    let corner = stage.size.0 / 20;
    let mut sequence = Sequence::new(noise.wrapping_mul(2_654_435_761).wrapping_add(1));
    let places = (0..stage.size.1).flat_map(|y| (0..stage.size.0).map(move |x| (x, y)));
    let planes = high.iter_mut().zip(low.iter_mut());
    let tables = (tables.0.0.iter().zip(tables.0.1)).zip(tables.1.0.iter().zip(tables.1.1));
    for (((x, y), (high, low)), (high_table, low_table)) in places.zip(planes).zip(tables) {
        let code = stage.code(x, y);
        // A polished corner: the low state sees 60 K more than the high one.
        let odd = if x < corner && y < corner { 60 * K } else { 0 };
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
