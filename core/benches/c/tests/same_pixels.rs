//! The C form is the same pipeline, and the shipped profile is the shipped one.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use std::path::Path;

use glowsill_core::packed;
use glowsill_core::profile::{Overlay, Profile, ScaleLaw};
use glowsill_throughput::measure::{Form, compare};
use glowsill_throughput::plain_c::PlainC;
use glowsill_throughput::scene::{SHIPPED, Scene, equalised_profile, percentile_profile};

#[test]
fn both_profiles_give_the_same_pixels_in_every_form() {
    for (width, height) in [(160, 120), (333, 87)] {
        let scene = Scene::new(width, height).unwrap();
        for profile in [percentile_profile().unwrap(), equalised_profile().unwrap()] {
            let mut frames = 0;
            let found = compare(&scene, &profile, 10, || frames += 1).unwrap();
            assert!(
                (30..130).contains(&found.coloured_permille),
                "{} permille",
                found.coloured_permille
            );
            assert_eq!((frames, found.timings.len()), (10, Form::ALL.len()));
            assert!(
                found
                    .timings
                    .iter()
                    .all(|timing| timing.nanoseconds(0) > 0.0)
            );
        }
    }
}

#[test]
fn the_profiles_are_of_the_two_kinds() {
    let law = |profile: Profile| profile.spec().scale.law;
    assert!(matches!(
        law(percentile_profile().unwrap()),
        ScaleLaw::Percentile { .. }
    ));
    assert!(matches!(
        law(equalised_profile().unwrap()),
        ScaleLaw::Plateau { .. }
    ));
}

#[test]
fn the_tables_are_two_and_their_entries_vary() {
    let scene = Scene::new(64, 48).unwrap();
    let [high, low] = scene.corrections();
    assert_ne!(high.gain_q14, low.gain_q14);
    assert_ne!(high.offset, low.offset);
    for table in [high, low] {
        let (mut gains, mut offsets) = (table.gain_q14.to_vec(), table.offset.to_vec());
        gains.sort_unstable();
        gains.dedup();
        offsets.sort_unstable();
        offsets.dedup();
        assert!(gains.len() > 60 && offsets.len() > 5);
    }
}

#[test]
fn a_form_that_is_not_the_same_is_noticed_and_an_unknown_plan_refused() {
    let scene = Scene::new(64, 48).unwrap();
    let [high, low] = &scene.frames[0];
    let tables = [&scene.calibrations[0], &scene.calibrations[1]];
    let picture = |profile: &Profile| {
        let mut c = PlainC::new(profile, tables, 64, 64 * 48).unwrap();
        let mut out = vec![0; 64 * 48];
        c.frame([high, low], scene.corrections(), &mut out);
        out
    };
    let profile = percentile_profile().unwrap();
    let mut other = profile.spec().clone();
    other.overlay = Overlay::Tint {
        knee: 200,
        lift: 60,
    };
    let changed = Profile::new(other.clone()).unwrap();
    assert!(picture(&profile) != picture(&changed), "a lift of 60 shows");
    other.overlay = Overlay::Opaque;
    let refused = PlainC::new(&Profile::new(other).unwrap(), tables, 64, 64 * 48);
    assert!(
        refused
            .unwrap_err()
            .contains("no colour but bands under a tint")
    );
}

#[test]
fn the_shipped_profile_is_packed_from_its_file() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let toml = root.join("../../../demo-data/profiles/interior-attack.toml");
    let loaded = glowsill::profile_file::load(&toml).unwrap();
    let mut bytes = [0; packed::MAX_LEN];
    let len = loaded.profile.to_bytes(&mut bytes).unwrap();
    assert!(
        bytes[..len] == *SHIPPED,
        "core/benches/c/profiles/interior-attack.bin is not what the file says. Make it anew: \
         cargo run -- profile pack demo-data/profiles/interior-attack.toml --out \
         core/benches/c/profiles/interior-attack.bin"
    );
}
