//! The comparison must meet what it is meant for, and must notice a difference.

use glowsill_core::profile::{ColourPlan, GainPlan, Overlay, ProfileSpec, ScaleLaw};
use glowsill_oracle::Oracle;
use glowsill_oracle::merge::GainInUse;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;

use crate::compare::{Bounds, compare, oracle_config};
use crate::frames::{Case, case};
use crate::profiles::{Kind, spec};

fn sampled(kind: Kind, count: usize) -> Vec<Case> {
    let mut runner = TestRunner::deterministic();
    let strategy = case(spec(kind));
    (0..count)
        .map(|_| strategy.new_tree(&mut runner).unwrap().current())
        .collect()
}

#[derive(Debug, Default)]
struct Met {
    blended: usize,
    disputed: usize,
    saturated: usize,
    invalid: usize,
    replaced: usize,
    low_frames: usize,
    blank_frames: usize,
    banded: usize,
    ceiling: usize,
    grey_between: usize,
    curves: usize,
}

fn met(cases: &[Case]) -> Met {
    let mut met = Met::default();
    for case in cases {
        let mut oracle = Oracle::new(oracle_config(case));
        for (high, low) in &case.frames {
            let frame = oracle.frame(Some(high), Some(low));
            met.blended += frame.merged.iter().filter(|p| p.steepness > 0.0).count();
            met.disputed += frame.record.disputed;
            met.saturated += frame.record.saturated;
            met.invalid += frame.record.invalid;
            met.replaced += frame.record.replaced;
            met.low_frames += usize::from(frame.record.gain == GainInUse::Low);
            met.blank_frames += usize::from(frame.record.gain == GainInUse::Blank);
            met.banded += frame.record.in_band[..6].iter().sum::<usize>();
            met.ceiling += frame.record.in_band[6];
            met.grey_between += frame.grey.iter().filter(|&&g| g > 1.0 && g < 254.0).count();
            met.curves += usize::from(oracle.scale().curve.is_some());
        }
    }
    met
}

#[test]
fn the_cases_meet_every_branch_often() {
    let pixelwise = met(&sampled(Kind::PerPixel, 100));
    let whole = met(&sampled(Kind::WholeFrame, 100));
    println!("per pixel {pixelwise:?}\nwhole frame {whole:?}");
    for (what, count) in [
        ("blended", pixelwise.blended),
        ("disputed", pixelwise.disputed),
        ("saturated", pixelwise.saturated),
        ("invalid", pixelwise.invalid),
        ("replaced", pixelwise.replaced),
        ("banded", pixelwise.banded),
        ("ceiling", pixelwise.ceiling),
        ("grey between", pixelwise.grey_between),
    ] {
        assert!(count > 500, "{what}: {count} pixels only");
    }
    for (what, count) in [
        ("low gain", whole.low_frames),
        ("blank", whole.blank_frames),
        ("equalised", whole.curves),
    ] {
        assert!(count > 20, "{what}: {count} frames only");
    }
}

/// Tells the oracle of a profile that differs a little; the comparison must find it in some case.
fn noticed(kind: Kind, change: fn(&mut ProfileSpec) -> bool) -> bool {
    sampled(kind, 150)
        .into_iter()
        .any(|mut case| change(&mut case.told) && compare(&case, Bounds::SameTemperatures).is_err())
}

#[test]
fn small_differences_are_noticed() {
    assert!(noticed(Kind::One, |told| match &mut told.colour {
        ColourPlan::Bands(plan) => {
            plan.hysteresis_k32 += 1;
            true
        }
        _ => false,
    }));
    assert!(noticed(Kind::One, |told| match &mut told.overlay {
        Overlay::Veil { opacity } => {
            *opacity = opacity.saturating_add(12);
            true
        }
        _ => false,
    }));
    assert!(noticed(Kind::One, |told| match &mut told.scale.law {
        ScaleLaw::Percentile {
            low_permille,
            high_permille,
        } if *high_permille < 980 => {
            *low_permille += 20;
            *high_permille += 20;
            true
        }
        _ => false,
    }));
    assert!(noticed(Kind::One, |told| match &mut told.scale.law {
        ScaleLaw::Plateau {
            plateau_permille, ..
        } => {
            *plateau_permille = (*plateau_permille / 2).max(1);
            true
        }
        _ => false,
    }));
    assert!(noticed(Kind::One, |told| {
        told.scale.frames_to_hotter = told.scale.frames_to_hotter.saturating_add(1);
        true
    }));
    assert!(noticed(Kind::PerPixel, |told| match &mut told.gain {
        GainPlan::PerPixel { dispute_k32, .. } => {
            *dispute_k32 += 16;
            true
        }
        _ => false,
    }));
    assert!(noticed(Kind::WholeFrame, |told| match &mut told.gain {
        GainPlan::WholeFrame(plan) => {
            plan.enter_frames += 1;
            true
        }
        _ => false,
    }));
}
