//! What rounding grey to 8 bits before the overlay can make of a separation.
//!
//! Formula: `docs/measures/detail.md`, uncertainty.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{BandPlan, ColourPlan, Fill, Profile};
use glowsill_core::stage::overlay::mix_colour;

use super::super::reading::{self, Region};
use crate::photometry::gsdf;
use crate::photometry::panel_model::PanelTable;
use crate::run::Shown;
use crate::shown_colour::{Blend, pseudo_colour};
use crate::world::rounding::to_u16;

/// How a grey code is drawn at one place.
pub(super) enum Drawn<'a> {
    /// As it is.
    Grey,
    /// Under the colour of a band.
    Under(Blend, Rgb888),
    /// As a colour of its own.
    Pseudo(&'a [Rgb888]),
}

impl<'a> Drawn<'a> {
    /// How grey is drawn behind a profile's colour at a temperature.
    pub(super) fn behind(profile: &'a Profile, kelvin: f64) -> Self {
        match &profile.spec().colour {
            ColourPlan::GreyOnly => Self::Grey,
            ColourPlan::PseudoColour { stops } => Self::Pseudo(stops),
            ColourPlan::Bands(plan) => band_colour(plan, kelvin).map_or(Self::Grey, |colour| {
                Self::Under(Blend::new(profile.spec().overlay), colour)
            }),
        }
    }

    fn colour(&self, grey: u8) -> [u8; 3] {
        match self {
            Self::Grey => [grey; 3],
            Self::Under(blend, colour) => blend.over(*colour, grey),
            Self::Pseudo(stops) => pseudo_colour(stops, grey),
        }
    }

    /// JND that a grey code is worth, between the neighbours of `grey`.
    fn code_jnd(&self, grey: u8, panel: &PanelTable) -> f64 {
        let (below, above) = (grey.saturating_sub(1), grey.saturating_add(1));
        let at = |grey| gsdf::jnd(panel.luminance(self.colour(grey)));
        (at(above) - at(below)).abs() / f64::from(above - below)
    }
}

/// Colour of the band that a temperature lies in; `None` below the onset.
fn band_colour(plan: &BandPlan, kelvin: f64) -> Option<Rgb888> {
    let start = |index: usize| {
        let band = plan.bands.get(index)?;
        Some(f64::from(band.start.to_bits()) / 32.0)
    };
    let index = plan
        .bands
        .iter()
        .rposition(|band| f64::from(band.start.to_bits()) / 32.0 <= kelvin)?;
    let band = plan.bands.get(index)?;
    let ramp_end = plan
        .ramp_end
        .map(|end| f64::from(end.temperature.to_bits()) / 32.0);
    let (from, to) = (start(index)?, start(index + 1).or(ramp_end));
    let position = match (band.fill, to) {
        (Fill::Ramp, Some(to)) => to_u16(256.0 * (kelvin - from) / (to - from), 0, 256),
        _ => 0,
    };
    Some(mix_colour(band.colour, plan.end_colour(index), position))
}

/// Half-width that rounding gives the separation of bars and gaps, JND.
///
/// The mean grey of each region is wrong by half a code at most, evenly spread: 1/√12 of a code.
pub(super) fn rounding_jnd(
    drawn: &Drawn<'_>,
    shown: &Shown,
    bars: &Region,
    gaps: &Region,
    panel: &PanelTable,
) -> f64 {
    let code_jnd = |region: &Region| {
        let greys = region.iter().filter_map(|i| shown.grey_q8.get(*i));
        let grey = reading::mean(greys.map(|grey| f64::from(*grey) / 256.0)).unwrap_or(0.0);
        let [_, code] = to_u16(grey, 0, 255).to_be_bytes();
        drawn.code_jnd(code, panel)
    };
    half_width(code_jnd(bars), code_jnd(gaps))
}

/// Twice the standard deviation of the difference of two evenly spread roundings.
fn half_width(bar_code_jnd: f64, gap_code_jnd: f64) -> f64 {
    2.0 / 12f64.sqrt() * bar_code_jnd.hypot(gap_code_jnd)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photometry::panel_model::PanelModel;

    // Source: by hand. 2/√12 · √(3² + 4²) = 0.57735 · 5 = 2.88675.
    #[test]
    fn the_half_width_is_the_one_calculated_by_hand() {
        assert!((half_width(3.0, 4.0) - 2.886_75).abs() < 1e-5);
    }

    // Source: IEC 61966-2-1 for the luminances of codes 127 and 129 (54.308 and 56.132 cd/m² at a
    // peak of 250 with 1.25 of black and ambient light); their JND indices between neighbouring rows
    // of the DICOM PS3.14 table in `tests/data/dicom_gsdf.csv`: 397.607 and 401.713.
    #[test]
    fn a_code_of_plain_grey_is_worth_what_the_published_tables_say() {
        let panel = PanelModel::default().table();
        let worth = Drawn::Grey.code_jnd(128, &panel);
        assert!((worth - 2.0526).abs() < 2e-3, "{worth}");
    }

    // Source: docs/pipeline.md, section 7. An opaque colour hides every grey step; a veil of opacity
    // 0 hides none.
    #[test]
    fn the_overlay_decides_what_a_code_is_worth() {
        let panel = PanelModel::default().table();
        let under = |overlay| Drawn::Under(Blend::new(overlay), Rgb888::new(235, 210, 0));
        let opaque = under(glowsill_core::profile::Overlay::Opaque);
        assert!(opaque.code_jnd(128, &panel).abs() < 1e-9);
        let clear = under(glowsill_core::profile::Overlay::Veil { opacity: 0 });
        let plain = Drawn::Grey.code_jnd(128, &panel);
        assert!((clear.code_jnd(128, &panel) - plain).abs() < 1e-9);
    }
}
