//! False alarms: ten thousand frames without a fault, none of them named, none struck out.
#![allow(clippy::unwrap_used, reason = "test code")]

use glowsill::profile_file::demo;
use glowsill_core::profile::GainPlan;
use glowsill_faults::run::{clean, power_up};
use glowsill_faults::scene::{Scene, expose};
use glowsill_faults::storage::Stored;

/// Frames of a scene between two power-ups, each with noise of its own.
const RUN: usize = 500;

#[test]
fn ten_thousand_frames_without_a_fault_raise_nothing() {
    let profiles = demo().unwrap();
    let mut frames = 0;
    for round in 0..4 {
        for (i, scene) in Scene::ALL.into_iter().enumerate() {
            let profile = &profiles[(i + round) % 4].loaded.profile;
            // Two of the profiles show a flashover only after switching, or never: struck out, and rightly.
            let profile = match (scene, profile.spec().gain) {
                (Scene::Flashover, GainPlan::WholeFrame(_) | GainPlan::HighOnly) => {
                    &profiles[0].loaded.profile
                }
                _ => profile,
            };
            let seed = 100 + u64::try_from(5 * round + i).unwrap();
            let stream = expose(scene, (64, 48), seed, RUN);
            let stored = Stored::new(&stream, profile);
            power_up(&stored, stream.geometry, false, |glass| {
                for at in 0..RUN {
                    let seen = glass.draw(&clean(&stream, at, false));
                    assert!(
                        seen.named.is_good()
                            && seen.record_struck == Some(false)
                            && !seen.is_marked,
                        "{scene:?}, frame {at}, seed {seed}: {seen:?}"
                    );
                    frames += 1;
                }
            });
        }
    }
    assert_eq!(frames, 10_000);
}

/// The other side: a picture wholly above what the gain state in use reads is struck out, even if nothing
/// is broken, until a profile that switches has switched.
#[test]
fn a_flashover_is_struck_out_until_a_whole_frame_profile_has_switched() {
    let profiles = demo().unwrap();
    let profile = profiles
        .iter()
        .map(|demo| &demo.loaded.profile)
        .find(|profile| matches!(profile.spec().gain, GainPlan::WholeFrame(_)))
        .unwrap();
    let stream = expose(Scene::Flashover, (64, 48), 9, 20);
    let stored = Stored::new(&stream, profile);
    let struck: Vec<usize> = power_up(&stored, stream.geometry, false, |glass| {
        (0..20)
            .filter(|at| glass.draw(&clean(&stream, *at, false)).is_marked)
            .collect()
    });
    // Saturated in frames 0, 1, 2: named by the third. Switches after four frames; three good ones clear it.
    assert_eq!(struck, [3, 4, 5, 6]);
}
