//! Bands, overlays, pseudo-colour, panels.

use serde_json::{Value, json};

use crate::stage::Stage;

pub(crate) fn bands() -> Result<Stage, String> {
    let mut s = Stage::new(
        "bands",
        "bands",
        "Frames of temperature codes to bands (memory per pixel) and band colours before the overlay (0, 0, 0 in band 0).",
        &["colour", "pixels", "codes"],
        &["bands[]", "colours[]"],
        &[
            (
                "bands-onset-exclusive",
                "colour starts above the onset instead of at it",
            ),
            (
                "bands-hysteresis-forgotten",
                "a pixel leaves its band at the start of the band, without hysteresis",
            ),
            (
                "bands-hysteresis-edge",
                "a pixel at exactly the start less the hysteresis leaves its band",
            ),
            (
                "bands-one-step",
                "a pixel that falls or rises through several bands moves by one band a frame",
            ),
            (
                "bands-invalid-memory",
                "a pixel without a sample keeps its band",
            ),
            (
                "bands-ramp-position",
                "a ramp's position is not rounded to 1/256 before the colours are mixed",
            ),
            (
                "bands-ramp-below-start",
                "a pixel held below the start of its band by the hysteresis runs its ramp backward",
            ),
            (
                "bands-ramp-next",
                "a ramp does not run to the next band's start and colour, or does not stay at its end",
            ),
            ("bands-flat", "a flat band runs toward the next colour"),
        ],
    );
    let plan = json!([
        1, 100, 3, 10000, 200, 200, 0, 1, 11000, 200, 100, 0, 0, 12000, 200, 0, 0, 1, 1, 14000,
        100, 0, 100, 1, 15000, 255, 0, 255
    ]);
    s.hand(
        1,
        "One code below the onset, the onset, and half of the ramp.",
        &["bands-onset-exclusive", "bands-ramp-next"],
        json!({"colour": plan, "pixels": 1, "codes": [9999, 10000, 10500]}),
        json!({"bands": [0, 1, 1], "colours": [0, 0, 0, 200, 200, 0, 200, 150, 0]}),
    )?;
    s.hand(2, "Down to the edge of the hysteresis, through it, and back into it.", &["bands-hysteresis-forgotten", "bands-hysteresis-edge", "bands-ramp-below-start"],
        json!({"colour": plan, "pixels": 1, "codes": [10000, 9950, 9900, 9899, 9950]}),
        json!({"bands": [1, 1, 1, 0, 0], "colours": [200, 200, 0, 200, 200, 0, 200, 200, 0, 0, 0, 0, 0, 0, 0]}))?;
    s.hand(3, "From the ceiling down, band by band, then to grey at once.", &["bands-hysteresis-forgotten", "bands-one-step", "bands-ramp-next", "bands-flat"],
        json!({"colour": plan, "pixels": 1, "codes": [15000, 14950, 14899, 11950, 11899, 9000]}),
        json!({"bands": [4, 4, 3, 3, 2, 0], "colours": [255, 0, 255, 255, 0, 255, 100, 0, 100, 200, 0, 0, 200, 100, 0, 0, 0, 0]}))?;
    s.hand(
        4,
        "A dead frame in between clears the memory.",
        &["bands-invalid-memory"],
        json!({"colour": plan, "pixels": 1, "codes": [10000, 0, 9950]}),
        json!({"bands": [1, 0, 0], "colours": [200, 200, 0, 0, 0, 0, 0, 0, 0]}),
    )?;
    // 170 of 1000: q = 43.52 is kept as 44; 255·44/256 = 43.8.
    s.hand(5, "Ramp from black over 1000 codes, and beyond its end.", &["bands-ramp-position", "bands-ramp-next"],
        json!({"colour": [1, 0, 1, 10000, 0, 0, 0, 1, 1, 11000, 255, 128, 64, 0], "pixels": 1, "codes": [10170, 11000, 13000]}),
        json!({"bands": [1, 1, 1], "colours": [44, 22, 11, 255, 128, 64, 255, 128, 64]}))?;
    s.exact(
        6,
        "16 pixels over 12 frames of noise.",
        &["bands-hysteresis-forgotten", "bands-ramp-position"],
        json!({"colour": plan, "pixels": 16, "codes": [{"noise": [192, 101, 9700, 15200]}]}),
    )?;
    s.exact(7, "Six bands, hysteresis of 50 K, slow noise about the starts.", &["bands-hysteresis-forgotten", "bands-one-step"],
        json!({"colour": [1, 1600, 6, 11000, 235, 210, 0, 0, 12000, 220, 115, 0, 1, 13000, 200, 0, 0, 0, 14000, 180, 0, 90, 0, 15000, 120, 0, 120, 1, 16000, 60, 0, 60, 0, 0, 0], "pixels": 8, "codes": [{"noise": [160, 102, 9300, 16500]}]}))?;
    Ok(s)
}

