//! How a limit and hand-made quantities become a verdict.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use glowsill::measure::{MeasureId, Outcome, Quantity};
use glowsill::requirement::{Judgement, RequirementSet, Verdict};

fn outcome(measure: MeasureId, quantities: Vec<Quantity>) -> Outcome {
    Outcome {
        measure,
        quantities,
        pictures: vec![],
        plots: vec![],
        findings: vec![],
    }
}

fn judged(body: &str, outcomes: &[Outcome]) -> Judgement {
    let text = format!(
        "title = \"t\"\nedition = \"1\"\n[[requirement]]\nid = \"r\"\ntitle = \"r\"\nsource = \"project's own limit\"\n{body}"
    );
    let set = RequirementSet::parse("hand-made.toml", &text).unwrap();
    set.judge("Interior", outcomes).remove(0)
}

fn separation(delta_t: &str, value: f64) -> Quantity {
    Quantity::new("worst_separation", value, "JND").under("delta_t", delta_t)
}

const DETAIL: &str =
    "measure = \"detail\"\nquantity = \"worst_separation\"\nunit = \"JND\"\nat_least = 1\n";

#[test]
fn the_worst_matching_quantity_decides() {
    let found = [outcome(
        MeasureId::Detail,
        vec![separation("5 K", 3.0), separation("2 K", 1.25)],
    )];
    let Verdict::Pass(decision) = judged(DETAIL, &found).verdict else {
        panic!("should pass")
    };
    assert_eq!((decision.margin, decision.matched), (0.25, 2));
    assert_eq!(decision.worst.conditions["delta_t"], "2 K");

    let found = [outcome(
        MeasureId::Detail,
        vec![separation("5 K", 3.0), separation("2 K", 0.75)],
    )];
    let Verdict::Fail(decision) = judged(DETAIL, &found).verdict else {
        panic!("should fail")
    };
    assert_eq!(decision.margin, -0.25);
    // The condition leaves the failing one out; a number matches however it is written.
    let only = format!("{DETAIL}conditions = {{ delta_t = [\"5.0 K\", \"10 K\"] }}\n");
    let Verdict::Pass(decision) = judged(&only, &found).verdict else {
        panic!("should pass")
    };
    assert_eq!((decision.margin, decision.matched), (2.0, 1));
}

#[test]
fn a_value_on_its_limit_passes_on_both_sides() {
    let found = [outcome(MeasureId::Detail, vec![separation("2 K", 1.0)])];
    for body in [DETAIL.to_owned(), DETAIL.replace("at_least", "at_most")] {
        let verdict = judged(&body, &found).verdict;
        assert_eq!(verdict.word(), "PASS");
        assert_eq!(verdict.decision().unwrap().margin, 0.0);
    }
}

#[test]
fn with_two_limits_the_nearer_one_sets_the_margin() {
    let body = "measure = \"onset\"\nquantity = \"rising\"\nunit = \"°C\"\nat_least = \"302 F\"\nat_most = \"180 C\"\n";
    let at = |value| {
        [outcome(
            MeasureId::Onset,
            vec![Quantity::new("rising", value, "°C")],
        )]
    };
    // Source: 302 °F is 150 °C by the definition of the Fahrenheit scale.
    for (value, word, margin) in [
        (152.0, "PASS", 2.0),
        (175.0, "PASS", 5.0),
        (149.0, "FAIL", -1.0),
        (190.0, "FAIL", -10.0),
    ] {
        let verdict = judged(body, &at(value)).verdict;
        assert_eq!(verdict.word(), word, "{value}");
        assert!(
            (verdict.decision().unwrap().margin - margin).abs() < 1e-9,
            "{value}"
        );
    }
}

