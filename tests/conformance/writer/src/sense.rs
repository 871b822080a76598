//! Correction, calibration, merge, switching.

use glowsill_oracle::config::Calibration;
use glowsill_oracle::number::round_half_up;
use glowsill_vectors::expand;
use serde_json::{Value, json};

use crate::stage::Stage;

pub(crate) fn correct() -> Result<Stage, String> {
    let mut s = Stage::new(
        "correct",
        "correct",
        "Raw counts of one gain state to samples: 0 dead, 65535 saturated, else corrected counts.",
        &["width", "saturation", "gain", "offset", "defects", "raw"],
        &["samples[]", "replaced"],
        &[
            (
                "correct-round-down",
                "raw times gain is cut off instead of rounded to the nearest",
            ),
            (
                "correct-clamp",
                "corrected counts are not clamped to 1 to 65534, so that they wrap or look dead or saturated",
            ),
            (
                "correct-product-32-bit",
                "raw times gain is multiplied in a signed 32-bit or a 16-bit number and overflows",
            ),
            (
                "correct-saturation-after",
                "saturation or deadness is judged after the correction instead of by the raw count",
            ),
            (
                "correct-defect-chain",
                "a defective pixel takes part in the mean of its neighbour, with its own or its replaced counts",
            ),
            (
                "correct-defect-bad-neighbour",
                "dead or saturated neighbours take part in the mean",
            ),
            (
                "correct-defect-round-down",
                "the mean of the neighbours is cut off instead of rounded half up",
            ),
            (
                "correct-defect-edge-wrap",
                "at the left or right edge the mean takes a pixel of the opposite edge",
            ),
            (
                "correct-defect-row-below",
                "the mean takes the row below, which a row-wise pipeline has not seen yet",
            ),
            (
                "correct-defect-own-value",
                "a defective pixel without usable neighbours keeps its own counts",
            ),
        ],
    );
    let none: Value = json!([]);
    s.hand(1, "Marks without a table.", &["correct-saturation-after"],
        json!({"width": 5, "saturation": 100, "gain": none, "offset": none, "defects": none, "raw": [0, 1, 99, 100, 65535]}),
        json!({"samples": [0, 1, 99, 65535, 65535], "replaced": 0}))?;
    s.hand(2, "Half a count rounds up: 0.5, 1.5, and 0.49994.", &["correct-round-down"],
        json!({"width": 3, "saturation": 65535, "gain": [8192, 8192, 8191], "offset": [5, 5, 5], "defects": none, "raw": [1, 3, 1]}),
        json!({"samples": [6, 7, 5], "replaced": 0}))?;
    s.hand(3, "Both ends of the clamp.", &["correct-clamp"],
        json!({"width": 3, "saturation": 65535, "gain": [16384, 16384, 32767], "offset": [-10, -5, 5], "defects": none, "raw": [5, 5, 40000]}),
        json!({"samples": [1, 1, 65534], "replaced": 0}))?;
    s.hand(4, "65000 times 65535 needs 32 unsigned bits.", &["correct-product-32-bit", "correct-clamp"],
        json!({"width": 2, "saturation": 65535, "gain": [65535, 65535], "offset": [0, -32768], "defects": none, "raw": [65000, 40000]}),
        json!({"samples": [65534, 65534], "replaced": 0}))?;
    s.hand(5, "900 becomes 1800 and stays valid; 1000 becomes 500 and is saturated; 0 plus 7 is dead.", &["correct-saturation-after"],
        json!({"width": 3, "saturation": 1000, "gain": [32768, 8192, 16384], "offset": [0, 0, 7], "defects": none, "raw": [900, 1000, 0]}),
        json!({"samples": [1800, 65535, 0], "replaced": 0}))?;
    // (10 + 21 + 31)/3 = 20.67
    s.hand(6, "W 10, E saturated, NW 21, N dead, NE 31.", &["correct-defect-bad-neighbour"],
        json!({"width": 3, "saturation": 900, "gain": none, "offset": none, "defects": [0, 0, 0, 0, 1, 0], "raw": [21, 0, 31, 10, 800, 900]}),
        json!({"samples": [21, 0, 31, 10, 21, 65535], "replaced": 1}))?;
    s.hand(7, "Mean of 11 and 12 is 12; the corrected counts count.", &["correct-defect-round-down"],
        json!({"width": 3, "saturation": 900, "gain": [16384, 16384, 16384], "offset": [1, 0, 2], "defects": [0, 1, 0], "raw": [10, 7, 10]}),
        json!({"samples": [11, 12, 12], "replaced": 1}))?;
    s.hand(8, "Two defects side by side: each sees only its sound side.", &["correct-defect-chain"],
        json!({"width": 4, "saturation": 900, "gain": none, "offset": none, "defects": [0, 1, 1, 0], "raw": [10, 20, 30, 40]}),
        json!({"samples": [10, 10, 40, 40], "replaced": 2}))?;
    // Left: (500 + 100 + 200)/3 = 266.67; right: (500 + 200 + 300)/3 = 333.33.
    s.hand(9, "Defects at both edges.", &["correct-defect-edge-wrap", "correct-defect-row-below"],
        json!({"width": 3, "saturation": 900, "gain": none, "offset": none, "defects": [0, 0, 0, 1, 0, 1, 0, 0, 0], "raw": [100, 200, 300, 400, 500, 600, 700, 710, 720]}),
        json!({"samples": [100, 200, 300, 267, 500, 333, 700, 710, 720], "replaced": 2}))?;
    s.hand(10, "No usable neighbour: dead, and not counted.", &["correct-defect-own-value", "correct-defect-row-below"],
        json!({"width": 2, "saturation": 900, "gain": none, "offset": none, "defects": [1, 1, 0, 0], "raw": [50, 60, 70, 80]}),
        json!({"samples": [0, 0, 70, 80], "replaced": 0}))?;
    s.exact(11, "16 by 8 noise with tables and scattered defects.", &["correct-round-down", "correct-defect-chain", "correct-defect-round-down"],
        json!({"width": 16, "saturation": 12000, "gain": [{"noise": [128, 11, 15800, 17000]}], "offset": [{"noise": [128, 12, -20, 20]}],
            "defects": [1, {"repeat": [14, 0]}, 1, {"repeat": [20, 0]}, 1, 1, 1, {"repeat": [13, 0]}, 1, 1, 1, {"repeat": [40, 0]}, 1, 0, 1, {"repeat": [29, 0]}, 1],
            "raw": [{"scene": [16, 8, 13, 6000, 100, 30, 900, 3, 2, 5, 3, 11500, 9]}]}))?;
    Ok(s)
}

