//! `glowsill barrier` as a person runs it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;

fn barrier(arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("glowsill").unwrap();
    command.arg("barrier").args(arguments);
    command
}

fn json_of(arguments: &[&str]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet");
    let output = barrier(arguments)
        .args(["--json", "--out"])
        .arg(&out)
        .assert()
        .success();
    serde_json::from_slice(&output.get_output().stdout).unwrap()
}

// Common practice, no published source: steel shows soon, plaster on lath does not for a long time; a
// later onset never shows before an earlier one.
#[test]
fn every_wall_and_every_demonstration_profile_are_answered() {
    let found = json_of(&["--minutes", "30"]);
    let walls = found["assemblies"].as_array().unwrap();
    assert_eq!(walls.len(), 11);
    assert!(
        walls
            .iter()
            .all(|wall| wall["assembly"] != "turnout-gear" && wall["clothing"] == false)
    );
    for wall in walls {
        let profiles = wall["profiles"].as_array().unwrap();
        assert_eq!(profiles.len(), 6);
        assert!(wall["energy_imbalance"].as_f64().unwrap() < 1e-3);
        let mut times: Vec<(f64, f64)> = profiles
            .iter()
            .filter_map(|profile| {
                let onset = profile["onset"]["kelvin"].as_f64()?;
                let first = profile["first_colour_s"].as_f64();
                Some((onset, first.unwrap_or(f64::INFINITY)))
            })
            .collect();
        assert_eq!(times.len(), 5, "the hue cycle has no fixed onset");
        times.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(times.is_sorted_by(|a, b| a.1 <= b.1));
        match wall["assembly"].as_str().unwrap() {
            "steel-sheet" => assert!(times.iter().all(|(_, first)| *first < 180.0)),
            "plaster-lath" => assert!(times.iter().all(|(_, first)| first.is_infinite())),
            _ => {}
        }
    }
    assert!(
        found["caution"]
            .as_str()
            .unwrap()
            .contains("not a certification")
    );
}

#[test]
fn the_sheet_is_written_and_stands_alone() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet");
    barrier(&["--assembly", "steel-double", "--exposure", "constant:356F"])
        .args(["--minutes", "10", "--out"])
        .arg(&out)
        .assert()
        .success()
        .stdout(predicate::str::contains("steel-double"))
        .stdout(predicate::str::contains("onset"))
        .stdout(predicate::str::contains("constant 180.0 °C (356.0 °F)"))
        .stdout(predicate::str::contains("not within"))
        .stdout(predicate::str::contains(
            "does not show until it has warmed the face",
        ))
        .stdout(predicate::str::contains("not a certification"));
    let page = std::fs::read_to_string(out.join("barrier.html")).unwrap();
    for part in [
        "onset 72 °C (162 °F): Size-up",
        "<svg",
        "40.0 mm",
        "authority",
    ] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("src=\"http") && !page.contains("href=\"http"));
    let picture = image::open(out.join("barrier.png")).unwrap();
    assert_eq!(picture.width(), 1100);
    assert!(picture.height() > 700);
}

#[test]
fn wrong_inputs_give_one_clear_error() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet");
    for (arguments, part) in [
        (["--assembly", "straw"], "write one of: steel-sheet"),
        (["--assembly", "steel-shet"], "did you mean steel-sheet?"),
        (["--exposure", "iso"], "constant:600C"),
        (["--exposure", "iso843"], "Did you mean iso834?"),
        (["--exposure", "scenario:lofft"], "Did you mean 'loft'?"),
        (
            ["--exposure", "scenario:three-partitions@stel"],
            "Did you mean 'steel'?",
        ),
        (["--exposure", "scenario:ticket-screen"], "no fire"),
        (["--exposure", "scenario:none.toml"], "cannot read scenario"),
        (["--out", "/proc/none"], "choose one elsewhere"),
        (["--exposure", "constant:9000C"], "1774.81 °C"),
        (["--minutes", "0"], "1 to 480 minutes"),
        (["--minutes", "soon"], "1 to 480 minutes"),
        (["--profile", "no-such-file.toml"], "Check the path"),
    ] {
        let mut command = barrier(&arguments);
        if arguments[0] != "--out" {
            command.arg("--out").arg(&out);
        }
        command
            .assert()
            .code(2)
            .stdout("")
            .stderr(predicate::str::contains("unfinished").not())
            .stderr(predicate::str::contains("error:").count(1))
            .stderr(predicate::str::contains(part));
    }
    assert!(!out.exists());
}

