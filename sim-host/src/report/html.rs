//! `report.html`: one page that needs no other file, for a desk, a phone and paper.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::pictures::{Drawn, Evidence, File, OfMeasure};
use super::{ProfileReport, Report, words};
use crate::measure::{MeasureId, Outcome, Quantity};
use crate::plot::OnPage;
use crate::requirement::{
    Requirement, RequirementSet, Verdict, YES_NO, condition_words, show_difference, show_interval,
    show_value,
};
use crate::temperature::Kelvin;

pub(crate) const STYLE: &str = include_str!("style.css");

pub(super) fn page(report: &Report, evidence: &[Evidence]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="generator" content="glowsill";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (report.title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (report.title) }
                    p.lead { "Made on " (report.date) ". Simulation and teaching only; not a certification." }
                }
                main {
                    @match &report.requirements {
                        Some(set) => (verdict_table(report, set, evidence)),
                        None => p { "No requirements were given: this report states what was measured, without verdicts." },
                    }
                    (cautions(report))
                    @for (profile, evidence) in report.profiles.iter().zip(evidence) {
                        (profile_section(profile, evidence))
                    }
                    (settings(report))
                    (methods(report))
                }
            }
        }
    };
    page.into_string()
}

/// The verdict as a symbol and words; the border differs too, so that colour is not needed.
fn badge(verdict: &Verdict) -> Markup {
    let (class, symbol) = match verdict {
        Verdict::Pass(_) => ("badge pass", "✓"),
        Verdict::Fail(_) => ("badge fail", "✗"),
        Verdict::NotEvaluated { .. } => ("badge none", "–"),
    };
    html! { span class=(class) { (symbol) " " (verdict.word()) } }
}

fn there_to_fail() -> Markup {
    html! { span.badge.there { "! there to fail" } }
}

fn verdict_table(report: &Report, set: &RequirementSet, evidence: &[Evidence]) -> Markup {
    html! {
        h2.stay { "Verdicts" }
        p { (set.title) }
        p.small { "Edition: " (set.edition) }
        div.scroll tabindex="0" {
            table.verdicts.cards {
                thead {
                    tr {
                        th scope="col" { "Requirement" }
                        @for (profile, evidence) in report.profiles.iter().zip(evidence) {
                            th scope="col" {
                                a href={ "#" (evidence.slug) } { (profile.name()) }
                                @if profile.expected_to_fail { br; (there_to_fail()) }
                            }
                        }
                    }
                }
                tbody {
                    @for requirement in &set.requirements {
                        tr {
                            th scope="row" {
                                (requirement.title)
                                div.small { (requirement.id) ": " (requirement.limit_words()) }
                            }
                            @for profile in &report.profiles {
                                td data-label=(label(profile)) { (verdict_cell(profile, requirement)) }
                            }
                        }
                    }
                    tr {
                        th scope="row" { "Sum" }
                        @for profile in &report.profiles { td data-label=(label(profile)) { (tally(profile)) } }
                    }
                }
            }
        }
    }
}

/// Heading of a cell where the table's own headings find no room.
fn label(profile: &ProfileReport) -> String {
    if profile.expected_to_fail {
        format!("{} (there to fail)", profile.name())
    } else {
        profile.name().to_owned()
    }
}

fn verdict_cell(profile: &ProfileReport, requirement: &Requirement) -> Markup {
    let Some(judgement) = profile.judgement(&requirement.id) else {
        return html! { span.small { "does not apply" } };
    };
    html! {
        (badge(&judgement.verdict))
        @if let Some(decision) = judgement.verdict.decision() {
            @if requirement.unit != YES_NO { div.small {
                "margin " (sign(decision.margin)) (show_difference(decision.margin.abs(), &requirement.unit))
                @if decision.inside_uncertainty { ", inside the uncertainty" }
            } }
        }
    }
}

fn sign(value: f64) -> &'static str {
    if value < 0.0 { "−" } else { "+" }
}

fn tally(profile: &ProfileReport) -> Markup {
    let tally = profile.tally();
    html! {
        (tally.pass) " pass, " (tally.fail) " fail, " (tally.not_evaluated) " not evaluated"
    }
}

fn cautions(report: &Report) -> Markup {
    html! {
        section.cautions {
            h2 { "Read this first" }
            ul {
                @for caution in report.all_cautions() { li { (caution) } }
                @if report.profiles.iter().any(|profile| profile.expected_to_fail) {
                    li { "A profile marked " (there_to_fail()) " is in the set to show what failing looks like. It is no example to follow." }
                }
            }
        }
    }
}

fn profile_section(profile: &ProfileReport, evidence: &Evidence) -> Markup {
    let slug = &evidence.slug;
    html! {
        section id=(slug) {
            h2 { (profile.name()) @if profile.expected_to_fail { " " (there_to_fail()) } }
            @if profile.expected_to_fail {
                p.thereto { "This profile is there to fail: it shows how a bad display is found out. It is no example to follow." }
            }
            p { (onset(profile)) }
            @if !profile.judgements.is_empty() { p { "Verdicts: " (tally(profile)) "." } }
            div.figures.one { (figure(&evidence.chart_drawing, &caption(&evidence.chart))) }
            (decisions(profile))
            @for (outcome, evidence) in profile.outcomes.iter().zip(&evidence.measures) {
                (measure_section(slug, outcome, evidence))
            }
        }
    }
}

fn onset(profile: &ProfileReport) -> String {
    use glowsill_core::profile::ColourPlan;
    match &profile.spec.colour {
        ColourPlan::Bands(plan) => plan.bands.first().map_or_else(String::new, |band| {
            let start = Kelvin::from(band.start);
            format!("By its profile, colour starts at an apparent temperature of {start}.")
        }),
        ColourPlan::GreyOnly => "By its profile, it shows grey only.".to_owned(),
        ColourPlan::PseudoColour { .. } => {
            "By its profile, colour follows grey: a colour stands for no fixed temperature."
                .to_owned()
        }
    }
}

