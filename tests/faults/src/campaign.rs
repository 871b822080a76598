//! The cases: which fault, on which profile, in front of which scene, and what must be named.
//!
//! Expected causes follow from what the sensor can know, case by case; none is taken from a run.

use glowsill_core::health::Cause;
use glowsill_core::profile::GainPlan;

use crate::Sequence;
use crate::fault::{Fault, Pattern};
use crate::scene::Scene;
use crate::storage::{Bytes, Storage};

/// What goes wrong in a row of the table, and where the row stands.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Name of the row.
    pub name: &'static str,
    /// What is wrong from power-up on.
    pub storage: Vec<Storage>,
    /// What goes wrong on the way.
    pub faults: Vec<(Fault, Pattern)>,
    /// Most cases of this plan; they are spread evenly over profiles and scenes.
    most: usize,
}

/// One run.
#[derive(Clone, Debug)]
pub struct Case {
    /// What goes wrong.
    pub plan: Plan,
    /// Index of the demonstration profile.
    pub profile: usize,
    /// What stands in front of the sensor.
    pub scene: Scene,
    /// Columns and rows.
    pub size: (usize, usize),
    /// Whether low gain is not read out at all.
    pub is_single: bool,
    /// Seed of everything random.
    pub seed: u64,
    /// What must be named, each for the fault at an index of the plan; `None` is what is stored.
    pub expected: Vec<(Cause, Option<usize>)>,
    /// What may be named besides, because it is true as well.
    pub allowed: Vec<Cause>,
    /// Most frames until all is good again.
    pub back: usize,
}

/// The sizes; every one of them is shown to every kind of fault sooner or later.
const SIZES: [(usize, usize); 7] = [
    (64, 48),
    (80, 60),
    (8, 8),
    (96, 72),
    (32, 24),
    (160, 120),
    (64, 64),
];

/// Every plan, in the order of the table.
#[must_use]
pub fn plans() -> Vec<Plan> {
    use Fault as F;
    use Storage as S;
    let always = |name, fault| Plan {
        name,
        storage: vec![],
        faults: vec![(fault, Pattern::Always)],
        most: 24,
    };
    let stored = |name, storage, most| Plan {
        name,
        storage: vec![storage],
        faults: vec![],
        most,
    };
    let mixed = |name, storage: &[Storage], faults: &[(Fault, Pattern)]| Plan {
        name,
        storage: storage.to_vec(),
        faults: faults.to_vec(),
        most: 12,
    };
    let bursts = |on, of| Pattern::Bursts { on, of };
    let all = Pattern::Always;
    vec![
        always("frame number stands still", F::CounterStands),
        always("content stands still", F::ContentStands),
        always("first row lost", F::FirstRowLost),
        always("last row lost", F::LastRowLost),
        always("one row lost", F::RandomRowLost),
        always("half of the rows lost", F::HalfLost),
        always("frame left unfinished", F::FrameLeft),
        always("row twice, one too many", F::RowTwice),
        always("high gain stands still", F::HighStands),
        always("low gain stands still", F::LowStands),
        always("high gain dead", F::HighDead),
        always("low gain dead", F::LowDead),
        always("gain states exchanged", F::Swapped),
        stored("calibrations exchanged", S::CalibrationsExchanged, 24),
        always("high gain all saturated", F::HighSaturated),
        always("low gain all saturated", F::LowSaturated),
        always("both all saturated", F::BothSaturated),
        always("3 of 10 rows dead", F::BlockDead),
        always("both below the table", F::BothDark),
        always("high gain below its table", F::HighDark),
        always("low gain below its table", F::LowDark),
        stored("table ends below the scene", S::EndsTooLow, 12),
        stored("table starts above the scene", S::StartsTooHigh, 12),
        stored("bit of a gain, high", S::HighGainBit, 12),
        stored("bit of an offset, high", S::HighOffsetBit, 12),
        stored("bit of a gain, low", S::LowGainBit, 12),
        stored("bit of an offset, low", S::LowOffsetBit, 12),
        stored("profile: mark", S::Profile(Bytes::Mark), 6),
        stored("profile: version", S::Profile(Bytes::Version), 6),
        stored("profile: length", S::Profile(Bytes::Length), 6),
        stored("profile: body", S::Profile(Bytes::Body), 12),
        stored("profile: check sum", S::Profile(Bytes::CheckSum), 6),
        stored("profile: cut off", S::Profile(Bytes::Cut), 6),
        stored("profile: erased", S::Profile(Bytes::Erased), 6),
        stored("profile: all zero", S::Profile(Bytes::Zero), 6),
        stored("profile: byte lost", S::Profile(Bytes::Moved), 6),
        stored("6 % scattered defects", S::Scattered(60), 12),
        stored("30 % scattered defects", S::Scattered(300), 12),
        stored("a tenth of the columns defective", S::Columns, 12),
        mixed(
            "number and content stand still",
            &[],
            &[(F::CounterStands, all), (F::ContentStands, all)],
        ),
        mixed(
            "standing still and exchanged",
            &[],
            &[(F::ContentStands, all), (F::Swapped, all)],
        ),
        mixed(
            "both saturated, number stands still",
            &[],
            &[(F::BothSaturated, all), (F::CounterStands, all)],
        ),
        mixed(
            "exchanged, and a damaged gain",
            &[S::HighGainBit],
            &[(F::Swapped, all)],
        ),
        mixed(
            "defects, and low gain stands still",
            &[S::Scattered(80)],
            &[(F::LowStands, all)],
        ),
        mixed(
            "profile damaged, every 3rd frame short",
            &[S::Profile(Bytes::Body)],
            &[(F::LastRowLost, bursts(1, 3))],
        ),
        mixed(
            "content stands still, every 3rd frame short",
            &[],
            &[(F::ContentStands, all), (F::RandomRowLost, bursts(1, 3))],
        ),
        mixed(
            "dead rows, every 2nd frame left",
            &[],
            &[(F::BlockDead, all), (F::FrameLeft, bursts(1, 2))],
        ),
        mixed(
            "number stands still, 1 of 4 frames",
            &[],
            &[(F::CounterStands, bursts(1, 4))],
        ),
        mixed(
            "row lost, 1 of 5 frames",
            &[],
            &[(F::RandomRowLost, bursts(1, 5))],
        ),
        mixed(
            "exchanged, 1 of 2 frames",
            &[],
            &[(F::Swapped, bursts(1, 2))],
        ),
        mixed(
            "exchanged, 1 of 3 frames",
            &[],
            &[(F::Swapped, bursts(1, 3))],
        ),
        mixed(
            "both saturated, 1 of 2 frames",
            &[],
            &[(F::BothSaturated, bursts(1, 2))],
        ),
        mixed(
            "3 of 10 rows dead, 3 of 7 frames",
            &[],
            &[(F::BlockDead, bursts(3, 7))],
        ),
        mixed(
            "content stands still, 12 of 20 frames",
            &[],
            &[(F::ContentStands, bursts(12, 20))],
        ),
        mixed(
            "high gain stands still, 11 of 16",
            &[],
            &[(F::HighStands, bursts(11, 16))],
        ),
        mixed(
            "low gain dead, 10 of 15",
            &[],
            &[(F::LowDead, bursts(10, 15))],
        ),
    ]
}