#[test]
fn a_margin_inside_the_uncertainty_is_said_in_words() {
    for (value, half, word, inside) in [
        (1.3, 0.4, "PASS", true),
        (0.9, 0.4, "FAIL", true),
        (1.3, 0.2, "PASS", false),
    ] {
        let found = [outcome(
            MeasureId::Detail,
            vec![separation("2 K", value).within(half)],
        )];
        let verdict = judged(DETAIL, &found).verdict;
        assert_eq!(verdict.word(), word);
        assert_eq!(verdict.decision().unwrap().inside_uncertainty, inside);
        assert_eq!(
            verdict.sentence().contains("inside the uncertainty"),
            inside
        );
    }
}

#[test]
fn what_was_not_measured_is_never_a_pass() {
    let absent = Quantity::absent("worst_separation", "JND", "the profile has no colour");
    let kelvin = Quantity::new("worst_separation", 5.0, "K");
    let not_a_number = Quantity {
        value: Some(f64::NAN),
        ..separation("2 K", 0.0)
    };
    for (quantities, said) in [
        (vec![absent.clone()], "no colour"),
        (vec![separation("2 K", 9.0), absent.clone()], "no colour"),
        (vec![kelvin], "'K'"),
        (vec![not_a_number], "no value"),
        (
            vec![Quantity::new("retention", 1.0, "ratio")],
            "gave no quantity 'worst_separation'",
        ),
    ] {
        let verdict = judged(DETAIL, &[outcome(MeasureId::Detail, quantities)]).verdict;
        assert_eq!(verdict.word(), "NOT EVALUATED", "{said}");
        let sentence = verdict.sentence();
        assert!(
            sentence.to_lowercase().contains(&said.to_lowercase()),
            "{said}: {sentence}"
        );
    }
    assert!(
        judged(DETAIL, &[])
            .verdict
            .sentence()
            .contains("was not made")
    );
    let nowhere = format!("{DETAIL}conditions = {{ frequency = \"0.1 cycles/px\" }}\n");
    let found = [outcome(MeasureId::Detail, vec![separation("2 K", 9.0)])];
    assert_eq!(judged(&nowhere, &found).verdict.word(), "NOT EVALUATED");
    // A known failure decides even beside something unknown.
    let found = [outcome(
        MeasureId::Detail,
        vec![absent, separation("2 K", 0.5)],
    )];
    assert_eq!(judged(DETAIL, &found).verdict.word(), "FAIL");
}

#[test]
fn a_mark_never_lost_passes_only_as_far_as_was_tested() {
    let lost = |value: f64| {
        let quantity = Quantity::new("lost_at", value, "°C").noting("not lost up to the top");
        [outcome(MeasureId::Dimming, vec![quantity])]
    };
    let body =
        "measure = \"dimming\"\nquantity = \"lost_at\"\nunit = \"°C\"\nat_least = \"300 C\"\n";
    assert_eq!(judged(body, &lost(600.0)).verdict.word(), "PASS");
    let short = judged(body, &lost(250.0)).verdict;
    assert_eq!(short.word(), "NOT EVALUATED");
    assert!(short.sentence().contains("top of the tested range"));
}

#[test]
fn a_requirement_for_named_profiles_leaves_the_others_alone() {
    let text = format!(
        "title = \"t\"\nedition = \"1\"\n[[requirement]]\nid = \"r\"\ntitle = \"r\"\nsource = \"s\"\napplies_to = [\"Search\"]\n{DETAIL}"
    );
    let set = RequirementSet::parse("x.toml", &text).unwrap();
    assert!(set.judge("Interior", &[]).is_empty());
    assert_eq!(set.judge("Search", &[]).len(), 1);
}

#[test]
fn the_shipped_files_are_read_and_say_whose_limits_they_are() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/requirements");
    for (name, least) in [("quoted-clause.toml", 5), ("stricter.toml", 12)] {
        let set = RequirementSet::load(&folder.join(name)).unwrap();
        assert!(set.requirements.len() >= least, "{name}");
        for requirement in &set.requirements {
            assert!(
                requirement.source.contains("project's own limit"),
                "{}",
                requirement.id
            );
        }
        let text = std::fs::read_to_string(folder.join(name))
            .unwrap()
            .to_lowercase();
        assert!(!text.contains("compliant"), "{name}");
    }
}