fn decisions(profile: &ProfileReport) -> Markup {
    html! {
        @if !profile.judgements.is_empty() {
            h3 { "What decided" }
            div.scroll tabindex="0" {
                table.stack {
                    thead { tr { th scope="col" { "Requirement" } th scope="col" { "Verdict" } th scope="col" { "What decided" } } }
                    tbody {
                        @for judgement in &profile.judgements {
                            @let requirement = &judgement.requirement;
                            tr {
                                td {
                                    (requirement.title)
                                    div.small { (requirement.id) }
                                }
                                td { (badge(&judgement.verdict)) }
                                td {
                                    (judgement.verdict.sentence())
                                    div.small {
                                        "Quantity: " (requirement.measure) ", " (requirement.quantity_words())
                                        ". Source of the limit: " (requirement.source) "."
                                        @if let Some(note) = &requirement.note { " " (note) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn measure_section(slug: &str, outcome: &Outcome, evidence: &OfMeasure) -> Markup {
    html! {
        h3 id={ (slug) "-" (outcome.measure) } {
            (words::title(outcome.measure)) " "
            a.small href={ "#method-" (outcome.measure) } { "method" }
        }
        @if !outcome.findings.is_empty() {
            ul { @for finding in &outcome.findings { li { (finding) } } }
        }
        @if !outcome.quantities.is_empty() { (quantities(&outcome.quantities)) }
        @if !evidence.plots.is_empty() {
            div.figures { @for drawn in &evidence.plots { (plot(drawn)) } }
        }
        @if !evidence.pictures.is_empty() {
            div.pictures { @for file in &evidence.pictures { (picture(file)) } }
        }
    }
}

fn quantities(quantities: &[Quantity]) -> Markup {
    let interval = |quantity: &Quantity| {
        let half = quantity.uncertainty?;
        show_interval(half, &quantity.unit)
    };
    let uncertain = quantities
        .iter()
        .any(|quantity| interval(quantity).is_some());
    let noted = quantities.iter().any(|quantity| quantity.note.is_some());
    html! {
        div.scroll tabindex="0" {
            table.cards {
                thead {
                    tr {
                        th scope="col" { "Quantity" }
                        th scope="col" { "Conditions" }
                        th.number scope="col" { "Value" }
                        @if uncertain { th.number scope="col" { "95 % interval" } }
                        @if noted { th scope="col" { "Note" } }
                    }
                }
                tbody {
                    @for quantity in quantities {
                        tr {
                            th scope="row" { (quantity.name.replace('_', " ")) }
                            td data-label="Conditions" { (conditions(quantity)) }
                            td.number data-label="Value" {
                                @match quantity.value {
                                    Some(value) => (show_value(value, &quantity.unit)),
                                    None => "not measured",
                                }
                            }
                            @if uncertain {
                                td.number data-label="95 % interval" { (interval(quantity).unwrap_or_default()) }
                            }
                            @if noted { td data-label="Note" { (quantity.note.as_deref().unwrap_or_default()) } }
                        }
                    }
                }
            }
        }
    }
}

fn conditions(quantity: &Quantity) -> String {
    let all: Vec<_> = quantity
        .conditions
        .iter()
        .map(|(key, value)| condition_words(key, value))
        .collect();
    all.join(", ")
}

/// A drawing with its caption, as a desk, a phone and paper need it.
pub(crate) fn figure(drawing: &OnPage, caption: &str) -> Markup {
    html! {
        figure {
            div.wide { (PreEscaped(&drawing.wide)) }
            div.narrow { (PreEscaped(&drawing.narrow)) }
            figcaption { (caption) }
        }
    }
}

fn caption(file: &File) -> String {
    format!(
        "{}. File: {}",
        file.caption.trim_end_matches('.'),
        file.file
    )
}

fn plot(drawn: &Drawn) -> Markup {
    html! {
        @match drawn {
            Ok((drawing, file)) => (figure(drawing, &caption(file))),
            Err(reason) => p.small { "Not drawn: " (reason) },
        }
    }
}

fn picture(file: &File) -> Markup {
    let source = format!("data:image/png;base64,{}", STANDARD.encode(&file.png));
    // Few pixels are enlarged with hard edges: what a panel shows is not smoothed.
    let class = if file.size.0 <= 640 {
        "small-picture"
    } else {
        "picture"
    };
    html! {
        figure {
            img class=(class) src=(source) width=(file.size.0) height=(file.size.1) alt=(file.caption);
            figcaption { (caption(file)) }
        }
    }
}

fn settings(report: &Report) -> Markup {
    html! {
        @if !report.settings.is_empty() {
            h2.stay { "Settings" }
            p { "The same settings give the same figures." }
            div.scroll tabindex="0" {
                table { tbody {
                    @for (name, value) in &report.settings { tr { th scope="row" { (name) } td { (value) } } }
                } }
            }
        }
    }
}

fn methods(report: &Report) -> Markup {
    let made = |id: &MeasureId| {
        let mut outcomes = report.profiles.iter().flat_map(|profile| &profile.outcomes);
        outcomes.any(|outcome| outcome.measure == *id)
    };
    html! {
        h2.stay { "Methods" }
        ul {
            @for id in MeasureId::ALL.into_iter().filter(made) {
                li id={ "method-" (id) } {
                    strong { (words::title(id)) } ". " (words::method(id))
                    " The method is stated in the project's documentation, docs/measures/" (id) ".md."
                }
            }
        }
        p.small { "The verdict of a requirement is that of the worst quantity it matches. What was not measured is never a pass." }
    }
}
