//! Fixed sentences, the date, and names for files.

use std::time::{SystemTime, UNIX_EPOCH};

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{ColourPlan, ProfileSpec};

use crate::measure::MeasureId;
use crate::temperature::Kelvin;

/// Cautions that stand in every report.
pub const CAUTIONS: [&str; 5] = [
    "Simulation and teaching only; not a certification, and no evidence that any equipment is fit for entry.",
    "Apparent temperature is not true temperature: it is the temperature of the black body that would give the \
     same radiance. Shiny and painted surfaces, smoke and distance change it.",
    "An imager does not see through walls, glass or water. Glass shows its own temperature and reflections.",
    "Follow the authority having jurisdiction, the local procedures, the edition of the standard in force, \
     accredited laboratories and qualified instructors.",
    "A pass means that a simulated display met a limit of the requirements file. Where a standard is quoted, \
     it is consistent with the quoted wording as the file reads it, and no more.",
];

/// What a measure is, in a sentence; the method stands in `docs/measures`.
pub(super) fn method(measure: MeasureId) -> &'static str {
    match measure {
        MeasureId::Onset => {
            "Apparent and true temperature at which colour starts and ends, by place and emissivity."
        }
        MeasureId::Detail => {
            "How far apart bars of a known temperature difference stay behind colour, in just noticeable differences of luminance."
        }
        MeasureId::Dimming => {
            "How hot a source may grow before a person, a ladder or a faint mark beside it is lost."
        }
        MeasureId::Seam => {
            "Step, order, noise and toggling where low gain takes over from high gain."
        }
        MeasureId::Steadiness => {
            "How much grey pumps and how often the picture flashes, in a still scene and as something passes."
        }
        MeasureId::ColourOrder => {
            "How far apart neighbouring colours are, also with a colour-vision deficiency, and whether hotter is never darker."
        }
        MeasureId::Latency => {
            "Frames from a step of temperature to the answer of scale, colour and gain."
        }
    }
}

/// Title of a measure.
pub(super) fn title(measure: MeasureId) -> &'static str {
    match measure {
        MeasureId::Onset => "Onset",
        MeasureId::Detail => "Detail behind colour",
        MeasureId::Dimming => "Dimming",
        MeasureId::Seam => "Seam between the gain states",
        MeasureId::Steadiness => "Steadiness",
        MeasureId::ColourOrder => "Colour order",
        MeasureId::Latency => "Latency",
    }
}

/// Today in UTC, such as `2026-01-31`.
#[must_use]
pub fn today() -> String {
    let seconds = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |time| time.as_secs());
    let (year, month, day) = civil(seconds / 86_400);
    format!("{year:04}-{month:02}-{day:02}")
}

/// Year, month and day of a number of days after 1970-01-01 in the Gregorian calendar.
fn civil(days: u64) -> (u64, u64, u64) {
    let leap = |year: u64| {
        year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
    };
    let (mut year, mut left) = (1970, days);
    loop {
        let length = if leap(year) { 366 } else { 365 };
        if left < length {
            break;
        }
        left -= length;
        year += 1;
    }
    let february = if leap(year) { 29 } else { 28 };
    let mut month = 1;
    for length in [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] {
        if left < length {
            break;
        }
        left -= length;
        month += 1;
    }
    (year, month, left + 1)
}

pub(super) fn is_date(text: &str) -> bool {
    let parts: Vec<_> = text.split('-').collect();
    let number = |index: usize, length: usize, high: u32| {
        parts.get(index).is_some_and(|part| {
            part.len() == length
                && part.bytes().all(|byte| byte.is_ascii_digit())
                && part
                    .parse()
                    .is_ok_and(|value: u32| (1..=high).contains(&value))
        })
    };
    parts.len() == 3 && number(0, 4, 9999) && number(1, 2, 12) && number(2, 2, 31)
}

