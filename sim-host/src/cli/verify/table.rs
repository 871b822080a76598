//! Verdicts on the terminal, in words and symbols, so that no reading depends on colour.

use std::path::Path;

use comfy_table::{ContentArrangement, Table, presets};

use super::{Expectation, ProfileResult, Standing};
use crate::cli::{CAUTION, output};
use crate::requirement::{RequirementSet, Verdict};

pub(super) fn print(results: &[ProfileResult], set: &RequirementSet, out: &Path) {
    output::line(format_args!("{} ({})", set.title, set.edition));
    for result in results {
        output::line("");
        output::line(heading(result));
        output::line(verdicts(result));
    }
    output::line("");
    for result in results {
        output::line(conclusion(result));
    }
    output::line(format_args!(
        "Report: {}",
        out.join("report.html").display()
    ));
    output::line(CAUTION);
}

fn heading(result: &ProfileResult) -> String {
    let mark = match result.expectation {
        Expectation::Passes => "",
        Expectation::ThereToFail => "  [poor example, there to fail]",
    };
    format!("{} ({}){mark}", result.loaded.name(), result.loaded.source)
}

fn symbol(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Pass(_) => "✓",
        Verdict::Fail(_) => "✗",
        Verdict::NotEvaluated { .. } => "–",
    }
}

fn verdicts(result: &ProfileResult) -> Table {
    let mut table = Table::new();
    table
        .load_preset(presets::UTF8_HORIZONTAL_ONLY)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_header(["verdict", "requirement", "what decided"]);
    // comfy-table asks the terminal; without one, lines would run on for ever.
    if table.width().is_none() {
        table.set_width(110);
    }
    for judgement in &result.judgements {
        table.add_row([
            format!(
                "{} {}",
                symbol(&judgement.verdict),
                judgement.verdict.word()
            ),
            judgement.requirement.title.clone(),
            judgement.verdict.sentence(),
        ]);
    }
    table
}

fn conclusion(result: &ProfileResult) -> String {
    let [pass, fail, not_evaluated] = result.counts();
    let words = match (result.expectation, result.standing()) {
        (Expectation::Passes, Standing::Passes) => "does as required",
        (Expectation::Passes, Standing::Fails) => "FAILS",
        (Expectation::ThereToFail, Standing::Fails) => "fails, as it is there to",
        (Expectation::ThereToFail, Standing::Passes) => "PASSES, although it is there to fail",
        (_, Standing::NotEvaluated) => "NOT EVALUATED: nothing required could be measured",
    };
    let symbol = if result.as_expected() { "✓" } else { "✗" };
    format!(
        "{symbol} {}: {words} ({pass} pass, {fail} fail, {not_evaluated} not evaluated)",
        result.loaded.name()
    )
}
