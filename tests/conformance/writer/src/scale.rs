//! Percentiles, scale ends, the plateau curve.

use glowsill_oracle::Oracle;
use glowsill_oracle::config::{Config, GainPlan, ScaleLaw, ScalePlan};
use glowsill_vectors::expand;
use serde_json::{Value, json};

use crate::sense::{f64s, whole};
use crate::stage::Stage;

const REQUEST: [&str; 3] = ["scale", "pixels", "codes"];
const ANSWER: [&str; 3] = ["lows[]", "highs[]", "greys[]"];

pub(crate) fn percentile() -> Result<Stage, String> {
    let mut s = Stage::new(
        "percentile",
        "scale",
        "Scale ends from two shares of the pixels; frame 1 is drawn with what frame 0 showed.",
        &REQUEST,
        &ANSWER,
        &[
            (
                "percentile-not-interpolated",
                "the end stands at an edge of the bin instead of inside it",
            ),
            (
                "percentile-rank",
                "the rank is cut off instead of rounded to the nearest pixel",
            ),
            (
                "percentile-rank-zero",
                "rank 0 is 0 K or the start of the table instead of the lower edge of the first occupied bin",
            ),
            (
                "percentile-invalid",
                "pixels without a sample count in the shares",
            ),
        ],
    );
    s.hand(1, "Rank 2 of 4 in a bin of 8 codes, and the upper edge of the last bin.", &["percentile-not-interpolated"],
        json!({"scale": [2, 250, 1000, 0, 0, 9000, 10275, 1, 1, 64, 128], "pixels": 8, "codes": [{"repeat": [4, 9600]}, {"repeat": [4, 9800]}, {"repeat": [4, 9600]}, {"repeat": [4, 9800]}]}),
        json!({"lows": [9000, 9604], "highs": [10275, 9808], "greys": [{"repeat": [4, 30720]}, {"repeat": [4, 40960]}, {"repeat": [4, 0]}, {"repeat": [4, 62720]}]}))?;
    s.exact(2, "Rank 0, and dead pixels beside valid ones.", &["percentile-rank-zero", "percentile-invalid"],
        json!({"scale": [2, 0, 999, 0, 0, 9000, 10000, 1, 1, 64, 128], "pixels": 8, "codes": [0, 9601, 9700, 0, 9800, 9900, 0, 0, 0, 9601, 9700, 0, 9800, 9900, 0, 0]}))?;
    s.exact(3, "4 and 5 of 9 pixels: 450 and 556 thousandths round to 4 and 5.", &["percentile-rank", "percentile-not-interpolated"],
        json!({"scale": [2, 450, 556, 0, 0, 9000, 10000, 1, 1, 64, 128], "pixels": 9, "codes": [9600, 9610, 9620, 9630, 9640, 9850, 9960, 9970, 9980, 9600, 9610, 9620, 9630, 9640, 9850, 9960, 9970, 9980]}))?;
    for (number, low, high, seed) in [(4, 10, 990, 71), (5, 333, 667, 72), (6, 1, 1000, 73)] {
        s.exact(number, "64 pixels over fine and coarse bins.", &["percentile-not-interpolated", "percentile-rank"],
            json!({"scale": [2, low, high, 0, 0, 9000, 10000, 1, 1, 64, 128], "pixels": 64, "codes": [{"noise": [32, seed, 9000, 9900]}, {"noise": [32, seed, 6000, 21000]}, {"noise": [32, seed, 9000, 9900]}, {"noise": [32, seed, 6000, 21000]}]}))?;
    }
    in_f64(
        &mut s,
        7,
        "As 5, in f64.",
        json!({"scale": [2, 333, 667, 0, 0, 9000, 10000, 1, 1, 64, 128], "pixels": 64, "codes": [{"noise": [32, 72, 9000, 9900]}, {"noise": [32, 72, 6000, 21000]}, {"noise": [32, 72, 9000, 9900]}, {"noise": [32, 72, 6000, 21000]}]}),
    )?;
    Ok(s)
}

