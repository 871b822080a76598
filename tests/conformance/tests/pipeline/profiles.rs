//! Any profile that core accepts.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{
    Band, BandPlan, Ceiling, ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, RampEnd,
    ScaleLaw, ScalePlan, WholeFramePlan,
};
use glowsill_core::units::Temperature;
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;

/// What part of the profiles a test draws from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Per-pixel gain.
    PerPixel,
    /// Whole-frame gain.
    WholeFrame,
    /// High gain or low gain alone.
    One,
    /// One gain state or a broad blend, linear scale laws: errors of the merge stay small.
    Gentle,
}

const TOP: u16 = u16::MAX;

/// Codes anywhere, but mostly 234 K to 922 K, where pictures are.
fn code(least: u16, most: u16) -> BoxedStrategy<u16> {
    let (low, high) = (least.max(7500), most.min(29_500));
    if low < high {
        prop_oneof![4 => low..=high, 1 => least..=most].boxed()
    } else {
        (least..=most).boxed()
    }
}

fn temperature(least: u16, most: u16) -> impl Strategy<Value = Temperature> {
    code(least, most).prop_map(Temperature::from_bits)
}

fn per_pixel(least_blend: u16) -> impl Strategy<Value = GainPlan> {
    code(1, TOP - 6400).prop_flat_map(move |from| {
        let to = prop_oneof![from + least_blend..=from + 6400, from + least_blend..=TOP];
        (to, 32..=6400u16).prop_map(move |(to, dispute_k32)| GainPlan::PerPixel {
            blend_from: Temperature::from_bits(from),
            blend_to: Temperature::from_bits(to),
            dispute_k32,
        })
    })
}

fn whole_frame() -> impl Strategy<Value = GainPlan> {
    // Mostly where the scenes are, so that the state does switch.
    let enter = prop_oneof![3 => 8500..=14_000u16, 1 => code(1, TOP)];
    let shares = (prop_oneof![1..=200u16, 1..=1000u16], 0..=1000u16);
    let frames = (1..=3u8, 1..=3u8, 0..=2u8);
    (enter, shares, frames).prop_flat_map(|(enter, shares, frames)| {
        temperature(1, enter).prop_map(move |leave_above| {
            GainPlan::WholeFrame(WholeFramePlan {
                enter_above: Temperature::from_bits(enter),
                enter_permille: shares.0,
                enter_frames: frames.0,
                leave_above,
                leave_permille: shares.1,
                leave_frames: frames.1,
                blank_frames: frames.2,
            })
        })
    })
}

fn gain(kind: Kind) -> BoxedStrategy<GainPlan> {
    let one = prop_oneof![Just(GainPlan::HighOnly), Just(GainPlan::LowOnly)];
    match kind {
        Kind::PerPixel => per_pixel(32).boxed(),
        Kind::WholeFrame => whole_frame().boxed(),
        Kind::One => one.boxed(),
        Kind::Gentle => prop_oneof![one, per_pixel(1600)].boxed(),
    }
}

fn law(kind: Kind) -> BoxedStrategy<ScaleLaw> {
    let ends = prop_oneof![Just(ScaleLaw::Fixed), Just(ScaleLaw::Extremes)];
    if kind == Kind::Gentle {
        return ends.boxed();
    }
    let shares = || (0..=999u16).prop_flat_map(|low| (Just(low), low + 1..=1000));
    prop_oneof![
        2 => ends,
        2 => shares().prop_map(|(low_permille, high_permille)| {
            ScaleLaw::Percentile { low_permille, high_permille }
        }),
        3 => (shares(), 1..=1000u16, 0..=256u16).prop_map(
            |((low_permille, high_permille), plateau_permille, weight_q8)| ScaleLaw::Plateau {
                low_permille,
                high_permille,
                plateau_permille,
                weight_q8,
            }
        ),
    ]
    .boxed()
}

