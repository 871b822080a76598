//! `barrier.html`: one page that needs no other file.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{Findings, Heated, plots, words};
use crate::cli::CliError;
use crate::plot::OnPage;
use crate::report::html::{STYLE, figure};
use crate::report::{CAUTIONS, today};
use crate::temperature::Kelvin;
use crate::world::conduction::{Lie, Ply};

const OVERVIEW_WORDS: &str = "Curves: how hot the far side of each assembly appears. Level red lines: the onsets of the profiles, each \
    with dashes and a name of its own. A curve ends where it leaves the picture.";
/// Six profiles and the hottest fit beside the name of an assembly without scrolling on a page of 1120 pixels.
const NARROW: &str = "\
table.answers td, table.answers thead th { min-width: 5.6rem; padding: .4rem .45rem; }
table.answers tbody th, table.answers thead th:first-child { min-width: 9rem; }
table.answers { font-size: .86rem; }
@media (max-width: 40rem) { table.answers td, table.answers tbody th { min-width: 0; } }
";

pub(super) fn page(findings: &Findings) -> Result<String, CliError> {
    let overview = OnPage::whole(&plots::overview(findings))?;
    let assemblies = findings
        .assemblies
        .iter()
        .map(|heated| {
            let plot = plots::of_assembly(findings, heated);
            Ok((heated, OnPage::whole(&plot)?))
        })
        .collect::<Result<Vec<_>, CliError>>()?;
    let page = html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="generator" content="glowsill";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "When heat behind an assembly first shows" }
                style { (PreEscaped(STYLE)) (PreEscaped(NARROW)) }
            }
            body {
                header {
                    h1 { "When heat behind an assembly first shows in colour" }
                    p.lead {
                        "Fire side: " (findings.exposure) ", " (words::minutes(findings.minutes)) " minutes. Room of "
                        (Kelvin(findings.conditions.room_k)) ". Made on " (today())
                        ". Simulation and teaching only; not a certification."
                    }
                    p { (words::ASSEMBLY) }
                }
                main {
                    (answers(findings))
                    div.figures.one { (figure(&overview, OVERVIEW_WORDS)) }
                    (cautions(findings))
                    @for (heated, drawing) in &assemblies { (section(findings, heated, drawing)) }
                }
            }
        }
    };
    Ok(page.into_string())
}

fn answers(findings: &Findings) -> Markup {
    html! {
        h2.stay { "First colour on the far side" }
        div.scroll tabindex="0" {
            table.verdicts.cards.answers {
                thead {
                    tr {
                        th scope="col" { "Assembly" }
                        @for watcher in &findings.watchers {
                            th scope="col" {
                                (watcher.name)
                                @if watcher.poor_example { br; span.badge.there { "! poor example" } }
                                div.small { (watcher.onset.words()) }
                            }
                        }
                        th scope="col" { "Hottest it appears" }
                    }
                }
                tbody {
                    @for heated in &findings.assemblies {
                        tr {
                            th scope="row" {
                                a href={ "#" (heated.assembly.name) } { (heated.label()) }
                                div.small { (heated.assembly.title) }
                            }
                            @for watcher in &findings.watchers {
                                td data-label={ (watcher.name) ", " @if watcher.poor_example { "poor example, " } (watcher.onset.words()) } {
                                    span { (findings.answer(heated, watcher)) }
                                }
                            }
                            td data-label="Hottest it appears" {
                                span { (words::short(Kelvin(heated.course.hottest_apparent_k()))) }
                            }
                        }
                    }
                }
            }
        }
        p.small {
            "Time since the fire started until the far side first appears as hot as the profile's onset."
            @if findings.assemblies.iter().any(|heated| !heated.course.exceeded.is_empty()) {
                " A time marked ! comes after a layer has left what the model covers, see below; it is only indicative."
            }
        }
    }
}

fn cautions(findings: &Findings) -> Markup {
    html! {
        section.cautions {
            h2 { "What the imager cannot see here" }
            ul { @for sentence in words::UNSEEN { li { (sentence) } } }
        }
        section.cautions {
            h2 { "Read this first" }
            ul {
                @for sentence in findings.cautions() { li { (sentence) } }
                @for sentence in words::exceeded(&findings.assemblies) { li { (sentence) } }
                @for caution in &CAUTIONS[..4] { li { (caution) } }
            }
        }
    }
}

fn section(findings: &Findings, heated: &Heated, drawing: &OnPage) -> Markup {
    let assembly = heated.assembly;
    html! {
        section id=(assembly.name) {
            h2 { (heated.label()) }
            p { "This assembly: " (assembly.title) ". " (assembly.note) }
            @if heated.worn() { p.thereto { "! " (words::WORN) } }
            ul {
                @for watcher in &findings.watchers {
                    li {
                        (watcher.name) ", " (watcher.onset.words()) ": "
                        strong { (findings.answer(heated, watcher)) }
                    }
                }
            }
            @for limit in &heated.course.exceeded {
                p.thereto { "! From " (words::duration(limit.at_s)) " on the hottest part of the " (limit.material)
                    " is beyond the model: " (limit.happens) "." }
            }
            div.figures.one { (figure(drawing, "Curves end where they leave the picture.")) }
            h3 { "Layers, from the fire side" }
            div.scroll tabindex="0" {
                table.cards {
                    thead {
                        tr {
                            th scope="col" { "Layer" }
                            th.number scope="col" { "Thickness" }
                            th.number scope="col" { "Conductivity" }
                            th.number scope="col" { "Density" }
                            th.number scope="col" { "Specific heat" }
                            th scope="col" { "Source" }
                        }
                    }
                    tbody { @for ply in &assembly.plies { (layer(ply)) } }
                }
            }
            p.small {
                "Emissivity " (assembly.emissivity_fire) " on the fire side, " (assembly.emissivity_room)
                " on the far side, in the imager's band and over all wavelengths: " (assembly.sources)
                ". The balance of energy closes to " (format!("{:.0e}", heated.course.imbalance.max(1e-15))) "."
            }
        }
    }
}

fn layer(ply: &Ply) -> Markup {
    match ply {
        Ply::Solid {
            material,
            thickness_m,
        } => html! {
            tr {
                th scope="row" { (material.name) }
                td.number data-label="Thickness" { (format!("{:.1} mm", 1e3 * thickness_m)) }
                td.number data-label="Conductivity" { (material.conductivity_w_mk) " W/(m K)" }
                td.number data-label="Density" { (material.density_kg_m3) " kg/m³" }
                td.number data-label="Specific heat" { (material.specific_heat_j_kgk) " J/(kg K)" }
                td data-label="Source" {
                    (material.source)
                    @if let Some(water) = material.water {
                        "; water bound: " (format!("{:.0}", water.latent_j_kg / 1e3)) " kJ/kg from "
                        (words::short(Kelvin(water.from_k))) " to " (words::short(Kelvin(water.to_k)))
                    }
                }
            }
        },
        Ply::Gap {
            thickness_m, lie, ..
        } => html! {
            tr {
                th scope="row" {
                    "air space, "
                    @match lie { Lie::Upright => "upright", Lie::LevelFireBelow => "level, fire below" }
                }
                td.number data-label="Thickness" { (format!("{:.1} mm", 1e3 * thickness_m)) }
                td.number data-label="Conductivity" { "–" }
                td.number data-label="Density" { "–" }
                td.number data-label="Specific heat" { "–" }
                td data-label="Source" { "radiation between its faces; air: correlations of EN 673, from memory, not seen" }
            }
        },
    }
}
