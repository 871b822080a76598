//! The explanation as a sheet.

use super::{Explanation, Side};
use crate::measure::Settings;
use crate::sheet::instant::say_seconds;
use crate::sheet::view::{percent, threshold_words};
use crate::sheet::{Block, Card, Fact, Kind, Sheet, SheetError, first, legend};

impl Explanation {
    /// The explanation as a sheet.
    ///
    /// # Errors
    /// [`SheetError::Plot`] when a figure cannot be drawn.
    pub fn sheet(&self, settings: &Settings) -> Result<Sheet, SheetError> {
        let [before, after] = &self.instants;
        let heading = |text: &str, remark: &str| Block::Heading(text.to_owned(), remark.to_owned());
        let special = legend::cautions(std::slice::from_ref(&self.legend));
        let mut blocks = vec![
            first(special, &self.warnings),
            heading("What happened", ""),
            Block::Sentences(self.sentences.clone()),
            heading("The two pictures", &self.profile),
            Block::Cards(vec![before.look.card.clone(), after.look.card.clone()]),
            heading("Temperatures and grey", ""),
            Block::Figures(self.figures()?),
            heading("Pixels in low gain", "striped"),
            Block::Cards(self.instants.iter().map(striped).collect()),
        ];
        if self.whole_frame.put_in {
            blocks.push(heading("The same frames with a whole-frame gain plan", ""));
            blocks.push(Block::Cards(vec![
                before.look.whole_frame_card.clone(),
                after.look.whole_frame_card.clone(),
            ]));
        }
        if !self.marks.is_empty() {
            blocks.push(heading("How marks are judged", ""));
            blocks.push(Block::Sentences(vec![threshold_words(settings)]));
        }
        blocks.extend(crate::sheet::limits(&self.warnings));
        Ok(Sheet {
            kind: Kind::Explain,
            title: format!("Why the picture changed: {}", self.source),
            lead: format!(
                "The profile \u{201c}{}\u{201d} at {} and at {}. {}",
                self.profile,
                say_seconds(before.at.seconds),
                say_seconds(after.at.seconds),
                self.feeding
            ),
            blocks,
        }
        .closed(&self.unseen))
    }
}

fn striped(side: &Side) -> Card {
    let share = percent(side.view.low_gain_share);
    Card {
        heading: format!("{}: {share} in low gain", say_seconds(side.at.seconds)),
        badge: None,
        picture: side.look.striped.clone(),
        alt: format!(
            "The picture with stripes over the {share} of its pixels that came from low gain"
        ),
        legend: Vec::new(),
        facts: vec![Fact::new(
            "Striped",
            "taken mostly or wholly from low gain, which is noisier and reaches hotter",
        )],
    }
}