pub(crate) fn temperature() -> Result<Stage, String> {
    let mut s = Stage::new(
        "temperature",
        "temperature",
        "Corrected counts to temperature codes of 1/32 K through the calibration's 257 knots.",
        &["shift", "knots", "counts"],
        &["codes[]"],
        &[
            (
                "lookup-half-down",
                "half a code is rounded down or cut off between the knots",
            ),
            (
                "lookup-shift-16-bit",
                "the rise times the fraction is multiplied or shifted left in 16 bits before it is widened",
            ),
            (
                "lookup-table-end",
                "counts beyond the table read past the last knot or extrapolate",
            ),
            (
                "lookup-zero",
                "a valid sample gets temperature code 0, which means no sample",
            ),
            (
                "lookup-last-interval",
                "the last interval of the identity table is not interpolated to 65535",
            ),
        ],
    );
    s.hand(1, "Knots of 1000 + 100 i, 64 counts apart.", &["lookup-table-end", "lookup-half-down"],
        json!({"shift": 6, "knots": [{"curve": [257, 1000, 1600, 0]}], "counts": [0, 64, 32, 1, 63, 16383, 16384, 65535]}),
        json!({"codes": [1000, 1100, 1050, 1002, 1098, 26598, 26600, 26600]}))?;
    s.hand(
        2,
        "A rise of one code: half of it rounds up.",
        &["lookup-half-down"],
        json!({"shift": 6, "knots": [{"curve": [257, 1000, 16, 0]}], "counts": [31, 32, 95, 96]}),
        json!({"codes": [1000, 1001, 1001, 1002]}),
    )?;
    s.hand(3, "The identity table: from 65409 one code low.", &["lookup-last-interval"],
        json!({"shift": 8, "knots": [{"curve": [257, 0, 4096, 0]}], "counts": [1, 9600, 65280, 65408, 65409, 65535]}),
        json!({"codes": [1, 9600, 65280, 65408, 65408, 65534]}))?;
    s.hand(
        4,
        "A rise over the whole range within one interval.",
        &["lookup-shift-16-bit"],
        json!({"shift": 8, "knots": [0, {"repeat": [256, 65535]}], "counts": [128, 255, 256, 1]}),
        json!({"codes": [32768, 65279, 65535, 256]}),
    )?;
    s.hand(
        5,
        "Knots of 0 K still give 1/32 K.",
        &["lookup-zero"],
        json!({"shift": 7, "knots": [{"repeat": [257, 0]}], "counts": [5, 32767, 65535]}),
        json!({"codes": [1, 1, 1]}),
    )?;
    let curved = json!({"shift": 7, "knots": [{"curve": [257, 7000, 600, 3]}], "counts": [{"noise": [200, 21, 1, 33000]}]});
    s.exact(
        6,
        "A curved table, 200 counts.",
        &["lookup-half-down"],
        curved.clone(),
    )?;
    let table = Calibration {
        shift: 7,
        knots: f64s(&curved["knots"])?
            .into_iter()
            .map(|code| code / 32.0)
            .collect(),
        saturation: u16::MAX,
    };
    let mut codes = Vec::new();
    for count in expand(&curved["counts"]).map_err(|e| e.to_string())? {
        let count = u16::try_from(count).map_err(|e| e.to_string())?;
        codes.push(whole(table.temperature(count) * 32.0));
    }
    s.f64(
        7,
        "The same in f64.",
        curved,
        json!({ "codes": codes }),
        &[("codes", 1)],
    )?;
    Ok(s)
}

