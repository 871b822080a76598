//! What the colours of a profile mean, in words, and which colours mean something else under another profile.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, ColourPlan, Fill, ProfileSpec};
use serde::Serialize;

use super::colour_name::colour_name;
use super::{Badge, Swatch};
use crate::profile_file::is_poor_example;
use crate::temperature::Kelvin;

/// Starts that differ by less mean the same to a reader, kelvin.
const SAME_START_K: f64 = 0.5;

/// What the colours of a profile mean.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Legend {
    /// Name of the profile.
    pub profile: String,
    /// Whether the profile is one of the demonstration's poor examples, there to fail.
    pub poor_example: bool,
    /// What is coloured.
    pub plan: Plan,
    /// The bands, from the coldest, the ceiling last; none of the other plans.
    pub bands: Vec<LegendBand>,
    #[serde(skip)]
    stops: Vec<[u8; 3]>,
}

/// What a profile colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Plan {
    /// Nothing.
    GreyOnly,
    /// Bands of apparent temperature.
    Bands,
    /// Everything, by grey: a hue has no temperature of its own.
    PseudoColour,
}

/// A band and its colour.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LegendBand {
    /// Name of its colour, at its start.
    pub colour: &'static str,
    /// Name of the colour that a ramp runs to; none of a flat band.
    pub to_colour: Option<&'static str>,
    /// Apparent temperature at which it starts.
    pub from: Kelvin,
    /// Where the next one starts; none of the last.
    pub to: Option<Kelvin>,
    /// Whether it is the ceiling, above which nothing more can be told.
    pub is_ceiling: bool,
    #[serde(skip)]
    codes: Vec<[u8; 3]>,
}

/// A colour that starts at different temperatures, under one profile or several.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SharedColour {
    /// Name of the colour.
    pub colour: &'static str,
    /// Where it starts, in the order of the profiles.
    pub starts: Vec<ColourStart>,
}

/// Where a colour starts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColourStart {
    /// Under which profile.
    pub profile: String,
    /// Apparent temperature.
    pub from: Kelvin,
}

fn codes(colour: Rgb888) -> [u8; 3] {
    [colour.r, colour.g, colour.b]
}

fn bands(plan: &BandPlan) -> Vec<LegendBand> {
    let next = |index: usize| {
        let start = plan.bands.get(index + 1).map(|next| next.start);
        start.or(plan.ceiling.map(|ceiling| ceiling.start))
    };
    let mut all: Vec<_> = plan
        .bands
        .iter()
        .enumerate()
        .map(|(index, band)| {
            let (start, end) = (codes(band.colour), codes(plan.end_colour(index)));
            let ramp = band.fill == Fill::Ramp && start != end;
            LegendBand {
                colour: colour_name(start),
                to_colour: ramp.then(|| colour_name(end)),
                from: band.start.into(),
                to: next(index).map(Kelvin::from),
                is_ceiling: false,
                codes: if ramp { vec![start, end] } else { vec![start] },
            }
        })
        .collect();
    all.extend(plan.ceiling.map(|ceiling| LegendBand {
        colour: colour_name(codes(ceiling.colour)),
        to_colour: None,
        from: ceiling.start.into(),
        to: None,
        is_ceiling: true,
        codes: vec![codes(ceiling.colour)],
    }));
    all
}

impl LegendBand {
    fn words(&self) -> String {
        let colour = match self.to_colour {
            Some(end) if end != self.colour => format!("{} to {end}", self.colour),
            _ => self.colour.to_owned(),
        };
        match self.to {
            _ if self.is_ceiling => format!(
                "{colour}: from {} up; nothing more can be told",
                self.from.whole()
            ),
            Some(to) => format!("{colour}: {} to {}", self.from.whole(), to.whole()),
            None => format!("{colour}: from {} up", self.from.whole()),
        }
    }
}

impl Legend {
    /// Reads it from a profile.
    #[must_use]
    pub fn of(spec: &ProfileSpec) -> Self {
        let (plan, bands, stops) = match &spec.colour {
            ColourPlan::GreyOnly => (Plan::GreyOnly, Vec::new(), Vec::new()),
            ColourPlan::Bands(plan) => (Plan::Bands, bands(plan), Vec::new()),
            ColourPlan::PseudoColour { stops } => (
                Plan::PseudoColour,
                Vec::new(),
                stops.iter().map(|stop| codes(*stop)).collect(),
            ),
        };
        Self {
            profile: spec.name.to_string(),
            poor_example: is_poor_example(spec),
            plan,
            bands,
            stops,
        }
    }

    /// The badge of a poor example.
    #[must_use]
    pub fn badge(&self) -> Option<(Badge, String)> {
        self.poor_example
            .then(|| (Badge::Caution, "poor example, there to fail".to_owned()))
    }

    /// The entries, each with its colours and words: grey first, then the bands.
    #[must_use]
    pub fn swatches(&self) -> Vec<Swatch> {
        let grey = |words: String| Swatch {
            colours: vec![[0; 3], [255; 3]],
            words,
        };
        match self.plan {
            Plan::GreyOnly => vec![grey("grey only: no colour marks a temperature".to_owned())],
            Plan::PseudoColour => vec![Swatch {
                colours: self.stops.clone(),
                words: "colours follow the scale: none stands for a temperature of its own"
                    .to_owned(),
            }],
            Plan::Bands => {
                let below = self
                    .bands
                    .first()
                    .map(|first| grey(format!("grey: below {}", first.from.whole())));
                let bands = self.bands.iter().map(|band| Swatch {
                    colours: band.codes.clone(),
                    words: band.words(),
                });
                below.into_iter().chain(bands).collect()
            }
        }
    }
}