// The seam by hand: what the library gives for the door, second by second, fed to the assembly as a history of
// one's own, shows colour when the command says. The command adds nothing and loses nothing.
#[test]
fn a_scenario_is_the_same_as_its_history_fed_by_hand() {
    use glowsill::world::barrier::{Conditions, Course};
    use glowsill::world::conduction::assembly;
    use glowsill::world::fire::Exposure;
    use glowsill::world::fire::exposure::History;
    use glowsill::world::scenario::Scenario;
    let found = json_of(&[
        "--exposure",
        "scenario:paint-store-door",
        "--assembly",
        "steel-sheet",
    ]);
    assert_eq!(found["exposure"], "scenario:paint-store-door@leaf");
    let scenario = Scenario::named("paint-store-door").unwrap();
    let at_leaf = scenario.at_barrier(Some("leaf")).unwrap();
    assert!((found["minutes"].as_f64().unwrap() - at_leaf.span_s / 60.0).abs() < 1e-9);
    let entries = (0..=10_000u32)
        .map(|half| f64::from(half) / 2.0)
        .take_while(|t_s| *t_s <= at_leaf.span_s)
        .map(|t_s| (t_s, at_leaf.history.fire_side(t_s)))
        .collect();
    let conditions = Conditions {
        duration_s: at_leaf.span_s,
        room_k: at_leaf.ambient_k,
        ..Conditions::default()
    };
    let by_hand = Course::of(
        assembly("steel-sheet").unwrap(),
        &History::new("by hand", entries).unwrap(),
        &conditions,
    )
    .unwrap();
    let mut shown = 0;
    for profile in found["assemblies"][0]["profiles"].as_array().unwrap() {
        let Some(onset) = profile["onset"]["kelvin"].as_f64() else {
            continue;
        };
        match (profile["first_colour_s"].as_f64(), by_hand.reaches_s(onset)) {
            (Some(said), Some(own)) => {
                assert!((said - own).abs() < 0.05, "{said} {own}");
                shown += 1;
            }
            (said, own) => assert_eq!(said, own),
        }
    }
    assert!(shown > 0, "the steel door shows at least one onset");
}

// A file of one's own whose fire burned long before: what acts hardly changes, so that the wall ends where
// the same temperature, constant from the start, takes it. Source: the steady state of a thin sheet forgets
// how it was reached.
#[test]
fn a_settled_scenario_ends_like_a_constant_exposure() {
    use glowsill::world::barrier::{Conditions, Course};
    use glowsill::world::conduction::assembly;
    use glowsill::world::fire::Exposure;
    use glowsill::world::fire::exposure::History;
    use glowsill::world::scenario::Scenario;
    let text = include_str!("../../demo-data/scenarios/paint-store-door.toml").replace(
        "growth = \"fast\"",
        "growth = \"fast\"\nstarts = \"-50 min\"",
    );
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("settled.toml");
    std::fs::write(&file, &text).unwrap();
    let argument = format!("scenario:{}", file.display());
    let found = json_of(&["--exposure", &argument, "--assembly", "steel-sheet"]);
    assert_eq!(found["exposure"], "scenario:settled.toml@leaf");
    let at_leaf = Scenario::load(&file).unwrap().at_barrier(None).unwrap();
    let last = at_leaf.history.fire_side(at_leaf.span_s);
    let constant = History::new("constant", vec![(0.0, last)]).unwrap();
    let conditions = Conditions {
        duration_s: 3600.0,
        room_k: at_leaf.ambient_k,
        ..Conditions::default()
    };
    let sheet = Course::of(assembly("steel-sheet").unwrap(), &constant, &conditions).unwrap();
    let end = sheet.moments.last().unwrap().apparent_k;
    let said = found["assemblies"][0]["hottest_apparent"]["kelvin"]
        .as_f64()
        .unwrap();
    assert!((said - end).abs() < 1.0, "{said} {end}");
}

#[test]
fn clothing_is_shown_only_when_asked_for_and_says_that_it_protects_for_no_time() {
    let found = json_of(&["--assembly", "turnout-gear", "--minutes", "5"]);
    assert_eq!(found["assemblies"][0]["clothing"], true);
    let cautions = found["cautions"].to_string();
    assert!(cautions.contains("no protection time"), "{cautions}");
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet");
    barrier(&["--assembly", "turnout-gear", "--minutes", "5", "--out"])
        .arg(&out)
        .assert()
        .success()
        .stdout(predicate::str::contains("turnout-gear [clothing]"))
        .stdout(predicate::str::contains("no protection time"));
    let page = std::fs::read_to_string(out.join("barrier.html")).unwrap();
    assert!(page.contains("no protection time"));
    let plain = barrier(&["--assembly", "brick", "--minutes", "5", "--out"])
        .arg(&out)
        .assert()
        .success();
    let words = String::from_utf8(plain.get_output().stdout.clone()).unwrap();
    assert!(!words.contains("protection time") && !words.contains(" wall "));
}

// A report and a sheet in one folder: each replaces its own files and no others.
#[test]
fn a_report_in_the_same_folder_stays_and_foreign_files_are_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let sheet = || {
        let mut command = barrier(&["--assembly", "brick", "--minutes", "2", "--out"]);
        command.arg(&out);
        command
    };
    Command::cargo_bin("glowsill")
        .unwrap()
        .args(["verify", "--only", "colour-order", "--quiet", "--out"])
        .arg(&out)
        .assert()
        .success();
    let report = std::fs::read(out.join("report.json")).unwrap();
    let pictures = || std::fs::read_dir(out.join("pictures")).unwrap().count();
    let before = pictures();
    sheet().assert().success();
    sheet().assert().success();
    assert!(std::fs::read(out.join("report.json")).unwrap() == report);
    assert_eq!((pictures(), before > 5), (before, true));
    for name in ["barrier.html", "barrier.json"] {
        let own = std::fs::read(out.join(name)).unwrap();
        std::fs::write(out.join(name), "somebody else's").unwrap();
        sheet()
            .assert()
            .code(2)
            .stderr(predicate::str::contains(name))
            .stderr(predicate::str::contains("left alone"));
        std::fs::write(out.join(name), own).unwrap();
    }
}
