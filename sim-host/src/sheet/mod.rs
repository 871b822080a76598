//! Sheets: one page to read and print, as HTML that needs no other file and as one PNG.
//!
//! A [`Sheet`] is written down once, as blocks of headings, sentences, cards and figures; `html` and
//! `png` draw the same blocks. [`compare`] and [`explain`] fill sheets from what displays show, [`film`]
//! runs the displays, and [`unseen`] says what an imager cannot see. `docs/sheets.md` describes the
//! pages and the JSON beside them.

mod block;
mod card;
pub mod colour_name;
pub mod compare;
mod error;
pub mod explain;
mod figure;
pub mod film;
mod html;
pub mod instant;
pub mod legend;
mod png;
pub mod scale;
pub mod unseen;
pub mod view;

pub use block::{Badge, Block, Card, Fact, Figure, Swatch};
pub use error::SheetError;
use image::RgbImage;
use serde::Serialize;

use crate::report::{CAUTIONS, OutputFolder};

/// Version of the JSON beside a sheet; it rises when a field is removed or changes meaning.
pub const SCHEMA_VERSION: u32 = 1;

/// Which sheet it is; gives the names of its files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The same instants under several profiles.
    Compare,
    /// One profile at two instants.
    Explain,
}

impl Kind {
    /// Name of the sheet's files without ending.
    #[must_use]
    pub fn stem(self) -> &'static str {
        match self {
            Self::Compare => "compare",
            Self::Explain => "explain",
        }
    }
}

/// A page with its blocks.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Which sheet.
    pub kind: Kind,
    /// Title.
    pub title: String,
    /// What is shown, in a sentence or two.
    pub lead: String,
    /// The parts, from top to bottom.
    pub blocks: Vec<Block>,
}

/// Cautions that stand on every sheet.
#[must_use]
pub fn cautions() -> Vec<String> {
    let on_every_page = CAUTIONS
        .iter()
        .filter(|caution| !caution.starts_with("A pass means"));
    on_every_page.map(|caution| (*caution).to_owned()).collect()
}

/// Heading of the limits that a scenario left.
const LIMITS: &str = "Where the model leaves its limits";

/// Limits of the model that a scenario left, as a part of its sheet.
fn limits(warnings: &[String]) -> Option<Block> {
    (!warnings.is_empty()).then(|| Block::Notice(LIMITS.to_owned(), warnings.to_vec()))
}

/// What a reader must know before the first picture, in short: cautions, what is special about this sheet, and
/// that the model left its limits.
fn first(special: Vec<String>, warnings: &[String]) -> Block {
    let mut all = vec![
        "Simulation and teaching only; not a certification.".to_owned(),
        "All temperatures are apparent, not true: shiny surfaces, smoke and distance change them.".to_owned(),
        "An imager does not see through walls, glass or water. Follow the authority having jurisdiction."
            .to_owned(),
    ];
    all.extend(special);
    if !warnings.is_empty() {
        all.push(format!(
            "The model left its limits here: see \u{201c}{LIMITS}\u{201d} below."
        ));
    }
    Block::Caution("Read this first".to_owned(), all)
}

impl Sheet {
    /// Adds what the imager cannot see, and the cautions in full, at the end.
    #[must_use]
    pub fn closed(mut self, unseen: &[String]) -> Self {
        self.blocks.push(Block::Notice(
            "What the imager cannot see here".to_owned(),
            unseen.to_vec(),
        ));
        self.blocks
            .push(Block::Notice("Cautions in full".to_owned(), cautions()));
        self
    }

    /// The whole sheet as a page that needs no other file.
    ///
    /// # Errors
    /// [`SheetError::Encode`] when a picture cannot be encoded.
    pub fn html(&self) -> Result<String, SheetError> {
        html::page(self)
    }

    /// The whole sheet as one picture.
    ///
    /// # Errors
    /// [`SheetError::Plot`] when it cannot be drawn.
    pub fn picture(&self) -> Result<RgbImage, SheetError> {
        png::draw(self)
    }

    /// Writes page, picture and JSON into a prepared folder and makes them appear together.
    ///
    /// # Errors
    /// [`SheetError`] when something cannot be drawn or written; nothing of the sheet then appears.
    pub fn write(&self, folder: OutputFolder, json: &impl Serialize) -> Result<(), SheetError> {
        let stem = self.kind.stem();
        let put = |ending: &str, bytes: &[u8]| {
            let file = format!("{stem}.{ending}");
            std::fs::write(folder.path().join(&file), bytes)
                .map_err(|cause| SheetError::Write { file, cause })
        };
        put("html", self.html()?.as_bytes())?;
        put("png", &encode(&self.picture()?)?)?;
        put("json", serde_json::to_string_pretty(json)?.as_bytes())?;
        Ok(folder.commit()?)
    }
}

fn encode(image: &RgbImage) -> Result<Vec<u8>, image::ImageError> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image.write_to(&mut bytes, image::ImageFormat::Png)?;
    Ok(bytes.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sheet_carries_the_cautions() {
        let text = cautions().join(" ");
        for words in [
            "not a certification",
            "not true temperature",
            "walls, glass or water",
            "authority having jurisdiction",
        ] {
            assert!(text.contains(words), "{words}");
        }
        assert!(!text.contains("A pass means"));
        let Block::Caution(_, short) = first(vec!["special".to_owned()], &["gas".to_owned()])
        else {
            panic!("the first notice stands out");
        };
        let short = short.join(" ");
        for words in [
            "not a certification",
            "apparent",
            "glass",
            "special",
            LIMITS,
        ] {
            assert!(short.contains(words), "{words}");
        }
    }
}