/// What a fault on the way must be named as, and what may be named besides; `None` where it changes
/// nothing that a sensor could tell from the scene itself.
fn causes_of(fault: Fault, plan: &GainPlan, scene: Scene) -> Option<(Cause, &'static [Cause])> {
    use Cause as C;
    let is_hot = scene == Scene::Flashover;
    Some(match fault {
        Fault::CounterStands => (C::Stale, &[]),
        // In a flashover high gain is saturated, and would give the same samples anyway.
        Fault::ContentStands if is_hot => (C::LowStuck, &[]),
        Fault::ContentStands => (C::Frozen, &[]),
        Fault::FirstRowLost
        | Fault::LastRowLost
        | Fault::RandomRowLost
        | Fault::HalfLost
        | Fault::FrameLeft
        | Fault::RowTwice => (C::DroppedRows, &[]),
        // What is saturated before and after does not change.
        Fault::HighStands | Fault::HighSaturated if is_hot => return None,
        Fault::HighStands => (C::HighStuck, &[]),
        Fault::LowStands => (C::LowStuck, &[]),
        Fault::HighDead => (C::HighStuck, &[C::NoSamples]),
        // High gain alone is left: in a flashover it only says "at least".
        Fault::LowDead => (C::LowStuck, &[C::NoSamples, C::AllSaturated]),
        Fault::Swapped => (C::GainsDisagree, &[C::AllSaturated, C::OutsideCalibration]),
        Fault::HighSaturated => (C::GainsDisagree, &[C::AllSaturated]),
        Fault::LowSaturated if is_hot => match plan {
            GainPlan::HighOnly => return None,
            _ => (C::AllSaturated, &[]),
        },
        Fault::LowSaturated => (C::GainsDisagree, &[C::AllSaturated]),
        Fault::BothSaturated => (C::AllSaturated, &[]),
        Fault::BlockDead => (C::NoSamples, &[]),
        Fault::BothDark if is_hot => (C::OutsideCalibration, &[C::HighStuck]),
        Fault::BothDark => (C::OutsideCalibration, &[]),
        // A saturated state has no noise that could stay.
        Fault::HighDark if is_hot => (C::GainsDisagree, &[C::OutsideCalibration, C::HighStuck]),
        Fault::HighDark | Fault::LowDark => (C::GainsDisagree, &[C::OutsideCalibration]),
        Fault::RowInPlaceOfAnother
        | Fault::RowsShuffled
        | Fault::HalfStands
        | Fault::BothDrift
        | Fault::LowDrifts
        | Fault::SomeSamplesStand => return None,
    })
}

