//! What `glowsill render` writes that moves: the animated PNG against the single pictures, pixel for pixel, with its
//! times; the video; and what it does with instants that cannot be.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use std::fs;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;
use tempfile::tempdir;

const PROFILE: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../demo-data/profiles/interior-attack.toml"
);

/// A bare room of 4 s with a warm box: computed and shown in no time.
const ROOM: &str = include_str!("data/store.toml");

fn render(source: impl AsRef<Path>, out: &Path, more: &[&str]) -> Command {
    let mut command = Command::cargo_bin("glowsill").unwrap();
    command.arg("render").arg(source.as_ref());
    command
        .args(["--profile", PROFILE, "--out"])
        .arg(out)
        .args(more);
    command
}

fn room(folder: &Path) -> PathBuf {
    let file = folder.join("room.toml");
    fs::write(&file, ROOM).unwrap();
    file
}

fn records(folder: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(folder.join("records.json")).unwrap()).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let all = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = all
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// The single pictures that the records list, three bytes a pixel.
fn pictures(folder: &Path) -> Vec<Vec<u8>> {
    let json = records(folder);
    let list = json["pictures"].as_array().unwrap();
    list.iter()
        .map(|picture| {
            let file = folder.join(picture["file"].as_str().unwrap());
            image::open(file).unwrap().to_rgb8().into_raw()
        })
        .collect()
}

/// Frames and times (numerator, denominator) of an animated PNG, read by the `png` crate.
fn frames(file: &Path) -> Vec<(Vec<u8>, (u16, u16))> {
    let decoder = png::Decoder::new(BufReader::new(fs::File::open(file).unwrap()));
    let mut reader = decoder.read_info().unwrap();
    let control = *reader.info().animation_control().unwrap();
    assert_eq!(control.num_plays, 0, "it repeats without end");
    let (width, height) = reader.info().size();
    let mut frames = Vec::new();
    for _ in 0..control.num_frames {
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let shape = reader.next_frame(&mut pixels).unwrap();
        assert_eq!((shape.width, shape.height), (width, height));
        assert_eq!(shape.color_type, png::ColorType::Rgb);
        pixels.truncate(shape.buffer_size());
        let frame = reader.info().frame_control().unwrap();
        assert_eq!((frame.x_offset, frame.y_offset), (0, 0));
        assert_eq!((frame.width, frame.height), (width, height));
        frames.push((pixels, (frame.delay_num, frame.delay_den)));
    }
    assert!(
        reader.next_frame(&mut vec![0; 1 << 20]).is_err(),
        "one more"
    );
    frames
}

/// That the animation holds the single pictures, and stands on each for these fractions of seconds.
fn holds(out: &Path, delays: &[(u16, u16)]) {
    let (found, single) = (frames(&out.join("animation.png")), pictures(out));
    assert_eq!(found.len(), single.len());
    for (index, ((frame, _), picture)) in found.iter().zip(&single).enumerate() {
        assert!(frame == picture, "frame {index} is another picture");
    }
    let found: Vec<_> = found.iter().map(|(_, delay)| *delay).collect();
    assert_eq!(found, delays);
    // The pictures differ, so that a frame in another's place would be noticed.
    assert!(single.windows(2).all(|pair| pair[0] != pair[1]));
}

// By hand: a target has 30 frames a second.
#[test]
fn the_animation_of_a_target_repeats_its_pictures_every_thirtieth_of_a_second() {
    let folder = tempdir().unwrap();
    let outs = ["one", "two"].map(|name| folder.path().join(name));
    for out in &outs {
        render("workshop", out, &["--frames", "12", "--size", "40x30"])
            .assert()
            .success()
            .stdout(
                predicate::str::contains("12 pictures").and(predicate::str::contains(
                    "animation.png lasts 0.4 s in real time",
                )),
            );
        holds(out, &[(1, 30); 12]);
    }
    let bytes = outs
        .each_ref()
        .map(|out| fs::read(out.join("animation.png")).unwrap());
    assert!(bytes[0] == bytes[1], "the same run gives the same bytes");
    assert!(
        bytes[0]
            .windows(19)
            .any(|part| part == b"not a certification")
    );
    let film = &records(&outs[0])["animation"];
    assert_eq!(film["file"], "animation.png");
    assert_eq!(film["pictures"], 12);
    assert_eq!(film["speed"], 1.0);
    assert!((film["seconds"].as_f64().unwrap() - 0.4).abs() < 1e-12);
    assert_eq!(records(&outs[0])["video"], Value::Null);
}

// Source: recording.toml of the demonstration: 8 frames, 2 a second.
#[test]
fn the_animation_of_a_recording_keeps_its_rate() {
    let folder = tempdir().unwrap();
    let recording =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/recordings/workshop-bin");
    render(&recording, folder.path(), &[]).assert().success();
    holds(folder.path(), &[(1, 2); 8]);
    render(
        &recording,
        folder.path(),
        &["--speed", "0.25", "--frames", "3"],
    )
    .assert()
    .success();
    holds(folder.path(), &[(2, 1); 3]);
}

