//! Every case of the fault campaign; none may be silent, wrong or late.
#![allow(clippy::unwrap_used, reason = "test code")]

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use glowsill::profile_file::demo;
use glowsill_core::health::Cause;
use glowsill_core::profile::Profile;
use glowsill_faults::campaign::{Case, cases};
use glowsill_faults::run::{Outcome, run};
use glowsill_faults::table::{is_silent, page};

fn results() -> Vec<(Case, Outcome)> {
    let profiles: Vec<Profile> = demo()
        .unwrap()
        .into_iter()
        .map(|demo| demo.loaded.profile)
        .collect();
    let plans: Vec<_> = profiles.iter().map(|profile| profile.spec().gain).collect();
    let cases = cases(&plans);
    let (next, done) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    let threads = std::thread::available_parallelism().map_or(2, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some(case) = cases.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let outcome = run(case, &profiles[case.profile]);
                    done.lock().unwrap().push((
                        case as *const Case as usize,
                        case.clone(),
                        outcome,
                    ));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap();
    done.sort_by_key(|(place, _, _)| *place);
    done.into_iter()
        .map(|(_, case, outcome)| (case, outcome))
        .collect()
}

#[test]
fn no_fault_stays_silent_and_the_page_says_how_soon_each_is_told() {
    let results = results();
    let page = page(&results);
    println!("{page}");
    let mut faults = Vec::new();
    for (case, outcome) in &results {
        let tell = |what: &str| {
            format!(
                "{what}: {} at {:?}, profile {}, {:?}, seed {}: {outcome:?}",
                case.plan.name, case.size, case.profile, case.scene, case.seed
            )
        };
        if is_silent(outcome) {
            faults.push(tell("SILENT"));
        }
        if !outcome.wrong.is_empty() {
            faults.push(tell("WRONG CAUSE"));
        }
        if !outcome.was_clean {
            faults.push(tell("NOT CLEAN BEFORE"));
        }
        if outcome.recovered.is_none_or(|frames| frames >= case.back) {
            faults.push(tell("NOT BACK"));
        }
    }
    assert!(
        faults.is_empty(),
        "{} faults\n{}",
        faults.len(),
        faults.join("\n")
    );
    // Fewer cases than this, or a cause without one, means that something was not run.
    assert!(results.len() >= 600, "{} cases", results.len());
    for cause in Cause::ALL {
        let cases = results
            .iter()
            .filter(|(case, _)| case.expected.iter().any(|(expected, _)| *expected == cause));
        assert!(cases.count() >= 10, "{}", cause.name());
    }
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/faults.md");
    if std::env::var_os("GLOWSILL_WRITE").is_some() {
        std::fs::write(file, &page).unwrap();
    }
    let written = std::fs::read_to_string(file).unwrap();
    assert!(
        written == page,
        "docs/faults.md is not what this campaign gives; look at the difference, then write it with \
         GLOWSILL_WRITE=1 cargo test -p glowsill-faults --test campaign"
    );
}
