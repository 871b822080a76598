//! `glowsill barrier`: assemblies and profiles → when heat behind an assembly first shows in colour.

mod exposure;
mod page;
mod plots;
mod words;

use std::process::ExitCode;

use comfy_table::{ColumnConstraint, ContentArrangement, Table, presets};
use glowsill_core::profile::{ColourPlan, ProfileSpec};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use serde::Serialize;
use serde_json::json;

use super::{BarrierArguments, CAUTION, CliError, output};
use crate::plot::captioned;
use crate::profile_file;
use crate::report::{CAUTIONS, OutputFolder};
use crate::temperature::Kelvin;
use crate::world::barrier::{Conditions, Course};
use crate::world::conduction::{Assembly, assembly, assembly_library, clothing_library};
use crate::world::fire::Exposure;
pub(super) use exposure::Asked;

/// Name of the sheet's files without ending.
const STEM: &str = "barrier";

/// Reads a number of minutes.
pub(super) fn minutes(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|minutes| (1.0..=480.0).contains(minutes))
        .ok_or_else(|| format!("'{text}' is not a time: write 1 to 480 minutes, such as 30"))
}

/// Where the colour of a profile starts.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Onset {
    At(Kelvin),
    GreyOnly,
    FollowsGrey,
}

impl Onset {
    fn of(spec: &ProfileSpec) -> Self {
        match &spec.colour {
            ColourPlan::Bands(plan) => plan.bands.first().map_or(Self::GreyOnly, |band| {
                Self::At(Kelvin(f64::from(band.start.to_bits()) / 32.0))
            }),
            ColourPlan::GreyOnly => Self::GreyOnly,
            ColourPlan::PseudoColour { .. } => Self::FollowsGrey,
        }
    }

    fn words(self) -> String {
        match self {
            Self::At(kelvin) => format!("onset {kelvin}"),
            Self::GreyOnly => "grey only".to_owned(),
            Self::FollowsGrey => "no fixed onset".to_owned(),
        }
    }
}

/// A profile with its onset.
struct Watcher {
    name: String,
    source: String,
    poor_example: bool,
    onset: Onset,
}

impl Watcher {
    fn new(loaded: &profile_file::LoadedProfile, poor_example: bool) -> Self {
        Self {
            name: loaded.name().to_owned(),
            source: loaded.source.clone(),
            poor_example,
            onset: Onset::of(&loaded.spec),
        }
    }
}

/// An assembly with what happened to it.
struct Heated {
    assembly: &'static Assembly,
    course: Course,
}

/// Everything that was asked and found.
struct Findings {
    exposure: String,
    /// What a person must know of the exposure.
    notes: Vec<String>,
    minutes: f64,
    conditions: Conditions,
    watchers: Vec<Watcher>,
    assemblies: Vec<Heated>,
}

impl Heated {
    /// Whether it is clothing, of which no minutes may be taken for protection.
    fn worn(&self) -> bool {
        clothing_library().contains(self.assembly)
    }

    /// Its name, with a mark where it is clothing.
    fn label(&self) -> String {
        let mark = if self.worn() { " [clothing]" } else { "" };
        format!("{}{mark}", self.assembly.name)
    }
}

impl Findings {
    /// Cautions about what was asked for, the marked limits of layers included.
    fn cautions(&self) -> Vec<String> {
        let worn = self.assemblies.iter().any(Heated::worn);
        worn.then(|| words::WORN.to_owned())
            .into_iter()
            .chain(self.notes.iter().cloned())
            .chain([
                words::model(self.conditions.room_k),
                words::TRUST.to_owned(),
            ])
            .collect()
    }

    /// What a profile shows of an assembly, in words.
    fn answer(&self, heated: &Heated, watcher: &Watcher) -> String {
        match watcher.onset {
            Onset::At(kelvin) => {
                let reached = heated.course.reaches_s(kelvin.0);
                let beyond = heated
                    .course
                    .exceeded
                    .iter()
                    .any(|limit| reached.is_none_or(|t_s| t_s > limit.at_s));
                let mark = if beyond { "\u{a0}!" } else { "" };
                match reached {
                    Some(t_s) => format!("{}{mark}", words::duration(t_s)),
                    None => format!("not within {} min{mark}", words::minutes(self.minutes)),
                }
            }
            Onset::GreyOnly => "never: grey only".to_owned(),
            Onset::FollowsGrey => "no fixed onset".to_owned(),
        }
    }
}

