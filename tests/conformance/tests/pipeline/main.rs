//! Core against the oracle: any valid profile, any calibration, several frames.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "test code")]

mod compare;
mod coverage;
mod frames;
mod profiles;

use compare::{Bounds, compare};
use frames::{Case, case};
use profiles::{Kind, spec};
use proptest::prelude::*;

/// This many cases, unless `PROPTEST_CASES` says otherwise.
fn config(cases: u32) -> ProptestConfig {
    let default = ProptestConfig::default();
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    let cases = if asked { default.cases } else { cases };
    ProptestConfig {
        cases,
        max_shrink_iters: 400,
        ..default
    }
}

fn run(case: &Case, bounds: Bounds) -> Result<(), TestCaseError> {
    compare(case, bounds).map_err(TestCaseError::fail)
}

// Source: docs/pipeline.md, as implemented in f64 by the oracle; bounds as the crate states them.
proptest! {
    #![proptest_config(config(200))]

    #[test]
    fn per_pixel_gain(case in case(spec(Kind::PerPixel))) {
        run(&case, Bounds::SameTemperatures)?;
    }

    #[test]
    fn whole_frame_gain(case in case(spec(Kind::WholeFrame))) {
        run(&case, Bounds::SameTemperatures)?;
    }

    #[test]
    fn one_gain_state(case in case(spec(Kind::One))) {
        run(&case, Bounds::SameTemperatures)?;
    }

    #[test]
    fn whole_pipeline_from_counts(case in case(spec(Kind::Gentle))) {
        run(&case, Bounds::FromCounts)?;
    }
}
