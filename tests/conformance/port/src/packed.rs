//! Profiles to their packed bytes, and back to lists.

use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

use glowsill_core::packed::{MAX_LEN, PackedError};
use glowsill_core::profile::{ColourPlan, Fill, GainPlan, Overlay, Profile, ProfileSpec, ScaleLaw};
use glowsill_core::units::Temperature;

use crate::frames::{self, all};
use crate::{Answer, Request};

fn name(list: &[i64]) -> String {
    String::from_utf8(all(list)).unwrap()
}

pub(crate) fn pack(mut from: Request<'_>) -> Answer {
    let spec = ProfileSpec {
        name: name(&from.list()).as_str().try_into().unwrap(),
        gain: frames::gain(&from.list()),
        scale: frames::scale(&from.list()),
        colour: frames::colour(&from.list()),
        overlay: frames::overlay(&from.list()),
    };
    let mut bytes = [0; MAX_LEN];
    let len = Profile::new(spec).unwrap().to_bytes(&mut bytes).unwrap();
    Answer::default().list(
        &bytes[..len]
            .iter()
            .map(|b| i64::from(*b))
            .collect::<Vec<_>>(),
    )
}

pub(crate) fn unpack(mut from: Request<'_>) -> Answer {
    let bytes: Vec<u8> = all(&from.list());
    let profile = match Profile::from_bytes(&bytes) {
        Ok(profile) => profile,
        Err(error) => {
            let status = match error {
                PackedError::Truncated { .. } => 1,
                PackedError::NotAProfile => 2,
                PackedError::Version { .. } => 3,
                PackedError::Damaged { .. } => 4,
                PackedError::Body => 5,
                other => panic!("{other}"),
            };
            return (0..5).fold(Answer::default().number(status), |answer, _| {
                answer.list(&[])
            });
        }
    };
    let spec = profile.spec();
    let name: Vec<i64> = spec.name.bytes().map(i64::from).collect();
    Answer::default()
        .number(0)
        .list(&name)
        .list(&gain_list(spec))
        .list(&scale_list(spec))
        .list(&colour_list(spec))
        .list(&match spec.overlay {
            Overlay::Opaque => vec![0],
            Overlay::Veil { opacity } => vec![1, opacity.into()],
            Overlay::Tint { knee, lift } => vec![2, knee.into(), lift.into()],
        })
}

fn gain_list(spec: &ProfileSpec) -> Vec<i64> {
    match spec.gain {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            dispute_k32,
        } => vec![0, code(blend_from), code(blend_to), dispute_k32.into()],
        GainPlan::WholeFrame(plan) => vec![
            1,
            code(plan.enter_above),
            plan.enter_permille.into(),
            plan.enter_frames.into(),
            code(plan.leave_above),
            plan.leave_permille.into(),
            plan.leave_frames.into(),
            plan.blank_frames.into(),
        ],
        GainPlan::HighOnly => vec![2],
        GainPlan::LowOnly => vec![3],
    }
}

fn code(temperature: Temperature) -> i64 {
    temperature.to_bits().into()
}

fn scale_list(spec: &ProfileSpec) -> Vec<i64> {
    let plan = &spec.scale;
    let mut list: Vec<i64> = match plan.law {
        ScaleLaw::Fixed => vec![0],
        ScaleLaw::Extremes => vec![1],
        ScaleLaw::Percentile {
            low_permille,
            high_permille,
        } => vec![2, low_permille.into(), high_permille.into()],
        ScaleLaw::Plateau {
            low_permille,
            high_permille,
            plateau_permille,
            weight_q8,
        } => [3, low_permille, high_permille, plateau_permille, weight_q8]
            .map(i64::from)
            .into(),
    };
    list.resize(5, 0);
    list.extend([code(plan.start_low), code(plan.start_high)]);
    list.extend([plan.frames_to_hotter, plan.frames_to_colder].map(i64::from));
    list.extend([
        plan.min_span_k32.into(),
        i64::from(plan.max_grey_per_kelvin),
    ]);
    list
}

fn colour_list(spec: &ProfileSpec) -> Vec<i64> {
    let count = |n: usize| i64::try_from(n).unwrap();
    match &spec.colour {
        ColourPlan::GreyOnly => vec![0],
        ColourPlan::PseudoColour { stops } => {
            let colours = stops.iter().flat_map(|c| [c.r, c.g, c.b].map(i64::from));
            [2, count(stops.len())].into_iter().chain(colours).collect()
        }
        ColourPlan::Bands(plan) => {
            let mut list = vec![1, plan.hysteresis_k32.into(), count(plan.bands.len())];
            for band in &plan.bands {
                list.push(code(band.start));
                list.extend([band.colour.r, band.colour.g, band.colour.b].map(i64::from));
                list.push(i64::from(band.fill == Fill::Ramp));
            }
            let ends = [
                plan.ramp_end.map(|end| (end.temperature, end.colour)),
                plan.ceiling.map(|ceiling| (ceiling.start, ceiling.colour)),
            ];
            for end in ends {
                list.push(i64::from(end.is_some()));
                if let Some((start, c)) = end {
                    list.push(code(start));
                    list.extend([c.r, c.g, c.b].map(i64::from));
                }
            }
            list
        }
    }
}
