//! The C form behind a safe face.

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::pipeline::Correction;
use glowsill_core::profile::{ColourPlan, Fill, GainPlan, Overlay, Profile, ScaleLaw};

/// What `pipeline.c` calls `struct plan`.
#[repr(C)]
#[derive(Clone, Debug)]
struct Plan {
    from: i32,
    to: i32,
    dispute: i32,
    is_plateau: i32,
    low: i32,
    high: i32,
    plateau: i32,
    weight: i32,
    start_low: i32,
    start_high: i32,
    to_hotter: i32,
    to_colder: i32,
    min_span: i32,
    slope: i32,
    bands: i32,
    has_ceiling: i32,
    hysteresis: i32,
    start: [i32; 7],
    colour: [[i32; 3]; 7],
    knee: i32,
    lift: i32,
    shift: [i32; 2],
    saturation: [i32; 2],
    knot: [[u16; KNOTS]; 2],
}

/// What the C form counted.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PlainRecord {
    /// Pixels with a temperature.
    pub valid: i32,
    /// Pixels with colour over them.
    pub coloured: i32,
    /// Pixels whose gain states disagree.
    pub disputed: i32,
    /// Code of the hottest pixel.
    pub hottest: i32,
    /// Its place in row order.
    pub hottest_at: i32,
    /// Code of the coldest pixel.
    pub coldest: i32,
    /// Its place in row order.
    pub coldest_at: i32,
}

mod ffi {
    use super::{PlainRecord, Plan};

    #[allow(unsafe_code, reason = "the C form under test")]
    unsafe extern "C" {
        pub(super) fn plain_c_bytes() -> usize;
        pub(super) fn plain_c_start(pipeline: *mut u64, plan: *const Plan);
        pub(super) fn plain_c_frame(
            pipeline: *mut u64,
            pixels: usize,
            width: usize,
            high: *const u16,
            low: *const u16,
            high_gain: *const u16,
            high_offset: *const i16,
            low_gain: *const u16,
            low_offset: *const i16,
            bands: *mut u8,
            out: *mut u16,
            record: *mut PlainRecord,
        );
    }
}

/// The C form of one profile and sensor.
#[derive(Debug)]
pub struct PlainC {
    state: Vec<u64>,
    bands: Vec<u8>,
    width: usize,
}

fn plan(profile: &Profile, tables: [&Calibration; 2]) -> Result<Plan, String> {
    let spec = profile.spec();
    let unsupported = |what: &str| format!("profile '{}': the C form has no {what}", spec.name);
    let GainPlan::PerPixel {
        blend_from,
        blend_to,
        dispute_k32,
    } = spec.gain
    else {
        return Err(unsupported("gain plan but per pixel"));
    };
    let (is_plateau, low, high, plateau, weight) = match spec.scale.law {
        ScaleLaw::Percentile {
            low_permille,
            high_permille,
        } => (0, low_permille, high_permille, 0, 0),
        ScaleLaw::Plateau {
            low_permille,
            high_permille,
            plateau_permille,
            weight_q8,
        } => (1, low_permille, high_permille, plateau_permille, weight_q8),
        _ => return Err(unsupported("scale but percentile and plateau")),
    };
    let (ColourPlan::Bands(bands), Overlay::Tint { knee, lift }) = (&spec.colour, spec.overlay)
    else {
        return Err(unsupported("colour but bands under a tint"));
    };
    if bands.bands.iter().any(|band| band.fill != Fill::Flat) {
        return Err(unsupported("ramps"));
    }
    let (mut start, mut colour, mut count) = ([0; 7], [[0; 3]; 7], 0);
    let ceiling = bands.ceiling.map(|ceiling| (ceiling.start, ceiling.colour));
    let flat = bands.bands.iter().map(|band| (band.start, band.colour));
    for ((from, rgb), (start, colour)) in flat.chain(ceiling).zip(start.iter_mut().zip(&mut colour))
    {
        *start = i32::from(from.to_bits());
        *colour = [rgb.r, rgb.g, rgb.b].map(i32::from);
        count += 1;
    }
    Ok(Plan {
        from: blend_from.to_bits().into(),
        to: blend_to.to_bits().into(),
        dispute: dispute_k32.into(),
        is_plateau,
        low: low.into(),
        high: high.into(),
        plateau: plateau.into(),
        weight: weight.into(),
        start_low: spec.scale.start_low.to_bits().into(),
        start_high: spec.scale.start_high.to_bits().into(),
        to_hotter: spec.scale.frames_to_hotter.into(),
        to_colder: spec.scale.frames_to_colder.into(),
        min_span: spec.scale.min_span_k32.into(),
        slope: spec.scale.max_grey_per_kelvin.into(),
        bands: count,
        has_ceiling: i32::from(bands.ceiling.is_some()),
        hysteresis: bands.hysteresis_k32.into(),
        start,
        colour,
        knee: knee.into(),
        lift: lift.into(),
        shift: tables.map(|table| i32::from(table.shift())),
        saturation: tables.map(|table| i32::from(table.saturation())),
        knot: tables.map(|table| table.knots().map(|knot| knot.to_bits())),
    })
}

impl PlainC {
    /// Starts the C form of a profile for pictures of `width` columns and `pixels` pixels.
    ///
    /// # Errors
    /// A text that names what of the profile the C form does not have.
    #[allow(unsafe_code, reason = "the C form under test")]
    pub fn new(
        profile: &Profile,
        tables: [&Calibration; 2],
        width: usize,
        pixels: usize,
    ) -> Result<Self, String> {
        let plan = plan(profile, tables)?;
        // SAFETY: takes nothing.
        let bytes = unsafe { ffi::plain_c_bytes() };
        let mut state = vec![0u64; bytes.div_ceil(8)];
        // SAFETY: the state is as long as C asked for and aligned for 64 bits, as the structure is at
        // most; the plan has the C layout.
        unsafe { ffi::plain_c_start(state.as_mut_ptr(), &raw const plan) };
        Ok(Self {
            state,
            bands: vec![0; pixels],
            width,
        })
    }

    /// Draws a frame.
    ///
    /// # Panics
    /// If a plane or table is not as long as the picture.
    #[allow(unsafe_code, reason = "the C form under test")]
    pub fn frame(
        &mut self,
        planes: [&[u16]; 2],
        corrections: [Correction<'_>; 2],
        out: &mut [u16],
    ) -> PlainRecord {
        let pixels = self.bands.len();
        let [high, low] = planes;
        let [high_table, low_table] = corrections;
        for len in [
            high.len(),
            low.len(),
            high_table.gain_q14.len(),
            high_table.offset.len(),
            low_table.gain_q14.len(),
            low_table.offset.len(),
            out.len(),
        ] {
            assert_eq!(len, pixels, "elements of every plane");
        }
        let mut record = PlainRecord::default();
        // SAFETY: every buffer has `pixels` elements; the state was started.
        unsafe {
            ffi::plain_c_frame(
                self.state.as_mut_ptr(),
                pixels,
                self.width,
                high.as_ptr(),
                low.as_ptr(),
                high_table.gain_q14.as_ptr(),
                high_table.offset.as_ptr(),
                low_table.gain_q14.as_ptr(),
                low_table.offset.as_ptr(),
                self.bands.as_mut_ptr(),
                out.as_mut_ptr(),
                &raw mut record,
            );
        }
        record
    }

    /// The band memory.
    #[must_use]
    pub fn bands(&self) -> &[u8] {
        &self.bands
    }
}
