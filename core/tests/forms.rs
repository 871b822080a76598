//! The quick form against the plain one, bit for bit: pixels, traces, band memory and record.
#![allow(
    missing_docs,
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::unwrap_used,
    reason = "test inputs are made from small numbers"
)]

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Correction, CountTables, Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::{
    Band, BandPlan, Ceiling, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, RampEnd,
    ScaleLaw, WholeFramePlan,
};
use glowsill_core::units::Temperature;
use heapless::Vec as Fixed;
use proptest::prelude::*;

fn at(bits: u16) -> Temperature {
    Temperature::from_bits(bits)
}

/// A session's sensor, owned.
#[derive(Clone, Debug)]
struct Sensor {
    high: Calibration,
    low: Calibration,
    tables: Option<[(Vec<u16>, Vec<i16>); 2]>,
    defects: Option<Vec<u8>>,
}

impl Sensor {
    fn config(&self) -> SensorConfig<'_> {
        let table = |index: usize| {
            self.tables.as_ref().map(|tables| Correction {
                gain_q14: &tables[index].0,
                offset: &tables[index].1,
            })
        };
        SensorConfig {
            high: Some(&self.high),
            low: Some(&self.low),
            high_correction: table(0),
            low_correction: table(1),
            defects: self.defects.as_deref(),
            ..SensorConfig::default()
        }
    }
}

#[derive(Debug, PartialEq, Eq)]
struct Seen<T> {
    picture: Vec<T>,
    temperature: Vec<u16>,
    grey_q8: Vec<u16>,
    band: Vec<u8>,
    record: glowsill_core::record::FrameRecord,
}

/// Runs the same frames through both forms; every frame must be equal. Untraced frames of the
/// quick form must give the same pixels too, and so must those without count tables.
fn compare<P: PanelFormat>(
    geometry: Geometry,
    profile: &Profile,
    sensor: &Sensor,
    frames: &[(Vec<u16>, Vec<u16>)],
) where
    P::Pixel: PartialEq + core::fmt::Debug,
{
    let n = geometry.pixels();
    let scratch = vec![0; Pipeline::scratch_len(geometry)];
    let (mut memory, mut rows) = (
        [vec![0; n], vec![0; n], vec![0; n], vec![0; n]],
        [scratch.clone(), scratch.clone(), scratch.clone(), scratch],
    );
    let [ma, mb, mc, md] = &mut memory;
    let [ra, rb, rc, rd] = &mut rows;
    let (mut tables, mut other) = (Box::new(CountTables::new()), Box::new(CountTables::new()));
    let mut quick = Pipeline::new(geometry, profile, sensor.config(), ma, ra)
        .unwrap()
        .with_tables(&mut tables);
    let mut plain = Pipeline::new(geometry, profile, sensor.config(), mb, rb).unwrap();
    let mut untraced = Pipeline::new(geometry, profile, sensor.config(), mc, rc)
        .unwrap()
        .with_tables(&mut other);
    let mut without = Pipeline::new(geometry, profile, sensor.config(), md, rd).unwrap();
    let run = |pipeline: &mut Pipeline<'_>, is_plain: bool, high: &[u16], low: &[u16]| {
        let (mut temperature, mut grey_q8, mut band) = (vec![7; n], vec![7; n], vec![7; n]);
        let mut picture = vec![P::Pixel::default(); n];
        let trace = Trace {
            temperature: &mut temperature,
            grey_q8: &mut grey_q8,
            band: &mut band,
        };
        let record = if is_plain {
            pipeline.frame_plain::<P>(Some(high), Some(low), &mut picture, Some(trace))
        } else {
            pipeline.frame_traced::<P>(Some(high), Some(low), &mut picture, trace)
        }
        .unwrap();
        Seen {
            picture,
            temperature,
            grey_q8,
            band,
            record,
        }
    };
    for (number, (high, low)) in frames.iter().enumerate() {
        let a = run(&mut quick, false, high, low);
        let b = run(&mut plain, true, high, low);
        assert_eq!(a.record, b.record, "frame {number}");
        assert!(a == b, "frame {number}: the forms differ");
        for (name, pipeline) in [
            ("untraced", &mut untraced),
            ("without tables", &mut without),
        ] {
            let mut picture = vec![P::Pixel::default(); n];
            let record = pipeline
                .frame::<P>(Some(high), Some(low), &mut picture)
                .unwrap();
            assert_eq!(record, b.record, "frame {number}: {name}");
            assert!(picture == b.picture, "frame {number}: {name}");
        }
    }
}