/// The numbers of a list in f64.
pub(crate) fn f64s(list: &Value) -> Result<Vec<f64>, String> {
    let list = expand(list).map_err(|e| e.to_string())?;
    list.into_iter()
        .map(|n| i32::try_from(n).map(f64::from).map_err(|e| e.to_string()))
        .collect()
}

/// The nearest whole number.
#[allow(
    clippy::cast_possible_truncation,
    reason = "whole, and within the range of greys and codes"
)]
pub(crate) fn whole(x: f64) -> i64 {
    round_half_up(x) as i64
}

pub(crate) fn merge() -> Result<Stage, String> {
    let mut s = Stage::new(
        "merge",
        "merge",
        "Samples of two gain states (0 dead, 65535 saturated) to one row of temperature codes, pixel by pixel.",
        &["gain", "high_calibration", "low_calibration", "high", "low"],
        &["codes[]", "from_low", "saturated", "disputed"],
        &[
            (
                "merge-half-weight",
                "a weight of exactly one half does not count as from low",
            ),
            (
                "merge-dispute-limit",
                "a difference of exactly the limit counts as a dispute",
            ),
            (
                "merge-dispute-colder",
                "in a dispute the colder state, always the same state, or the blend is shown",
            ),
            (
                "merge-blend-ends",
                "the blend starts or ends beside its limits, or runs on beyond them",
            ),
            (
                "merge-floor-negative",
                "where low gain is colder, the division rounds toward zero instead of half upward",
            ),
            (
                "merge-low-saturated",
                "a saturated low-gain sample is taken although high gain is valid, or high gain's top goes before low gain's",
            ),
            (
                "merge-both-invalid",
                "a pixel with two dead samples gets a temperature",
            ),
            (
                "merge-low-only-count",
                "in low gain alone not every pixel with a temperature counts as from low",
            ),
        ],
    );
    let high = json!([6, 16000, {"curve": [257, 0, 1024, 0]}]);
    let low = json!([6, 16000, {"curve": [257, 320, 1024, 0]}]);
    s.hand(1, "Low gain reads 10 K more; the blend runs from code 1000 to 2000.", &["merge-half-weight", "merge-blend-ends"],
        json!({"gain": [0, 1000, 2000, 640], "high_calibration": high, "low_calibration": low, "high": [1000, 1500, 2000, 500, 1250], "low": [1000, 1500, 2000, 500, 1250]}),
        json!({"codes": [1000, 1660, 2320, 500, 1330], "from_low": 2, "saturated": 0, "disputed": 0}))?;
    s.hand(2, "A difference of exactly the limit is blended.", &["merge-dispute-limit"],
        json!({"gain": [0, 1000, 2000, 320], "high_calibration": high, "low_calibration": low, "high": [1500], "low": [1500]}),
        json!({"codes": [1660], "from_low": 1, "saturated": 0, "disputed": 0}))?;
    s.hand(3, "One code more is a dispute; the hotter is shown, whichever it is.", &["merge-dispute-colder"],
        json!({"gain": [0, 1000, 2000, 319], "high_calibration": high, "low_calibration": low, "high": [1500, 1500, 400], "low": [1500, 800, 500]}),
        json!({"codes": [1820, 1500, 820], "from_low": 2, "saturated": 0, "disputed": 3}))?;
    s.hand(4, "Dead and saturated samples in every combination.", &["merge-low-saturated", "merge-both-invalid"],
        json!({"gain": [0, 1000, 2000, 100], "high_calibration": high, "low_calibration": high, "high": [65535, 65535, 0, 65535, 500, 500, 0, 0], "low": [5000, 65535, 0, 0, 0, 65535, 65535, 700]}),
        json!({"codes": [5000, 16000, 0, 16000, 500, 500, 16000, 700], "from_low": 4, "saturated": 3, "disputed": 0}))?;
    // Weight 1024 of 4096 at 1250: -3/4 goes to -1, -1/2 to 0, -3/2 to -1.
    s.hand(5, "Low gain is colder: quarters of -3, -2 and -6 codes.", &["merge-floor-negative"],
        json!({"gain": [0, 1000, 2000, 640], "high_calibration": high, "low_calibration": high, "high": [1250, 1250, 1250], "low": [1247, 1248, 1244]}),
        json!({"codes": [1249, 1250, 1249], "from_low": 0, "saturated": 0, "disputed": 0}))?;
    s.hand(6, "At the start, at the end and beyond it.", &["merge-blend-ends"],
        json!({"gain": [0, 1000, 2000, 640], "high_calibration": high, "low_calibration": high, "high": [999, 1000, 2000, 2500], "low": [1300, 1300, 2300, 2800]}),
        json!({"codes": [999, 1000, 2300, 2800], "from_low": 2, "saturated": 0, "disputed": 0}))?;
    s.hand(7, "High gain alone.", &["merge-both-invalid"],
        json!({"gain": [2], "high_calibration": high, "low_calibration": [], "high": [0, 500, 65535], "low": []}),
        json!({"codes": [0, 500, 16000], "from_low": 0, "saturated": 1, "disputed": 0}))?;
    s.hand(8, "Low gain alone: every pixel with a temperature is from low.", &["merge-low-only-count"],
        json!({"gain": [3], "high_calibration": [], "low_calibration": low, "high": [], "low": [0, 500, 65535]}),
        json!({"codes": [0, 820, 16320], "from_low": 2, "saturated": 1, "disputed": 0}))?;
    s.exact(9, "128 pixels of noise over the blend, with other spans.", &["merge-floor-negative", "merge-blend-ends"],
        json!({"gain": [0, 1000, 1777, 200], "high_calibration": high, "low_calibration": low, "high": [{"noise": [128, 31, 700, 2100]}], "low": [{"noise": [64, 32, 400, 1800]}, {"noise": [64, 31, 380, 1790]}]}))?;
    Ok(s)
}

