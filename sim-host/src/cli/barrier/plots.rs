//! The curves of the sheet.

use super::{Findings, Heated, Onset, words};
use crate::measure::{Plot, Series};
use crate::temperature::Kelvin;
use crate::world::barrier::Moment;
use crate::world::rounding::count_f64;

/// More points than this show no more on a plot.
const POINTS: usize = 400;
/// Above the highest onset curves are cut here, as a share of its height above the room.
const HEADROOM: f64 = 1.35;
const ROOM_C: f64 = 20.0;
/// Top of a plot in which no profile has an onset, °C.
const NO_ONSET_TOP_C: f64 = 300.0;

/// The onsets, those of one temperature together, with their labels.
fn onsets(findings: &Findings) -> Vec<(f64, String)> {
    let mut lines: Vec<(f64, Vec<&str>)> = vec![];
    for watcher in &findings.watchers {
        let Onset::At(kelvin) = watcher.onset else {
            continue;
        };
        let celsius = kelvin.celsius();
        match lines.iter_mut().find(|line| (line.0 - celsius).abs() < 0.5) {
            Some((_, names)) => names.push(&watcher.name),
            None => lines.push((celsius, vec![&watcher.name])),
        }
    }
    lines.sort_by(|a, b| a.0.total_cmp(&b.0));
    lines
        .into_iter()
        .map(|(celsius, names)| {
            let degrees = words::short(Kelvin::from_celsius(celsius));
            (celsius, format!("onset {degrees}: {}", names.join(", ")))
        })
        .collect()
}

/// Where curves are cut so that the onsets stay readable, °C.
fn top_c(onsets: &[(f64, String)]) -> f64 {
    onsets.last().map_or(NO_ONSET_TOP_C, |(highest, _)| {
        ROOM_C + HEADROOM * (highest - ROOM_C).max(60.0)
    })
}

/// A curve in minutes and °C, ended where it first leaves the picture.
fn curve(moments: &[Moment], top_c: f64, value: impl Fn(&Moment) -> f64) -> Vec<(f64, f64)> {
    let every = (moments.len() / POINTS).max(1);
    let mut points = vec![];
    let mut inside = true;
    for (index, moment) in moments.iter().enumerate() {
        let (minutes, celsius) = (moment.t_s / 60.0, Kelvin(value(moment)).celsius());
        if celsius > top_c {
            // The point where it leaves is kept: thinning out would end the curve early.
            if inside {
                points.push((minutes, top_c));
                points.push((minutes, f64::NAN));
            }
            inside = false;
            continue;
        }
        if index % every == 0 || !inside || index + 1 == moments.len() {
            points.push((minutes, celsius));
        }
        inside = true;
    }
    points
}

/// All assemblies as the imager sees their far side.
pub(super) fn overview(findings: &Findings) -> Plot {
    let limits = onsets(findings);
    let top = top_c(&limits);
    let mut plot = Plot {
        stem: "barrier".to_owned(),
        title: format!(
            "What shows on the far side of an assembly. Fire side: {}",
            findings.exposure
        ),
        x_label: "time since the fire started, minutes".to_owned(),
        y_label: "apparent temperature of the far side, °C".to_owned(),
        series: findings
            .assemblies
            .iter()
            .map(|heated| Series {
                name: heated.label(),
                points: curve(&heated.course.moments, top, |moment| moment.apparent_k),
            })
            .collect(),
        marks: vec![],
        limits,
    };
    keep_room(&mut plot, findings);
    plot
}

/// One assembly: its room face as it is and as it appears, its fire face and the gas that heats it.
pub(super) fn of_assembly(findings: &Findings, heated: &Heated) -> Plot {
    let limits = onsets(findings);
    let hottest_c = Kelvin(
        heated
            .course
            .moments
            .iter()
            .map(|moment| moment.room_face_k)
            .fold(0.0, f64::max),
    )
    .celsius();
    let top = top_c(&limits).max((1.1 * hottest_c).min(2.0 * top_c(&limits)));
    let series = |name: &str, value: fn(&Moment) -> f64| Series {
        name: name.to_owned(),
        points: curve(&heated.course.moments, top, value),
    };
    let mut plot = Plot {
        stem: heated.assembly.name.to_owned(),
        title: format!("{}: {}", heated.label(), heated.assembly.title),
        x_label: "time since the fire started, minutes".to_owned(),
        y_label: "temperature, °C".to_owned(),
        series: vec![
            series("far side, as it appears", |moment| moment.apparent_k),
            series("far side, true", |moment| moment.room_face_k),
            series("face on the fire side", |moment| moment.fire_face_k),
            series("gas on the fire side", |moment| moment.fire_gas_k),
        ],
        marks: vec![],
        limits,
    };
    keep_room(&mut plot, findings);
    plot
}

/// Keeps the whole time on the axis, even when every curve is cut early.
fn keep_room(plot: &mut Plot, findings: &Findings) {
    if let Some(first) = plot.series.first_mut() {
        let end = count_f64(
            findings
                .assemblies
                .first()
                .map_or(0, |heated| heated.course.moments.len().saturating_sub(1)),
        ) * findings.conditions.step_s
            / 60.0;
        if first.points.last().is_none_or(|point| point.0 < end) {
            first.points.push((end, f64::NAN));
        }
    }
}
