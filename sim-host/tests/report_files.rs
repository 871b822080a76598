//! The files of a report: what stands in them, and that no half report looks whole.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]

use std::fs;
use std::path::Path;

use glowsill::measure::{MeasureId, Outcome, Picture, Plot, Quantity, Series};
use glowsill::report::{CAUTIONS, OutputFolder, ProfileReport, Report, ReportError, today};
use glowsill::requirement::RequirementSet;
use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{Band, BandPlan, ColourPlan, Fill, Overlay, ProfileSpec, RampEnd};
use glowsill_core::units::Temperature;

const REQUIREMENTS: &str = r#"
title = "Hand-made requirements"
edition = "1"
[[requirement]]
id = "separation"
title = "Bars stay visible behind colour"
measure = "detail"
quantity = "worst_separation"
at_least = 1
unit = "JND"
source = "project's own limit"
[[requirement]]
id = "onset"
title = "Colour starts no lower than 302 °F"
measure = "onset"
quantity = "rising"
at_least = "302 F"
unit = "°C"
source = "project's own limit"
[[requirement]]
id = "latency"
title = "Colour answers within three frames"
measure = "latency"
quantity = "colour"
at_most = 3
unit = "frames"
source = "project's own limit"
"#;

fn celsius(value: i32) -> Temperature {
    Temperature::from_millicelsius(value * 1000).unwrap()
}

fn spec(name: &str, overlay: Overlay) -> ProfileSpec {
    let mut spec = ProfileSpec::grey_example();
    spec.name.clear();
    spec.name.push_str(name).unwrap();
    let band = |start, colour, fill| Band {
        start: celsius(start),
        colour,
        fill,
    };
    let mut plan = BandPlan {
        bands: Default::default(),
        hysteresis_k32: 64,
        ramp_end: Some(RampEnd {
            temperature: celsius(500),
            colour: Rgb888::new(160, 20, 40),
        }),
        ceiling: None,
    };
    plan.bands
        .push(band(160, Rgb888::new(230, 200, 40), Fill::Ramp))
        .unwrap();
    plan.bands
        .push(band(300, Rgb888::new(230, 120, 30), Fill::Ramp))
        .unwrap();
    spec.colour = ColourPlan::Bands(plan);
    spec.overlay = overlay;
    spec
}

fn outcomes(separation: f64) -> Vec<Outcome> {
    let course = |name: &str, top: f64| Series {
        name: name.to_owned(),
        points: (0..30)
            .map(|i| (160.0 + 10.0 * f64::from(i), top - 0.05 * f64::from(i)))
            .collect(),
    };
    let image = image::RgbImage::from_fn(160, 120, |x, y| {
        let bar = if (x / 10) % 2 == 0 { 90 } else { 150 };
        image::Rgb(if y > 60 {
            [bar + 60, bar, 20]
        } else {
            [bar, bar, bar]
        })
    });
    vec![
        Outcome {
            measure: MeasureId::Onset,
            quantities: vec![
                Quantity::new("rising", 160.1, "°C")
                    .under("place", "centre")
                    .under("emissivity", "1.0")
                    .within(0.05),
                Quantity::new("rising", 160.1, "°C")
                    .under("place", "corner")
                    .under("emissivity", "1.0")
                    .within(0.05),
                Quantity::absent("falling", "°C", "the field never lost its colour")
                    .under("place", "centre"),
            ],
            pictures: vec![],
            plots: vec![],
            findings: vec![
                "Colour starts at 160.1 °C (320.2 °F), in the centre and in the corner.".to_owned(),
            ],
        },
        Outcome {
            measure: MeasureId::Detail,
            quantities: vec![
                Quantity::new("worst_separation", separation, "JND")
                    .under("delta_t", "2 K")
                    .under("frequency", "0.05 cycles/px")
                    .within(0.3),
            ],
            pictures: vec![Picture {
                stem: "bars".to_owned(),
                caption: "Bars at 200 °C (392 °F), 2 K apart, below without colour above"
                    .to_owned(),
                image,
            }],
            plots: vec![
                Plot {
                    stem: "separation".to_owned(),
                    title: "Separation of bars behind colour".to_owned(),
                    x_label: "base temperature, °C".to_owned(),
                    y_label: "separation, JND".to_owned(),
                    series: vec![
                        course("with colour", separation + 1.4),
                        course("without colour", separation + 3.0),
                    ],
                    marks: vec![(160.0, "onset 160 °C (320 °F)".to_owned())],
                    limits: vec![(1.0, "visible, 1 JND".to_owned())],
                },
                Plot {
                    stem: "separation".to_owned(),
                    title: "Nothing to draw".to_owned(),
                    x_label: "x".to_owned(),
                    y_label: "y".to_owned(),
                    series: vec![],
                    marks: vec![],
                    limits: vec![],
                },
            ],
            findings: vec!["The bars are <closest> at 450 °C (842 °F) & 2 K.".to_owned()],
        },
    ]
}