fn compare_on(
    panel: u8,
    geometry: Geometry,
    profile: &Profile,
    sensor: &Sensor,
    frames: &[(Vec<u16>, Vec<u16>)],
) {
    match panel {
        0 => compare::<PanelRgb565>(geometry, profile, sensor, frames),
        1 => compare::<PanelRgb565Dithered>(geometry, profile, sensor, frames),
        _ => compare::<PanelRgb888>(geometry, profile, sensor, frames),
    }
}

fn calibration(shift: u8, zero: u16, per_knot: u16, saturation: u16) -> Calibration {
    let knots: [Temperature; KNOTS] = core::array::from_fn(|i| {
        at((u32::from(zero) + i as u32 * u32::from(per_knot)).min(65_535) as u16)
    });
    Calibration::new(shift, knots, saturation).unwrap()
}

fn bands(fill: Fill, ceiling: bool, hysteresis_k32: u16) -> ColourPlan {
    let band = |start, colour, fill| Band {
        start: at(start),
        colour,
        fill,
    };
    ColourPlan::Bands(BandPlan {
        bands: Fixed::from_slice(&[
            band(13_861, Rgb888::new(235, 210, 0), Fill::Flat),
            band(17_061, Rgb888::new(220, 115, 0), fill),
            band(22_501, Rgb888::new(200, 0, 0), fill),
        ])
        .unwrap(),
        hysteresis_k32,
        ramp_end: (fill == Fill::Ramp).then_some(RampEnd {
            temperature: at(25_000),
            colour: Rgb888::new(200, 0, 100),
        }),
        ceiling: ceiling.then_some(Ceiling {
            start: at(29_221),
            colour: Rgb888::new(180, 90, 180),
        }),
    })
}

fn colour_plans() -> impl Strategy<Value = ColourPlan> {
    prop_oneof![
        4 => (any::<bool>(), 0..400u16).prop_map(|(ceiling, h)| bands(Fill::Flat, ceiling, h)),
        2 => (any::<bool>(), 0..400u16).prop_map(|(ceiling, h)| bands(Fill::Ramp, ceiling, h)),
        1 => Just(ColourPlan::GreyOnly),
        1 => Just(ColourPlan::PseudoColour {
            stops: Fixed::from_slice(&[Rgb888::grey(0), Rgb888::new(0, 0, 255), Rgb888::new(255, 90, 0)]).unwrap(),
        }),
    ]
}

fn gain_plans() -> impl Strategy<Value = GainPlan> {
    prop_oneof![
        5 => (9000..14_000u16, 32..3000u16, 32..6400u16).prop_map(|(from, span, dispute_k32)| {
            GainPlan::PerPixel { blend_from: at(from), blend_to: at(from + span), dispute_k32 }
        }),
        1 => Just(GainPlan::HighOnly),
        1 => Just(GainPlan::LowOnly),
        1 => (1..400u16, 0..2u8).prop_map(|(share, blank_frames)| GainPlan::WholeFrame(WholeFramePlan {
            enter_above: at(12_000),
            enter_permille: share,
            enter_frames: 1,
            leave_above: at(11_000),
            leave_permille: share / 2,
            leave_frames: 1,
            blank_frames,
        })),
    ]
}

