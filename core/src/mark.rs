//! Mark: strikes out a picture that cannot be trusted.
//!
//! **Purpose.** A bad picture must not be taken for a good one. **Input**: a drawn row. **Output**:
//! the row with diagonal bars, black beside white, over a quarter of it: no scene and no palette
//! of this pipeline gives that, and it needs no colour vision. **Latency**: none. **Memory**: none.

use crate::panel::{PanelFormat, Rgb888};

/// Columns and rows from one pair of bars to the next.
const PERIOD: u16 = 32;
/// Width of one bar along a row, pixels.
const BAR: u16 = 4;

/// Draws the bars over a row.
pub(crate) fn strike_row<P: PanelFormat>(out: &mut [P::Pixel], y: u16) {
    for (x, pixel) in (0..u16::MAX).zip(out) {
        match x.wrapping_add(y) % PERIOD {
            phase if phase < BAR => *pixel = P::pack(Rgb888::grey(0), x, y),
            phase if phase < 2 * BAR => *pixel = P::pack(Rgb888::grey(255), x, y),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::PanelRgb565;

    #[test]
    fn a_quarter_of_any_picture_is_struck_in_black_and_white() {
        let (mut black, mut white, mut left) = (0, 0, 0);
        for y in 0..240 {
            let mut row = [0x1234; 320];
            strike_row::<PanelRgb565>(&mut row, y);
            for pixel in row {
                match pixel {
                    0 => black += 1,
                    0xFFFF => white += 1,
                    _ => left += 1,
                }
            }
        }
        assert_eq!((black, white, left), (9600, 9600, 57_600));
    }
}