fn sample() -> Report {
    let set = RequirementSet::parse("hand-made.toml", REQUIREMENTS).unwrap();
    let tint = spec(
        "Interior attack",
        Overlay::Tint {
            knee: 128,
            lift: 180,
        },
    );
    let opaque = spec("Blot", Overlay::Opaque);
    Report {
        title: "Display profiles for the scenery workshop".to_owned(),
        date: "2026-01-31".to_owned(),
        settings: vec![
            ("seed".to_owned(), "7".to_owned()),
            ("panel white".to_owned(), "250 cd/m²".to_owned()),
        ],
        cautions: vec!["The panel is a model.".to_owned()],
        profiles: vec![
            ProfileReport::new(tint, false, outcomes(1.2), Some(&set)),
            ProfileReport::new(opaque, true, outcomes(0.0), Some(&set)),
        ],
        requirements: Some(set),
    }
}

fn written() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    sample().write(folder.path()).unwrap();
    folder
}

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap()
}

#[test]
fn the_json_is_as_its_schema_says() {
    let folder = written();
    let report: serde_json::Value =
        serde_json::from_str(&read(folder.path(), "report.json")).unwrap();
    let schema = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/schema/report.schema.json");
    let schema = serde_json::from_str(&fs::read_to_string(schema).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let errors: Vec<_> = validator
        .iter_errors(&report)
        .map(|e| format!("{}: {e}", e.instance_path()))
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
    let mut broken = report.clone();
    broken["profiles"][0]["verdicts"][0]["verdict"] = "perhaps".into();
    assert!(!validator.is_valid(&broken));

    let words = |profile: usize| {
        let verdicts = report["profiles"][profile]["verdicts"].as_array().unwrap();
        verdicts
            .iter()
            .map(|v| v["verdict"].as_str().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(words(0), ["pass", "pass", "not-evaluated"]);
    assert_eq!(words(1), ["fail", "pass", "not-evaluated"]);
    assert_eq!(
        report["profiles"][0]["verdicts"][0]["inside_uncertainty"],
        true
    );
    assert_eq!(report["profiles"][1]["there_to_fail"], true);
    // Source: definition of the Fahrenheit scale, 160 °C = 320 °F, kept to 1/32 K.
    let onset = report["profiles"][0]["onset"]["fahrenheit"]
        .as_f64()
        .unwrap();
    assert!((onset - 320.0).abs() < 0.06, "{onset}");
    for file in ["chart", "detail-separation", "detail-bars"] {
        let path = folder
            .path()
            .join(format!("pictures/interior-attack-{file}.png"));
        assert!(image::open(&path).unwrap().width() >= 160, "{file}");
    }
}

#[test]
fn the_page_needs_no_other_file_and_says_everything_in_words() {
    let folder = written();
    let page = read(folder.path(), "report.html");
    for text in [
        "✓ PASS",
        "✗ FAIL",
        "– NOT EVALUATED",
        "there to fail",
        "inside the uncertainty",
        "not measured",
    ] {
        assert!(page.contains(text), "{text}");
    }
    for caution in CAUTIONS {
        assert!(page.contains(caution), "{caution}");
    }
    assert!(page.contains("&lt;closest&gt; at 450 °C (842 °F) &amp; 2 K"));
    assert!(page.contains("has no finite point to draw"));
    assert!(page.find("<table").unwrap() < page.find("Read this first").unwrap());
    assert!(
        page.matches("data:image/png;base64,").count() == 2 && page.matches("<svg ").count() == 8
    );
    for outside in [
        "<script",
        "<link",
        "href=\"http",
        "src=\"http",
        "url(",
        "@import",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    // Every anchor leads somewhere.
    for link in page.split("href=\"#").skip(1) {
        let anchor = link.split('"').next().unwrap();
        assert!(page.contains(&format!("id=\"{anchor}\"")), "{anchor}");
    }
    let lower = page.to_lowercase();
    assert!(!lower.contains("compliant") && !lower.contains("/tmp") && !lower.contains("/home"));
}

#[test]
fn junit_has_a_case_for_each_requirement_and_profile() {
    let folder = written();
    let xml = read(folder.path(), "junit.xml");
    assert!(
        xml.contains("tests=\"6\"") && xml.contains("failures=\"1\""),
        "{xml}"
    );
    assert_eq!(xml.matches("<testcase ").count(), 6);
    assert_eq!(xml.matches("<skipped ").count(), 2);
    assert!(xml.contains("There to fail. Measured 0 JND"), "{xml}");
    assert!(!xml.contains("timestamp") && !xml.contains(" time="));
}

#[test]
fn the_same_findings_give_the_same_bytes() {
    let (a, b) = (written(), written());
    for name in [
        "report.html",
        "report.json",
        "junit.xml",
        "pictures/blot-chart.png",
    ] {
        assert_eq!(
            fs::read(a.path().join(name)).unwrap(),
            fs::read(b.path().join(name)).unwrap(),
            "{name}"
        );
    }
}

#[test]
fn nothing_appears_before_commit_and_foreign_files_stay() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("new").join("out");
    drop(OutputFolder::prepare(&target).unwrap());
    assert!(!target.exists());

    let folder = OutputFolder::prepare(&target).unwrap();
    sample().write(folder.path()).unwrap();
    assert!(!target.exists());
    folder.commit().unwrap();
    assert!(target.join("report.json").exists() && target.join("pictures").is_dir());

    // A second run replaces the report and leaves the rest.
    fs::write(target.join("notes.txt"), "mine").unwrap();
    fs::write(target.join("pictures/mine.png"), "mine").unwrap();
    let folder = OutputFolder::prepare(&target).unwrap();
    let mut report = sample();
    report.title = "Second".to_owned();
    report.write(folder.path()).unwrap();
    folder.commit().unwrap();
    assert!(read(&target, "report.html").contains("<title>Second</title>"));
    assert_eq!(read(&target, "notes.txt"), "mine");
    assert_eq!(read(&target, "pictures/mine.png"), "mine");
    let left: Vec<_> = fs::read_dir(&target)
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert_eq!(left.len(), 5, "{left:?}");
}

#[test]
fn a_folder_that_cannot_be_used_is_known_before_the_work() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("file");
    fs::write(&file, "mine").unwrap();
    let error = OutputFolder::prepare(&file).unwrap_err().to_string();
    assert!(error.contains("is a file"), "{error}");
    let error = OutputFolder::prepare(&file.join("below")).unwrap_err();
    assert!(matches!(error, ReportError::Folder { .. }), "{error}");
    for name in ["report.html", "report.json", "junit.xml"] {
        let folder = place.path().join(format!("foreign-{name}"));
        fs::create_dir(&folder).unwrap();
        fs::write(folder.join(name), "somebody else's").unwrap();
        let error = OutputFolder::prepare(&folder).unwrap_err();
        assert!(matches!(error, ReportError::Foreign { .. }), "{error}");
        assert_eq!(read(&folder, name), "somebody else's");
    }
}

#[test]
fn an_interrupted_write_has_no_json() {
    let folder = tempfile::tempdir().unwrap();
    // A folder stands where the last but one file should go.
    fs::create_dir(folder.path().join("junit.xml")).unwrap();
    assert!(sample().write(folder.path()).is_err());
    assert!(!folder.path().join("report.json").exists());
}

#[test]
fn a_report_without_profiles_or_with_a_time_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let empty = Report {
        profiles: vec![],
        ..sample()
    };
    assert!(matches!(
        empty.write(folder.path()),
        Err(ReportError::Empty)
    ));
    let timed = Report {
        date: "2026-01-31 10:00".to_owned(),
        ..sample()
    };
    assert!(matches!(
        timed.write(folder.path()),
        Err(ReportError::Date(_))
    ));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    assert_eq!(today().len(), 10);
}

#[test]
fn pictures_of_an_earlier_report_go_and_nothing_else_does() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let commit = |report: &Report| {
        let folder = OutputFolder::prepare(&target).unwrap();
        report.write(folder.path()).unwrap();
        folder.commit().unwrap();
    };
    commit(&sample());
    let pictures = || {
        let all = fs::read_dir(target.join("pictures")).unwrap();
        let mut names: Vec<_> = all
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    };
    let earlier = pictures();
    assert!(
        earlier.contains(&"blot-chart.png".to_owned()),
        "{earlier:?}"
    );
    // One picture is somebody's own, one of the report's was worked on since.
    fs::write(target.join("pictures/mine.png"), "mine").unwrap();
    fs::write(
        target.join("pictures/blot-detail-bars.png"),
        "circled by hand",
    )
    .unwrap();
    let mut only_first = sample();
    only_first.profiles.truncate(1);
    commit(&only_first);
    let mut expected: Vec<_> = earlier
        .into_iter()
        .filter(|name| !name.starts_with("blot-"))
        .collect();
    expected.extend(["mine.png".to_owned(), "blot-detail-bars.png".to_owned()]);
    expected.sort();
    assert_eq!(pictures(), expected);
    assert_eq!(read(&target, "pictures/mine.png"), "mine");
    assert_eq!(
        read(&target, "pictures/blot-detail-bars.png"),
        "circled by hand"
    );
}

