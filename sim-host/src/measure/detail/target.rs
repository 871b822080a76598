//! The target of the detail measure: four-bar groups on a hot panel, and where it is shown.

use std::ops::Range;

use glowsill_core::profile::{ColourPlan, Profile};

use super::super::reading::{Region, real, rectangle};
use crate::world::image::Image;

pub(super) const SIZE: (usize, usize) = (320, 240);
const ROOM_K: f64 = 298.15;
pub(super) const DELTAS_K: [f64; 3] = [2.0, 5.0, 10.0];
/// Width of a bar in pixels; a period is two bars, so 10 px are 0.05 cycles a pixel.
pub(super) const BARS_PX: [usize; 2] = [10, 5];
/// The hot panel that carries the groups.
const PANEL: (Range<usize>, Range<usize>) = (20..300, 30..230);

/// A four-bar group: bars 1:7, long side upright.
#[derive(Clone, Copy)]
pub(super) struct Group {
    x: usize,
    y: usize,
    pub(super) bar_px: usize,
    pub(super) delta_k: f64,
}

impl Group {
    pub(super) fn all() -> Vec<Self> {
        let columns = [32, 122, 212];
        let mut groups = Vec::new();
        for (delta_k, x) in DELTAS_K.into_iter().zip(columns) {
            groups.push(Self {
                x,
                y: 42,
                bar_px: BARS_PX[0],
                delta_k,
            });
            groups.push(Self {
                x: x + 18,
                y: 158,
                bar_px: BARS_PX[1],
                delta_k,
            });
        }
        groups
    }

    fn is_bar(&self, x: usize, y: usize) -> bool {
        let (w, h) = (7 * self.bar_px, 7 * self.bar_px);
        (self.x..self.x + w).contains(&x)
            && (self.y..self.y + h).contains(&y)
            && ((x - self.x) / self.bar_px).is_multiple_of(2)
    }

    /// Middles of the bars and of the gaps, away from their blurred edges.
    pub(super) fn regions(&self) -> (Region, Region) {
        let edge = self.bar_px / 4 + 1;
        let strip = |number: usize| {
            let x = self.x + number * self.bar_px;
            let y = self.y + 2 * edge..self.y + 7 * self.bar_px - 2 * edge;
            rectangle(SIZE, x + edge..x + self.bar_px - edge, y)
        };
        let gather = |first: usize| (first..7).step_by(2).flat_map(strip).collect();
        (gather(0), gather(1))
    }
}

pub(super) fn scene(base_k: f64, groups: &[Group]) -> Image<f64> {
    Image::from_fn(SIZE.0, SIZE.1, |x, y| {
        if PANEL.0.contains(&x) && PANEL.1.contains(&y) {
            let bar = groups.iter().find(|group| group.is_bar(x, y));
            base_k + bar.map_or(0.0, |group| group.delta_k)
        } else {
            ROOM_K + 8.0 * real(y) / real(SIZE.1)
        }
    })
}

/// Base temperatures: the middle of every band and its edges; a fixed list without bands.
pub(super) fn bases(profile: &Profile) -> Vec<f64> {
    let ColourPlan::Bands(plan) = &profile.spec().colour else {
        return [60.0, 100.0, 150.0, 200.0, 300.0, 400.0, 500.0]
            .map(|c| c + 273.15)
            .to_vec();
    };
    let kelvin = |bits: u16| f64::from(bits) / 32.0;
    let starts: Vec<f64> = plan
        .bands
        .iter()
        .map(|band| kelvin(band.start.to_bits()))
        .collect();
    let top = plan
        .ceiling
        .map(|ceiling| kelvin(ceiling.start.to_bits()))
        .or(plan.ramp_end.map(|end| kelvin(end.temperature.to_bits())))
        .unwrap_or_else(|| starts.last().map_or(900.0, |last| last + 150.0))
        .min(930.0);
    let mut list = Vec::new();
    for (index, start) in starts.iter().enumerate() {
        let end = starts
            .get(index + 1)
            .copied()
            .unwrap_or(top)
            .max(start + 20.0);
        list.push(start + 1.0);
        list.push(f64::midpoint(*start, end));
        list.push(end - 12.0);
    }
    list.sort_by(f64::total_cmp);
    list.dedup_by(|a, b| (*a - *b).abs() < 5.0);
    list
}