pub(crate) fn overlay() -> Result<Stage, String> {
    let mut s = Stage::new(
        "overlay",
        "overlay",
        "A band colour over 8-bit greys.",
        &["overlay", "colour", "greys"],
        &["colours[]"],
        &[
            (
                "veil-256",
                "the veil divides by 256 instead of 255: equal inputs darken",
            ),
            (
                "veil-round-down",
                "the veil cuts off instead of rounding to the nearest",
            ),
            (
                "veil-swapped",
                "opacity 0 is the colour instead of the grey picture",
            ),
            (
                "tint-knee",
                "the tint does not meet the colour at the knee, or divides by zero near it",
            ),
            (
                "tint-lift",
                "the lift toward white is forgotten or not divided by 255",
            ),
            (
                "tint-round",
                "the tint cuts off instead of rounding its factor or its result",
            ),
            (
                "tint-16-bit",
                "grey times 65536 is shifted left before it is widened",
            ),
            (
                "opaque-grey",
                "an opaque overlay lets the grey picture through",
            ),
        ],
    );
    let every = json!([{"curve": [256, 0, 16, 0]}]);
    s.hand(
        1,
        "Opacity 0 is the grey picture.",
        &["veil-swapped", "veil-256"],
        json!({"overlay": [1, 0], "colour": [255, 165, 0], "greys": [0, 128, 255]}),
        json!({"colours": [0, 0, 0, 128, 128, 128, 255, 255, 255]}),
    )?;
    s.hand(
        2,
        "Opacity 255 is the colour.",
        &["veil-swapped", "veil-256"],
        json!({"overlay": [1, 255], "colour": [255, 165, 0], "greys": [0, 128, 255]}),
        json!({"colours": [255, 165, 0, 255, 165, 0, 255, 165, 0]}),
    )?;
    s.hand(
        3,
        "A colour over its own grey stays, whatever the opacity.",
        &["veil-256"],
        json!({"overlay": [1, 77], "colour": [100, 100, 100], "greys": [100]}),
        json!({"colours": [100, 100, 100]}),
    )?;
    // (51·255 + 204·100)/255 = 131; 204·100/255 = 80; 51·1/255 = 0.2; 51·3/255 = 0.6.
    s.hand(
        4,
        "A fifth of the way, and around one half of a code.",
        &["veil-round-down"],
        json!({"overlay": [1, 51], "colour": [255, 1, 3], "greys": [100, 0]}),
        json!({"colours": [131, 80, 81, 51, 0, 1]}),
    )?;
    s.hand(
        5,
        "Tint through black, half of the way, the knee and white.",
        &["tint-knee", "tint-lift", "tint-round"],
        json!({"overlay": [2, 150, 255], "colour": [255, 150, 0], "greys": [0, 75, 150, 255]}),
        json!({"colours": [0, 0, 0, 128, 75, 0, 255, 150, 0, 255, 255, 255]}),
    )?;
    s.hand(
        6,
        "Opaque.",
        &["opaque-grey"],
        json!({"overlay": [0], "colour": [1, 2, 254], "greys": [0, 255]}),
        json!({"colours": [1, 2, 254, 1, 2, 254]}),
    )?;
    for (number, opacity) in [(7, 1), (8, 128), (9, 254)] {
        s.exact(
            number,
            "Every grey under a veil.",
            &["veil-256", "veil-round-down"],
            json!({"overlay": [1, opacity], "colour": [235, 127, 0], "greys": every}),
        )?;
    }
    for (number, knee, lift) in [(10, 1, 255), (11, 254, 1), (12, 200, 140), (13, 97, 33)] {
        s.exact(
            number,
            "Every grey under a tint.",
            &["tint-knee", "tint-lift", "tint-round", "tint-16-bit"],
            json!({"overlay": [2, knee, lift], "colour": [235, 127, 0], "greys": every}),
        )?;
    }
    Ok(s)
}

