//! Stage 6, onset and bands: one byte of memory a pixel.

use crate::config::{BandPlan, ColourPlan};
use crate::number::round_half_up;

/// Thresholds of a plan, kelvin: the band starts, then the ceiling if any.
#[must_use]
pub fn thresholds(plan: &BandPlan) -> Vec<f64> {
    let starts = plan.bands.iter().map(|band| band.start);
    starts.chain(plan.ceiling.map(|(start, _)| start)).collect()
}

/// Band of a pixel: clamp(previous, thresholds reached, thresholds less hysteresis reached).
///
/// 0 is grey; one more than the number of bands is the ceiling.
#[must_use]
pub fn band(plan: &BandPlan, previous: u8, temperature: f64) -> u8 {
    let reached = |less: f64| {
        let reached = |start: &f64| start - less <= temperature;
        thresholds(plan)
            .into_iter()
            .map(|start| u8::from(reached(&start)))
            .sum::<u8>()
    };
    previous.clamp(reached(0.0), reached(plan.hysteresis))
}

/// Band of a pixel under any colour plan; an invalid pixel falls back to 0.
#[must_use]
pub fn step(plan: &ColourPlan, previous: u8, temperature: Option<f64>) -> u8 {
    match (plan, temperature) {
        (ColourPlan::Bands(plan), Some(t)) => band(plan, previous, t),
        _ => 0,
    }
}

/// Colour of a band at a temperature, unrounded codes; None for grey.
#[must_use]
pub fn colour(plan: &BandPlan, band: u8, temperature: f64) -> Option<[f64; 3]> {
    let index = usize::from(band).checked_sub(1)?;
    let Some(this) = plan.bands.get(index) else {
        return plan.ceiling.map(|(_, colour)| colour.map(f64::from));
    };
    let start = this.colour.map(f64::from);
    if !this.ramp {
        return Some(start);
    }
    let next = plan
        .bands
        .get(index + 1)
        .map(|next| (next.start, next.colour));
    let Some((end, toward)) = next.or(plan.ramp_end) else {
        return Some(start);
    };
    let q = ((temperature - this.start) / (end - this.start)).clamp(0.0, 1.0);
    let q = round_half_up(q * 256.0) / 256.0;
    Some([0, 1, 2].map(|c| start[c] + q * (f64::from(toward[c]) - start[c])))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::Band;

    fn plan() -> BandPlan {
        BandPlan {
            bands: vec![
                Band {
                    start: 400.0,
                    colour: [200, 100, 0],
                    ramp: true,
                },
                Band {
                    start: 500.0,
                    colour: [100, 200, 50],
                    ramp: true,
                },
            ],
            hysteresis: 5.0,
            ramp_end: Some((600.0, [0, 0, 255])),
            ceiling: Some((700.0, [255, 255, 255])),
        }
    }

    #[test]
    fn a_band_is_entered_at_its_start_and_left_below_its_hysteresis() {
        let plan = plan();
        let walk = [
            (399.9, 0),
            (400.0, 1),
            (396.0, 1),
            (395.0, 1), // 400 - 5 <= 395
            (394.9, 0),
            (396.0, 0),
            (710.0, 3),
            (695.0, 3),
            (694.0, 2),
            (494.0, 1),
            (100.0, 0),
        ];
        let mut now = 0;
        for (t, expected) in walk {
            now = band(&plan, now, t);
            assert_eq!(now, expected, "at {t} K");
        }
        assert_eq!(step(&ColourPlan::Bands(plan), 3, None), 0);
        assert_eq!(step(&ColourPlan::Grey, 0, Some(900.0)), 0);
    }

    #[test]
    fn ramps_run_to_the_next_band_and_to_the_ramp_end() {
        let plan = plan();
        assert_eq!(colour(&plan, 0, 450.0), None);
        assert_eq!(colour(&plan, 1, 450.0), Some([150.0, 150.0, 25.0]));
        assert_eq!(colour(&plan, 1, 396.0), Some([200.0, 100.0, 0.0])); // kept by hysteresis
        assert_eq!(colour(&plan, 2, 600.0), Some([0.0, 0.0, 255.0]));
        assert_eq!(colour(&plan, 2, 650.0), Some([0.0, 0.0, 255.0]));
        assert_eq!(colour(&plan, 3, 710.0), Some([255.0; 3]));
        // q = 0.1 is kept as 26/256: 200 - 100·0.101 5625
        assert_eq!(
            colour(&plan, 1, 410.0),
            Some([189.843_75, 110.156_25, 5.078_125])
        );
    }
}
