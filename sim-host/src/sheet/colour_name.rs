//! Everyday names of colours, so that a legend can be read without seeing its colours.

use crate::photometry::colour::{ciede2000, lab};

/// Everyday names with colours that carry them. **Source**: named colours of CSS Color Module Level 4 (W3C), of
/// which those with a qualified name (`firebrick`, `darkorange`, `gold`, `blueviolet`, `mediumorchid`, …) stand under
/// the plain name of their hue; the plain names are glowsill's own choice.
const NAMED: [(&str, [u8; 3]); 30] = [
    ("black", [0x00, 0x00, 0x00]),
    ("grey", [0x80, 0x80, 0x80]),
    ("light grey", [0xd3, 0xd3, 0xd3]),
    ("white", [0xff, 0xff, 0xff]),
    ("dark red", [0x8b, 0x00, 0x00]),
    ("red", [0xff, 0x00, 0x00]),
    ("red", [0xb2, 0x22, 0x22]),
    ("orange", [0xff, 0xa5, 0x00]),
    ("orange", [0xff, 0x8c, 0x00]),
    ("brown", [0x8b, 0x45, 0x13]),
    ("yellow", [0xff, 0xff, 0x00]),
    ("yellow", [0xff, 0xd7, 0x00]),
    ("olive", [0x80, 0x80, 0x00]),
    ("light green", [0x90, 0xee, 0x90]),
    ("green", [0x00, 0xff, 0x00]),
    ("green", [0x00, 0x80, 0x00]),
    ("dark green", [0x00, 0x64, 0x00]),
    ("cyan", [0x00, 0xff, 0xff]),
    ("teal", [0x00, 0x80, 0x80]),
    ("light blue", [0xad, 0xd8, 0xe6]),
    ("light blue", [0x87, 0xce, 0xeb]),
    ("blue", [0x1e, 0x90, 0xff]),
    ("blue", [0x00, 0x00, 0xff]),
    ("dark blue", [0x00, 0x00, 0x8b]),
    ("violet", [0x8a, 0x2b, 0xe2]),
    ("purple", [0x80, 0x00, 0x80]),
    ("purple", [0xba, 0x55, 0xd3]),
    ("magenta", [0xff, 0x00, 0xff]),
    ("pink", [0xff, 0xc0, 0xcb]),
    ("pink", [0xff, 0x69, 0xb4]),
];

/// The everyday name of an sRGB colour: that of the nearest named one by CIEDE2000.
///
/// ```
/// use glowsill::sheet::colour_name::colour_name;
/// assert_eq!(colour_name([235, 210, 0]), "yellow");
/// ```
#[must_use]
pub fn colour_name(rgb: [u8; 3]) -> &'static str {
    let seen = lab(rgb);
    NAMED
        .iter()
        .map(|(name, codes)| (*name, ciede2000(seen, lab(*codes))))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map_or("grey", |nearest| nearest.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_have_the_names_that_the_standard_or_the_decision_gives_them() {
        for (codes, name) in [
            // Source: CSS Color Module Level 4, named colours that are not in the list above.
            ([0xdc, 0x14, 0x3c], "red"),    // crimson
            ([0x22, 0x8b, 0x22], "green"),  // forestgreen
            ([0x41, 0x69, 0xe1], "blue"),   // royalblue
            ([0xda, 0x70, 0xd6], "purple"), // orchid
            ([0x69, 0x69, 0x69], "grey"),   // dimgray
            // Source: docs/decisions/0003-default-colours.md calls the bands yellow, orange and red.
            ([235, 210, 0], "yellow"),
            ([220, 115, 0], "orange"),
            ([200, 0, 0], "red"),
            ([180, 90, 180], "purple"),
            // Both reds of the poor example: the same word for both, because they are hard to tell apart.
            ([0xc8, 0x1e, 0x1e], "red"),
            ([0xbe, 0x28, 0x18], "red"),
        ] {
            assert_eq!(colour_name(codes), name, "{codes:?}");
        }
    }
}