pub(crate) fn scale() -> Result<Stage, String> {
    let mut s = Stage::new(
        "scale",
        "scale",
        "Frames of temperature codes to the scale ends each is drawn with (1/32 K) and to grey (1/256 of a code; 0 of a dead pixel).",
        &REQUEST,
        &ANSWER,
        &[
            (
                "scale-same-frame",
                "a frame is drawn with its own statistics instead of those of the frame before",
            ),
            (
                "scale-start-smoothed",
                "after the first frame with a valid pixel the scale moves slowly instead of jumping",
            ),
            (
                "scale-speeds-swapped",
                "the two speeds are swapped, or both ends share the speed of one",
            ),
            (
                "scale-approach-rounding",
                "a move is rounded away from the old value, so that falling and rising ends differ",
            ),
            (
                "scale-coarse-memory",
                "the ends are kept in 1/32 K, so that slow moves stop short of their target",
            ),
            (
                "scale-widen",
                "a narrow scale is not widened evenly about its middle, or the slope limit is forgotten",
            ),
            (
                "scale-below-zero",
                "a widened scale that would start below 0 K is not moved up",
            ),
            (
                "scale-top-wraps",
                "an upper end above 2048 K wraps in the record instead of reading 65535",
            ),
            (
                "scale-empty-frame",
                "a frame without a valid pixel moves the scale",
            ),
            (
                "scale-shift-32-bit",
                "255 shifted left by 24 bits is computed in 32 bits",
            ),
        ],
    );
    s.hand(1, "Start values, a jump, then half of the way to hotter and a quarter to colder.", &["scale-same-frame", "scale-start-smoothed", "scale-speeds-swapped", "scale-shift-32-bit"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 2, 4, 640, 64], "pixels": 2, "codes": [9600, 12800, 9200, 13800, 9200, 13800]}),
        json!({"lows": [9000, 9600, 9500], "highs": [10000, 12800, 13300], "greys": [39168, 65280, 0, 65280, 0, 65280]}))?;
    s.hand(2, "10 codes are widened to 640 about their middle.", &["scale-widen"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 2, 4, 640, 64], "pixels": 2, "codes": [9600, 9610, 9605, 9605]}),
        json!({"lows": [9000, 9285], "highs": [10000, 9925], "greys": [39168, 39821, 32640, 32640]}))?;
    s.hand(3, "Near 0 K the pair is moved up: 0 to 640.", &["scale-below-zero"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 2, 4, 640, 64], "pixels": 2, "codes": [40, 72, 160, 320]}),
        json!({"lows": [9000, 0], "highs": [10000, 640], "greys": [0, 0, 16320, 32640]}))?;
    s.hand(4, "The upper end passes 2048 K: 65030 to 65670, of which the record holds 65535.", &["scale-top-wraps"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 2, 4, 640, 64], "pixels": 2, "codes": [65300, 65400, 65350, 65030]}),
        json!({"lows": [9000, 65030], "highs": [10000, 65535], "greys": [65280, 65280, 32640, 0]}))?;
    s.hand(5, "Dead frames before and between.", &["scale-empty-frame", "scale-start-smoothed"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 2, 4, 640, 64], "pixels": 2, "codes": [0, 0, 9600, 12800, 0, 0, 9200, 13800]}),
        json!({"lows": [9000, 9000, 9600, 9600], "highs": [10000, 10000, 12800, 12800], "greys": [0, 0, 39168, 65280, 0, 0, 0, 65280]}))?;
    s.hand(6, "A fixed scale stays.", &["scale-same-frame"],
        json!({"scale": [0, 0, 0, 0, 0, 9000, 10000, 9, 9, 64, 128], "pixels": 1, "codes": [9500, 12000, 9250]}),
        json!({"lows": [9000, 9000, 9000], "highs": [10000, 10000, 10000], "greys": [32640, 65280, 16320]}))?;
    s.exact(7, "5 grey codes a kelvin ask for 51 K.", &["scale-widen"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 1, 1, 64, 5], "pixels": 2, "codes": [9600, 9700, 9640, 9651]}))?;
    s.exact(8, "7 grey codes a kelvin ask for 255/7 K, rounded up to 1/8192 K.", &["scale-widen"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 1, 1, 64, 7], "pixels": 2, "codes": [9600, 9601, 9640, 9651]}))?;
    s.exact(9, "A narrow scale falls slowly: every step is rounded toward the old value.", &["scale-approach-rounding", "scale-coarse-memory"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 48, 48, 64, 128], "pixels": 2, "codes": [9600, 9664, falling(24)]}))?;
    s.exact(10, "Both ends move both ways at two speeds.", &["scale-speeds-swapped", "scale-approach-rounding"],
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 3, 7, 64, 128], "pixels": 4, "codes": [{"noise": [32, 81, 9500, 9700]}, {"noise": [32, 82, 9300, 11000]}, {"noise": [32, 83, 9900, 10100]}]}))?;
    s.exact(11, "The fixed law is widened by the least span after the first frame.", &["scale-widen"],
        json!({"scale": [0, 0, 0, 0, 0, 9000, 9064, 9, 9, 3200, 128], "pixels": 1, "codes": [9032, 9500, 8000, 9033]}))?;
    in_f64(
        &mut s,
        12,
        "As 10, in f64.",
        json!({"scale": [1, 0, 0, 0, 0, 9000, 10000, 3, 7, 64, 128], "pixels": 4, "codes": [{"noise": [32, 81, 9500, 9700]}, {"noise": [32, 82, 9300, 11000]}, {"noise": [32, 83, 9900, 10100]}]}),
    )?;
    Ok(s)
}