// By hand: 0 s, 1.5 s and 4 s: 1.5 s, 2.5 s, and the last as long as the one before it.
#[test]
fn instants_stand_until_the_next_and_speed_shortens_them() {
    let folder = tempdir().unwrap();
    let (file, out) = (room(folder.path()), folder.path().join("out"));
    render(&file, &out, &["--at", "0s,1.5s,4s"])
        .assert()
        .success();
    holds(&out, &[(3, 2), (5, 2), (5, 2)]);
    assert_eq!(records(&out)["animation"]["seconds"], 6.5);
    render(&file, &out, &["--at", "4s,0s,1.5s", "--speed", "5x"])
        .assert()
        .success()
        .stdout(predicate::str::contains("1.3 s at 5 times real time"));
    holds(&out, &[(3, 10), (1, 2), (1, 2)]);
    for speed in ["0", "-3", "fast", "2000", "NaN"] {
        render(&file, &out, &["--speed", speed])
            .assert()
            .code(2)
            .stderr(predicate::str::contains("write 0.01 to 1000"));
    }
    // A thirtieth of a second 1000 times faster is below a millisecond.
    render(&file, &out, &["--frames", "3", "--speed", "1000"])
        .assert()
        .code(2)
        .stderr(
            predicate::str::contains("--speed 1000")
                .and(predicate::str::contains("0.001 s to 65535 s"))
                .and(predicate::str::contains("choose a speed nearer to 1")),
        );
    holds(&out, &[(3, 10), (1, 2), (1, 2)]);
}

#[test]
fn a_single_picture_does_not_move_and_an_earlier_animation_goes() {
    let folder = tempdir().unwrap();
    let size = ["--size", "16x12", "--frames"];
    render("uniform", folder.path(), &[&size[..], &["3"]].concat())
        .assert()
        .success();
    assert!(names(folder.path()).contains(&"animation.png".to_owned()));
    render("uniform", folder.path(), &[&size[..], &["1"]].concat())
        .assert()
        .success()
        .stdout(predicate::str::contains("animation").not());
    assert_eq!(names(folder.path()), ["frame-0000.png", "records.json"]);
    assert_eq!(records(folder.path())["animation"], Value::Null);
}

#[test]
fn a_run_that_fails_midway_has_no_animation() {
    let folder = tempdir().unwrap();
    let recording =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/recordings/workshop-bin");
    let (copy, out) = (folder.path().join("copy"), folder.path().join("out"));
    fs::create_dir(&copy).unwrap();
    for name in names(&recording) {
        fs::copy(recording.join(&name), copy.join(&name)).unwrap();
    }
    render(&copy, &out, &[]).assert().success();
    fs::write(copy.join("high-002.png"), "no picture").unwrap();
    render(&copy, &out, &[]).assert().code(2);
    assert_eq!(
        names(&out),
        ["frame-0000.png", "frame-0001.png", "records.json"]
    );
    assert_eq!(records(&out)["animation"], Value::Null);
    assert_eq!(records(&out)["complete"], false);
}

// By hand: the room lasts 4 s, 120 frames of 1/30 s; 1.01 s is frame 30.3, nearest 30, as is 1 s.
#[test]
fn instants_that_cannot_be_are_refused_with_the_next_step_and_nothing_is_written() {
    let folder = tempdir().unwrap();
    let (file, out) = (room(folder.path()), folder.path().join("out"));
    for (option, instants, says) in [
        (
            "--at",
            "0s,4.1s",
            &["--at 4.1s", "0 s to 4.00 s", "frame 120"][..],
        ),
        ("--at", "frame 121", &["--at frame 121", "4.00 s"]),
        (
            "--at",
            "-1s",
            &["'-1s'", "before the first frame", "count from 0s"],
        ),
        ("--at", "0s,-0.5s", &["'-0.5s'", "count from 0s"]),
        (
            "--at",
            "1s,2s,1s",
            &["--at 1s and 1s", "frame 30", "leave one"],
        ),
        (
            "--at",
            "1.01s,1s",
            &["--at 1.01s and 1s", "frame 30", "leave one"],
        ),
        (
            "--at",
            "frame 30,1s",
            &["--at frame 30 and 1s", "leave one"],
        ),
        ("--at", "0s,,1s", &["not an instant", "such as 3s"]),
        ("--at", "", &["not an instant", "such as 3s"]),
        ("--at", "soon", &["'soon'", "such as 3s"]),
        ("--at", "1e3s", &["'1e3s'", "such as 3s"]),
        ("--every", "-5s", &["'-5s'", "0.03s to 3600s"]),
        ("--every", "0s", &["'0s'", "0.03s to 3600s"]),
        ("--every", "frame 3", &["'frame 3'", "such as 5s"]),
        ("--frames", "0", &["'0'", "1 to 9999"]),
        ("--frames", "122", &["--frames 122", "1 to 121"]),
    ] {
        let mut found = predicate::str::contains(says[0]).boxed();
        for part in &says[1..] {
            found = found.and(predicate::str::contains(*part)).boxed();
        }
        render(&file, &out, &[option, instants])
            .assert()
            .code(2)
            .stderr(found);
        assert!(!out.exists(), "{option} {instants}");
    }
    // Any order is understood: pictures and records come in the order of time.
    render(&file, &out, &["--at", "frame 60,0.5s"])
        .assert()
        .success();
    let json = records(&out);
    let times: Vec<f64> = json["pictures"]
        .as_array()
        .unwrap()
        .iter()
        .map(|picture| picture["seconds"].as_f64().unwrap())
        .collect();
    assert_eq!(times, [0.5, 2.0]);
    // An interval shorter than a frame meets no frame twice.
    render(&file, &out, &["--every", "0.03s"])
        .assert()
        .success();
    assert_eq!(records(&out)["pictures"].as_array().unwrap().len(), 121);
}