/// Colours that start at different temperatures, under one profile or several.
#[must_use]
pub fn shared(legends: &[Legend]) -> Vec<SharedColour> {
    let mut all: Vec<SharedColour> = Vec::new();
    for legend in legends {
        for band in &legend.bands {
            let start = ColourStart {
                profile: legend.profile.clone(),
                from: band.from,
            };
            match all.iter_mut().find(|known| known.colour == band.colour) {
                Some(known) => known.starts.push(start),
                None => all.push(SharedColour {
                    colour: band.colour,
                    starts: vec![start],
                }),
            }
        }
    }
    all.retain(|one| {
        let starts = one.starts.iter().map(|start| start.from.0);
        let (low, high) = starts.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
            (low.min(at), high.max(at))
        });
        high - low > SAME_START_K
    });
    all
}

/// What to know of the profiles before the first picture is read.
#[must_use]
pub fn cautions(legends: &[Legend]) -> Vec<String> {
    let mut all = Vec::new();
    let shared = shared(legends);
    if !shared.is_empty() {
        let what = match legends {
            [_] => {
                "Two bands have the same colour name and are hard to tell apart. Where each starts:"
            }
            _ => {
                "The same colour means another temperature in the other picture. Where each starts:"
            }
        };
        all.push(what.to_owned());
    }
    all.extend(shared.iter().map(|one| {
        let starts: Vec<String> = one
            .starts
            .iter()
            .map(|start| {
                format!(
                    "{} under \u{201c}{}\u{201d}",
                    start.from.whole(),
                    start.profile
                )
            })
            .collect();
        format!("{}: {}.", one.colour, starts.join("; "))
    }));
    let names = |of: &dyn Fn(&Legend) -> bool| {
        let found: Vec<String> = legends
            .iter()
            .filter(|legend| of(legend))
            .map(|legend| format!("\u{201c}{}\u{201d}", legend.profile))
            .collect();
        (!found.is_empty()).then(|| found.join(", "))
    };
    all.extend(names(&|legend| legend.plan == Plan::PseudoColour).map(|who| {
        format!("Colours follow the scale under {who}: none of them stands for a temperature of its own.")
    }));
    all.extend(
        names(&|legend| legend.poor_example)
            .map(|who| format!("Poor example, there to fail and not to be followed: {who}.")),
    );
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile_file::demo;

    fn demo_legends() -> Vec<Legend> {
        let all = demo().unwrap();
        all.iter().map(|one| Legend::of(&one.loaded.spec)).collect()
    }

    // Source: demo-data/profiles/size-up.toml and poor-opaque.toml as written; °F by definition of the scale.
    #[test]
    fn a_legend_says_each_band_in_words_with_both_units() {
        let legends = demo_legends();
        let words = |name: &str| -> Vec<String> {
            let legend = legends
                .iter()
                .find(|legend| legend.profile == name)
                .unwrap();
            legend.swatches().into_iter().map(|one| one.words).collect()
        };
        assert_eq!(
            words("Size-up"),
            [
                "grey: below 72 °C (162 °F)",
                "yellow: 72 °C (162 °F) to 100 °C (212 °F)",
                "orange: 100 °C (212 °F) to 160 °C (320 °F)",
                "red: 160 °C (320 °F) to 640 °C (1184 °F)",
                "purple: from 640 °C (1184 °F) up; nothing more can be told",
            ]
        );
        assert_eq!(
            words("Poor: opaque, jumpy")[1..],
            [
                "red: 110 °C (230 °F) to 220 °C (428 °F)",
                "red: from 220 °C (428 °F) up"
            ]
        );
        assert!(words("Poor: hue cycle")[0].contains("none stands for a temperature"));
    }

    // Source: the two files as written: size-up red from 160 °C, search red from 600 °C; both end at 640 °C.
    #[test]
    fn colours_that_mean_something_else_are_named_and_others_are_not() {
        let legends = demo_legends();
        let of = |names: &[&str]| -> Vec<Legend> {
            let known = |legend: &&Legend| names.contains(&legend.profile.as_str());
            legends.iter().filter(known).cloned().collect()
        };
        let both = of(&["Size-up", "Search"]);
        let found: Vec<_> = shared(&both).iter().map(|one| one.colour).collect();
        assert_eq!(
            found,
            ["yellow", "orange", "red"],
            "purple starts at 640 °C in both"
        );
        let text = cautions(&both).join(" ");
        for words in [
            "another temperature in the other picture",
            "red: 160 °C (320 °F) under “Size-up”; 600 °C (1112 °F) under “Search”",
        ] {
            assert!(text.contains(words), "{words} in {text}");
        }
        assert!(shared(&of(&["Search"])).is_empty() && cautions(&of(&["Search"])).is_empty());
        let alone = cautions(&of(&["Poor: opaque, jumpy"])).join(" ");
        assert!(
            alone.starts_with("Two bands have the same colour name"),
            "{alone}"
        );
        let poor = cautions(&of(&["Poor: opaque, jumpy", "Poor: hue cycle"])).join(" ");
        for words in [
            "red: 110",
            "follow the scale under “Poor: hue cycle”",
            "there to fail",
        ] {
            assert!(poor.contains(words), "{words} in {poor}");
        }
    }
}
