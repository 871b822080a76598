//! Frames of a request through core's pipeline; small ones stand in the corner of a larger picture.

use alloc::vec;
use alloc::vec::Vec;

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::health::HealthPlan;
use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::{
    Band, BandPlan, Ceiling, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, RampEnd,
    ScaleLaw, ScalePlan, WholeFramePlan,
};
use glowsill_core::record::{FrameRecord, GainInUse, Spot};
use glowsill_core::units::Temperature;

pub(crate) fn fit<T: TryFrom<i64>>(n: i64) -> T {
    T::try_from(n).unwrap_or_else(|_| panic!("{n} does not fit"))
}

pub(crate) fn all<T: TryFrom<i64>>(list: &[i64]) -> Vec<T> {
    list.iter().map(|n| fit(*n)).collect()
}

fn t(n: i64) -> Temperature {
    Temperature::from_bits(fit(n))
}

pub(crate) fn rgb(c: &[i64]) -> Rgb888 {
    Rgb888::new(fit(c[0]), fit(c[1]), fit(c[2]))
}

pub(crate) fn calibration(list: &[i64]) -> Option<Calibration> {
    let (&shift, rest) = list.split_first()?;
    let knots: [Temperature; KNOTS] = core::array::from_fn(|i| t(rest[i + 1]));
    Some(Calibration::new(fit(shift), knots, fit(rest[0])).unwrap())
}

pub(crate) fn gain(list: &[i64]) -> GainPlan {
    match *list {
        [0, from, to, dispute] => GainPlan::PerPixel {
            blend_from: t(from),
            blend_to: t(to),
            dispute_k32: fit(dispute),
        },
        [1, a, b, c, d, e, f, g] => GainPlan::WholeFrame(WholeFramePlan {
            enter_above: t(a),
            enter_permille: fit(b),
            enter_frames: fit(c),
            leave_above: t(d),
            leave_permille: fit(e),
            leave_frames: fit(f),
            blank_frames: fit(g),
        }),
        [2] => GainPlan::HighOnly,
        [3] => GainPlan::LowOnly,
        _ => panic!("gain {list:?}"),
    }
}

pub(crate) fn scale(list: &[i64]) -> ScalePlan {
    let &[
        law,
        low,
        high,
        plateau,
        weight,
        start_low,
        start_high,
        hotter,
        colder,
        span,
        slope,
    ] = list
    else {
        panic!("scale {list:?}")
    };
    let (low_permille, high_permille) = (fit(low), fit(high));
    ScalePlan {
        law: match law {
            0 => ScaleLaw::Fixed,
            1 => ScaleLaw::Extremes,
            2 => ScaleLaw::Percentile {
                low_permille,
                high_permille,
            },
            _ => ScaleLaw::Plateau {
                low_permille,
                high_permille,
                plateau_permille: fit(plateau),
                weight_q8: fit(weight),
            },
        },
        start_low: t(start_low),
        start_high: t(start_high),
        frames_to_hotter: fit(hotter),
        frames_to_colder: fit(colder),
        min_span_k32: fit(span),
        max_grey_per_kelvin: fit(slope),
    }
}

pub(crate) fn colour(list: &[i64]) -> ColourPlan {
    let mut rest = list.iter().copied();
    let mut next = || rest.next().unwrap();
    match next() {
        0 => ColourPlan::GreyOnly,
        1 => {
            let hysteresis_k32 = fit(next());
            let bands = (0..next())
                .map(|_| Band {
                    start: t(next()),
                    colour: rgb(&[next(), next(), next()]),
                    fill: if next() == 1 { Fill::Ramp } else { Fill::Flat },
                })
                .collect();
            let mut end = || (next() == 1).then(|| (t(next()), rgb(&[next(), next(), next()])));
            ColourPlan::Bands(BandPlan {
                bands,
                hysteresis_k32,
                ramp_end: end().map(|(temperature, colour)| RampEnd {
                    temperature,
                    colour,
                }),
                ceiling: end().map(|(start, colour)| Ceiling { start, colour }),
            })
        }
        _ => ColourPlan::PseudoColour {
            stops: (0..next())
                .map(|_| rgb(&[next(), next(), next()]))
                .collect(),
        },
    }
}

pub(crate) fn overlay(list: &[i64]) -> Overlay {
    match *list {
        [0] => Overlay::Opaque,
        [1, opacity] => Overlay::Veil {
            opacity: fit(opacity),
        },
        [2, knee, lift] => Overlay::Tint {
            knee: fit(knee),
            lift: fit(lift),
        },
        _ => panic!("overlay {list:?}"),
    }
}

/// What a session of core's pipeline is made from.
pub(crate) struct Session {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) spec: ProfileSpec,
    pub(crate) high: Option<Calibration>,
    pub(crate) low: Option<Calibration>,
    pub(crate) tables: [Vec<i64>; 4],
    pub(crate) defects: Vec<i64>,
    pub(crate) panel: i64,
}

impl Session {
    /// A grey session of high gain over a table whose counts are codes.
    pub(crate) fn plain(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            spec: ProfileSpec::grey_example(),
            high: Some(Calibration::identity()),
            low: None,
            tables: Default::default(),
            defects: Vec::new(),
            panel: 0,
        }
    }
}

/// One frame of the corner that was asked for.
pub(crate) struct Drawn {
    pub(crate) record: FrameRecord,
    pub(crate) codes: Vec<i64>,
    pub(crate) greys: Vec<i64>,
    pub(crate) bands: Vec<i64>,
    pub(crate) words: Vec<i64>,
}

