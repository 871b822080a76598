//! Sections 6 to 8: bands, overlay, pseudo-colour, panel.

use super::plan::{Bands, Colour, Overlay};
use super::{floor, length, place, rnd};

const RANKS: [[i64; 4]; 4] = [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]];

/// Band of a pixel after its last band.
pub(crate) fn band(plan: &Bands, previous: i64, code: i64) -> i64 {
    let starts = plan.bands.iter().map(|band| band.start);
    let starts: Vec<i64> = starts.chain(plan.ceiling.map(|(start, _)| start)).collect();
    let reached = |less: i64| {
        length(
            starts
                .iter()
                .filter(|s| (**s - less).max(0) <= code)
                .count(),
        )
    };
    previous.max(reached(0)).min(reached(plan.hysteresis))
}

/// Whether a band is the ceiling.
pub(crate) fn is_ceiling(plan: &Bands, band: i64) -> bool {
    band > length(plan.bands.len())
}

fn mix(from: Colour, to: Colour, part: i64, whole: i64) -> Colour {
    [0, 1, 2].map(|c| from[c] + rnd((to[c] - from[c]) * part, whole))
}

/// Colour of a band of 1 or more, before the overlay.
pub(crate) fn band_colour(plan: &Bands, band: i64, code: i64) -> Colour {
    let index = place(band - 1);
    let Some(this) = plan.bands.get(index) else {
        return plan.ceiling.map_or([0; 3], |(_, colour)| colour);
    };
    let next = plan
        .bands
        .get(index + 1)
        .map(|next| (next.start, next.colour));
    match next.or(plan.ramp_end) {
        Some((end, toward)) if this.ramp => {
            let factor = rnd(256 * 65_536, end - this.start);
            let q = rnd((code - this.start).max(0) * factor, 65_536).min(256);
            mix(this.colour, toward, q, 256)
        }
        _ => this.colour,
    }
}

/// A colour over an 8-bit grey.
pub(crate) fn overlay(overlay: Overlay, colour: Colour, grey: i64) -> Colour {
    match overlay {
        Overlay::Opaque => colour,
        Overlay::Veil { opacity } => colour.map(|c| rnd(opacity * c + (255 - opacity) * grey, 255)),
        Overlay::Tint { knee, lift } => {
            let (factor, white) = if grey < knee {
                (rnd(65_536 * grey, knee), 0)
            } else {
                let white = rnd(65_536 * lift * (grey - knee), 255 * (255 - knee));
                (65_536 - white, white)
            };
            colour.map(|c| rnd(c * factor + 255 * white, 65_536))
        }
    }
}

/// Pseudo-colour of an 8-bit grey.
pub(crate) fn pseudo(stops: &[Colour], grey: i64) -> Colour {
    let x = grey * (length(stops.len()) - 1);
    let (i, rest) = (place(floor(x, 255)), x.rem_euclid(255));
    match stops.get(i..) {
        Some([from, to, ..]) => mix(*from, *to, rest, 255),
        Some([last]) => *last,
        _ => [0; 3],
    }
}

/// White where x + y is odd.
pub(crate) fn checker(x: i64, y: i64) -> Colour {
    [255 * ((x + y) % 2); 3]
}

/// The panel's word: format 0 is RGB888, 1 RGB565, 2 RGB565 dithered.
pub(crate) fn word(format: i64, colour: Colour, x: i64, y: i64) -> i64 {
    let [r, g, b] = colour;
    if format == 0 {
        return (r * 256 + g) * 256 + b;
    }
    let rank = RANKS[place(y % 4)][place(x % 4)];
    let channel = |v: i64, most: i64| {
        if format == 1 {
            rnd(v * most, 255)
        } else {
            floor(32 * most * v + 255 * (2 * rank + 1), 255 * 32)
        }
    };
    (channel(r, 31) * 64 + channel(g, 63)) * 32 + channel(b, 31)
}