/// Frames of two pixels, ten codes below the first one.
fn falling(frames: i64) -> Value {
    json!({ "noise": [2 * frames, 9, 9590, 9654] })
}

pub(crate) fn plateau() -> Result<Stage, String> {
    let mut s = Stage::new(
        "plateau",
        "scale",
        "The plateau-limited curve over frames, mixed with the linear scale.",
        &REQUEST,
        &ANSWER,
        &[
            (
                "plateau-not-centred",
                "a curve that the slope limit leaves pale starts at black instead of standing in the middle",
            ),
            (
                "plateau-first-curve",
                "the first curve is faded in instead of being taken at once",
            ),
            (
                "plateau-speeds",
                "the curve's memory uses the two speeds the wrong way round: it falls when the scale moves hotter",
            ),
            (
                "plateau-cap",
                "bins are not held at the plateau, or the plateau may be 0",
            ),
            (
                "plateau-slope",
                "the slope limit is forgotten, or does not follow the width of the bin",
            ),
            (
                "plateau-bins-in-use",
                "the bins in use are those of the widened ends instead of the percentiles",
            ),
            (
                "plateau-weight",
                "the weight of curve and line is forgotten, swapped or divided by 255",
            ),
        ],
    );
    s.hand(1, "No curve while the bins in use are empty; then one step of 32 codes stands at 111.5.", &["plateau-not-centred", "plateau-first-curve", "plateau-slope"],
        json!({"scale": [3, 500, 501, 1000, 256, 8101, 13541, 10, 10, 320, 128], "pixels": 4, "codes": [9600, 9600, 12800, 12800, {"repeat": [8, 9600]}]}),
        json!({"lows": [8101, 9448, 9448], "highs": [13541, 9768, 9768], "greys": [17988, 17988, 56388, 56388, {"repeat": [4, 31008]}, {"repeat": [4, 28544]}]}))?;
    let scenes = json!([
        {"noise": [40, 91, 9400, 9700]}, {"noise": [24, 92, 9000, 21000]},
        {"noise": [40, 93, 9500, 9800]}, {"noise": [24, 94, 9000, 25000]},
        {"noise": [40, 95, 9300, 9600]}, {"noise": [24, 96, 8000, 15000]},
        {"repeat": [64, 0]},
        {"noise": [60, 97, 9300, 9400]}, {"repeat": [4, 14000]}
    ]);
    for (number, comment, flags, weight, plateau, slope, low, high) in [
        (
            2,
            "The curve alone, a plateau of 2 %.",
            &["plateau-speeds", "plateau-cap"][..],
            256,
            20,
            40,
            10,
            990,
        ),
        (
            3,
            "Three quarters of the curve, shares of 1 % and 99 %.",
            &["plateau-weight", "plateau-cap"][..],
            192,
            20,
            10,
            10,
            990,
        ),
        (
            4,
            "A plateau of 1/1000 of 64 pixels is still one pixel.",
            &["plateau-cap"][..],
            128,
            1,
            128,
            0,
            1000,
        ),
        (
            5,
            "A slope of 2 codes a kelvin over bins of every width.",
            &["plateau-slope", "plateau-not-centred"][..],
            256,
            1000,
            2,
            0,
            1000,
        ),
        (
            6,
            "Weight 0 is the linear scale.",
            &["plateau-weight"][..],
            0,
            20,
            10,
            10,
            990,
        ),
        (
            7,
            "Shares of 40 % and 60 %: the widened scale is wider than the bins in use.",
            &["plateau-bins-in-use"][..],
            200,
            500,
            3,
            400,
            600,
        ),
    ] {
        s.exact(number, comment, flags,
            json!({"scale": [3, low, high, plateau, weight, 8101, 13541, 3, 5, 320, slope], "pixels": 64, "codes": scenes}))?;
    }
    in_f64(
        &mut s,
        8,
        "As 3, in f64.",
        json!({"scale": [3, 10, 990, 20, 192, 8101, 13541, 3, 5, 320, 10], "pixels": 64, "codes": scenes}),
    )?;
    Ok(s)
}