fn laws() -> impl Strategy<Value = ScaleLaw> {
    prop_oneof![
        Just(ScaleLaw::Fixed),
        Just(ScaleLaw::Extremes),
        (0..400u16, 600..=1000u16).prop_map(|(low_permille, high_permille)| ScaleLaw::Percentile {
            low_permille,
            high_permille
        }),
        (0..=256u16).prop_map(|weight_q8| ScaleLaw::Plateau {
            low_permille: 10,
            high_permille: 990,
            plateau_permille: 30,
            weight_q8,
        }),
    ]
}

fn overlays() -> impl Strategy<Value = Overlay> {
    prop_oneof![
        Just(Overlay::Opaque),
        any::<u8>().prop_map(|opacity| Overlay::Veil { opacity }),
        Just(Overlay::Tint {
            knee: 200,
            lift: 140
        }),
    ]
}

fn profiles() -> impl Strategy<Value = Profile> {
    (
        gain_plans(),
        laws(),
        colour_plans(),
        overlays(),
        8000..11_000u16,
        64..20_000u16,
        1..9u8,
    )
        .prop_filter_map(
            "a tint over a ramp that cancels it is refused",
            |(gain, law, colour, overlay, start, span, frames)| {
                let mut spec = ProfileSpec::grey_example();
                (spec.gain, spec.colour, spec.overlay) = (gain, colour, overlay);
                spec.scale.law = law;
                spec.scale.start_low = at(start);
                spec.scale.start_high = at(start + span);
                (spec.scale.frames_to_hotter, spec.scale.frames_to_colder) = (frames, 2 * frames);
                Profile::new(spec).ok()
            },
        )
}

/// A sequence of numbers that a test can repeat.
struct Sequence(u64);

impl Sequence {
    fn below(&mut self, limit: u32) -> u32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (((self.0 >> 33) * u64::from(limit)) >> 31) as u32
    }
}

/// Counts of a room with a hot square that moves, some dead, saturated and wild samples.
fn frames(
    seed: u64,
    geometry: Geometry,
    number: u32,
    wild: u32,
    hot: u32,
) -> Vec<(Vec<u16>, Vec<u16>)> {
    let mut sequence = Sequence(seed);
    let (w, h) = (u32::from(geometry.width()), u32::from(geometry.height()));
    (0..number)
        .map(|frame| {
            let left = (frame * 7 + 3) % w;
            (0..w * h)
                .map(|i| {
                    let (x, y) = (i % w, i / w);
                    // Codes: a room near 295 K, a square of up to 1100 K, some of it in the blend.
                    let is_hot = x >= left && x < left + w / 2 && y < h / 2 + frame;
                    let code = if hot == 2 || (hot == 1 && is_hot) {
                        11_000 + (x * 613) % 17_000 + y * 40
                    } else {
                        9440 + x + sequence.below(30)
                    };
                    let high = (code.saturating_sub(7360) * 5 / 2).min(16_383) as u16;
                    let low = (code.saturating_sub(7360) * 5 / 8).min(16_383) as u16;
                    if wild > 0 && sequence.below(1000) < wild {
                        let extremes = [
                            0, 1, 2, 15_999, 16_000, 16_383, 16_384, 32_767, 32_768, 65_535,
                        ];
                        let mut pick = |usual| match sequence.below(16) {
                            at @ 0..10 => extremes[at as usize],
                            10..13 => sequence.below(65_536) as u16,
                            _ => usual,
                        };
                        (pick(high), pick(low))
                    } else {
                        (high, low)
                    }
                })
                .unzip()
        })
        .collect()
}

