//! The sheet as HTML: no other file, no script.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::png::abreast;
use super::{Block, Card, Fact, Sheet, SheetError, Swatch, encode};
use crate::report::html::{STYLE, figure};

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
                    p.lead { (glued(&sheet.lead)) }
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
            ul.told { @for sentence in sentences { li { (glued(sentence)) } } }
        },
        Block::Cards(cards) => {
            let drawn = cards.iter().map(card).collect::<Result<Vec<_>, _>>()?;
            html! {
                div.cards.many[abreast(cards.len()) > 3] style={ "--n:" (abreast(cards.len())) } { @for card in &drawn { (card) } }
            }
        }
        Block::Figures(figures) => html! {
            div.figures { @for one in figures { (figure(&one.drawing, &glued(&one.caption))) } }
        },
        Block::Notice(heading, sentences) => notice("notice", heading, sentences),
        Block::Caution(heading, sentences) => notice("notice first", heading, sentences),
    })
}

fn notice(class: &str, heading: &str, sentences: &[String]) -> Markup {
    html! {
        section class=(class) {
            h2 { (heading) }
            ul { @for sentence in sentences { li { (glued(sentence)) } } }
        }
    }
}

fn card(card: &Card) -> Result<Markup, SheetError> {
    let source = format!(
        "data:image/png;base64,{}",
        STANDARD.encode(encode(&card.picture)?)
    );
    let (width, height) = card.picture.dimensions();
    Ok(html! {
        article.card {
            h3 {
                (glued(&card.heading))
                @if let Some((badge, words)) = &card.badge {
                    " " span class=(badge.class()) { (badge.symbol()) " " (words) }
                }
            }
            img src=(source) width=(width) height=(height) alt=(card.alt);
            @if !card.legend.is_empty() {
                ul.legend aria-label="Colours" { @for entry in &card.legend { (swatch(entry)) } }
            }
            @if !card.facts.is_empty() {
                dl { @for fact in &card.facts { (line(fact)) } }
            }
        }
    })
}

/// A text in which no line ends between a number and its unit.
fn glued(text: &str) -> String {
    let units = [" °C", " °F", " %", " JND", " K ", " s "];
    units.iter().fold(text.to_owned(), |text, unit| {
        text.replace(unit, &unit.replacen(' ', "\u{a0}", 1))
    })
}

fn swatch(entry: &Swatch) -> Markup {
    let colours: Vec<String> = entry
        .colours
        .iter()
        .map(|[r, g, b]| format!("#{r:02x}{g:02x}{b:02x}"))
        .collect();
    let ground = match colours.as_slice() {
        [one] => one.clone(),
        many => format!("linear-gradient(90deg,{})", many.join(",")),
    };
    html! {
        li { span.swatch style={ "background:" (ground) } {} span { (glued(&entry.words)) } }
    }
}

fn line(fact: &Fact) -> Markup {
    html! {
        dt { (fact.name) }
        dd {
            @if let Some((badge, word)) = &fact.badge {
                span class=(badge.class()) { (badge.symbol()) " " (word) } " "
            }
            (glued(&fact.value))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_units() {
        assert_eq!(
            glued("at 72.0 °C (161.6 °F), 3 JND, 5 % of 2 K more"),
            "at 72.0\u{a0}°C (161.6\u{a0}°F), 3\u{a0}JND, 5\u{a0}% of 2\u{a0}K more"
        );
    }
}