pub(crate) fn switch() -> Result<Stage, String> {
    let mut s = Stage::new(
        "switch",
        "switch",
        "Frames of temperature codes to the gain state each is made from: 1 high, 2 low, 3 blank.",
        &["gain", "pixels", "codes"],
        &["states[]"],
        &[
            (
                "switch-strictly-above",
                "a pixel at exactly the limit counts as above it",
            ),
            (
                "switch-run-not-reset",
                "a frame that does not hold does not start the run again",
            ),
            (
                "switch-empty-frame",
                "a frame without a valid pixel counts as held, or keeps the run",
            ),
            (
                "switch-share-of-all",
                "the share is taken of all pixels instead of the valid ones",
            ),
            (
                "switch-share-rounded",
                "the share is rounded to whole thousandths before it is compared",
            ),
            (
                "switch-blanks",
                "blank frames are one too many or too few, are forgotten one way, or count in the run",
            ),
        ],
    );
    let cold = json!({"repeat": [10, 9000]});
    let warm = json!([12001, {"repeat": [9, 9000]}]);
    let mut frames: Vec<Value> = Vec::new();
    for _ in 0..4 {
        frames.extend(warm.as_array().into_iter().flatten().cloned());
    }
    frames.extend((0..6).map(|_| cold.clone()));
    s.hand(
        1,
        "A tenth above for two frames, then none for three, one blank frame each way.",
        &["switch-blanks"],
        json!({"gain": [1, 12000, 100, 2, 11000, 20, 3, 1], "pixels": 10, "codes": frames}),
        json!({"states": [1, 1, 3, 2, 2, 2, 2, 3, 1, 1]}),
    )?;
    s.hand(2, "Exactly the limit is not above it.", &["switch-strictly-above"],
        json!({"gain": [1, 12000, 1, 1, 11000, 0, 1, 0], "pixels": 2, "codes": [12000, 12000, 12000, 12000, 12001, 9000, 11000, 11000, 9000, 9000]}),
        json!({"states": [1, 1, 1, 2, 1]}))?;
    s.hand(3, "Every second frame holds: no switch before two in a row.", &["switch-run-not-reset"],
        json!({"gain": [1, 12000, 500, 2, 11000, 0, 1, 0], "pixels": 1, "codes": [13000, 9000, 13000, 9000, 13000, 13000, 13000]}),
        json!({"states": [1, 1, 1, 1, 1, 1, 2]}))?;
    s.hand(4, "A frame without a valid pixel resets the run, and does not leave low gain.", &["switch-empty-frame"],
        json!({"gain": [1, 12000, 500, 2, 11000, 1000, 1, 0], "pixels": 2, "codes": [13000, 13000, 0, 0, 13000, 13000, 13000, 13000, 0, 0, 13000, 0, 9000, 9000]}),
        json!({"states": [1, 1, 1, 1, 2, 2, 1]}))?;
    s.hand(5, "One of two valid pixels of four is a half.", &["switch-share-of-all"],
        json!({"gain": [1, 12000, 500, 1, 11000, 0, 1, 0], "pixels": 4, "codes": [13000, 0, 9000, 0, 13000, 0, 9000, 0]}),
        json!({"states": [1, 2]}))?;
    s.hand(6, "One of three is more than 333 and less than 334 thousandths.", &["switch-share-rounded"],
        json!({"gain": [1, 12000, 334, 1, 11000, 333, 1, 0], "pixels": 3, "codes": [13000, 9000, 9000, 13000, 13000, 9000, 13000, 9000, 9000, 9000, 9000, 9000]}),
        json!({"states": [1, 1, 2, 2]}))?;
    s.exact(7, "48 frames of noise with three blank frames.", &["switch-blanks", "switch-run-not-reset"],
        json!({"gain": [1, 12000, 120, 2, 11050, 950, 2, 3], "pixels": 16, "codes": [{"noise": [768, 41, 10990, 12120]}]}))?;
    Ok(s)
}