#[test]
fn records_of_somebody_else_are_left_alone() {
    let folder = tempdir().unwrap();
    fs::write(folder.path().join("records.json"), "[1, 2]").unwrap();
    render("uniform", folder.path(), &["--size", "8x8"])
        .assert()
        .code(2)
        .stderr(
            predicate::str::contains("records.json")
                .and(predicate::str::contains("choose another folder")),
        );
    assert_eq!(names(folder.path()), ["records.json"]);
}

#[test]
fn a_video_without_ffmpeg_or_of_one_picture_says_what_to_do() {
    let folder = tempdir().unwrap();
    let (out, empty) = (folder.path().join("out"), folder.path().join("empty"));
    fs::create_dir(&empty).unwrap();
    render("uniform", &out, &["--size", "8x8", "--video"])
        .env("PATH", &empty)
        .assert()
        .code(2)
        .stderr(
            predicate::str::contains("ffmpeg")
                .and(predicate::str::contains("install"))
                .and(predicate::str::contains("leave --video out")),
        );
    assert!(!out.exists());
}

/// Stands in for ffmpeg: keeps its arguments and what it is handed, or ends with a complaint.
#[cfg(unix)]
fn stand_in(folder: &Path, script: &str) -> std::ffi::OsString {
    use std::os::unix::fs::PermissionsExt;
    let program = folder.join("ffmpeg");
    let whole = format!("#!/bin/sh\n[ \"$1\" = -version ] && exit 0\n{script}\n");
    fs::write(&program, whole).unwrap();
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    let mut path = folder.as_os_str().to_owned();
    path.push(":");
    path.push(std::env::var_os("PATH").unwrap());
    path
}

// By hand: frames 0, 3 and 9 stand for 3, 6 and 6 thirtieths of a second: ten a second, once, twice and twice.
#[cfg(unix)]
#[test]
fn ffmpeg_is_handed_every_picture_as_often_as_it_stands() {
    let folder = tempdir().unwrap();
    let (file, out) = (room(folder.path()), folder.path().join("out"));
    let keeps = "for last; do :; done\nprintf '%s\\n' \"$@\" >\"$last.arguments\"\ncat >\"$last\"";
    let path = stand_in(folder.path(), keeps);
    render(
        &file,
        &out,
        &["--at", "0s,0.1s,0.3s", "--video", "--size", "15x9"],
    )
    .env("PATH", &path)
    .assert()
    .success()
    .stdout(predicate::str::contains("animation.png, animation.mp4, "));
    let single = pictures(&out);
    let expected = [0, 1, 1, 2, 2].map(|index: usize| single[index].clone());
    assert!(fs::read(out.join("animation.mp4")).unwrap() == expected.concat());
    let arguments = fs::read_to_string(out.join("animation.mp4.arguments")).unwrap();
    for pair in [
        "-video_size\n15x9",
        "-framerate\n10/1",
        "-pixel_format\nrgb24",
    ] {
        assert!(arguments.contains(pair), "{arguments}");
    }
    assert_eq!(records(&out)["video"]["file"], "animation.mp4");
    // A run without it removes the video.
    fs::remove_file(out.join("animation.mp4.arguments")).unwrap();
    render(&file, &out, &["--at", "0s,0.1s"]).assert().success();
    assert!(!out.join("animation.mp4").exists());
    render(&file, &out, &["--at", "0s", "--video"])
        .env("PATH", &path)
        .assert()
        .code(2)
        .stderr(
            predicate::str::contains("two pictures or more")
                .and(predicate::str::contains("--every")),
        );
}

#[cfg(unix)]
#[test]
fn an_ffmpeg_that_ends_early_costs_the_video_alone() {
    let folder = tempdir().unwrap();
    let (file, out) = (room(folder.path()), folder.path().join("out"));
    let path = stand_in(folder.path(), "echo 'no encoder for it' >&2\nexit 3");
    render(
        &file,
        &out,
        &["--every", "0.1s", "--video", "--size", "160x120"],
    )
    .env("PATH", &path)
    .assert()
    .code(2)
    .stderr(
        predicate::str::contains("no encoder for it")
            .and(predicate::str::contains("exit status: 3"))
            .and(predicate::str::contains("leave --video out")),
    );
    assert!(!out.join("animation.mp4").exists());
    assert_eq!(records(&out)["video"], Value::Null);
    assert_eq!(frames(&out.join("animation.png")).len(), 41);
}
