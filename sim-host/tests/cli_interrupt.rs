//! Ctrl-C and SIGTERM, early, in the middle and late in every command that fills a folder: nothing unfinished is left,
//! what an earlier run wrote stays byte for byte, and all of them say and return the same.

#![cfg(target_os = "linux")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use assert_cmd::cargo::cargo_bin;

const SEARCH: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../demo-data/profiles/search.toml"
);

/// How far a run has come when it is interrupted.
#[derive(Clone, Copy, Debug)]
enum Moment {
    /// It catches both signals; there may be no folder yet.
    Watched,
    /// The hidden folder is there.
    Begun,
    /// A file is in it.
    Writing,
}

/// Every file below a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        // A folder that is just being removed has nothing to say.
        for entry in fs::read_dir(&next).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                found.insert(path.clone(), vec![]);
                folders.push(path);
            } else {
                found.insert(path.clone(), fs::read(&path).unwrap_or_default());
            }
        }
    }
    found
}

/// The hidden folder beside or inside `out`.
fn unfinished(place: &Path) -> Option<PathBuf> {
    let all = [place.to_owned(), place.join("out")];
    let mut entries = all.iter().filter_map(|f| fs::read_dir(f).ok()).flatten();
    entries.find_map(|entry| {
        let entry = entry.ok()?;
        let hidden = entry
            .file_name()
            .to_string_lossy()
            .starts_with(".unfinished-");
        hidden.then(|| entry.path())
    })
}

fn reached(moment: Moment, child: &Child, place: &Path) -> bool {
    match moment {
        Moment::Watched => {
            let status = fs::read_to_string(format!("/proc/{}/status", child.id()));
            let status = status.unwrap_or_default();
            let caught = status.lines().find_map(|line| line.strip_prefix("SigCgt:"));
            // Source: proc(5), a mask in which bit n - 1 is signal n; SIGINT is 2, SIGTERM 15 (signal(7)).
            let mask = caught.and_then(|hex| u64::from_str_radix(hex.trim(), 16).ok());
            mask.is_some_and(|mask| mask & (1 << 1) != 0 && mask & (1 << 14) != 0)
        }
        Moment::Begun => unfinished(place).is_some(),
        Moment::Writing => {
            let inside = unfinished(place).and_then(|folder| fs::read_dir(folder).ok());
            inside.is_some_and(|mut entries| entries.next().is_some())
        }
    }
}

fn send(signal: &str, child: &Child) {
    let status = Command::new("kill")
        .args([signal, &child.id().to_string()])
        .status()
        .unwrap();
    assert!(status.success(), "{signal}");
}

/// Starts a command and interrupts it at a moment. Gives its code and what it said, or nothing when it ended before the
/// moment could be caught.
fn interrupted(
    arguments: &[&str],
    place: &Path,
    moment: Moment,
    signal: &str,
) -> Option<(Option<i32>, String, String)> {
    let mut child = Command::new(cargo_bin("glowsill"))
        .current_dir(place)
        .args(arguments)
        .args(["--out", "out"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let started = Instant::now();
    while !reached(moment, &child, place) {
        if child.try_wait().unwrap().is_some() {
            return None;
        }
        assert!(started.elapsed() < Duration::from_secs(120), "{moment:?}");
        std::thread::sleep(Duration::from_millis(1));
    }
    // Held still, it cannot finish between the look at it and the signal.
    send("-STOP", &child);
    let caught = child.try_wait().unwrap().is_none() && reached(moment, &child, place);
    if caught {
        send(signal, &child);
    }
    send("-CONT", &child);
    let status = child.wait().unwrap();
    let (mut out, mut err) = (String::new(), String::new());
    child.stdout.unwrap().read_to_string(&mut out).unwrap();
    child.stderr.unwrap().read_to_string(&mut err).unwrap();
    caught.then_some((status.code(), out, err))
}

/// Interrupts `long` at every moment with both signals: SIGINT in an empty place, SIGTERM over what `short` wrote.
fn every_moment(what: &str, short: &[&str], long: &[&str]) {
    for moment in [Moment::Watched, Moment::Begun, Moment::Writing] {
        for (signal, earlier) in [("-INT", false), ("-TERM", true)] {
            let mut tries = 0;
            let (code, out, err) = loop {
                let place = tempfile::tempdir().unwrap();
                if earlier {
                    let run = Command::new(cargo_bin("glowsill"))
                        .current_dir(place.path())
                        .args(short)
                        .args(["--out", "out"])
                        .output()
                        .unwrap();
                    assert_ne!(run.status.code(), Some(2), "{run:?}");
                }
                let before = files(place.path());
                assert_eq!(before.is_empty(), !earlier, "{short:?}");
                if let Some(end) = interrupted(long, place.path(), moment, signal) {
                    let after = files(place.path());
                    let names: Vec<_> = after.keys().collect();
                    assert!(after == before, "{long:?} {moment:?} {signal}: {names:?}");
                    break end;
                }
                tries += 1;
                assert!(tries < 20, "{long:?} is never caught at {moment:?}");
            };
            assert_eq!(code, Some(130), "{long:?} {moment:?} {signal}: {err}");
            let said = format!("warning: interrupted: what was unfinished of {what} is removed\n");
            assert_eq!(
                (out.as_str(), err),
                ("", said),
                "{long:?} {moment:?} {signal}"
            );
        }
    }
}

#[test]
fn verify_leaves_nothing_unfinished() {
    let quick = ["verify", "--only", "colour-order", "--quiet"];
    every_moment("the report", &quick, &quick);
}

#[test]
fn render_leaves_nothing_unfinished() {
    let workshop = ["render", "workshop", "--profile", SEARCH, "--size", "80x60"];
    let frames = |number| [&workshop[..], &["--frames", number]].concat();
    every_moment("the pictures", &frames("2"), &frames("9999"));
}

#[test]
fn compare_leaves_nothing_unfinished() {
    let workshop = ["compare", "workshop", "--profile", SEARCH];
    let short = [&workshop[..], &["--size", "80x60", "--at", "0.1s"]].concat();
    let long = [&workshop[..], &["--at", "0.1s,1s"]].concat();
    every_moment("the sheet", &short, &long);
}

#[test]
fn explain_leaves_nothing_unfinished() {
    let workshop = [
        "explain",
        "workshop",
        "--profile",
        SEARCH,
        "--size",
        "80x60",
    ];
    let between = |instants| [&workshop[..], &["--between", instants]].concat();
    every_moment("the sheet", &between("0.1s,0.2s"), &between("0.1s,1s"));
}

#[test]
fn barrier_leaves_nothing_unfinished() {
    let short = ["barrier", "--assembly", "steel-sheet", "--minutes", "2"];
    every_moment("the sheet", &short, &["barrier"]);
}
