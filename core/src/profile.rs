//! Display profile: the written form, and the validated form that cannot be wrong.
//!
//! [`ProfileSpec`] is what a file or a flash page holds. [`Profile`] is a `ProfileSpec` that passed
//! [`Profile::new`]; the pipeline takes nothing else, so no limit is checked again per pixel.

use heapless::{String, Vec};
use serde::{Deserialize, Serialize};

use crate::panel::Rgb888;
use crate::units::Temperature;

pub use crate::validate::{Field, ProfileError, Unit};

/// Most bands a colour plan holds.
pub const MAX_BANDS: usize = 6;
/// Most stops a pseudo-colour plan holds.
pub const MAX_STOPS: usize = 12;

/// One complete display behaviour, as written down.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProfileSpec {
    /// Name shown to people, 1 to 32 bytes.
    pub name: String<32>,
    /// How the two gain states become one temperature picture.
    pub gain: GainPlan,
    /// How grey is assigned.
    pub scale: ScalePlan,
    /// What is coloured, and when.
    pub colour: ColourPlan,
    /// How colour meets the grey picture.
    pub overlay: Overlay,
}

/// How the two gain states become one temperature picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum GainPlan {
    /// Each pixel chooses, with a soft transition in high-gain temperature.
    PerPixel {
        /// Up to here only high gain is used.
        blend_from: Temperature,
        /// From here only low gain is used; at least 1 K above `blend_from`.
        blend_to: Temperature,
        /// Where both samples are valid and differ by more than this (1/32 K, 1 K to 200 K), the
        /// hotter one is shown and the pixel is counted as disputed.
        dispute_k32: u16,
    },
    /// The whole frame switches.
    WholeFrame(WholeFramePlan),
    /// Only the sensitive state.
    HighOnly,
    /// Only the wide-range state.
    LowOnly,
}

/// Switching rule of a whole-frame gain plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct WholeFramePlan {
    /// Pixels above this count toward entering low gain.
    pub enter_above: Temperature,
    /// Share of valid pixels (thousandths, 1 to 1000) that must be above it.
    pub enter_permille: u16,
    /// For this many frames in a row (1 to 255).
    pub enter_frames: u8,
    /// Pixels above this keep low gain; not above `enter_above`.
    pub leave_above: Temperature,
    /// Low gain is left when at most this share (thousandths, 0 to 1000) is above `leave_above`.
    pub leave_permille: u16,
    /// For this many frames in a row (1 to 255).
    pub leave_frames: u8,
    /// Frames without a picture at each switch, as a shutter makes (0 to 60).
    pub blank_frames: u8,
}

/// How grey is assigned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScalePlan {
    /// The law.
    pub law: ScaleLaw,
    /// Temperature of black on the first frame, before any statistics exist.
    pub start_low: Temperature,
    /// Temperature of white on the first frame.
    pub start_high: Temperature,
    /// Frames (1 to 255) for 63 % of a move when the scale moves toward hotter; 1 is at once.
    pub frames_to_hotter: u8,
    /// The same when the scale moves toward colder.
    pub frames_to_colder: u8,
    /// The scale never spans less than this (1/32 K; 2 K to 500 K).
    pub min_span_k32: u16,
    /// Grey codes (of 255) per kelvin that no part of the scale exceeds (1 to 128).
    pub max_grey_per_kelvin: u8,
}

/// The law that finds the ends of the scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum ScaleLaw {
    /// The start values stay.
    Fixed,
    /// From the coldest to the hottest valid pixel.
    Extremes,
    /// From one share of the pixels to another (thousandths, 0 to 1000, `low` < `high`).
    Percentile {
        /// Share of pixels below black.
        low_permille: u16,
        /// Share of pixels below white.
        high_permille: u16,
    },
    /// Plateau-limited equalisation between two shares, mixed with the linear law.
    Plateau {
        /// Share of pixels below the first used bin.
        low_permille: u16,
        /// Share of pixels below the last used bin.
        high_permille: u16,
        /// A bin counts for at most this share of the valid pixels (thousandths, 1 to 1000).
        plateau_permille: u16,
        /// 256 is equalisation alone, 0 the linear law alone.
        weight_q8: u16,
    },
}

/// What is coloured, and when.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum ColourPlan {
    /// Grey only.
    GreyOnly,
    /// Colour above an onset, in bands of apparent temperature.
    Bands(BandPlan),
    /// Hue over the whole grey range, the teaching example of a picture that misleads.
    PseudoColour {
        /// Colours at equal distances from black to white, 2 to [`MAX_STOPS`].
        stops: Vec<Rgb888, MAX_STOPS>,
    },
}

