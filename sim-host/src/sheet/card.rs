//! A view as a card: picture, legend and facts.

use glowsill_core::profile::{GainPlan, ProfileSpec};
use glowsill_core::record::GainInUse;

use super::legend::{Legend, Plan};
use super::scale::GreyLaw;
use super::view::{MarkSeen, MarkState, View, percent};
use super::{Badge, Card, Fact};
use crate::run::Shown;

impl View {
    /// The gain state in words.
    #[must_use]
    pub fn gain_words(&self, plan: &GainPlan) -> String {
        match self.gain {
            GainInUse::PerPixel => format!(
                "pixel by pixel; {} of the picture from low gain",
                percent(self.low_gain_share)
            ),
            GainInUse::Blank => "none: blank while the sensor switches".to_owned(),
            state => {
                let name = if state == GainInUse::High {
                    "high"
                } else {
                    "low"
                };
                let why = match plan {
                    GainPlan::WholeFrame(_) => "the whole frame",
                    _ => "always",
                };
                format!("{name} gain, {why}")
            }
        }
    }

    /// The ends of the scale: white and black only where grey runs straight between them.
    fn scale_facts(&self, plan: Plan) -> Vec<Fact> {
        let (white, black) = match plan {
            Plan::PseudoColour => ("Last hue", "First hue"),
            Plan::Bands | Plan::GreyOnly => ("White", "Black"),
        };
        let (upper, lower, how) = match self.grey_law {
            GreyLaw::Straight => (white, black, None),
            GreyLaw::Start => (
                white,
                black,
                Some("straight line between start values: first frame"),
            ),
            GreyLaw::Equalised => (
                "Upper end",
                "Lower end",
                Some("equalised: most of it goes to the commonest temperatures"),
            ),
        };
        let mut facts = vec![
            Fact::new(upper, self.scale_high.to_string()),
            Fact::new(lower, self.scale_low.to_string()),
        ];
        facts.extend(how.map(|how| Fact::new("Grey", how)));
        facts
    }

    /// The view as a card under a heading; `legend` is that of the profile.
    #[must_use]
    pub fn card(
        &self,
        spec: &ProfileSpec,
        legend: &Legend,
        shown: &Shown,
        heading: &str,
        when: &str,
    ) -> Card {
        let mut facts = self.scale_facts(legend.plan);
        facts.push(Fact::new(
            "Coloured",
            format!("{} of the picture", percent(self.coloured_share)),
        ));
        facts.push(Fact::new("Gain", self.gain_words(&spec.gain)));
        if let Some(hottest) = self.hottest {
            let bound = if hottest.at_least {
                " (the sensor is at its top)"
            } else {
                ""
            };
            facts.push(Fact::new(
                "Hottest",
                format!("{hottest}{bound}, {}", hottest.words),
            ));
        }
        facts.extend(self.marks.iter().map(mark));
        let lost: Vec<_> = self
            .marks
            .iter()
            .filter(|mark| mark.state == MarkState::Lost)
            .map(|mark| mark.name.as_str())
            .collect();
        let ends = match self.grey_law {
            GreyLaw::Equalised => format!(
                "equalised grey from {} to {}",
                self.scale_low, self.scale_high
            ),
            _ => format!("white at {}, black at {}", self.scale_high, self.scale_low),
        };
        Card {
            heading: heading.to_owned(),
            badge: legend.badge(),
            picture: shown.image(),
            alt: format!(
                "What {} shows at {when}: {ends}, {} coloured{}",
                self.profile,
                percent(self.coloured_share),
                if lost.is_empty() {
                    String::new()
                } else {
                    format!("; lost: {}", lost.join(", "))
                }
            ),
            legend: legend.swatches(),
            facts,
        }
    }
}

fn mark(mark: &MarkSeen) -> Fact {
    let (badge, word) = match mark.state {
        MarkState::Visible => (Badge::Good, "visible"),
        MarkState::Lost => (Badge::Bad, "lost"),
        MarkState::OutOfView => (Badge::Neutral, "out of view"),
    };
    Fact {
        name: format!("Mark: {}", mark.name),
        value: mark
            .separation_jnd
            .map_or_else(String::new, |jnd| format!("{jnd:.1} JND")),
        badge: Some((badge, word.to_owned())),
    }
}