fn cause_of_stored(storage: Storage) -> (Cause, &'static [Cause]) {
    use Cause as C;
    match storage {
        Storage::HighGainBit
        | Storage::HighOffsetBit
        | Storage::LowGainBit
        | Storage::LowOffsetBit => (C::CorrectionCorrupt, &[]),
        Storage::Profile(_) => (C::ProfileFallback, &[]),
        // A defect among defects has no neighbour to take a mean of.
        Storage::Scattered(_) | Storage::Columns => (C::TooManyDefects, &[C::NoSamples]),
        Storage::EndsTooLow | Storage::StartsTooHigh => (C::OutsideCalibration, &[]),
        Storage::CalibrationsExchanged => {
            (C::GainsDisagree, &[C::AllSaturated, C::OutsideCalibration])
        }
    }
}

/// Every case of every plan; `plans_of` gives the gain plan of each profile.
#[must_use]
pub fn cases(gain_plans: &[GainPlan]) -> Vec<Case> {
    let mut random = Sequence(2024);
    let mut cases = Vec::new();
    for plan in plans() {
        let mut made: Vec<Case> = Vec::new();
        for (profile, gain) in gain_plans.iter().enumerate() {
            for scene in Scene::ALL {
                made.extend(case(&plan, (profile, gain), scene));
            }
        }
        // Spread over profiles and scenes, in a drawn order.
        for last in (1..made.len()).rev() {
            made.swap(last, random.below(last + 1));
        }
        made.truncate(plan.most);
        for (i, case) in made.iter_mut().enumerate() {
            case.size = SIZES[(i + cases.len()) % SIZES.len()];
            case.seed = 1 + random.below(3) as u64;
        }
        // The size of a common sensor, once a plan of what takes longest to find.
        if plan.storage.contains(&Storage::HighGainBit) && plan.faults.is_empty() {
            made[0].size = (320, 240);
        }
        cases.extend(made);
    }
    cases
}

fn case(plan: &Plan, (profile, gain): (usize, &GainPlan), scene: Scene) -> Option<Case> {
    if *gain == GainPlan::HighOnly && scene == Scene::Flashover {
        // Saturated without any fault: it is struck out, and must be.
        return None;
    }
    let mut expected = Vec::new();
    let mut allowed = Vec::new();
    for storage in &plan.storage {
        let (cause, besides) = cause_of_stored(*storage);
        expected.push((cause, None));
        allowed.extend_from_slice(besides);
    }
    for (i, (fault, _)) in plan.faults.iter().enumerate() {
        // A built-in profile merges pixel by pixel, whatever the stored one did.
        let (cause, besides) = causes_of(*fault, gain, scene)?;
        expected.push((cause, Some(i)));
        allowed.extend_from_slice(besides);
    }
    // Until a whole-frame plan has switched, a flashover is saturated, and struck out.
    let switches = matches!(gain, GainPlan::WholeFrame(_)) && scene == Scene::Flashover;
    if switches {
        allowed.push(Cause::AllSaturated);
    }
    let has = |fault| plan.faults.iter().any(|(other, _)| *other == fault);
    // Saturated samples do not count as standing still.
    if scene == Scene::Flashover && has(Fault::Swapped) && has(Fault::ContentStands) {
        return None;
    }
    // A plan of high gain alone is also run without any low gain, where that can be told apart.
    let is_single = *gain == GainPlan::HighOnly
        && matches!(
            plan.faults.as_slice(),
            [(
                Fault::ContentStands
                    | Fault::BlockDead
                    | Fault::BothSaturated
                    | Fault::BothDark
                    | Fault::CounterStands,
                _
            )]
        );
    Some(Case {
        plan: plan.clone(),
        profile,
        scene,
        size: SIZES[0],
        is_single,
        seed: 1,
        expected,
        allowed,
        // Three good frames clear a condition, and the picture after them is unmarked. The plan that
        // switches needs four frames for it, and as many as three more are named.
        back: if switches { 8 } else { 4 },
    })
}
