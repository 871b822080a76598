//! How grey is shared out over temperature, in words.

use glowsill_core::profile::{ProfileSpec, ScaleLaw};
use glowsill_core::record::FrameRecord;
use serde::Serialize;

use super::view::percent;

/// How the grey of a frame was shared out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum GreyLaw {
    /// A straight line from black to white.
    Straight,
    /// A straight line between the profile's start values, because no frame has been measured yet.
    Start,
    /// By how often temperatures occur, so that the ends of the scale say little.
    Equalised,
}

impl GreyLaw {
    /// The law that a frame was drawn with; `docs/pipeline.md`, section 5.
    #[must_use]
    pub fn of(spec: &ProfileSpec, record: &FrameRecord) -> Self {
        match spec.scale.law {
            ScaleLaw::Fixed => Self::Straight,
            _ if record.frame == 0 => Self::Start,
            ScaleLaw::Plateau { .. } => Self::Equalised,
            ScaleLaw::Extremes | ScaleLaw::Percentile { .. } => Self::Straight,
        }
    }
}

/// Share of equalisation in an equalised scale, 0 to 1; none of the straight laws.
#[must_use]
pub fn equalised_share(law: ScaleLaw) -> Option<f64> {
    match law {
        ScaleLaw::Plateau { weight_q8, .. } => Some(f64::from(weight_q8) / 256.0),
        _ => None,
    }
}

/// What the ends of a scale are and how grey runs between them.
#[must_use]
pub fn law_words(law: ScaleLaw) -> String {
    let share = |permille: u16| format!("{} %", f64::from(permille) / 10.0);
    match law {
        ScaleLaw::Fixed => "a straight line between two fixed temperatures".to_owned(),
        ScaleLaw::Extremes => "a straight line from the coldest pixel to the hottest".to_owned(),
        ScaleLaw::Percentile {
            low_permille,
            high_permille,
        } => format!(
            "a straight line between the temperatures below which {} and {} of the picture lie",
            share(low_permille),
            share(high_permille)
        ),
        ScaleLaw::Plateau {
            low_permille,
            high_permille,
            weight_q8,
            ..
        } => {
            let weight = f64::from(weight_q8) / 256.0;
            format!(
                "equalised; its ends are the temperatures below which {} and {} of the picture lie, and between them \
                 {} of each grey follows how often temperatures occur, only {} a straight line from end to end",
                share(low_permille),
                share(high_permille),
                percent(weight),
                percent(1.0 - weight)
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: 10 and 990 thousandths are 1 % and 99 %; a weight of 192 of 256 is 75 %.
    #[test]
    fn the_words_give_the_shares_of_the_law() {
        let law = ScaleLaw::Plateau {
            low_permille: 10,
            high_permille: 990,
            plateau_permille: 30,
            weight_q8: 192,
        };
        let words = law_words(law);
        for part in [
            "equalised",
            "1 % and 99 %",
            "75 % of each grey",
            "only 25 %",
        ] {
            assert!(words.contains(part), "{part} in {words}");
        }
        assert_eq!(equalised_share(law), Some(0.75));
        assert_eq!(equalised_share(ScaleLaw::Extremes), None);
        assert!(law_words(ScaleLaw::Extremes).contains("hottest"));
    }
}