pub(crate) fn pseudo() -> Result<Stage, String> {
    let mut s = Stage::new(
        "pseudo",
        "pseudo",
        "8-bit greys to a pseudo-colour of stops at equal distances.",
        &["stops", "greys"],
        &["colours[]"],
        &[
            (
                "pseudo-stops",
                "the stops stand at distances of 256/(n - 1), or the last stop is never reached",
            ),
            (
                "pseudo-floor-negative",
                "a falling channel is rounded toward zero instead of to the nearest",
            ),
        ],
    );
    s.hand(1, "Four stops, met at 0, 85, 170 and 255, and a fifth of the first way.", &["pseudo-stops"],
        json!({"stops": [0, 0, 0, 0, 0, 255, 255, 0, 0, 255, 255, 255], "greys": [0, 85, 170, 255, 17]}),
        json!({"colours": [0, 0, 0, 0, 0, 255, 255, 0, 0, 255, 255, 255, 0, 0, 51]}))?;
    // 255 - 255·3/255 = 252 and 10 - 10·3/255 = 9.88; at 13, 9.49.
    s.hand(
        2,
        "Two stops that fall.",
        &["pseudo-floor-negative"],
        json!({"stops": [255, 10, 0, 0, 0, 0], "greys": [0, 3, 13, 255]}),
        json!({"colours": [255, 10, 0, 252, 10, 0, 242, 9, 0, 0, 0, 0]}),
    )?;
    s.exact(3, "Every grey over seven stops.", &["pseudo-stops", "pseudo-floor-negative"],
        json!({"stops": [0, 0, 0, 60, 0, 120, 0, 90, 200, 20, 180, 60, 230, 220, 0, 255, 80, 0, 255, 255, 255], "greys": [{"curve": [256, 0, 16, 0]}]}))?;
    s.exact(
        4,
        "Every grey over twelve stops.",
        &["pseudo-stops"],
        json!({"stops": [{"noise": [36, 111, 0, 255]}], "greys": [{"curve": [256, 0, 16, 0]}]}),
    )?;
    Ok(s)
}

pub(crate) fn panel() -> Result<Stage, String> {
    let mut s = Stage::new(
        "panel",
        "panel",
        "Colours at places to the words of the glass: format 0 RGB888 (red in bits 16 to 23), 1 RGB565, 2 RGB565 dithered.",
        &["format", "x", "y", "colours"],
        &["words[]"],
        &[
            (
                "panel-truncated",
                "a channel is cut off to its top bits instead of rounded to the nearest code",
            ),
            ("panel-order", "red and blue change places"),
            (
                "panel-dither-transposed",
                "the dither matrix is read as [x][y] instead of [y][x]",
            ),
            (
                "panel-dither-half",
                "the half rank of the dither is forgotten, so that its mean is too dark",
            ),
            (
                "panel-dither-wraps",
                "white with dither wraps to a larger code",
            ),
        ],
    );
    s.hand(
        1,
        "RGB888.",
        &["panel-order"],
        json!({"format": 0, "x": [0, 1], "y": [0, 0], "colours": [255, 0, 1, 1, 2, 3]}),
        json!({"words": [16_711_681, 66_051]}),
    )?;
    // 5·31/255 = 0.61, 4·31/255 = 0.49, 3·63/255 = 0.74, 2·63/255 = 0.49.
    s.hand(2, "RGB565 around one half of a code.", &["panel-truncated", "panel-order"],
        json!({"format": 1, "x": [0, 0, 0, 0], "y": [0, 0, 0, 0], "colours": [255, 0, 0, 5, 3, 5, 4, 2, 4, 100, 100, 100]}),
        json!({"words": [63_488, 2081, 0, 25_388]}))?;
    s.hand(
        3,
        "RGB565 dithered: rank 0 at (0, 0), rank 15 at (0, 3).",
        &["panel-dither-half"],
        json!({"format": 2, "x": [0, 0], "y": [0, 3], "colours": [100, 100, 100, 100, 100, 100]}),
        json!({"words": [25_356, 27_437]}),
    )?;
    let places = |axis: fn(i64) -> i64| -> Value { (0..16).map(axis).collect() };
    let (x, y) = (places(|i| i % 4), places(|i| i / 4));
    for (number, grey) in [(4, 255), (5, 0), (6, 77), (7, 130), (8, 201)] {
        s.exact(
            number,
            "One grey at all sixteen places.",
            &[
                "panel-dither-transposed",
                "panel-dither-half",
                "panel-dither-wraps",
            ],
            json!({"format": 2, "x": x, "y": y, "colours": [{"repeat": [48, grey]}]}),
        )?;
    }
    s.exact(9, "256 random colours, rounded.", &["panel-truncated"],
        json!({"format": 1, "x": [{"repeat": [256, 0]}], "y": [{"repeat": [256, 0]}], "colours": [{"noise": [768, 121, 0, 255]}]}))?;
    s.exact(10, "256 random colours, dithered, at random places.", &["panel-dither-transposed", "panel-dither-half"],
        json!({"format": 2, "x": [{"noise": [256, 122, 0, 1279]}], "y": [{"noise": [256, 123, 0, 1023]}], "colours": [{"noise": [768, 124, 0, 255]}]}))?;
    Ok(s)
}
