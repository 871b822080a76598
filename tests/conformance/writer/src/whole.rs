//! Records, and the whole pipeline.

use serde_json::{Value, json};

use crate::stage::Stage;

const PIPELINE: [&str; 15] = [
    "width",
    "height",
    "gain",
    "high_calibration",
    "low_calibration",
    "high_gain",
    "high_offset",
    "low_gain",
    "low_offset",
    "defects",
    "scale",
    "colour",
    "overlay",
    "panel",
    "counts",
];
const PLANES: [&str; 5] = [
    "records[]",
    "temperatures[]",
    "greys[]",
    "bands[]",
    "words[]",
];

fn identity() -> Value {
    json!([8, 65535, {"curve": [257, 0, 4096, 0]}])
}

/// 14-bit high gain up to 150 °C or so, and a coarse low gain 1 K higher.
fn two_states() -> (Value, Value) {
    (
        json!([6, 15900, {"curve": [257, 8000, 320, 0]}]),
        json!([6, 16200, {"curve": [257, 7900, 800, 2]}]),
    )
}

fn scene(seed: i64, base: i64, block: i64, dead: i64) -> Value {
    json!({ "scene": [8, 8, seed, base, 60, 35, 40, 2, 3, 4, 3, block, dead] })
}

fn request(changes: Value) -> Value {
    let mut all = json!({"width": 8, "height": 8, "gain": [2], "high_calibration": identity(), "low_calibration": [],
        "high_gain": [], "high_offset": [], "low_gain": [], "low_offset": [], "defects": [],
        "scale": [0, 0, 0, 0, 0, 8101, 13541, 1, 1, 320, 16], "colour": [0], "overlay": [0], "panel": 0});
    if let Value::Object(changes) = changes {
        for (field, value) in changes {
            all[field] = value;
        }
    }
    all
}

pub(crate) fn record() -> Result<Stage, String> {
    let mut s = Stage::new(
        "record",
        "pipeline",
        "Frame records: frame, gain (0 per pixel, 1 high, 2 low, 3 blank), scale low, scale high, pixels, valid, from low, coloured, in band 1 to 6, in the ceiling, hottest (code, x, y), coldest (code, x, y), saturated, invalid, disputed, replaced.",
        &PIPELINE,
        &PLANES,
        &[
            (
                "record-ends-of-next",
                "the record shows the scale decided after the frame instead of the one it was drawn with",
            ),
            (
                "record-saturated",
                "saturated pixels are not counted, or have no temperature",
            ),
            (
                "record-replaced-twice",
                "a pixel replaced in both states counts twice",
            ),
            (
                "record-checker",
                "pixels without a sample are not drawn as a checker that is white where x + y is odd",
            ),
            (
                "record-ceiling-slot",
                "the ceiling is counted in the slot behind the last band instead of entry 6",
            ),
        ],
    );
    s.hand(1, "65 °C everywhere is the middle of the grey profile: 127.5, rounded to 128.", &["record-checker"],
        request(json!({"counts": [{"repeat": [64, 10821]}]})),
        json!({"records": [0, 1, 8101, 13541, 64, 64, {"repeat": [9, 0]}, 10821, 0, 0, 10821, 0, 0, {"repeat": [4, 0]}],
            "temperatures": [{"repeat": [64, 10821]}], "greys": [{"repeat": [64, 32640]}], "bands": [{"repeat": [64, 0]}], "words": [{"repeat": [64, 8_421_504]}]}))?;
    let row = json!([0, 16_777_215, 0, 16_777_215, 0, 16_777_215, 0, 16_777_215]);
    let other = json!([16_777_215, 0, 16_777_215, 0, 16_777_215, 0, 16_777_215, 0]);
    let rows: Vec<Value> = [&row, &other]
        .iter()
        .cycle()
        .take(8)
        .flat_map(|row| row.as_array().cloned().unwrap_or_default())
        .collect();
    s.hand(2, "Nothing valid: the checker.", &["record-checker"],
        request(json!({"counts": [{"repeat": [64, 0]}]})),
        json!({"records": [0, 1, 8101, 13541, 64, 0, {"repeat": [9, 0]}, {"repeat": [6, 0]}, 0, 64, 0, 0],
            "temperatures": [{"repeat": [64, 0]}], "greys": [{"repeat": [64, 0]}], "bands": [{"repeat": [64, 0]}], "words": rows}))?;
    let (high, low) = two_states();
    let defects =
        json!([1, {"repeat": [8, 0]}, 1, {"repeat": [20, 0]}, 1, 0, 1, {"repeat": [31, 0]}]);
    s.exact(3, "Every count at once: saturated, dead, disputed, replaced, two bands and the ceiling, two frames.", &["record-ends-of-next", "record-saturated", "record-replaced-twice", "record-ceiling-slot", "record-checker"],
        request(json!({"gain": [0, 12000, 12800, 640], "high_calibration": high, "low_calibration": low, "defects": defects,
            "scale": [1, 0, 0, 0, 0, 8101, 13541, 2, 3, 320, 16],
            "colour": [1, 64, 2, 12900, 235, 210, 0, 0, 13500, 220, 115, 0, 0, 0, 1, 20000, 180, 90, 180], "overlay": [1, 128],
            "counts": [scene(131, 12500, 15895, 5), scene(132, 6200, 14000, 7), scene(133, 13800, 15880, 9), scene(134, 6500, 16190, 11)]})))?;
    Ok(s)
}

