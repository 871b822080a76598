//! The parts of a sheet, as they are written down before they are drawn.

use image::RgbImage;

use crate::plot::OnPage;

/// A word that judges, with a symbol of its own: colour is never needed to read it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Badge {
    /// Seen, or as it should be.
    Good,
    /// Lost.
    Bad,
    /// Not judged.
    Neutral,
    /// No example to follow.
    Caution,
}

impl Badge {
    pub(super) fn symbol(self) -> &'static str {
        match self {
            Self::Good => "+",
            Self::Bad => "×",
            Self::Neutral => "–",
            Self::Caution => "!",
        }
    }

    pub(super) fn class(self) -> &'static str {
        match self {
            Self::Good => "badge pass",
            Self::Bad => "badge fail",
            Self::Neutral => "badge none",
            Self::Caution => "badge there",
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

/// An entry of a legend: a patch of colour, or of several that run into each other, and what it means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Swatch {
    /// sRGB codes from left to right; at least one.
    pub colours: Vec<[u8; 3]>,
    /// The colour's name and what it means.
    pub words: String,
}

/// A picture with its heading and the facts below it.
#[derive(Clone, Debug)]
pub struct Card {
    /// Heading, such as the profile's name.
    pub heading: String,
    /// What to know of the profile before its picture is read.
    pub badge: Option<(Badge, String)>,
    /// The picture; its pixels are drawn with hard edges.
    pub picture: RgbImage,
    /// What the picture shows, for those who cannot see it.
    pub alt: String,
    /// What its colours mean.
    pub legend: Vec<Swatch>,
    /// The facts.
    pub facts: Vec<Fact>,
}

/// A drawing, as SVG for the page and as pixels for the PNG.
#[derive(Clone, Debug)]
pub struct Figure {
    /// The drawing as the page shows it.
    pub drawing: OnPage,
    /// The wide one in pixels, enlarged.
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
    /// Sentences that must be read before all else, under a heading.
    Caution(String, Vec<String>),
}