fn watchers(arguments: &BarrierArguments) -> Result<Vec<Watcher>, CliError> {
    if arguments.profile.is_empty() {
        return Ok(profile_file::demo()?
            .iter()
            .map(|demo| Watcher::new(&demo.loaded, demo.there_to_fail))
            .collect());
    }
    let mut watchers: Vec<Watcher> = vec![];
    for path in &arguments.profile {
        let watcher = Watcher::new(&profile_file::load(path)?, false);
        if let Some(first) = watchers.iter().find(|known| known.name == watcher.name) {
            return Err(CliError::SameName {
                name: watcher.name,
                first: first.source.clone(),
                second: watcher.source,
            });
        }
        watchers.push(watcher);
    }
    Ok(watchers)
}

fn assemblies(arguments: &BarrierArguments) -> Result<Vec<&'static Assembly>, CliError> {
    if arguments.assembly.is_empty() {
        return Ok(assembly_library().iter().collect());
    }
    let mut chosen: Vec<&Assembly> = vec![];
    for name in &arguments.assembly {
        let one = assembly(name)?;
        if !chosen.iter().any(|known| known.name == one.name) {
            chosen.push(one);
        }
    }
    Ok(chosen)
}

fn heat(
    assemblies: &[&'static Assembly],
    exposure: &dyn Exposure,
    conditions: &Conditions,
) -> Result<Vec<Heated>, CliError> {
    // indicatif itself stays silent where standard error is no terminal.
    let bar = ProgressBar::new(u64::try_from(assemblies.len()).unwrap_or(0));
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos}/{len} assemblies {wide_msg}") {
        bar.set_style(style);
    }
    let heated = assemblies
        .par_iter()
        .map(|assembly| {
            bar.set_message(assembly.name);
            let course = Course::of(assembly, exposure, conditions)?;
            bar.inc(1);
            Ok(Heated { assembly, course })
        })
        .collect();
    bar.finish_and_clear();
    heated
}

pub(super) fn run(arguments: &BarrierArguments) -> Result<ExitCode, CliError> {
    let (assemblies, watchers) = (assemblies(arguments)?, watchers(arguments)?);
    let opened = arguments.exposure.open(arguments.minutes)?;
    let folder = OutputFolder::prepare_sheet(&arguments.out, STEM)?;
    let conditions = Conditions {
        duration_s: 60.0 * opened.minutes,
        room_k: opened.room_k,
        ..Conditions::default()
    };
    let findings = Findings {
        exposure: opened.exposure.title(),
        minutes: opened.minutes,
        assemblies: heat(&assemblies, opened.exposure.as_ref(), &conditions)?,
        notes: opened.notes,
        conditions,
        watchers,
    };
    let write = |name: &str, bytes: &[u8]| {
        let file = folder.path().join(name);
        std::fs::write(&file, bytes).map_err(CliError::writing(&file))
    };
    write("barrier.html", page::page(&findings)?.as_bytes())?;
    let picture = folder.path().join("barrier.png");
    captioned::png(&plots::overview(&findings), &sheet_text(&findings))?
        .save(&picture)
        .map_err(|cause| CliError::Picture {
            path: picture,
            cause,
        })?;
    let numbers = serde_json::to_string_pretty(&Numbers {
        format: "glowsill-barrier",
        found: as_json(&findings, &opened.name),
    })?;
    write("barrier.json", numbers.as_bytes())?;
    folder.commit()?;
    if arguments.json {
        output::line(numbers);
        return Ok(ExitCode::SUCCESS);
    }
    print(&findings);
    output::line(format_args!(
        "Sheet: {} and barrier.png beside it",
        arguments.out.join("barrier.html").display()
    ));
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}