pub(crate) fn spot(spot: Option<Spot>) -> Vec<i64> {
    spot.map_or(Vec::new(), |s| {
        vec![s.temperature.to_bits().into(), s.x.into(), s.y.into()]
    })
}

impl Drawn {
    pub(crate) fn gain(&self) -> i64 {
        match self.record.gain {
            GainInUse::PerPixel => 0,
            GainInUse::High => 1,
            GainInUse::Low => 2,
            GainInUse::Blank => 3,
        }
    }

    pub(crate) fn record(&self) -> Vec<i64> {
        let r = &self.record;
        let mut list = vec![r.frame.into(), self.gain()];
        list.extend([r.scale_low, r.scale_high].map(|end| i64::from(end.to_bits())));
        list.extend([r.pixels, r.valid, r.from_low, r.coloured].map(i64::from));
        list.extend(r.in_band.map(i64::from));
        for extreme in [r.hottest, r.coldest] {
            let extreme = spot(extreme);
            list.extend(if extreme.is_empty() {
                vec![0; 3]
            } else {
                extreme
            });
        }
        list.extend([r.saturated, r.invalid, r.disputed, r.replaced].map(i64::from));
        list
    }
}

/// Puts a small plane into the corner of a picture of at least 8 by 8.
fn pad(plane: &[i64], width: usize, (wide, tall): (usize, usize), filler: i64) -> Vec<i64> {
    let at = |x: usize, y: usize| (x < width).then(|| plane.get(y * width + x)).flatten();
    (0..wide * tall)
        .map(|i| at(i % wide, i / wide).copied().unwrap_or(filler))
        .collect()
}

fn words<P: PanelFormat>(picture: &[P::Pixel], word: fn(P::Pixel) -> i64) -> Vec<i64> {
    picture.iter().map(|pixel| word(*pixel)).collect()
}

/// Runs frames; each is a high and a low plane.
pub(crate) fn run(session: &Session, frames: &[(&[i64], &[i64])]) -> Vec<Drawn> {
    match session.panel {
        0 => run_on::<PanelRgb888>(session, frames, |c| {
            (i64::from(c.r) << 16) | (i64::from(c.g) << 8) | i64::from(c.b)
        }),
        1 => run_on::<PanelRgb565>(session, frames, i64::from),
        _ => run_on::<PanelRgb565Dithered>(session, frames, i64::from),
    }
}

fn run_on<P: PanelFormat>(
    session: &Session,
    frames: &[(&[i64], &[i64])],
    word: fn(P::Pixel) -> i64,
) -> Vec<Drawn> {
    let size = (session.width.max(8), session.height.max(8));
    let geometry = Geometry::new(
        u16::try_from(size.0).unwrap(),
        u16::try_from(size.1).unwrap(),
    )
    .unwrap();
    let pixels = geometry.pixels();
    let padded = |plane: &[i64], filler| pad(plane, session.width, size, filler);
    let [hg, ho, lg, lo] = &session.tables;
    let gains = [hg, lg].map(|list| (!list.is_empty()).then(|| all::<u16>(&padded(list, 16_384))));
    let offsets = [ho, lo].map(|list| all::<i16>(&padded(list, 0)));
    let table = |i: usize| {
        Some(Correction {
            gain_q14: gains[i].as_ref()?,
            offset: &offsets[i],
        })
    };
    let defects: Vec<u8> = all(&padded(&session.defects, 0));
    let sensor = SensorConfig {
        high: session.high.as_ref(),
        low: session.low.as_ref(),
        high_correction: table(0),
        low_correction: table(1),
        defects: (!session.defects.is_empty()).then_some(&defects),
        // The vectors are about the picture itself: nothing strikes it out.
        health: HealthPlan::OFF,
        ..SensorConfig::default()
    };
    let profile = Profile::new(session.spec.clone()).unwrap();
    let (mut memory, mut scratch) = (vec![0; pixels], vec![0; Pipeline::scratch_len(geometry)]);
    let mut pipeline =
        Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
    frames
        .iter()
        .map(|(high, low)| {
            let (high, low) = (all::<u16>(&padded(high, 0)), all::<u16>(&padded(low, 0)));
            let (mut temperature, mut grey_q8) = (vec![0u16; pixels], vec![0u16; pixels]);
            let mut band = vec![0u8; pixels];
            let mut picture = vec![P::Pixel::default(); pixels];
            let trace = Trace {
                temperature: &mut temperature,
                grey_q8: &mut grey_q8,
                band: &mut band,
            };
            let record = pipeline
                .frame_traced::<P>(Some(&high), Some(&low), &mut picture, trace)
                .unwrap();
            // A pixel without a sample has no grey.
            for (grey, code) in grey_q8.iter_mut().zip(&temperature) {
                *grey = if *code == 0 { 0 } else { *grey };
            }
            let corner = |plane: Vec<i64>| -> Vec<i64> {
                let rows = plane.chunks_exact(size.0).take(session.height);
                rows.flat_map(|row| row[..session.width].to_vec()).collect()
            };
            Drawn {
                record,
                codes: corner(temperature.into_iter().map(i64::from).collect()),
                greys: corner(grey_q8.into_iter().map(i64::from).collect()),
                bands: corner(band.into_iter().map(i64::from).collect()),
                words: corner(words::<P>(&picture, word)),
            }
        })
        .collect()
}