fn tables(seed: u64, n: usize, spread: u32) -> Option<[(Vec<u16>, Vec<i16>); 2]> {
    let mut sequence = Sequence(seed);
    let mut table = || {
        (0..n)
            .map(|_| match spread {
                0 => (16_384, 0),
                1 => (
                    15_900 + sequence.below(900) as u16,
                    sequence.below(101) as i16 - 50,
                ),
                _ => (
                    sequence.below(65_536) as u16,
                    (sequence.below(65_536) as i32 - 32_768) as i16,
                ),
            })
            .unzip()
    };
    (spread > 0).then(|| [table(), table()])
}

fn sensor(seed: u64, n: usize, shift: u8, spread: u32, defects: u32) -> Sensor {
    let mut sequence = Sequence(seed ^ 99);
    let scale = 1u16 << (shift - 6);
    Sensor {
        high: calibration(shift, 7360, 26 * scale, 16_000),
        low: calibration(shift, 7360, 102 * scale, 16_000),
        tables: tables(seed, n, spread),
        defects: (defects > 0).then(|| {
            (0..n)
                .map(|_| u8::from(sequence.below(1000) < defects))
                .collect()
        }),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn both_forms_give_the_same(
        profile in profiles(),
        (width, height) in (8..140u16, 8..14u16),
        panel in 0..3u8,
        shift in 6..=8u8,
        spread in prop_oneof![1 => Just(0u32), 4 => Just(1), 1 => Just(2)],
        wild in prop_oneof![2 => Just(0u32), 2 => Just(4), 1 => Just(300)],
        defects in prop_oneof![2 => Just(0u32), 1 => Just(5), 1 => Just(200)],
        hot in 0..3u32,
        seed in any::<u64>(),
    ) {
        let geometry = Geometry::new(width, height).unwrap();
        let sensor = sensor(seed, geometry.pixels(), shift, spread, defects);
        compare_on(panel, geometry, &profile, &sensor, &frames(seed, geometry, 4, wild, hot));
    }
}

fn interior() -> Profile {
    let mut spec = ProfileSpec::grey_example();
    spec.gain = GainPlan::PerPixel {
        blend_from: at(12_101),
        blend_to: at(13_061),
        dispute_k32: 640,
    };
    spec.scale.law = ScaleLaw::Percentile {
        low_permille: 10,
        high_permille: 970,
    };
    spec.scale.frames_to_hotter = 4;
    spec.scale.frames_to_colder = 8;
    spec.colour = bands(Fill::Flat, true, 128);
    spec.overlay = Overlay::Tint {
        knee: 200,
        lift: 140,
    };
    Profile::new(spec).unwrap()
}

#[test]
fn every_width_near_a_chunk_and_the_widest() {
    for width in [8, 9, 31, 32, 33, 63, 64, 65, 95, 96, 97, 320, 1279, 1280] {
        let geometry = Geometry::new(width, 9).unwrap();
        for (spread, defects) in [(1, 0), (1, 8)] {
            let sensor = sensor(5, geometry.pixels(), 6, spread, defects);
            compare::<PanelRgb565>(
                geometry,
                &interior(),
                &sensor,
                &frames(3, geometry, 4, 2, 1),
            );
        }
    }
}

/// One deviating sample at every place of a chunk: dead, saturated, disputed in either direction,
/// just above the transition, at the first band.
#[test]
fn one_deviating_sample_at_every_place_of_a_chunk() {
    let geometry = Geometry::new(64, 8).unwrap();
    let sensor = sensor(11, geometry.pixels(), 6, 1, 0);
    let deviations = [
        (0, 1300),
        (5200, 0),
        (16_000, 1300),
        (16_383, 16_383),
        (5200, 2000),
        (5200, 700),
        (12_000, 3000),
        (15_999, 4000),
        (16_000, 5000),
        (65_535, 0),
        (32_768, 32_768),
        (0, 0),
    ];
    let calm = (
        vec![5200u16; geometry.pixels()],
        vec![1300u16; geometry.pixels()],
    );
    for (number, (high, low)) in deviations.into_iter().enumerate() {
        let moving: Vec<_> = (0..34)
            .map(|place| {
                let mut planes = calm.clone();
                let spot = 64 * (number % 8) + place;
                (planes.0[spot], planes.1[spot]) = (high, low);
                planes
            })
            .collect();
        compare::<PanelRgb565>(geometry, &interior(), &sensor, &moving);
    }
}

/// Recordings in temperature: 16-bit counts that are codes, up to the last one.
#[test]
fn counts_that_are_temperatures() {
    let geometry = Geometry::new(96, 8).unwrap();
    let mut spec = interior().spec().clone();
    let sensor = Sensor {
        high: Calibration::identity(),
        low: Calibration::identity(),
        tables: None,
        defects: None,
    };
    let mut sequence = Sequence(4);
    let frames: Vec<_> = [9500u32, 14_500, 30_000, 65_500, 32_740]
        .into_iter()
        .map(|middle| {
            let plane: Vec<u16> = (0..geometry.pixels())
                .map(|_| (middle + sequence.below(36)) as u16)
                .collect();
            (plane.clone(), plane)
        })
        .collect();
    for gain in [spec.gain, GainPlan::HighOnly, GainPlan::LowOnly] {
        spec.gain = gain;
        let profile = Profile::new(spec.clone()).unwrap();
        for panel in 0..3 {
            compare_on(panel, geometry, &profile, &sensor, &frames);
        }
    }
}

/// One sample of a chunk moves away from the others, past every window that counts of high gain are
/// looked up in; a sample of low gain moves past what agrees with neighbours that are alike, and with
/// some that are not; and a whole chunk rises or falls evenly.
#[test]
fn neighbours_that_lie_ever_further_apart() {
    let geometry = Geometry::new(64, 8).unwrap();
    for spread in [0, 1] {
        let sensor = sensor(17, geometry.pixels(), 6, spread, 0);
        let counts = |high: i32| {
            (
                high.clamp(1, 16_383) as u16,
                (high / 4).clamp(1, 16_383) as u16,
            )
        };
        let mut frames = Vec::new();
        for apart in (0..1500)
            .step_by(37)
            .chain([222, 223, 224, 254, 255, 256, 257, 510, 511, 512])
        {
            let planes = (0..geometry.pixels() as i32)
                .map(|i| match i / 64 {
                    0 => counts(5200),
                    1 => counts(5200 + if i % 32 == 9 { apart } else { 0 }),
                    2 => counts(5200 - if i % 32 == 31 { apart } else { 0 }),
                    3 => counts(5200 + apart * (i % 32) / 31),
                    4 => counts(11_500 - apart * (i % 32) / 31),
                    5 => counts(apart),
                    6 => {
                        let (high, low) = counts(5200 + if i % 2 == 0 { 380 } else { -380 });
                        let by = if i % 32 < 16 { apart / 2 } else { -apart / 2 };
                        let moves = i % 32 == 7 || i % 32 == 18;
                        (
                            high,
                            if moves {
                                (i32::from(low) + by) as u16
                            } else {
                                low
                            },
                        )
                    }
                    _ => {
                        let (high, low) = counts(5200);
                        let by = if i < 480 { apart / 2 } else { -apart / 2 };
                        (
                            high,
                            if i % 32 == 5 {
                                (i32::from(low) + by) as u16
                            } else {
                                low
                            },
                        )
                    }
                })
                .unzip();
            frames.push(planes);
        }
        compare::<PanelRgb565>(geometry, &interior(), &sensor, &frames);
    }
}

/// More pixels of one count than a cell can hold.
#[test]
fn the_largest_picture_of_one_temperature() {
    let geometry = Geometry::new(1280, 1024).unwrap();
    let sensor = sensor(3, geometry.pixels(), 6, 0, 0);
    let planes = (vec![5200; geometry.pixels()], vec![1300; geometry.pixels()]);
    compare::<PanelRgb565>(geometry, &interior(), &sensor, &[planes]);
}