fn scale(kind: Kind) -> impl Strategy<Value = ScalePlan> {
    let frames = || prop_oneof![1..=4u8, 1..=255u8];
    let span = prop_oneof![64..=640u16, 64..=16_000u16];
    (
        law(kind),
        code(1, TOP - 64),
        frames(),
        frames(),
        span,
        1..=128u8,
    )
        .prop_flat_map(
            |(law, low, frames_to_hotter, frames_to_colder, min_span_k32, max_grey_per_kelvin)| {
                temperature(low + 64, TOP).prop_map(move |start_high| ScalePlan {
                    law,
                    start_low: Temperature::from_bits(low),
                    start_high,
                    frames_to_hotter,
                    frames_to_colder,
                    min_span_k32,
                    max_grey_per_kelvin,
                })
            },
        )
}

fn colour() -> impl Strategy<Value = Rgb888> {
    any::<[u8; 3]>().prop_map(|[r, g, b]| Rgb888::new(r, g, b))
}

/// Bands over rising starts; `tame` holds one channel full and one empty, as a strict tint needs.
fn bands(tame: bool) -> impl Strategy<Value = ColourPlan> {
    let colour = move || {
        any::<[u8; 3]>().prop_map(move |[r, g, b]| {
            if tame {
                Rgb888::new(255, g, 0)
            } else {
                Rgb888::new(r, g, b)
            }
        })
    };
    let band = move || (32..=2400u16, colour(), any::<bool>());
    let end = (32..=2400u16, colour());
    let above = option::of((32..=2400u16, colour()));
    (
        8000..=16_000u16,
        vec(band(), 1..=6),
        end,
        above,
        0..=1600u16,
    )
        .prop_map(|(mut start, parts, end, above, hysteresis_k32)| {
            let mut written = Vec::new();
            for (gap, colour, ramp) in parts {
                start += gap;
                let fill = if ramp { Fill::Ramp } else { Fill::Flat };
                written.push(Band {
                    start: Temperature::from_bits(start),
                    colour,
                    fill,
                });
            }
            let last_is_ramp = written.last().is_some_and(|band| band.fill == Fill::Ramp);
            ColourPlan::Bands(BandPlan {
                bands: written.into_iter().collect(),
                hysteresis_k32,
                ramp_end: last_is_ramp.then(|| RampEnd {
                    temperature: Temperature::from_bits(start + end.0),
                    colour: end.1,
                }),
                ceiling: above.map(|(gap, colour)| Ceiling {
                    start: Temperature::from_bits(start + gap),
                    colour,
                }),
            })
        })
}

fn pseudo() -> impl Strategy<Value = ColourPlan> {
    vec(colour(), 2..=12).prop_map(|stops| ColourPlan::PseudoColour {
        stops: stops.into_iter().collect(),
    })
}

fn colour_and_overlay() -> impl Strategy<Value = (ColourPlan, Overlay)> {
    let veil = || any::<u8>().prop_map(|opacity| Overlay::Veil { opacity });
    let tint = (1..=254u8)
        .prop_flat_map(|knee| (Just(knee), 255 - knee..=255))
        .prop_map(|(knee, lift)| Overlay::Tint { knee, lift });
    prop_oneof![
        1 => (Just(ColourPlan::GreyOnly), veil()),
        1 => (pseudo(), veil()),
        2 => (bands(false), Just(Overlay::Opaque)),
        2 => (bands(false), veil()),
        3 => (bands(true), tint),
    ]
}

/// Profiles of one kind, written form; every one passes [`Profile::new`].
pub(crate) fn spec(kind: Kind) -> impl Strategy<Value = ProfileSpec> {
    (gain(kind), scale(kind), colour_and_overlay()).prop_filter_map(
        "core refuses the profile",
        |(gain, scale, (colour, overlay))| {
            let spec = ProfileSpec {
                gain,
                scale,
                colour,
                overlay,
                ..ProfileSpec::grey_example()
            };
            Profile::new(spec.clone()).is_ok().then_some(spec)
        },
    )
}
