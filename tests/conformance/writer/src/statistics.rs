//! Statistics of a frame, and the bins behind percentiles.

use serde_json::json;

use crate::stage::Stage;

pub(crate) fn statistics() -> Result<Stage, String> {
    let mut s = Stage::new(
        "statistics",
        "statistics",
        "A frame of temperature codes to the number of valid pixels and the extremes: code, column, row.",
        &["width", "codes"],
        &["valid", "hottest[]", "coldest[]"],
        &[
            (
                "extremes-first",
                "of equal extremes a later pixel than the first in row order is reported",
            ),
            (
                "extremes-invalid",
                "pixels without a sample take part in the statistics",
            ),
            (
                "extremes-empty",
                "a frame without a valid pixel reports an extreme",
            ),
        ],
    );
    s.hand(
        1,
        "Ties and dead pixels over two rows.",
        &["extremes-first", "extremes-invalid"],
        json!({"width": 4, "codes": [500, 0, 700, 700, 700, 500, 499, 0]}),
        json!({"valid": 6, "hottest": [700, 2, 0], "coldest": [499, 2, 1]}),
    )?;
    s.hand(
        2,
        "No valid pixel.",
        &["extremes-empty"],
        json!({"width": 2, "codes": [0, 0, 0, 0]}),
        json!({"valid": 0, "hottest": [], "coldest": []}),
    )?;
    s.hand(
        3,
        "All the same: the first pixel is both.",
        &["extremes-first"],
        json!({"width": 3, "codes": [0, 9000, 9000, 9000, 9000, 9000]}),
        json!({"valid": 5, "hottest": [9000, 1, 0], "coldest": [9000, 1, 0]}),
    )?;
    s.exact(
        4,
        "16 by 8 noise.",
        &["extremes-first"],
        json!({"width": 16, "codes": [{"noise": [128, 51, 9600, 9640]}]}),
    )?;
    Ok(s)
}

pub(crate) fn bins() -> Result<Stage, String> {
    let mut s = Stage::new(
        "bins",
        "bins",
        "Temperature codes to the histogram's bin numbers and those bins' lower edges in codes.",
        &["codes"],
        &["bins[]", "edges[]"],
        &[(
            "bins-edges",
            "a temperature at the edge of a bin, or of a zone of bins, falls into the bin below",
        )],
    );
    s.hand(1, "Both sides of every change of width.", &["bins-edges"],
        json!({"codes": [1, 255, 256, 7679, 7680, 7687, 7688, 13823, 13824, 13856, 19967, 19968, 20223, 20224, 65535]}),
        json!({"bins": [0, 0, 1, 29, 30, 30, 31, 797, 798, 799, 989, 990, 990, 991, 1167],
            "edges": [0, 0, 256, 7424, 7680, 7680, 7688, 13816, 13824, 13856, 19936, 19968, 19968, 20224, 65280]}))?;
    s.exact(
        2,
        "200 codes of the whole range.",
        &["bins-edges"],
        json!({"codes": [{"noise": [200, 61, 1, 65535]}]}),
    )?;
    Ok(s)
}
