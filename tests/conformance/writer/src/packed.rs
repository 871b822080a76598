//! Packed profiles.

use glowsill_oracle::exact;
use serde_json::{Value, json};

use crate::stage::Stage;

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
