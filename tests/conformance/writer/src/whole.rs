//! Packed profiles, records, and the whole pipeline.

use glowsill_oracle::exact;
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
const LISTS: [&str; 5] = ["name", "gain", "scale", "colour", "overlay"];

/// "Grey example", packed by hand; the check sum by zlib's CRC-32, outside the project.
const GREY_EXAMPLE: [i64; 37] = [
    103, 115, 105, 108, 1, 26, 0, 12, 71, 114, 101, 121, 32, 101, 120, 97, 109, 112, 108, 101, 2,
    0, 165, 63, 229, 105, 1, 1, 192, 2, 16, 0, 0, 96, 24, 80, 237,
];

fn grey_example() -> Value {
    let name: Vec<i64> = b"Grey example".iter().map(|b| i64::from(*b)).collect();
    json!({"name": name, "gain": [2], "scale": [0, 0, 0, 0, 0, 8101, 13541, 1, 1, 320, 16], "colour": [0], "overlay": [0]})
}

fn rich_profiles() -> [Value; 3] {
    [
        json!({"name": [65], "gain": [0, 12101, 13061, 640], "scale": [3, 10, 990, 20, 192, 9061, 10661, 24, 48, 640, 10],
            "colour": [1, 128, 3, 17061, 235, 210, 0, 0, 22501, 220, 115, 0, 0, 27941, 200, 0, 0, 0, 0, 1, 29221, 180, 90, 180], "overlay": [2, 200, 140]}),
        json!({"name": [72, 195, 188], "gain": [1, 12000, 127, 255, 11000, 128, 2, 60], "scale": [2, 5, 1000, 0, 0, 127, 16384, 255, 128, 64, 127],
            "colour": [2, 2, 0, 0, 0, 255, 255, 255], "overlay": [1, 255]}),
        json!({"name": [{"repeat": [32, 122]}], "gain": [3], "scale": [1, 0, 0, 0, 0, 9000, 65535, 1, 255, 16000, 128],
            "colour": [1, 0, 1, 128, 1, 2, 3, 1, 1, 65535, 250, 251, 252, 0], "overlay": [0]}),
    ]
}

pub(crate) fn pack() -> Result<Stage, String> {
    let mut s = Stage::new(
        "pack",
        "pack",
        "A profile to its packed bytes.",
        &LISTS,
        &["bytes[]"],
        &[
            (
                "pack-varint",
                "numbers from 128 on are not written in groups of seven bits, low group first",
            ),
            (
                "pack-crc",
                "the check sum is not the reflected CRC-32 with its start value and final inversion",
            ),
            (
                "pack-byte-order",
                "length or check sum are not written low byte first",
            ),
            ("pack-choice", "unused fields of another choice are written"),
        ],
    );
    s.hand(
        1,
        "A grey profile of 37 bytes.",
        &["pack-varint", "pack-crc", "pack-byte-order", "pack-choice"],
        grey_example(),
        json!({ "bytes": GREY_EXAMPLE.as_slice() }),
    )?;
    for (number, profile) in (2..).zip(rich_profiles()) {
        s.exact(
            number,
            "Other choices and numbers around 127, 128 and 16384.",
            &["pack-varint", "pack-choice"],
            profile,
        )?;
    }
    Ok(s)
}

pub(crate) fn unpack() -> Result<Stage, String> {
    let mut s = Stage::new(
        "unpack",
        "unpack",
        "Packed bytes to a status and a profile (empty lists unless the status is 0): 0 good, 1 cut off, 2 no packed profile, 3 another version, 4 damaged, 5 a body that is no profile.",
        &["bytes"],
        &[
            "status",
            "name[]",
            "gain[]",
            "scale[]",
            "colour[]",
            "overlay[]",
        ],
        &[
            (
                "unpack-varint",
                "numbers of more than one group of seven bits are read wrongly",
            ),
            (
                "unpack-crc",
                "a damaged profile is accepted: the check sum is not compared, or is another one",
            ),
            (
                "unpack-truncated",
                "a profile that is cut off is read beyond its end",
            ),
            ("unpack-mark", "bytes without the mark are read"),
            (
                "unpack-version",
                "a profile of another version is read as if it were of this one",
            ),
            ("unpack-body", "a choice that does not exist is accepted"),
            (
                "unpack-behind",
                "bytes behind the profile, such as erased flash, are not ignored",
            ),
        ],
    );
    let refused = |status: i64| json!({"status": status, "name": [], "gain": [], "scale": [], "colour": [], "overlay": []});
    let mut good = grey_example();
    good["status"] = json!(0);
    let bytes = GREY_EXAMPLE.to_vec();
    let behind = [GREY_EXAMPLE.as_slice(), &[255; 3]].concat();
    let with = |index: usize, value: i64| {
        let mut bytes = bytes.clone();
        bytes[index] = value;
        json!({ "bytes": bytes })
    };
    s.hand(
        1,
        "The grey profile.",
        &["unpack-varint"],
        json!({ "bytes": bytes }),
        good.clone(),
    )?;
    s.hand(
        2,
        "Erased flash behind it.",
        &["unpack-behind"],
        json!({ "bytes": behind }),
        good,
    )?;
    s.hand(
        3,
        "No bytes, fewer than the header.",
        &["unpack-truncated"],
        json!({ "bytes": [103, 115, 105, 108, 1, 26] }),
        refused(1),
    )?;
    s.hand(
        4,
        "The last byte is missing.",
        &["unpack-truncated"],
        json!({ "bytes": bytes[..36] }),
        refused(1),
    )?;
    s.hand(
        5,
        "Another mark.",
        &["unpack-mark"],
        with(0, 71),
        refused(2),
    )?;
    s.hand(6, "Version 2.", &["unpack-version"], with(4, 2), refused(3))?;
    s.hand(
        7,
        "One bit of the name is wrong.",
        &["unpack-crc"],
        with(8, 70),
        refused(4),
    )?;
    s.hand(
        8,
        "One bit of the check sum is wrong.",
        &["unpack-crc"],
        with(36, 236),
        refused(4),
    )?;
    let mut foreign = grey_example();
    foreign["scale"][0] = json!(9);
    s.hand(
        9,
        "A scale law that does not exist, with a good check sum.",
        &["unpack-body"],
        json!({ "bytes": packed(&foreign)? }),
        refused(5),
    )?;
    for (number, profile) in (10..).zip(rich_profiles()) {
        s.exact(
            number,
            "Other choices and numbers around 127, 128 and 16384.",
            &["unpack-varint"],
            json!({ "bytes": packed(&profile)? }),
        )?;
    }
    Ok(s)
}

/// Bytes of a profile, by the oracle's exact form.
fn packed(profile: &Value) -> Result<Vec<i64>, String> {
    let mut line = "pack".to_owned();
    for field in LISTS {
        let list = glowsill_vectors::expand(&profile[field]).map_err(|e| e.to_string())?;
        line.push_str(&format!(" {}", list.len()));
        for n in list {
            line.push_str(&format!(" {n}"));
        }
    }
    let answer = exact::answer(&line)?;
    answer
        .split(' ')
        .skip(1)
        .map(|n| n.parse().map_err(|_| answer.clone()))
        .collect()
}

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
