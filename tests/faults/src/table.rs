//! Results as the page `docs/faults.md`.

use core::fmt::Write as _;

use crate::campaign::Case;
use crate::run::Outcome;

const HEAD: &str = "\
# Fault campaign

What happens to the picture when something before the pipeline breaks. Every case runs the pipeline as a device does, on
simulated counts with noise, breaks the input with a seeded wrapper (`tests/faults`), and asks four things: does the record name
the right cause, in time, is the picture struck out, and is it good again once the fault is over? Sizes vary from 8x8 to 320x240;
profiles are the six demonstration profiles, scenes a still room, a growing fire, a billowing hot layer, the cold outdoors, a flashover.

Simulation and teaching only; not a certification, and no evidence that any equipment is fit for entry. What is **not** found
stands in [limits](limits.md): short faults, faults of a part of the picture, small drifts.

- **frames**: bad frames from the first one to the record that names the cause: least / median / most of the cases. Of bursts only the
  bad frames count; a frame that was not whole does not count for causes found in samples. The picture is struck out from the next
  frame on.
- **stated**: the most that `HealthPlan::frames_to_detect` states. Damaged tables are checked from power-up on, so that one pass
  finds them; the two passes stated are for damage that comes later.
- **struck out**: cases in which the pictures after the finding were struck out.
- **back**: most frames from the end of the fault to a good record under an unmarked picture; for stored data, after power-up with
  sound data. A flashover is itself struck out until a profile that switches the whole frame has switched; that counts here.
- **silent**: cases in which a cause was not named in time, or the picture was not struck out.

`GLOWSILL_WRITE=1 cargo test -p glowsill-faults --test campaign` writes this page; every other run compares it.

| fault | named as | cases | frames | stated | struck out | back | silent |
| --- | --- | --- | --- | --- | --- | --- | --- |
";

/// Whether a case failed to tell of its fault.
#[must_use]
pub fn is_silent(outcome: &Outcome) -> bool {
    !outcome.is_shown
        || outcome
            .found
            .iter()
            .any(|found| found.frames.is_none_or(|frames| frames > found.limit))
}

/// The page.
#[must_use]
pub fn page(results: &[(Case, Outcome)]) -> String {
    let mut text = HEAD.to_owned();
    let mut names: Vec<&str> = results.iter().map(|(case, _)| case.plan.name).collect();
    names.dedup();
    for name in names {
        let rows: Vec<_> = results
            .iter()
            .filter(|(case, _)| case.plan.name == name)
            .collect();
        let mut causes: Vec<&str> = rows
            .iter()
            .flat_map(|(case, _)| case.expected.iter().map(|(cause, _)| cause.name()))
            .collect();
        causes.sort_unstable();
        causes.dedup();
        let found: Vec<_> = rows
            .iter()
            .flat_map(|(_, outcome)| &outcome.found)
            .collect();
        let mut frames: Vec<usize> = found.iter().filter_map(|found| found.frames).collect();
        frames.sort_unstable();
        let (least, most) = (
            found.iter().map(|found| found.limit).min().unwrap_or(0),
            found.iter().map(|found| found.limit).max().unwrap_or(0),
        );
        let limit = if least == most {
            most.to_string()
        } else {
            format!("{least} to {most}")
        };
        let shown = rows.iter().filter(|(_, outcome)| outcome.is_shown).count();
        let back = match rows
            .iter()
            .map(|(_, outcome)| outcome.recovered)
            .collect::<Option<Vec<_>>>()
        {
            Some(back) => back
                .iter()
                .max()
                .map_or_else(String::new, |most| format!("{}", most + 1)),
            None => "never".to_owned(),
        };
        let silent = rows
            .iter()
            .filter(|(_, outcome)| is_silent(outcome))
            .count();
        let _ = writeln!(
            text,
            "| {name} | {} | {} | {} / {} / {} | {limit} | {shown} | {back} | {silent} |",
            causes.join(", "),
            rows.len(),
            frames.first().map_or("-".to_owned(), usize::to_string),
            frames
                .get(frames.len() / 2)
                .map_or("-".to_owned(), usize::to_string),
            frames.last().map_or("-".to_owned(), usize::to_string),
        );
    }
    let silent = results
        .iter()
        .filter(|(_, outcome)| is_silent(outcome))
        .count();
    let _ = writeln!(
        text,
        "\n**{} cases, {silent} silent.** Before every fault on the way all pictures were good and unmarked.",
        results.len()
    );
    text
}