fn print(findings: &Findings) {
    output::line(format_args!(
        "When heat behind an assembly first shows in colour. Fire side: {}. {} minutes.",
        findings.exposure,
        words::minutes(findings.minutes)
    ));
    output::line(words::ASSEMBLY);
    let mut table = Table::new();
    table
        .load_preset(presets::UTF8_HORIZONTAL_ONLY)
        .set_content_arrangement(ContentArrangement::Dynamic);
    // comfy-table asks the terminal; without one, lines would run on for ever.
    if table.width().is_none() {
        table.set_width(120);
    }
    let mut header = vec!["assembly\nonset".to_owned()];
    header.extend(findings.watchers.iter().map(|watcher| {
        let mark = if watcher.poor_example {
            " [poor example]"
        } else {
            ""
        };
        let onset = match watcher.onset {
            Onset::At(kelvin) => words::short(kelvin),
            other => other.words(),
        };
        format!("{}{mark}\n{onset}", watcher.name)
    }));
    header.push("hottest it appears".to_owned());
    table.set_header(header);
    for heated in &findings.assemblies {
        let mut row = vec![heated.label()];
        let answers = findings
            .watchers
            .iter()
            .map(|watcher| findings.answer(heated, watcher));
        row.extend(answers);
        row.push(words::short(Kelvin(heated.course.hottest_apparent_k())));
        table.add_row(row);
    }
    if let Some(names) = table.column_mut(0) {
        names.set_constraint(ColumnConstraint::ContentWidth);
    }
    output::line(table);
    let exceeded = words::exceeded(&findings.assemblies);
    if !exceeded.is_empty() {
        output::line(words::MARK);
    }
    for sentence in exceeded {
        output::line(format_args!("! {sentence}"));
    }
    output::line("");
    output::line("What the imager cannot see here:");
    for sentence in words::UNSEEN {
        output::line(format_args!("- {sentence}"));
    }
    output::line("");
    for sentence in findings.cautions() {
        output::line(sentence);
    }
}

/// The text under the plot of the sheet's picture.
fn sheet_text(findings: &Findings) -> Vec<captioned::Line> {
    use captioned::Line;
    let mut header = vec!["Assembly".to_owned()];
    header.extend(findings.watchers.iter().map(|watcher| watcher.name.clone()));
    let mut onsets = vec!["onset".to_owned()];
    onsets.extend(findings.watchers.iter().map(|watcher| match watcher.onset {
        Onset::At(kelvin) => words::short(kelvin),
        other => other.words(),
    }));
    let mut text = vec![
        Line::Heading("First colour on the far side, time since the fire started".to_owned()),
        Line::Row(header),
        Line::Row(onsets),
    ];
    for heated in &findings.assemblies {
        let mut row = vec![heated.label()];
        let answers = findings
            .watchers
            .iter()
            .map(|watcher| findings.answer(heated, watcher));
        row.extend(answers);
        text.push(Line::Row(row));
    }
    text.push(Line::Heading("What the imager cannot see here".to_owned()));
    text.extend(words::UNSEEN.map(|sentence| Line::Text(sentence.to_owned())));
    text.push(Line::Heading("Cautions".to_owned()));
    let exceeded = words::exceeded(&findings.assemblies);
    if !exceeded.is_empty() {
        text.push(Line::Text(words::MARK.to_owned()));
    }
    text.extend(
        exceeded
            .into_iter()
            .map(|sentence| format!("! {sentence}"))
            .chain(findings.cautions())
            .chain([CAUTIONS[0], CAUTIONS[1], CAUTIONS[3]].map(str::to_owned))
            .map(Line::Text),
    );
    text
}

/// `barrier.json`: its format stands first, because by it a later run knows the file.
#[derive(Serialize)]
struct Numbers {
    format: &'static str,
    #[serde(flatten)]
    found: serde_json::Value,
}

fn as_json(findings: &Findings, exposure: &str) -> serde_json::Value {
    let assemblies: Vec<_> = findings
        .assemblies
        .iter()
        .map(|heated| {
            let onsets: Vec<_> = findings
                .watchers
                .iter()
                .map(|watcher| {
                    let (kelvin, first_s) = match watcher.onset {
                        Onset::At(kelvin) => (Some(kelvin), heated.course.reaches_s(kelvin.0)),
                        _ => (None, None),
                    };
                    json!({
                        "profile": watcher.name,
                        "poor_example": watcher.poor_example,
                        "onset": kelvin,
                        "first_colour_s": first_s,
                        "in_words": findings.answer(heated, watcher),
                    })
                })
                .collect();
            let limits: Vec<_> = heated
                .course
                .exceeded
                .iter()
                .map(|limit| {
                    json!({
                        "material": limit.material,
                        "happens": limit.happens,
                        "at_s": limit.at_s,
                    })
                })
                .collect();
            json!({
                "assembly": heated.assembly.name,
                "title": heated.assembly.title,
                "clothing": heated.worn(),
                "profiles": onsets,
                "hottest_apparent": Kelvin(heated.course.hottest_apparent_k()),
                "limits_passed": limits,
                "energy_imbalance": heated.course.imbalance,
            })
        })
        .collect();
    json!({
        "exposure": exposure,
        "minutes": findings.minutes,
        "room": Kelvin(findings.conditions.room_k),
        "assemblies": assemblies,
        "unseen": words::UNSEEN,
        "cautions": findings.cautions(),
        "caution": CAUTION,
    })
}
