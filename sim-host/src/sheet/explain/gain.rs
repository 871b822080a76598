//! Gain states: which pixels are in low gain, and the same profile with a whole-frame plan.

use glowsill_core::profile::{GainPlan, Profile, ProfileSpec, WholeFramePlan};
use glowsill_core::record::GainInUse;
use glowsill_core::units::Temperature;
use image::{Rgb, RgbImage, imageops};

use crate::run::{Panel, RunError, SensorTables, Shown, with_display};
use crate::sheet::SheetError;
use crate::source::Counts;
use crate::world::rounding::to_u16;

/// Seconds above the threshold before the frame switches, below it before it switches back, and without a
/// picture at each switch. Assumptions of a usual shutter; common practice, no published source.
const ENTER_S: f64 = 0.1;
const LEAVE_S: f64 = 0.8;
const BLANK_S: f64 = 0.3;
/// Thousandths of the picture that must be hot to switch, and that may stay hot when switching back.
const ENTER_PERMILLE: u16 = 10;
const LEAVE_PERMILLE: u16 = 5;
/// Thresholds where the profile names none: 135 °C (275 °F) and 105 °C (221 °F).
const ENTER_ABOVE: Temperature = Temperature::from_bits(13_061);
const LEAVE_ABOVE: Temperature = Temperature::from_bits(12_101);

/// The profile with a whole-frame gain plan, and whether the plan was put in: a profile that has one keeps it.
///
/// Thresholds are the ends of the profile's own blend, times those above, in frames of the source.
pub(super) fn whole_frame(
    profile: &Profile,
    frame_seconds: f64,
) -> Result<(Profile, WholeFramePlan, bool), SheetError> {
    if let GainPlan::WholeFrame(plan) = profile.spec().gain {
        return Ok((profile.clone(), plan, false));
    }
    let (leave_above, enter_above) = match profile.spec().gain {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            ..
        } => (blend_from, blend_to),
        _ => (LEAVE_ABOVE, ENTER_ABOVE),
    };
    let frames = |seconds: f64, most: u16| {
        u8::try_from(to_u16(seconds / frame_seconds, 1, most)).unwrap_or(u8::MAX)
    };
    let plan = WholeFramePlan {
        enter_above,
        enter_permille: ENTER_PERMILLE,
        enter_frames: frames(ENTER_S, 255),
        leave_above,
        leave_permille: LEAVE_PERMILLE,
        leave_frames: frames(LEAVE_S, 255),
        blank_frames: frames(BLANK_S, 60),
    };
    let spec = ProfileSpec {
        gain: GainPlan::WholeFrame(plan),
        ..profile.spec().clone()
    };
    let twin = Profile::new(spec).map_err(|cause| SheetError::Twin(cause.to_string()))?;
    Ok((twin, plan, true))
}

/// Which pixels of a shown frame came mostly or wholly from low gain, as `docs/pipeline.md`, section 3, counts them.
pub(super) fn in_low_gain(
    profile: &Profile,
    tables: &SensorTables,
    counts: &Counts,
    shown: &Shown,
) -> Result<Vec<bool>, SheetError> {
    let GainPlan::PerPixel {
        blend_from,
        blend_to,
        dispute_k32,
    } = profile.spec().gain
    else {
        let low = shown.record.gain == GainInUse::Low;
        let with_sample = shown.temperature.iter().map(|code| low && *code != 0);
        return Ok(with_sample.collect());
    };
    let size = (shown.width, shown.height);
    let alone = |gain: GainPlan| -> Result<Vec<u16>, SheetError> {
        let spec = ProfileSpec {
            gain,
            ..profile.spec().clone()
        };
        let one = Profile::new(spec).map_err(|cause| SheetError::Twin(cause.to_string()))?;
        Ok(with_display(
            &one,
            tables,
            size,
            Panel::Rgb888,
            |display| Ok::<_, RunError>(counts.show(display)?.temperature.clone()),
        )?)
    };
    let none = || vec![0; shown.temperature.len()];
    let high = if counts.high.is_some() {
        alone(GainPlan::HighOnly)?
    } else {
        none()
    };
    let low = if counts.low.is_some() {
        alone(GainPlan::LowOnly)?
    } else {
        none()
    };
    let middle = u32::from(blend_from.to_bits()) + u32::from(blend_to.to_bits());
    let from_low = |((t, th), tl): ((&u16, &u16), &u16)| match (*th, *tl) {
        (_, 0) => false,
        (0, tl) => *t == tl,
        (th, tl) if th.abs_diff(tl) > dispute_k32 => *t == tl,
        (th, _) => 2 * u32::from(th) >= middle,
    };
    Ok(shown
        .temperature
        .iter()
        .zip(&high)
        .zip(&low)
        .map(from_low)
        .collect())
}

/// The picture, enlarged, with stripes over the marked pixels: black beside white, to show on every ground.
pub(super) fn striped(picture: &RgbImage, marked: &[bool]) -> RgbImage {
    let times = (640 / picture.width().max(1)).max(1);
    let (width, height) = picture.dimensions();
    let mut large = imageops::resize(
        picture,
        width * times,
        height * times,
        imageops::FilterType::Nearest,
    );
    for (x, y, pixel) in large.enumerate_pixels_mut() {
        let index = usize::try_from(y / times * width + x / times).unwrap_or(usize::MAX);
        if marked.get(index).copied().unwrap_or(false) {
            match (x + y) % 12 {
                0..3 => *pixel = Rgb([255; 3]),
                3..6 => *pixel = Rgb([0; 3]),
                _ => {}
            }
        }
    }
    large
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile_file::demo;
    use crate::sheet::film;
    use crate::source::Source;

    // The count is the pipeline's own; the mask is found from the two gain states alone.
    #[test]
    fn the_mask_holds_as_many_pixels_as_the_record_counts() {
        let source = Source::open("workshop", Some((160, 120))).unwrap();
        for demo in demo().unwrap() {
            let profile = demo.loaded.profile;
            film::run(
                &source,
                &[&profile],
                &(0..60).collect::<Vec<_>>(),
                3,
                |moment| {
                    let shown = moment.displays[0].last();
                    let mask = in_low_gain(&profile, moment.tables, moment.counts, shown)?;
                    let marked = mask.iter().filter(|low| **low).count();
                    assert_eq!(
                        u32::try_from(marked).unwrap(),
                        shown.record.from_low,
                        "{}",
                        moment.frame
                    );
                    Ok(())
                },
            )
            .unwrap();
        }
    }

    // By hand: 135 °C is 408.15 K, 13060.8 in 1/32 K; 105 °C is 378.15 K, 12100.8.
    #[test]
    fn the_plan_put_in_has_the_stated_thresholds_and_times() {
        let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
        let (twin, plan, put_in) = whole_frame(&profile, 1.0 / 30.0).unwrap();
        assert!(put_in);
        assert_eq!(twin.spec().gain, GainPlan::WholeFrame(plan));
        assert_eq!(
            (plan.enter_above.to_bits(), plan.leave_above.to_bits()),
            (13_061, 12_101)
        );
        assert_eq!(
            (plan.enter_frames, plan.leave_frames, plan.blank_frames),
            (3, 24, 9)
        );
        let (_, plan, _) = whole_frame(&profile, 1.0).unwrap();
        assert_eq!(
            (plan.enter_frames, plan.leave_frames, plan.blank_frames),
            (1, 1, 1)
        );
        let (_, again, put_in) = whole_frame(&twin, 1.0).unwrap();
        assert!(!put_in);
        assert_eq!(again.blank_frames, 9);
    }
}