pub(crate) fn pipeline() -> Result<Stage, String> {
    let mut s = Stage::new(
        "pipeline",
        "pipeline",
        "Whole frames of 8 by 8 pixels through every stage; counts are, per frame, the plane of each state that has a calibration, high first.",
        &PIPELINE,
        &PLANES,
        &[
            (
                "pipeline-onset-in-grey",
                "the onset is compared in grey instead of in temperature, so that the moving scale moves it",
            ),
            (
                "pipeline-blank-memory",
                "a blank frame clears the band memory or moves the scale",
            ),
            (
                "pipeline-blank-counter",
                "a blank frame does not count in the frame number, or its record is not Blank",
            ),
            (
                "pipeline-ceiling-overlay",
                "the ceiling is blended by the overlay instead of being opaque",
            ),
            ("pipeline-lag", "a frame is drawn with its own statistics"),
            (
                "pipeline-low-before-high",
                "corrections or counts of the two states are swapped",
            ),
            (
                "pipeline-grey-round",
                "grey is cut off instead of rounded to 8 bits before the overlay",
            ),
            (
                "pipeline-invalid-memory",
                "a pixel without a sample keeps its band",
            ),
            (
                "pipeline-watch",
                "in low gain the pixels above the entering limit are counted instead of those above the leaving limit",
            ),
        ],
    );
    let bands = json!([
        1, 64, 3, 11000, 235, 210, 0, 0, 12000, 220, 115, 0, 0, 13000, 200, 0, 0, 0, 0, 1, 14500,
        180, 90, 180
    ]);
    let (high, low) = two_states();
    s.exact(1, "Per pixel, corrections, defects, tint, dithered panel, five frames.", &["pipeline-low-before-high", "pipeline-lag", "pipeline-grey-round"],
        request(json!({"gain": [0, 11800, 12400, 640], "high_calibration": high, "low_calibration": low,
            "high_gain": [{"noise": [64, 141, 16000, 16800]}], "high_offset": [{"noise": [64, 142, -20, 20]}],
            "low_gain": [{"noise": [64, 143, 16000, 16800]}], "low_offset": [{"noise": [64, 144, -20, 20]}],
            "defects": [{"repeat": [9, 0]}, 1, 1, {"repeat": [22, 0]}, 1, {"repeat": [30, 0]}],
            "scale": [2, 20, 980, 0, 0, 8101, 13541, 3, 5, 320, 16], "colour": bands, "overlay": [2, 200, 140], "panel": 2,
            "counts": [scene(145, 6000, 13000, 0), scene(146, 3000, 6000, 0), scene(147, 6100, 15000, 30), scene(148, 3050, 7000, 30),
                scene(149, 6200, 15950, 0), scene(150, 3100, 9000, 20), scene(151, 6100, 14000, 0), scene(152, 3000, 6500, 0),
                scene(153, 6000, 12000, 0), scene(154, 2900, 5600, 0)]})))?;
    let frames: Vec<Value> = [
        12_100, 12_900, 12_900, 12_900, 12_900, 12_500, 12_480, 11_500, 11_400, 11_400, 11_400,
        11_970,
    ]
    .iter()
    .zip(160..)
    .flat_map(|(block, seed)| {
        [
            scene(seed, 9600, *block, 0),
            scene(seed + 20, 9600, block - 30, 0),
        ]
    })
    .collect();
    s.exact(2, "Whole frame: to low gain and back with two blank frames each; bands outlive them.", &["pipeline-blank-memory", "pipeline-blank-counter", "pipeline-watch", "pipeline-lag"],
        request(json!({"gain": [1, 12300, 150, 2, 11900, 50, 2, 2], "low_calibration": identity(), "scale": [1, 0, 0, 0, 0, 8101, 13541, 2, 4, 320, 16],
            "colour": [1, 640, 2, 12000, 235, 210, 0, 1, 12800, 220, 115, 0, 0, 0, 0], "overlay": [1, 100], "counts": frames})))?;
    let moving: Vec<Value> = [(60, 10_520), (600, 10_520), (5, 10_490), (900, 10_470), (20, 10_465), (300, 10_500)]
        .iter()
        .zip(181..)
        .map(|((slope, block), seed)| json!({ "scene": [8, 8, seed, 9300, slope, 9, 3, 2, 3, 4, 3, block, 0] }))
        .collect();
    s.exact(3, "A block stays near the onset while the scale moves away under it.", &["pipeline-onset-in-grey", "pipeline-lag"],
        request(json!({"scale": [1, 0, 0, 0, 0, 9000, 11500, 2, 3, 320, 16], "colour": [1, 32, 1, 10500, 235, 210, 0, 0, 0, 0], "overlay": [0], "counts": moving})))?;
    let dead: Vec<Value> = (191..196)
        .map(|seed| json!({ "scene": [8, 8, seed, 10_450, 14, 9, 20, 2, 3, 4, 3, 15_000, 4] }))
        .collect();
    s.exact(4, "A quarter of the pixels is dead, other ones each frame, about an onset; ceiling under a veil.", &["pipeline-invalid-memory", "pipeline-ceiling-overlay"],
        request(json!({"scale": [3, 10, 990, 20, 192, 9000, 11500, 2, 3, 320, 16], "colour": [1, 64, 1, 10500, 235, 210, 0, 0, 0, 1, 14500, 180, 90, 180], "overlay": [1, 90], "panel": 1, "counts": dead})))?;
    let low_only: Vec<Value> = (201..205)
        .map(|seed| scene(seed, 3000 + 40 * (seed % 3), 5000, 16))
        .collect();
    s.exact(5, "Low gain alone, pseudo-colour, dithered.", &["pipeline-grey-round", "pipeline-lag"],
        request(json!({"gain": [3], "high_calibration": [], "low_calibration": low, "low_offset": [{"noise": [64, 205, -9, 9]}], "low_gain": [{"repeat": [64, 16400]}],
            "scale": [2, 10, 990, 0, 0, 9000, 14000, 4, 4, 320, 16], "colour": [2, 4, 0, 0, 0, 0, 0, 255, 255, 0, 0, 255, 255, 255], "panel": 2, "counts": low_only})))?;
    Ok(s)
}