/// A scale vector whose answer is the f64 oracle's: ends within 2 codes, grey within one whole code.
fn in_f64(s: &mut Stage, number: u32, comment: &str, inputs: Value) -> Result<(), String> {
    let list = f64s(&inputs["scale"])?;
    let whole_numbers = expand(&inputs["scale"]).map_err(|e| e.to_string())?;
    let share = |i: usize| u16::try_from(whole_numbers[i]).map_err(|e| e.to_string());
    let law = match whole_numbers[0] {
        0 => ScaleLaw::Fixed,
        1 => ScaleLaw::Extremes,
        2 => ScaleLaw::Percentile {
            low: share(1)?,
            high: share(2)?,
        },
        _ => ScaleLaw::Plateau {
            low: share(1)?,
            high: share(2)?,
            plateau: share(3)?,
            weight_q8: share(4)?,
        },
    };
    let pixels = expand(&json!([inputs["pixels"]])).map_err(|e| e.to_string())?[0];
    let width = usize::try_from(pixels).map_err(|e| e.to_string())?;
    let ends = (list[5] / 32.0, list[6] / 32.0);
    let mut config = Config::grey(width, 1, GainPlan::HighOnly, law, ends);
    config.scale = ScalePlan {
        law,
        start_low: ends.0,
        start_high: ends.1,
        frames_to_hotter: list[7],
        frames_to_colder: list[8],
        min_span: list[9] / 32.0,
        max_grey_per_kelvin: list[10],
    };
    let mut oracle = Oracle::new(config);
    let (mut lows, mut highs, mut greys) = (Vec::new(), Vec::new(), Vec::new());
    for frame in f64s(&inputs["codes"])?.chunks_exact(width) {
        let kelvin: Vec<Option<f64>> = frame
            .iter()
            .map(|code| (*code > 0.0).then_some(code / 32.0))
            .collect();
        let drawn = oracle.frame_from_temperature(&kelvin);
        lows.push(whole(drawn.record.scale_low * 32.0));
        highs.push(whole(drawn.record.scale_high * 32.0).min(65_535));
        greys.extend(
            drawn
                .grey
                .iter()
                .zip(&kelvin)
                .map(|(grey, t)| t.map_or(0, |_| whole(grey * 256.0))),
        );
    }
    let expected = json!({"lows": lows, "highs": highs, "greys": greys});
    s.f64(
        number,
        comment,
        inputs,
        expected,
        &[("lows", 2), ("highs", 2), ("greys", 256)],
    )
}