/// Warns where colours of one name start at different temperatures in different profiles, with every onset.
pub(super) fn shared_colours<'a>(
    profiles: impl Iterator<Item = &'a ProfileSpec>,
) -> Option<String> {
    let mut onsets: Vec<(&'static str, Vec<(&str, Kelvin)>)> = Vec::new();
    for profile in profiles {
        let ColourPlan::Bands(plan) = &profile.colour else {
            continue;
        };
        let Some(first) = plan.bands.first() else {
            continue;
        };
        let name = colour_name(first.colour);
        let start = (profile.name.as_str(), Kelvin::from(first.start));
        match onsets.iter_mut().find(|group| group.0 == name) {
            Some(group) => group.1.push(start),
            None => onsets.push((name, vec![start])),
        }
    }
    let differ = |group: &&(&str, Vec<(&str, Kelvin)>)| {
        group.1.iter().any(|(_, start)| *start != group.1[0].1)
    };
    let sentences: Vec<_> = onsets
        .iter()
        .filter(differ)
        .map(|(name, starts)| {
            let each: Vec<_> = starts
                .iter()
                .map(|(profile, start)| format!("{} in '{profile}'", start.whole()))
                .collect();
            format!("{name} starts at {}.", each.join(", at "))
        })
        .collect();
    if sentences.is_empty() {
        return None;
    }
    Some(format!(
        "The same colour stands for different apparent temperatures in different profiles: {} Look which profile a \
         picture was made with before you read a colour.",
        sentences.join(" ")
    ))
}

/// A word for a colour, by its hue in the HSV hexagon; common practice, no published source.
fn colour_name(colour: Rgb888) -> &'static str {
    let [r, g, b] = [colour.r, colour.g, colour.b].map(f64::from);
    let (most, least) = (r.max(g).max(b), r.min(g).min(b));
    let chroma = most - least;
    if chroma < 0.15 * most.max(1.0) {
        return if most > 200.0 { "white" } else { "grey" };
    }
    let sixth = if most == r {
        ((g - b) / chroma).rem_euclid(6.0)
    } else if most == g {
        (b - r) / chroma + 2.0
    } else {
        (r - g) / chroma + 4.0
    };
    match 60.0 * sixth {
        hue if hue < 15.0 => "red",
        hue if hue < 45.0 => "orange",
        hue if hue < 70.0 => "yellow",
        hue if hue < 165.0 => "green",
        hue if hue < 195.0 => "cyan",
        hue if hue < 255.0 => "blue",
        hue if hue < 345.0 => "purple",
        _ => "red",
    }
}

/// Name of a picture: profile, measure and what it shows, `search-dimming-scale`. A stem that begins with the
/// measure's name does not say it twice.
pub(super) fn picture_name(profile: &str, measure: MeasureId, stem: &str) -> String {
    let stem = slug(stem);
    let own = stem
        .strip_prefix(measure.name())
        .and_then(|rest| rest.strip_prefix('-'))
        .unwrap_or(&stem);
    format!("{profile}-{measure}-{own}")
}

/// A name for files and anchors: lower-case letters, digits and single hyphens.
pub(super) fn slug(name: &str) -> String {
    let mut slug = String::new();
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            slug.push(c.to_ascii_lowercase());
        } else if !slug.ends_with('-') && !slug.is_empty() {
            slug.push('-');
        }
    }
    let slug = slug.trim_end_matches('-');
    if slug.is_empty() {
        "profile".to_owned()
    } else {
        slug.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_become_dates() {
        // Source: POSIX, seconds since the Epoch: 951782400 is 2000-02-29, 1893456000 is 2030-01-01.
        assert_eq!(civil(0), (1970, 1, 1));
        assert_eq!(civil(951_782_400 / 86_400), (2000, 2, 29));
        assert_eq!(civil(1_893_456_000 / 86_400), (2030, 1, 1));
        assert!(is_date(&today()));
        for bad in [
            "2026-1-31",
            "2026-13-01",
            "31.01.2026",
            "2026-01-31T10:00",
            "2026-01-00",
        ] {
            assert!(!is_date(bad), "{bad}");
        }
    }

    #[test]
    fn picture_names_say_the_measure_once() {
        let name = |measure, stem| picture_name("search", measure, stem);
        assert_eq!(
            name(MeasureId::Dimming, "dimming-320c"),
            "search-dimming-320c"
        );
        assert_eq!(
            name(MeasureId::ColourOrder, "colour-order-luminance"),
            "search-colour-order-luminance"
        );
        assert_eq!(name(MeasureId::Detail, "bars"), "search-detail-bars");
        assert_eq!(
            name(MeasureId::Dimming, "dimmingless"),
            "search-dimming-dimmingless"
        );
    }

    #[test]
    fn a_colour_that_starts_at_two_temperatures_is_warned_of_and_one_alone_is_not() {
        let demo = crate::profile_file::demo().unwrap();
        let spec = |name: &str| {
            let found = demo.iter().find(|demo| demo.loaded.name() == name);
            &found.unwrap().loaded.spec
        };
        let warning = shared_colours([spec("Search"), spec("Size-up")].into_iter()).unwrap();
        assert!(
            warning.contains("yellow starts at 260 °C (500 °F) in 'Search'"),
            "{warning}"
        );
        assert!(warning.contains("in 'Size-up'"), "{warning}");
        assert_eq!(
            shared_colours([spec("Search"), spec("Search")].into_iter()),
            None
        );
        assert_eq!(shared_colours(std::iter::once(spec("Search"))), None);
    }

    #[test]
    fn colours_have_everyday_names() {
        for (rgb, name) in [
            ([0xeb, 0xd2, 0x00], "yellow"),
            ([0xdc, 0x73, 0x00], "orange"),
            ([0xc8, 0x00, 0x00], "red"),
            ([0xb4, 0x5a, 0xb4], "purple"),
            ([0, 0, 255], "blue"),
            ([250, 250, 250], "white"),
        ] {
            assert_eq!(colour_name(Rgb888::new(rgb[0], rgb[1], rgb[2])), name);
        }
    }

    #[test]
    fn slugs_hold_no_separator_of_paths() {
        assert_eq!(slug("Interior attack / 2"), "interior-attack-2");
        assert_eq!(slug("../é"), "profile");
    }
}
