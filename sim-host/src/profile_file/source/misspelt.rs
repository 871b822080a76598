//! Which known word a misspelt one was meant to be.

/// Every field of a profile file, wherever it stands: none of them is a misspelling of another.
pub(super) const FIELDS: &[&str] = &[
    "name",
    "purpose",
    "gain",
    "scale",
    "colour",
    "overlay",
    "plan",
    "blend_from",
    "blend_to",
    "dispute",
    "enter_above",
    "enter_share",
    "enter_frames",
    "leave_above",
    "leave_share",
    "leave_frames",
    "blank_frames",
    "law",
    "start_low",
    "start_high",
    "frames_to_hotter",
    "frames_to_colder",
    "min_span",
    "max_grey_per_kelvin",
    "low_share",
    "high_share",
    "plateau",
    "weight",
    "hysteresis",
    "bands",
    "start",
    "fill",
    "ramp_end",
    "temperature",
    "ceiling",
    "stops",
    "style",
    "opacity",
    "knee",
    "lift",
];

/// Whether one word is likely a misspelling of the other: one slip, or two in a longer word.
pub(super) fn near(written: &str, known: &str) -> bool {
    let slips = if known.len() > 5 { 2 } else { 1 };
    strsim::osa_distance(written, known) <= slips
}

/// The word that is nearest to a misspelt one, if one is near enough to be meant.
pub(crate) fn nearest<'k>(written: &str, known: &[&'k str]) -> Option<&'k str> {
    known
        .iter()
        .map(|word| (strsim::osa_distance(written, word), *word))
        .min()
        .filter(|(slips, word)| *slips <= 1 + word.len() / 4)
        .map(|(_, word)| word)
}
