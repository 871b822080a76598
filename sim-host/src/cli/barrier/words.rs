//! Sentences and times of the sheet.

use super::Heated;
use crate::temperature::Kelvin;

/// What no setting of an imager shows of a fire behind a wall.
pub(super) const UNSEEN: [&str; 5] = [
    "Fire and people behind the wall: the imager sees only the face in front of it, never through it.",
    "Heat behind insulation: it does not show until it has warmed the face. A wall that looks cool is \
     no proof that nothing burns behind it.",
    "Heat below the onset: before the times above it is grey on grey, on a scale that may be wide.",
    "Glass: it shows its own temperature and what it mirrors, not the room behind it. Bare or shiny \
     metal mirrors too and looks cooler than it is.",
    "What the model leaves out: gaps, hinges, handles, sockets, studs and cracks often show heat first; \
     look there.",
];

/// What was computed.
pub(super) const MODEL: &str = "Model: heat in one dimension through an undamaged, dry wall with \
     constant properties, room of 20 °C (68 °F), face seen in 8 to 14 µm with its emissivity.";

/// How far it can be trusted.
pub(super) const TRUST: &str = "A real fire is no standard curve, and real walls differ: take the times \
     as an order of magnitude, never as time that is safe.";

/// What the mark beside a time means.
pub(super) const MARK: &str =
    "A time marked ! comes after a layer has left what the model covers; it is only indicative:";

/// A time in words, such as `1 min 33 s`.
pub(super) fn duration(t_s: f64) -> String {
    let whole = t_s.round();
    let (minutes, seconds) = ((whole / 60.0).floor(), whole % 60.0);
    if minutes < 1.0 {
        format!("{seconds:.0} s")
    } else {
        format!("{minutes:.0} min {seconds:02.0} s")
    }
}

/// Minutes without needless places.
pub(super) fn minutes(minutes: f64) -> String {
    if (minutes - minutes.round()).abs() < 1e-9 {
        format!("{minutes:.0}")
    } else {
        format!("{minutes}")
    }
}

/// A temperature in whole degrees of both scales.
pub(super) fn short(kelvin: Kelvin) -> String {
    format!("{:.0} °C ({:.0} °F)", kelvin.celsius(), kelvin.fahrenheit())
}

/// A sentence for every layer that is no longer what was computed.
pub(super) fn exceeded(walls: &[Heated]) -> Vec<String> {
    walls
        .iter()
        .flat_map(|wall| {
            wall.course.exceeded.iter().map(|limit| {
                format!(
                    "{}: from {} on the hottest part of the {} is beyond the model: {}.",
                    wall.assembly.name,
                    duration(limit.at_s),
                    limit.material,
                    limit.happens
                )
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_in_minutes_and_seconds() {
        assert_eq!(duration(59.4), "59 s");
        assert_eq!(duration(59.6), "1 min 00 s");
        assert_eq!(duration(3725.0), "62 min 05 s");
        assert_eq!(minutes(60.0), "60");
        assert_eq!(minutes(2.5), "2.5");
    }
}