/// Whether a band starts between a base and bars so much hotter: then two colours are compared.
pub(super) fn crosses_a_band(profile: &Profile, base_k: f64, delta_k: f64) -> bool {
    let ColourPlan::Bands(plan) = &profile.spec().colour else {
        return false;
    };
    plan.bands.iter().any(|band| {
        let start = f64::from(band.start.to_bits()) / 32.0;
        base_k < start && start <= base_k + delta_k
    })
}

/// Base temperatures whose 10 K bars stand on the far side of a band's start.
pub(super) fn edges(profile: &Profile) -> Vec<f64> {
    match &profile.spec().colour {
        ColourPlan::Bands(plan) => plan
            .bands
            .iter()
            .map(|band| f64::from(band.start.to_bits()) / 32.0 - 6.0)
            .collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: four-bar target with bars 1:7, as ASTM E1213 describes it.
    #[test]
    fn a_group_has_four_bars_of_one_to_seven() {
        for group in Group::all() {
            let row = group.y + group.bar_px;
            let bars: Vec<bool> = (0..SIZE.0).map(|x| group.is_bar(x, row)).collect();
            let starts = bars.windows(2).filter(|pair| !pair[0] && pair[1]).count();
            let width = bars.iter().filter(|bar| **bar).count();
            assert_eq!((starts, width), (4, 4 * group.bar_px));
            let column: Vec<bool> = (0..SIZE.1).map(|y| group.is_bar(group.x, y)).collect();
            assert_eq!(column.iter().filter(|bar| **bar).count(), 7 * group.bar_px);
        }
    }

    #[test]
    fn groups_stand_on_the_panel_without_touching() {
        let groups = Group::all();
        for y in 0..SIZE.1 {
            for x in 0..SIZE.0 {
                let hits = groups.iter().filter(|group| group.is_bar(x, y)).count();
                assert!(hits <= 1);
                assert!(hits == 0 || (PANEL.0.contains(&x) && PANEL.1.contains(&y)));
            }
        }
    }

    /// Bands from 426 K (152.85 °C) and 500 K (226.85 °C): 13632 and 16000 codes of 1/32 K.
    fn two_bands() -> Profile {
        use glowsill_core::panel::Rgb888;
        use glowsill_core::profile::{Band, BandPlan, Fill, ProfileSpec};
        use glowsill_core::units::Temperature;
        let mut plan = BandPlan {
            bands: Default::default(),
            hysteresis_k32: 0,
            ramp_end: None,
            ceiling: None,
        };
        for code in [13_632, 16_000] {
            let band = Band {
                start: Temperature::from_bits(code),
                colour: Rgb888::new(235, 210, 0),
                fill: Fill::Flat,
            };
            plan.bands.push(band).unwrap();
        }
        Profile::new(ProfileSpec {
            colour: ColourPlan::Bands(plan),
            ..ProfileSpec::grey_example()
        })
        .unwrap()
    }

    // By hand, of the definition: crossed when base < start ≤ base + difference.
    #[test]
    fn bars_cross_a_band_when_it_starts_above_the_base_and_not_above_the_bars() {
        let profile = two_bands();
        for (base_k, delta_k, crosses) in [
            (400.0, 10.0, false), // 410 K: the first band is 16 K further
            (420.0, 5.0, false),  // 425 K: 1 K short
            (420.0, 6.0, true),   // bars stand exactly on the start, so in the band
            (424.0, 2.0, true),   // the same with the smallest bars
            (425.968, 2.0, true), // a base just below, by a code of 1/32 K
            (426.0, 10.0, false), // base and bars both in the first band
            (450.0, 10.0, false), // the same in its middle
            (495.0, 10.0, true),  // the second band, at 500 K
            (500.0, 10.0, false), // base and bars both in the second
            (420.0, 100.0, true), // past both starts
            (600.0, 10.0, false), // above all starts
            (430.0, 0.0, false),  // bars as hot as the base
        ] {
            let found = crosses_a_band(&profile, base_k, delta_k);
            assert_eq!(found, crosses, "{base_k} K and {delta_k} K more");
        }
        let grey = Profile::new(glowsill_core::profile::ProfileSpec::grey_example()).unwrap();
        assert!(
            !crosses_a_band(&grey, 420.0, 100.0),
            "no bands, none crossed"
        );
    }
}