pub(crate) fn large() -> Result<Stage, String> {
    let mut s = Stage::new(
        "large",
        "digest",
        "Larger frames, of which the answer gives the records and per frame four CRC-32 check sums: of the temperatures (two bytes each, low byte first), greys (two bytes), bands (one byte) and words (four bytes).",
        &PIPELINE,
        &["records[]", "digests[]"],
        &[
            (
                "large-width",
                "a width above 255, a place, or a count is kept in too few bits",
            ),
            (
                "large-first-wrong-plane",
                "the first check sum that differs names the stage: temperature, grey, band or picture",
            ),
        ],
    );
    let (high, low) = two_states();
    let bands = json!([
        1, 64, 3, 11000, 235, 210, 0, 0, 12000, 220, 115, 0, 0, 13000, 200, 0, 0, 0, 0, 1, 14500,
        180, 90, 180
    ]);
    let picture = |seed: i64, base: i64, block: i64, at: i64| json!({ "scene": [300, 80, seed, base, 5, 9, 50, at, 20, 60, 30, block, 3000] });
    s.exact(1, "300 by 80, per pixel, plateau, tint, RGB565, three frames.", &["large-width", "large-first-wrong-plane"],
        request(json!({"width": 300, "height": 80, "gain": [0, 11800, 12400, 640], "high_calibration": high, "low_calibration": low,
            "scale": [3, 10, 990, 20, 192, 9061, 10661, 24, 48, 640, 10], "colour": bands, "overlay": [2, 200, 140], "panel": 1,
            "counts": [picture(211, 6000, 13_500, 20), picture(212, 3000, 6500, 20), picture(213, 6010, 15_950, 60), picture(214, 3005, 8000, 60),
                picture(215, 6020, 14_000, 100), picture(216, 3010, 7000, 100)]})))?;
    s.exact(2, "300 by 80, high gain with corrections, percentiles, veil, dithered.", &["large-width", "large-first-wrong-plane"],
        request(json!({"width": 300, "height": 80, "high_calibration": high, "high_gain": [{"noise": [24000, 221, 16000, 16800]}], "high_offset": [{"noise": [24000, 222, -20, 20]}],
            "scale": [2, 10, 990, 0, 0, 9061, 10661, 3, 5, 640, 10], "colour": bands, "overlay": [1, 64], "panel": 2,
            "counts": [picture(223, 6000, 13_500, 20), picture(224, 6010, 15_950, 200), picture(225, 5500, 9000, 239)]})))?;
    Ok(s)
}