#[test]
fn a_listing_cannot_name_files_outside_the_pictures() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let folder = OutputFolder::prepare(&target).unwrap();
    sample().write(folder.path()).unwrap();
    folder.commit().unwrap();
    let precious = place.path().join("precious.png");
    fs::write(&precious, "mine").unwrap();
    let mut listing: serde_json::Value =
        serde_json::from_str(&read(&target, "report.json")).unwrap();
    // Source: CRC-32/ISO-HDLC of "mine", computed with another program (zlib).
    listing["files"] = serde_json::json!([
        { "file": "pictures/../../precious.png", "bytes": 4, "crc32": "69a8d393" },
        { "file": "../precious.png", "bytes": 4, "crc32": "69a8d393" },
    ]);
    let text = serde_json::to_string_pretty(&listing).unwrap();
    let text = format!("{{\n  \"format\": \"glowsill-report\",{}", &text[1..]);
    fs::write(target.join("report.json"), text).unwrap();
    let folder = OutputFolder::prepare(&target).unwrap();
    sample().write(folder.path()).unwrap();
    folder.commit().unwrap();
    assert_eq!(fs::read_to_string(precious).unwrap(), "mine");
}

#[test]
fn the_page_speaks_in_words_and_warns_of_shared_colours() {
    let mut report = sample();
    let ColourPlan::Bands(plan) = &mut report.profiles[1].spec.colour else {
        panic!("the sample has bands");
    };
    plan.bands[0].start = celsius(200);
    let folder = tempfile::tempdir().unwrap();
    report.write(folder.path()).unwrap();
    let page = read(folder.path(), "report.html");
    // Source: definition of the Fahrenheit scale, 160 °C = 320 °F, 200 °C = 392 °F.
    for text in [
        "The same colour stands for different apparent temperatures",
        "yellow starts at 160 °C (320 °F) in",
        "at 200 °C (392 °F) in",
        "2 K difference",
        "data-label=\"Conditions\"",
    ] {
        assert!(page.contains(text), "{text}");
    }
    for raw in ["delta_t", "delta t", "± 0 ", "± 0<"] {
        assert!(!page.contains(raw), "{raw}");
    }
}
