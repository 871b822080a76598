//! Gain seam: what a slow ramp shows where one gain state takes over from the other.
//!
//! Method, formula and uncertainty: `docs/measures/seam.md`.

mod per_pixel;
mod quantisation;
mod whole_frame;

use glowsill_core::profile::{ColourPlan, GainPlan, Profile, ScaleLaw};
use glowsill_core::units::Temperature;

use super::flash::FlashMeter;
use super::reading::{Region, mean, real, settling_frames, without_colour};
use super::{FRAME_HZ, MeasureError, MeasureId, Outcome, Quantity, Settings};
use crate::run::{RunError, Shown, still, with_bench};
use crate::world::image::Image;
use crate::world::rounding::to_u16;
use crate::world::sensor::SensorModel;

const SIZE: (usize, usize) = (320, 48);
const REACH_K: f64 = 25.0;
const MISMATCH_K: f64 = 5.0;
/// Kelvin from the ramp's ends to black and to white.
const MARGIN_K: f64 = 20.0;

struct Ramp {
    from_k: f64,
    to_k: f64,
}

impl Ramp {
    fn kelvin(&self, x: usize) -> f64 {
        self.from_k + (self.to_k - self.from_k) * real(x) / real(SIZE.0 - 1)
    }

    fn scene(&self) -> Image<f64> {
        Image::from_fn(SIZE.0, SIZE.1, |x, _| self.kelvin(x))
    }

    /// Kelvin from black to white when the ramp is drawn.
    fn scale_span_k(&self) -> f64 {
        self.to_k - self.from_k + 2.0 * MARGIN_K
    }

    /// Columns over which the ramp climbs `kelvin`.
    fn columns(&self, kelvin: f64) -> usize {
        let per_column = (self.to_k - self.from_k) / real(SIZE.0 - 1);
        let mut columns = 1;
        while real(columns) * per_column < kelvin {
            columns += 1;
        }
        columns
    }
}

/// Temperatures between which the gain states change places.
fn transition(plan: &GainPlan) -> Option<(f64, f64)> {
    let kelvin = |t: Temperature| f64::from(t.to_bits()) / 32.0;
    match plan {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            ..
        } => Some((kelvin(*blend_from), kelvin(*blend_to))),
        GainPlan::WholeFrame(plan) => Some((kelvin(plan.leave_above), kelvin(plan.enter_above))),
        GainPlan::HighOnly | GainPlan::LowOnly => None,
    }
}

/// The same sensor without noise, pattern, spread and defects: blur and rounding to counts stay.
fn quiet(settings: &Settings, low_offset_k: f64) -> SensorModel {
    let shape = &settings.sensor;
    SensorModel {
        band: shape.band,
        bits: shape.bits,
        blur_sigma_px: shape.blur_sigma_px,
        lag_frames: shape.lag_frames,
        high_saturation_k: shape.high_saturation_k,
        low_top_k: shape.low_top_k,
        simultaneous: shape.simultaneous,
        low_offset_k,
        ..SensorModel::ideal()
    }
}

/// The settled picture of a ramp.
fn shown(
    profile: &Profile,
    model: &SensorModel,
    ramp: &Ramp,
    seed: u64,
) -> Result<Shown, MeasureError> {
    with_bench(profile, model, SIZE, seed, |sensor, display| {
        let exposures = still(sensor, &ramp.scene(), 2)?;
        Ok(display
            .settle(&exposures, settling_frames(profile))?
            .clone())
    })
}

/// Mean luminance of a region, from the grey before it is rounded to a panel code: a step of one
/// code is larger than the steps that are looked for.
fn fine_luminance(shown: &Shown, region: &Region, settings: &Settings) -> Option<f64> {
    let panel = settings.panel.table();
    let of_grey = |grey_q8: u16| {
        let [code, fraction] = grey_q8.to_be_bytes();
        let at = |code: u8| panel.luminance([code; 3]);
        at(code) + f64::from(fraction) / 256.0 * (at(code.saturating_add(1)) - at(code))
    };
    mean(
        region
            .iter()
            .filter_map(|i| shown.grey_q8.get(*i))
            .map(|grey| of_grey(*grey)),
    )
}

/// The same profile drawing a fixed scale over the ramp, so that only the seam bends the picture.
fn over(profile: &Profile, ramp: &Ramp, gain: GainPlan) -> Option<Profile> {
    let mut spec = profile.spec().clone();
    let code = |kelvin: f64| Temperature::from_bits(to_u16(kelvin * 32.0, 1, u16::MAX));
    spec.gain = gain;
    spec.colour = ColourPlan::GreyOnly;
    spec.scale.law = ScaleLaw::Fixed;
    spec.scale.start_low = code(ramp.from_k - MARGIN_K);
    spec.scale.start_high = code(ramp.to_k + MARGIN_K);
    Profile::new(spec).ok()
}

/// Measures the seam of a profile's gain plan.
///
/// # Errors
/// [`MeasureError`] when the pipeline cannot be run.
pub fn measure(profile: &Profile, settings: &Settings) -> Result<Outcome, MeasureError> {
    let mut outcome = Outcome::new(MeasureId::Seam);
    let plan = profile.spec().gain;
    let Some((from, to)) = transition(&plan) else {
        let why = "the profile uses one gain state only: there is no seam";
        outcome.absent(
            &[
                ("luminance_step", "%"),
                ("monotone", "count"),
                ("noise_ratio", "ratio"),
                ("toggling", "flashes/s"),
            ],
            why,
        );
        outcome.findings.push(format!("Seam not evaluated: {why}."));
        return Ok(outcome);
    };
    let ramp = Ramp {
        from_k: from - REACH_K,
        to_k: to + REACH_K,
    };
    match plan {
        GainPlan::PerPixel { .. } => per_pixel::measure(profile, settings, &ramp, &mut outcome)?,
        _ => whole_frame::measure(profile, settings, (from, to), &ramp, &mut outcome)?,
    }
    toggling(profile, settings, f64::midpoint(from, to), &mut outcome)?;
    Ok(outcome)
}

/// Flashes when a noisy field stands in the middle of the transition.
fn toggling(
    profile: &Profile,
    settings: &Settings,
    middle_k: f64,
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let Some(grey) = without_colour(profile) else {
        return Ok(());
    };
    let size = (64, 48);
    let model = &settings.sensor;
    let report = with_bench(&grey, model, size, settings.seed, |sensor, display| {
        let scene = Image::from_fn(size.0, size.1, |x, _| {
            if x < size.0 / 4 { 298.15 } else { middle_k }
        });
        let settle = still(sensor, &scene, 4)?;
        display.settle(&settle, settling_frames(profile))?;
        let mut meter = FlashMeter::new(&settings.panel, FRAME_HZ, 16);
        for _ in 0..75 {
            let exposure = sensor.expose(&scene).map_err(RunError::from)?;
            meter.push(&display.expose(&exposure)?.image());
        }
        Ok::<_, MeasureError>(meter.finish()?)
    })?;
    let most = [report.general, report.red, report.bt1702].map(|count| count.in_any_block);
    let most = most.into_iter().max().unwrap_or(0);
    outcome.quantities.push(
        Quantity::new("toggling", f64::from(most), "flashes/s")
            .noting("most flashes in one second in any block; WCAG 2.3.1 and ITU-R BT.1702"),
    );
    Ok(())
}