/// Bands of colour above an onset.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BandPlan {
    /// 1 to [`MAX_BANDS`] bands; the first one starts at the onset. Starts rise by at least 1 K.
    pub bands: Vec<Band, MAX_BANDS>,
    /// A pixel leaves a band only this far below its start (1/32 K; 0 to 50 K).
    pub hysteresis_k32: u16,
    /// Where the last band's ramp ends; needed exactly when the last band is a ramp.
    pub ramp_end: Option<RampEnd>,
    /// Above it a distinct solid colour says that nothing more can be told.
    pub ceiling: Option<Ceiling>,
}

impl BandPlan {
    /// Gives the colour that a band runs to: its own if it is flat or nothing follows.
    ///
    /// A band number (from 0) beyond the plan gives black.
    #[must_use]
    pub fn end_colour(&self, index: usize) -> Rgb888 {
        let Some(band) = self.bands.get(index) else {
            return Rgb888::default();
        };
        match band.fill {
            Fill::Flat => band.colour,
            Fill::Ramp => self
                .bands
                .get(index + 1)
                .map(|next| next.colour)
                .or(self.ramp_end.map(|end| end.colour))
                .unwrap_or(band.colour),
        }
    }
}

/// A temperature interval with its own hue.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Band {
    /// Apparent temperature at which the band starts.
    pub start: Temperature,
    /// Colour at the start.
    pub colour: Rgb888,
    /// Flat, or a ramp to the next band's colour.
    pub fill: Fill,
}

/// Course of the colour inside a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Fill {
    /// One colour.
    Flat,
    /// From this band's colour to the next one's (the last band's: to the ramp end's).
    Ramp,
}

/// End of the last band's ramp.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RampEnd {
    /// Apparent temperature at which the ramp ends; above it the colour stays.
    pub temperature: Temperature,
    /// Colour at the end.
    pub colour: Rgb888,
}

/// The saturated treatment, always opaque.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ceiling {
    /// Apparent temperature at which it starts; above every band's start.
    pub start: Temperature,
    /// Its colour.
    pub colour: Rgb888,
}

/// How colour meets the grey picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Overlay {
    /// The colour alone: what stands behind it is gone.
    Opaque,
    /// Constant opacity (0 is the grey picture, 255 the colour).
    Veil {
        /// Opacity, 0 to 255.
        opacity: u8,
    },
    /// Hue of the band, luminance strictly ordered by the grey picture: black at grey 0, the band's
    /// colour at `knee`, then toward white by `lift` at grey 255.
    Tint {
        /// Grey at which the band's own colour stands, 1 to 254.
        knee: u8,
        /// How far toward white grey 255 goes, 1 to 255.
        lift: u8,
    },
}

/// A [`ProfileSpec`] whose every field is within its limits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Profile(pub(crate) ProfileSpec);

impl Profile {
    /// Validates a written profile.
    ///
    /// # Errors
    /// [`ProfileError`] names the first field that is out of its limits, its value and the limits.
    ///
    /// ```
    /// use glowsill_core::profile::{Field, Overlay, Profile, ProfileSpec};
    /// let mut spec = ProfileSpec::grey_example();
    /// assert!(Profile::new(spec.clone()).is_ok());
    /// spec.scale.max_grey_per_kelvin = 0;
    /// let error = Profile::new(spec).unwrap_err();
    /// assert_eq!((error.field, error.value), (Field::MaxGreyPerKelvin, 0));
    /// ```
    pub fn new(spec: ProfileSpec) -> Result<Self, ProfileError> {
        crate::validate::check(&spec)?;
        Ok(Self(spec))
    }

    /// Gives the written form.
    #[must_use]
    pub const fn spec(&self) -> &ProfileSpec {
        &self.0
    }

    /// Apparent temperature at which colour starts, if the plan has bands.
    #[must_use]
    pub fn onset(&self) -> Option<Temperature> {
        match &self.0.colour {
            ColourPlan::Bands(plan) => plan.bands.first().map(|band| band.start),
            _ => None,
        }
    }
}

impl ProfileSpec {
    /// A grey-only profile over -20 °C to 150 °C (253.15 K to 423.15 K): a start for examples.
    #[must_use]
    pub fn grey_example() -> Self {
        let mut name = String::new();
        // The literal fits the capacity.
        let _ = name.push_str("Grey example");
        Self {
            name,
            gain: GainPlan::HighOnly,
            scale: ScalePlan {
                law: ScaleLaw::Fixed,
                start_low: Temperature::from_bits(8101),
                start_high: Temperature::from_bits(13_541),
                frames_to_hotter: 1,
                frames_to_colder: 1,
                min_span_k32: 320,
                max_grey_per_kelvin: 16,
            },
            colour: ColourPlan::GreyOnly,
            overlay: Overlay::Opaque,
        }
    }
}
