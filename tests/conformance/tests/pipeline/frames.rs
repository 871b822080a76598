//! Sensors and moving count frames for them.

use std::fmt;

use glowsill_core::calibration::Calibration;
use glowsill_core::profile::ProfileSpec;
use glowsill_core::units::Temperature;
use proptest::prelude::*;

/// Counts of one frame, high and low gain.
pub(crate) type Counts = (Vec<u16>, Vec<u16>);

/// Everything one comparison runs on.
#[derive(Clone)]
pub(crate) struct Case {
    pub(crate) spec: ProfileSpec,
    /// What the oracle is told; the same unless a test checks that a difference is noticed.
    pub(crate) told: ProfileSpec,
    pub(crate) width: u16,
    pub(crate) height: u16,
    pub(crate) high: Calibration,
    pub(crate) low: Calibration,
    pub(crate) corrections: Option<[(Vec<u16>, Vec<i16>); 2]>,
    pub(crate) defects: Option<Vec<u8>>,
    pub(crate) frames: Vec<Counts>,
    seed: u64,
}

impl fmt::Debug for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Case")
            .field("spec", &self.spec)
            .field("size", &(self.width, self.height))
            .field("corrected", &self.corrections.is_some())
            .field("defects", &self.defects.is_some())
            .field("frames", &self.frames.len())
            .field("seed", &self.seed)
            .finish_non_exhaustive()
    }
}

/// Numbers from a seed (splitmix64), so that a case is one value to shrink.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, limit: u32) -> u32 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        u32::try_from(z >> 32).unwrap() % limit
    }

    fn code(&mut self, least: u16, most: u16) -> u16 {
        let span = u32::from(most.saturating_sub(least)) + 1;
        u16::try_from(u32::from(least) + self.below(span)).unwrap()
    }

    fn one_in(&mut self, chance: u32) -> bool {
        self.below(chance) == 0
    }
}

/// A calibration that never falls, with flat stretches now and then.
fn calibration(numbers: &mut Numbers, start: u16, top: u16) -> Calibration {
    let shift = numbers.code(6, 8);
    let mean = u32::from(top - start) / 256;
    let mut code = u32::from(start);
    let knots = std::array::from_fn(|_| {
        let knot = Temperature::from_bits(u16::try_from(code.min(65_535)).unwrap());
        code += if numbers.one_in(20) {
            0
        } else {
            numbers.below(2 * mean + 1)
        };
        knot
    });
    let counts = u16::try_from((256u32 << shift) - 1).unwrap();
    let saturation = numbers.code(counts / 2, counts);
    Calibration::new(u8::try_from(shift).unwrap(), knots, saturation).unwrap()
}

/// First count at which a calibration reaches a code.
fn counts_of(calibration: &Calibration, code: u16) -> u16 {
    let (mut low, mut high) = (1u16, u16::MAX);
    while low < high {
        let middle = low + (high - low) / 2;
        if calibration.temperature(middle).to_bits() < code {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    low
}

/// What moves over the picture.
struct Scene {
    cold: u16,
    slope: u16,
    hot: u16,
    chance_of_fault: u32,
}

impl Scene {
    fn code(&self, x: u16, y: u16, frame: u16) -> u16 {
        let wave = (x * 3 + y * 5 + frame * 7) % 64;
        let at = |place: u16| place.abs_diff(2 + frame * 2) < 4;
        let block = if at(x) && y < 6 { self.hot } else { 0 };
        self.cold
            .saturating_add(wave.saturating_mul(self.slope))
            .saturating_add(block)
    }
}

fn sample(numbers: &mut Numbers, scene: &Scene, calibration: &Calibration, code: u16) -> u16 {
    let counts = counts_of(calibration, code);
    let noise = numbers.code(0, 6);
    if !numbers.one_in(scene.chance_of_fault) {
        return counts.saturating_add(noise).max(4) - 3;
    }
    match numbers.below(5) {
        0 => 0,
        1 => calibration.saturation(),
        2 => calibration.saturation() - 1,
        3 => u16::MAX,
        _ => numbers.code(0, u16::MAX),
    }
}

fn build(spec: ProfileSpec, seed: u64) -> Case {
    let mut numbers = Numbers(seed);
    let n = &mut numbers;
    let (width, height) = (n.code(8, 24), n.code(8, 16));
    let pixels = usize::from(width) * usize::from(height);
    let high_start = n.code(5500, 8500);
    let high = calibration(n, high_start, high_start + 6500);
    let low_start = n.code(0, 9000);
    let low_top = n.code(20_000, u16::MAX);
    let low = calibration(n, low_start, low_top);
    let mut table = || {
        let gain = (0..pixels).map(|_| n.code(15_800, 17_000)).collect();
        let offset = (0..pixels)
            .map(|_| i16::try_from(n.below(41)).unwrap() - 20)
            .collect();
        (gain, offset)
    };
    let tables = [table(), table()];
    let corrections = n.one_in(2).then_some(tables);
    let chance = n.below(20) + 2;
    let map = (0..pixels).map(|_| u8::from(n.one_in(chance))).collect();
    let defects = n.one_in(2).then_some(map);
    let mut scene = Scene {
        cold: n.code(8000, 10_500),
        slope: n.code(0, 60),
        hot: 0,
        chance_of_fault: if n.one_in(8) { 2 } else { 40 },
    };
    let count = n.code(2, 9);
    let frames = (0..count)
        .map(|frame| {
            scene.hot = n.code(0, 12_000);
            let mut planes = (Vec::new(), Vec::new());
            for y in 0..height {
                for x in 0..width {
                    let code = scene.code(x, y, frame);
                    planes.0.push(sample(n, &scene, &high, code));
                    planes.1.push(sample(n, &scene, &low, code));
                }
            }
            if n.one_in(15) {
                planes.0.fill(0);
                planes.1.fill(0);
            }
            planes
        })
        .collect();
    Case {
        told: spec.clone(),
        spec,
        width,
        height,
        high,
        low,
        corrections,
        defects,
        frames,
        seed,
    }
}

/// Cases for profiles of a strategy.
pub(crate) fn case(specs: impl Strategy<Value = ProfileSpec>) -> impl Strategy<Value = Case> {
    (specs, any::<u64>()).prop_map(|(spec, seed)| build(spec, seed))
}
