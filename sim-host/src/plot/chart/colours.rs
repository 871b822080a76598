//! The colours of the chart.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::ColourPlan;

use super::Chart;
use crate::photometry::colour::nearest_code;
use crate::shown_colour::{band_colour, pseudo_colour};
use crate::temperature::Kelvin;

impl Chart<'_> {
    /// The grey of a temperature on the scale at start.
    fn start_grey(&self, celsius: f64) -> u8 {
        let low = Kelvin::from(self.spec.scale.start_low).celsius();
        let high = Kelvin::from(self.spec.scale.start_high).celsius();
        nearest_code(255.0 * (celsius - low) / (high - low))
    }

    /// The colour of the main bar: the band's own, or grey as for the start values of the scale.
    pub(super) fn bar_colour(&self, celsius: f64) -> [u8; 3] {
        let grey = self.start_grey(celsius);
        match &self.spec.colour {
            ColourPlan::GreyOnly => [grey; 3],
            ColourPlan::Bands(plan) => {
                band_colour(plan, celsius).map_or([grey; 3], |(_, colour)| codes(colour))
            }
            ColourPlan::PseudoColour { stops } => pseudo_colour(stops, grey),
        }
    }

    /// The colour over a given grey of the picture.
    pub(super) fn overlaid(&self, celsius: f64, grey: u8) -> [u8; 3] {
        match &self.spec.colour {
            ColourPlan::Bands(plan) => match band_colour(plan, celsius) {
                Some((number, colour)) if number > plan.bands.len() => codes(colour),
                Some((_, colour)) => self.blend.over(colour, grey),
                None => [grey; 3],
            },
            ColourPlan::GreyOnly => [grey; 3],
            ColourPlan::PseudoColour { stops } => pseudo_colour(stops, grey),
        }
    }
}

fn codes(colour: Rgb888) -> [u8; 3] {
    [colour.r, colour.g, colour.b]
}
