//! The quantities that each measure gives: names, units and the keys of their conditions.

use super::MeasureId;

/// A quantity that a measure gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Known {
    /// Name, as requirements write it.
    pub name: &'static str,
    /// Unit, as requirements write it.
    pub unit: &'static str,
    /// Keys of its conditions.
    pub conditions: &'static [&'static str],
}

const fn known(
    name: &'static str,
    unit: &'static str,
    conditions: &'static [&'static str],
) -> Known {
    Known {
        name,
        unit,
        conditions,
    }
}

const ONSET: &[Known] = &[
    known("rising", "°C", &["place", "emissivity"]),
    known("falling", "°C", &["place", "emissivity"]),
    known("rising_true", "°C", &["place", "emissivity"]),
    known("rising_error", "K", &["place", "emissivity"]),
];
const DETAIL: &[Known] = &[
    known("worst_separation", "JND", &["delta_t", "frequency"]),
    known("retention", "ratio", &["delta_t", "frequency"]),
    known("edge_separation", "JND", &[]),
    known("edge_delta_e", "ΔE00", &[]),
    known("exempt_share", "ratio", &[]),
];
const DIMMING: &[Known] = &[
    known("lost_at", "°C", &["mark"]),
    known("separation", "JND", &["mark", "source"]),
    known("grey_share_left", "ratio", &[]),
];
const SEAM: &[Known] = &[
    known("luminance_step", "%", &["calibration"]),
    known("slope_break", "ratio", &["calibration"]),
    known("monotone", "count", &["calibration"]),
    known("noise_ratio", "ratio", &[]),
    known("toggling", "flashes/s", &[]),
    known("blank_frames", "frames", &[]),
];
const STEADINESS: &[Known] = &[
    known("pumping", "JND/s", &["scene"]),
    known("flashes", "flashes/s", &["scene"]),
    known("flashes_in_any_block", "flashes/s", &["scene"]),
];
const COLOUR_ORDER: &[Known] = &[
    known("neighbour_delta_e", "ΔE00", &["vision", "pair"]),
    known("min_neighbour_delta_e", "ΔE00", &["vision"]),
    known("grey_delta_e", "ΔE00", &["vision", "band"]),
    known("min_grey_delta_e", "ΔE00", &["vision"]),
    known("luminance_order_share", "ratio", &["vision"]),
    known("luminance_reversals", "count", &["vision"]),
    known("largest_reversal", "JND", &["vision"]),
    known("luminance_monotone", "1 = yes", &[]),
    known("hue_changes", "1 = yes", &[]),
];
const LATENCY: &[Known] = &[
    known("scale", "frames", &[]),
    known("colour", "frames", &[]),
    known("gain", "frames", &[]),
];

impl MeasureId {
    /// The quantities that the measure gives.
    ///
    /// ```
    /// use glowsill::measure::MeasureId;
    /// assert!(MeasureId::Onset.quantities().iter().any(|q| (q.name, q.unit) == ("rising", "°C")));
    /// ```
    #[must_use]
    pub fn quantities(self) -> &'static [Known] {
        match self {
            Self::Onset => ONSET,
            Self::Detail => DETAIL,
            Self::Dimming => DIMMING,
            Self::Seam => SEAM,
            Self::Steadiness => STEADINESS,
            Self::ColourOrder => COLOUR_ORDER,
            Self::Latency => LATENCY,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::measure::{MeasureId, Settings, run};
    use crate::profile_file;

    #[test]
    fn whatever_is_measured_is_listed() {
        let quick = [MeasureId::ColourOrder, MeasureId::Latency, MeasureId::Seam];
        for demo in profile_file::demo().unwrap() {
            for id in quick {
                let outcome = run(id, &demo.loaded.profile, &Settings::default()).unwrap();
                assert!(!outcome.quantities.is_empty());
                for quantity in outcome.quantities {
                    let known = id
                        .quantities()
                        .iter()
                        .find(|known| known.name == quantity.name);
                    let known = known.unwrap_or_else(|| panic!("{id}: {}", quantity.name));
                    assert_eq!(known.unit, quantity.unit, "{id}: {}", quantity.name);
                    for key in quantity.conditions.keys() {
                        assert!(known.conditions.contains(&key.as_str()), "{id}: {key}");
                    }
                }
            }
        }
    }
}
