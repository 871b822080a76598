//! The sheet as HTML: no other file, no script.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{Block, Card, Fact, Figure, Sheet, SheetError, encode};
use crate::report::html::STYLE;

const SHEET_STYLE: &str = include_str!("sheet.css");

pub(super) fn page(sheet: &Sheet) -> Result<String, SheetError> {
    let blocks = sheet
        .blocks
        .iter()
        .map(block)
        .collect::<Result<Vec<_>, _>>()?;
    let page = html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="generator" content="glowsill";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (sheet.title) }
                style { (PreEscaped(STYLE)) (PreEscaped(SHEET_STYLE)) }
            }
            body {
                header {
                    h1 { (sheet.title) }
                    p.lead { (sheet.lead) }
                }
                main { @for block in &blocks { (block) } }
            }
        }
    };
    Ok(page.into_string())
}

fn block(block: &Block) -> Result<Markup, SheetError> {
    Ok(match block {
        Block::Heading(heading, remark) => html! {
            h2.stay { (heading) @if !remark.is_empty() { " " span.small { (remark) } } }
        },
        Block::Sentences(sentences) => html! {
            ul.told { @for sentence in sentences { li { (sentence) } } }
        },
        Block::Cards(cards) => {
            let drawn = cards.iter().map(card).collect::<Result<Vec<_>, _>>()?;
            html! {
                div.cards style={ "--n:" (cards.len().clamp(1, 4)) } { @for card in &drawn { (card) } }
            }
        }
        Block::Figures(figures) => html! {
            div.figures { @for one in figures { (figure(one)) } }
        },
        Block::Notice(heading, sentences) => html! {
            section.notice {
                h2 { (heading) }
                ul { @for sentence in sentences { li { (sentence) } } }
            }
        },
    })
}

fn card(card: &Card) -> Result<Markup, SheetError> {
    let source = format!(
        "data:image/png;base64,{}",
        STANDARD.encode(encode(&card.picture)?)
    );
    let (width, height) = card.picture.dimensions();
    Ok(html! {
        article.card {
            h3 { (card.heading) }
            img src=(source) width=(width) height=(height) alt=(card.alt);
            @if !card.facts.is_empty() {
                dl { @for fact in &card.facts { (line(fact)) } }
            }
        }
    })
}

fn line(fact: &Fact) -> Markup {
    html! {
        dt { (fact.name) }
        dd {
            @if let Some((badge, word)) = &fact.badge {
                span class=(badge.class()) { (badge.symbol()) " " (word) } " "
            }
            (fact.value)
        }
    }
}

fn figure(figure: &Figure) -> Markup {
    html! {
        figure {
            (PreEscaped(&figure.svg))
            figcaption { (figure.caption) }
        }
    }
}
