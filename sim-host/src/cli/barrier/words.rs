//! Sentences and times of the sheet.

use super::Heated;
use crate::temperature::Kelvin;

/// The trade's word for what stands between, said once.
pub(super) const ASSEMBLY: &str =
    "An assembly is a wall, door, ceiling or pane as it is built, layer by layer.";

/// What no setting of an imager shows of a fire behind an assembly.
pub(super) const UNSEEN: [&str; 5] = [
    "Fire and people behind the assembly: the imager sees only the face in front of it, never through it.",
    "Heat behind insulation: it does not show until it has warmed the face. An assembly that looks cool is \
     no proof that nothing burns behind it.",
    "Heat below the onset: before the times above it is grey on grey, on a scale that may be wide.",
    "Glass: it shows its own temperature and what it mirrors, not the room behind it. Bare or shiny \
     metal mirrors too and looks cooler than it is.",
    "What the model leaves out: gaps, hinges, handles, sockets, studs and cracks often show heat first; \
     look there.",
];

/// What must be said wherever clothing is computed. 55 °C: NIST SP 1102.
pub(super) const WORN: &str = "Clothing is no barrier, and the minutes are no protection time: they say when \
     the inner face of dry, undamaged cloth appears as hot as an onset. Skin burns at 55 °C (131 °F), below \
     most onsets, and heat stored in the cloth goes on burning outside the fire.";

/// What was computed.
pub(super) fn model(room_k: f64) -> String {
    format!(
        "Model: heat in one dimension through an undamaged, dry assembly with constant properties, room of \
         {}, face seen in 8 to 14 µm with its emissivity.",
        short(Kelvin(room_k))
    )
}

/// How far it can be trusted.
pub(super) const TRUST: &str = "A real fire is no standard curve, and real assemblies differ: take the times \
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

/// Minutes with one place where they are not whole.
pub(super) fn minutes(minutes: f64) -> String {
    if (minutes - minutes.round()).abs() < 1e-9 {
        format!("{minutes:.0}")
    } else {
        format!("{minutes:.1}")
    }
}

/// A temperature in whole degrees of both scales.
pub(super) fn short(kelvin: Kelvin) -> String {
    format!("{:.0} °C ({:.0} °F)", kelvin.celsius(), kelvin.fahrenheit())
}

/// A sentence for every layer that is no longer what was computed.
pub(super) fn exceeded(assemblies: &[Heated]) -> Vec<String> {
    assemblies
        .iter()
        .flat_map(|heated| {
            heated.course.exceeded.iter().map(|limit| {
                format!(
                    "{}: from {} on the hottest part of the {} is beyond the model: {}.",
                    heated.assembly.name,
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
