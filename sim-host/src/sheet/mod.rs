//! Sheets: one page to read and print, as HTML that needs no other file and as one PNG.
//!
//! A [`Sheet`] is written down once, as blocks of headings, sentences, cards and figures; `html` and
//! `png` draw the same blocks. [`compare`] and [`explain`] fill sheets from what displays show, [`film`]
//! runs the displays, and [`unseen`] says what an imager cannot see. `docs/sheets.md` describes the
//! pages and the JSON beside them.

pub mod compare;
pub mod explain;
pub mod film;
mod html;
pub mod instant;
mod png;
pub mod unseen;
pub mod view;

use std::path::Path;

use image::RgbImage;
use serde::Serialize;

use crate::plot::PlotError;
use crate::report::{CAUTIONS, OutputFolder, ReportError};
use crate::run::RunError;
use crate::source::SourceError;

/// Version of the JSON beside a sheet; it rises when a field is removed or changes meaning.
pub const SCHEMA_VERSION: u32 = 1;

/// A sheet that cannot be made or written.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// What is to be looked at cannot be read.
    #[error(transparent)]
    Source(#[from] SourceError),
    /// The display could not be run.
    #[error(transparent)]
    Run(#[from] RunError),
    /// An instant outside the source.
    #[error(
        "{option} {asked}: '{source_name}' runs from 0 s to {last_s:.2} s (frame 0 to frame {last}); \
         ask for instants in between"
    )]
    OutOfRange {
        /// The option of the command line.
        option: &'static str,
        /// What was asked for.
        asked: String,
        /// Name of the source.
        source_name: String,
        /// Last frame.
        last: usize,
        /// Seconds of the last frame.
        last_s: f64,
    },
    /// Both instants are the same frame.
    #[error(
        "--between {first},{second}: both are frame {frame}, and nothing changes within a frame; write a \
         later second instant"
    )]
    SameFrame {
        /// The first.
        first: String,
        /// The second.
        second: String,
        /// The frame.
        frame: usize,
    },
    /// The second instant comes before the first.
    #[error("--between {first},{second}: the second instant must come after the first; swap them")]
    Order {
        /// The first.
        first: String,
        /// The second.
        second: String,
    },
    /// The profile cannot be given another gain plan.
    #[error("the profile with another gain plan is not valid: {0}. Change its scale or onset")]
    Twin(String),
    /// The folder cannot be used.
    #[error(transparent)]
    Folder(#[from] ReportError),
    /// A figure cannot be drawn.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// A picture cannot be encoded.
    #[error("a picture cannot be encoded: {0}. Please report this: it is a defect of glowsill")]
    Encode(#[from] image::ImageError),
    /// The JSON cannot be made.
    #[error("cannot write JSON: {0}. Please report this: it is a defect of glowsill")]
    Json(#[from] serde_json::Error),
    /// A file cannot be written.
    #[error("cannot write '{file}': {cause}. Free some space or choose another folder with --out")]
    Write {
        /// Name of the file.
        file: String,
        /// What the system said.
        cause: std::io::Error,
    },
}

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

    /// Tries a folder before any work is done; see [`OutputFolder::prepare`].
    ///
    /// # Errors
    /// [`SheetError::Folder`] when it cannot be written, or holds files of the sheet's names that were
    /// not written by this program.
    pub fn folder(self, folder: &Path) -> Result<OutputFolder, SheetError> {
        let page = "<meta name=\"generator\" content=\"glowsill\">";
        let (html, json, png, format) = match self {
            Self::Compare => (
                "compare.html",
                "compare.json",
                "compare.png",
                "\"format\": \"glowsill-compare\"",
            ),
            Self::Explain => (
                "explain.html",
                "explain.json",
                "explain.png",
                "\"format\": \"glowsill-explain\"",
            ),
        };
        // A picture carries no mark of its maker: it is ours where our page stands beside it.
        let picture = folder.join(png);
        if picture.exists() && !folder.join(html).exists() {
            return Err(ReportError::Foreign { path: picture }.into());
        }
        let markers = [(html, page), (json, format)];
        Ok(OutputFolder::prepare_for(folder, &markers, json)?)
    }
}

/// A word that judges, with a symbol of its own: colour is never needed to read it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Badge {
    /// Seen, or as it should be.
    Good,
    /// Lost.
    Bad,
    /// Not judged.
    Neutral,
}

impl Badge {
    fn symbol(self) -> &'static str {
        match self {
            Self::Good => "+",
            Self::Bad => "×",
            Self::Neutral => "–",
        }
    }

    fn class(self) -> &'static str {
        match self {
            Self::Good => "badge pass",
            Self::Bad => "badge fail",
            Self::Neutral => "badge none",
        }
    }
}

/// A line of a card: what it is, and its value.
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    /// What it is, such as `white`.
    pub name: String,
    /// Its value in words.
    pub value: String,
    /// A judgement, if it is one: symbol and word.
    pub badge: Option<(Badge, String)>,
}

impl Fact {
    /// A plain line.
    #[must_use]
    pub fn new(name: &str, value: impl Into<String>) -> Self {
        Self {
            name: name.to_owned(),
            value: value.into(),
            badge: None,
        }
    }
}

/// A picture with its heading and the facts below it.
#[derive(Clone, Debug)]
pub struct Card {
    /// Heading, such as the profile's name.
    pub heading: String,
    /// The picture; its pixels are drawn with hard edges.
    pub picture: RgbImage,
    /// What the picture shows, for those who cannot see it.
    pub alt: String,
    /// The facts.
    pub facts: Vec<Fact>,
}

/// A drawing, as SVG for the page and as pixels for the PNG.
#[derive(Clone, Debug)]
pub struct Figure {
    /// SVG document.
    pub svg: String,
    /// The same in pixels.
    pub image: RgbImage,
    /// Sentence below it.
    pub caption: String,
}

/// A part of a sheet.
#[derive(Clone, Debug)]
pub enum Block {
    /// A heading, with a smaller remark.
    Heading(String, String),
    /// Sentences, one a line.
    Sentences(Vec<String>),
    /// Cards side by side.
    Cards(Vec<Card>),
    /// Figures, two abreast where there is room.
    Figures(Vec<Figure>),
    /// Sentences that stand out under a heading.
    Notice(String, Vec<String>),
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

/// Limits of the model that a scenario left, as a part of its sheet.
fn limits(warnings: &[String]) -> Option<Block> {
    (!warnings.is_empty()).then(|| {
        Block::Notice(
            "Where the model leaves its limits".to_owned(),
            warnings.to_vec(),
        )
    })
}

impl Sheet {
    /// Adds what the imager cannot see, and the cautions, at the end.
    #[must_use]
    pub fn closed(mut self, unseen: &[String]) -> Self {
        self.blocks.push(Block::Notice(
            "What the imager cannot see here".to_owned(),
            unseen.to_vec(),
        ));
        self.blocks
            .push(Block::Notice("Read this".to_owned(), cautions()));
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
    }
}
