//! Every figure of every page, as the page itself states it: text is large enough on a phone, at a desk and on paper,
//! stays inside its figure, and no text lies on another.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failure here is the test's result"
)]

use assert_cmd::Command;

const PROFILES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../demo-data/profiles/");

/// Smallest text as seen, CSS pixels. Source: the project's own aim.
const SMALLEST: f64 = 11.0;

/// A text of a figure, in the figure's own pixels.
#[derive(Clone, Debug)]
struct Text {
    words: String,
    size: f64,
    upward: bool,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

#[derive(Debug)]
struct Figure {
    name: String,
    width: f64,
    height: f64,
    texts: Vec<Text>,
}

/// Width of a text in a sans-serif, of its size. Source: widths of the PostScript font Helvetica, rounded (from memory,
/// not seen).
fn width(words: &str) -> f64 {
    let of = |c: char| match c {
        'i' | 'j' | 'l' | '\'' => 0.22,
        ' ' | '\u{a0}' | 'f' | 't' | 'I' | ',' | '.' | ':' | '!' | '/' => 0.28,
        'r' | '(' | ')' | '-' => 0.33,
        '°' => 0.4,
        'c' | 'k' | 's' | 'v' | 'x' | 'y' | 'z' | 'J' => 0.5,
        'm' | '%' => 0.86,
        'w' => 0.72,
        'A'..='Z' => 0.69,
        _ => 0.56,
    };
    words.chars().map(of).sum()
}

fn attribute(tag: &str, name: &str) -> Option<String> {
    let rest = tag.split_once(&format!(" {name}=\""))?.1;
    Some(rest.split_once('"')?.0.to_owned())
}

fn number(tag: &str, name: &str) -> f64 {
    attribute(tag, name).unwrap().parse().unwrap()
}

fn text(tag: &str, words: &str) -> Text {
    let words = words
        .trim()
        .replace("&amp;", "&")
        .replace("&lt;", "<")
        .replace("&gt;", ">");
    let (x, y, size) = (number(tag, "x"), number(tag, "y"), number(tag, "font-size"));
    let wide = size * width(&words);
    let upward = tag.contains("rotate(270");
    let from = match attribute(tag, "text-anchor").unwrap().as_str() {
        "start" => 0.0,
        "middle" => 0.5,
        "end" => 1.0,
        other => panic!("{other}"),
    };
    // Letters without the room for accents above and below: 0.72 of the size.
    let (along, across) = (from * wide, 0.36 * size);
    let (left, right, top, bottom) = if upward {
        assert!((from - 0.5).abs() < 1e-9);
        (x - across, x + across, y - along, y + along)
    } else {
        (x - along, x - along + wide, y - across, y + across)
    };
    Text {
        words,
        size,
        upward,
        left,
        right,
        top,
        bottom,
    }
}

fn figures(page: &str, class: &str) -> Vec<Figure> {
    let start = format!("<div class=\"{class}\"><svg ");
    let parts = page.split(start.as_str()).skip(1);
    parts
        .map(|part| {
            let svg = part.split_once("</svg>").unwrap().0;
            let (tag, body) = svg.split_once('>').unwrap();
            let tag = format!(" {tag}");
            let texts = body.split("<text").skip(1).map(|one| {
                let (tag, rest) = one.split_once('>').unwrap();
                text(tag, rest.split_once("</text>").unwrap().0)
            });
            Figure {
                name: attribute(&tag, "aria-label").unwrap(),
                width: number(&tag, "width"),
                height: number(&tag, "height"),
                texts: texts.collect(),
            }
        })
        .collect()
}

/// What is wrong with a figure that is shown so many CSS pixels wide.
fn faults(figure: &Figure, shown: f64) -> Vec<String> {
    let mut faults = vec![];
    let mut say = |what: String| faults.push(format!("{}: {what}", figure.name));
    for (index, one) in figure.texts.iter().enumerate() {
        let seen = one.size * shown / figure.width;
        if seen < SMALLEST {
            say(format!("'{}' is {seen:.1} pixels high", one.words));
        }
        if one.left < 0.0 || one.top < 0.0 || one.right > figure.width || one.bottom > figure.height
        {
            say(format!("'{}' leaves the figure", one.words));
        }
        for other in &figure.texts[index + 1..] {
            let apart = one.right <= other.left
                || other.right <= one.left
                || one.bottom <= other.top
                || other.bottom <= one.top;
            if !apart {
                say(format!("'{}' lies on '{}'", one.words, other.words));
            }
        }
    }
    faults
}

fn page_of(command: &str, arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let name = if command == "verify" {
        "report"
    } else {
        command
    };
    let _done = Command::cargo_bin("glowsill")
        .unwrap()
        .current_dir(folder.path())
        .arg(command)
        .args(arguments)
        .args(["--out", "out"])
        .assert()
        .success();
    std::fs::read_to_string(folder.path().join("out").join(format!("{name}.html"))).unwrap()
}

/// Checks every figure of a page. Widths by hand from the style sheets: a phone of 390 pixels less twice 11.2 of margin;
/// half of A4 less margins of 14 mm and a gap of 4 mm, at 96 pixels an inch; a desk of 72 rem less twice 1 rem of
/// margin, and half of that less a gap of 1 rem. Borders are taken off each.
fn check(page: &str) -> usize {
    let (phone, paper) = (390.0 - 22.4 - 2.0, (182.0 - 4.0) / 2.0 / 25.4 * 96.0 - 2.0);
    let (whole, half) = (1152.0 - 32.0 - 2.0, (1152.0 - 32.0 - 16.0) / 2.0 - 2.0);
    let mut wrong = vec![];
    let narrow = figures(page, "narrow");
    for figure in &narrow {
        wrong.extend(faults(figure, phone));
        wrong.extend(faults(figure, paper));
    }
    let wide = figures(page, "wide");
    for figure in &wide {
        let shown = if figure.width > 600.0 { whole } else { half };
        wrong.extend(faults(figure, shown));
    }
    assert_eq!(
        (narrow.len(), page.matches("<svg ").count()),
        (wide.len(), 2 * wide.len())
    );
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(narrow.iter().all(|figure| figure.texts.len() > 5));
    narrow.len()
}

#[test]
fn the_report_can_be_read_everywhere() {
    let page = page_of("verify", &["--only", "colour-order", "--quiet"]);
    assert_eq!(check(&page), 12);
}

#[test]
fn the_sheet_of_barriers_can_be_read_everywhere() {
    assert_eq!(check(&page_of("barrier", &[])), 12);
}

// Two instants before and after the scale has moved, of a profile whose onset lies near the ends of its scale, and of one
// whose ends lie together.
#[test]
fn explanations_can_be_read_everywhere() {
    for (profile, between) in [
        ("size-up.toml", "0.5s,5s"),
        ("interior-attack.toml", "0s,0.5s"),
        ("poor-cycle.toml", "0.5s,2s"),
    ] {
        let profile = format!("{PROFILES}{profile}");
        let arguments = ["workshop", "--size", "80x60", "--between", between];
        let page = page_of(
            "explain",
            &[&arguments[..], &["--profile", &profile]].concat(),
        );
        assert_eq!(check(&page), 4);
    }
}

#[test]
fn small_text_texts_on_each_other_and_cut_ones_are_found() {
    let one = |x: f64, size: f64| {
        let tag = format!(" x=\"{x}\" y=\"50\" text-anchor=\"start\" font-size=\"{size}\"");
        text(&tag, "\nwords\n")
    };
    let faults_of = |texts: Vec<Text>| {
        let figure = Figure {
            name: "hand-made".to_owned(),
            width: 200.0,
            height: 100.0,
            texts,
        };
        faults(&figure, 200.0)
    };
    assert!(faults_of(vec![one(10.0, 12.0), one(60.0, 12.0)]).is_empty());
    assert!(!one(10.0, 12.0).upward);
    for (texts, said) in [
        (vec![one(10.0, 10.0)], "10.0 pixels high"),
        (vec![one(10.0, 12.0), one(30.0, 12.0)], "lies on"),
        (vec![one(190.0, 12.0)], "leaves"),
    ] {
        let found = faults_of(texts);
        assert!(found.len() == 1 && found[0].contains(said), "{found:?}");
    }
}
