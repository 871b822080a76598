//! Health: what is wrong with a picture, and how soon that is known.
//!
//! A stale, frozen, saturated or uncalibrated picture must never look like a good one. The watch
//! finds the causes, the record carries them, and a mark strikes the picture through.

use core::fmt;

use serde::ser::SerializeSeq;
use serde::{Serialize, Serializer};

use crate::pipeline::Geometry;

/// Why a picture cannot be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Cause {
    /// The sensor's frame number stood still.
    Stale,
    /// Every gain state gives the same samples frame after frame.
    Frozen,
    /// A frame ended, or was left, before its last row, or has more rows than it should.
    DroppedRows,
    /// High gain gives the same samples, or none, while low gain is alive.
    HighStuck,
    /// Low gain gives the same samples, or none, while high gain is alive.
    LowStuck,
    /// The gain states disagree nearly everywhere: swapped, calibrated for another sensor, or one of
    /// them saturated where the other reads far less.
    GainsDisagree,
    /// Nearly every pixel is at the top of what the sensor can read.
    AllSaturated,
    /// A large share of the pixels has no valid sample.
    NoSamples,
    /// A large share of the samples lies at an end of the calibration.
    OutsideCalibration,
    /// A correction table does not match its check sum.
    CorrectionCorrupt,
    /// The stored profile was damaged; the built-in one is shown.
    ProfileFallback,
    /// More defective pixels than a picture can hide.
    TooManyDefects,
}

impl Cause {
    /// Every cause.
    pub const ALL: [Self; 12] = [
        Self::Stale,
        Self::Frozen,
        Self::DroppedRows,
        Self::HighStuck,
        Self::LowStuck,
        Self::GainsDisagree,
        Self::AllSaturated,
        Self::NoSamples,
        Self::OutsideCalibration,
        Self::CorrectionCorrupt,
        Self::ProfileFallback,
        Self::TooManyDefects,
    ];

    /// Name for records and screens, at most 18 letters.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stale => "stale",
            Self::Frozen => "frozen",
            Self::DroppedRows => "rows missing",
            Self::HighStuck => "high gain stuck",
            Self::LowStuck => "low gain stuck",
            Self::GainsDisagree => "gains disagree",
            Self::AllSaturated => "saturated",
            Self::NoSamples => "no samples",
            Self::OutsideCalibration => "off calibration",
            Self::CorrectionCorrupt => "correction damaged",
            Self::ProfileFallback => "profile damaged",
            Self::TooManyDefects => "defects",
        }
    }

    const fn bit(self) -> u16 {
        match self {
            Self::Stale => 0x001,
            Self::Frozen => 0x002,
            Self::DroppedRows => 0x004,
            Self::HighStuck => 0x008,
            Self::LowStuck => 0x010,
            Self::GainsDisagree => 0x020,
            Self::AllSaturated => 0x040,
            Self::NoSamples => 0x080,
            Self::OutsideCalibration => 0x100,
            Self::CorrectionCorrupt => 0x200,
            Self::ProfileFallback => 0x400,
            Self::TooManyDefects => 0x800,
        }
    }
}

/// A set of causes; empty is good.
///
/// ```
/// use glowsill_core::health::{Cause, Health};
/// let health = Health::GOOD.with(Cause::Frozen).with(Cause::TooManyDefects);
/// assert!(!health.is_good() && health.has(Cause::Frozen) && !health.has(Cause::Stale));
/// assert_eq!(health.bits(), 0x802);
/// ```
#[derive(Clone, Copy, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Health(u16);

impl Health {
    /// No cause at all.
    pub const GOOD: Self = Self(0);

    /// Whether nothing is wrong.
    #[must_use]
    pub const fn is_good(self) -> bool {
        self.0 == 0
    }

    /// Whether a cause is in the set.
    #[must_use]
    pub const fn has(self, cause: Cause) -> bool {
        self.0 & cause.bit() != 0
    }

    /// The set with one more cause.
    #[must_use]
    pub const fn with(self, cause: Cause) -> Self {
        Self(self.0 | cause.bit())
    }

    /// The causes of both sets.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// One bit a cause, in the order of [`Cause::ALL`].
    #[must_use]
    pub const fn bits(self) -> u16 {
        self.0
    }

    /// The causes, in the order of [`Cause::ALL`].
    pub fn causes(self) -> impl Iterator<Item = Cause> {
        Cause::ALL.into_iter().filter(move |cause| self.has(*cause))
    }
}

impl fmt::Debug for Health {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self.causes()).finish()
    }
}

impl Serialize for Health {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut names = serializer.serialize_seq(Some(self.causes().count()))?;
        for cause in self.causes() {
            names.serialize_element(cause.name())?;
        }
        names.end()
    }
}

/// From when on something is wrong. Fixed for a session.
///
/// | field | unit | default | off |
/// | --- | --- | --- | --- |
/// | `still_frames` | frames with equal samples | 8 | 0 |
/// | `hold_frames` | frames | 3 | (0 counts as 1) |
/// | `disagree_k32` | 1/32 K | 1280 (40 K) | |
/// | `disagree_permille` | of the samples valid in both states | 500 | above 1000 |
/// | `saturated_permille` | of the pixels | 950 | above 1000 |
/// | `missing_permille` | of the pixels | 250 | above 1000 |
/// | `outside_permille` | of the samples looked at | 500 | above 1000 |
/// | `defect_permille` | of the pixels | 50 | above 1000 |
/// | `table_rows` | rows of the tables checked a frame | 2 | 0 |
///
/// The values are our own: common practice, no published source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HealthPlan {
    /// Frames with equal samples after which a gain state counts as stuck; 0 is never. A source
    /// without noise, such as a recording that repeats its frames, needs 0.
    pub still_frames: u8,
    /// Bad frames before a condition is raised, and good ones in a row before it is cleared and the bad
    /// ones before them count no more: two good ones of three do not hide a fault.
    pub hold_frames: u8,
    /// Difference of the two gain states that counts as disagreement, 1/32 K.
    pub disagree_k32: u16,
    /// Share of disagreeing samples, thousandths.
    pub disagree_permille: u16,
    /// Share of saturated pixels, thousandths.
    pub saturated_permille: u16,
    /// Share of pixels without a valid sample, thousandths.
    pub missing_permille: u16,
    /// Share of samples at an end of the calibration, thousandths.
    pub outside_permille: u16,
    /// Share of pixels that the defect map names, thousandths.
    pub defect_permille: u16,
    /// Rows of the correction tables that are checked in each frame.
    pub table_rows: u8,
}

const NEVER: u16 = 1001;

impl HealthPlan {
    /// What a display in use should run with.
    pub const DEFAULT: Self = Self {
        still_frames: 8,
        hold_frames: 3,
        disagree_k32: 1280,
        disagree_permille: 500,
        saturated_permille: 950,
        missing_permille: 250,
        outside_permille: 500,
        defect_permille: 50,
        table_rows: 2,
    };

    /// Nothing is watched but rows, frame numbers and the profile: for measuring the picture itself,
    /// and for sources without noise.
    pub const OFF: Self = Self {
        still_frames: 0,
        hold_frames: 1,
        disagree_k32: u16::MAX,
        disagree_permille: NEVER,
        saturated_permille: NEVER,
        missing_permille: NEVER,
        outside_permille: NEVER,
        defect_permille: NEVER,
        table_rows: 0,
    };

    /// Most frames from the first bad one to the record that names the cause; the picture is
    /// struck through from the frame after. `None` if the plan does not watch for it.
    ///
    /// ```
    /// use glowsill_core::{health::{Cause, HealthPlan}, pipeline::Geometry};
    /// let frames = |cause| HealthPlan::DEFAULT.frames_to_detect(cause, Geometry::DEFAULT);
    /// assert_eq!(frames(Cause::Frozen), Some(9));
    /// assert_eq!(frames(Cause::AllSaturated), Some(3));
    /// assert_eq!(frames(Cause::CorrectionCorrupt), Some(240)); // two passes of 240 rows, 2 a frame
    /// ```
    #[must_use]
    pub fn frames_to_detect(&self, cause: Cause, geometry: Geometry) -> Option<u16> {
        let hold = u16::from(self.hold_frames.max(1));
        let share = |permille: u16| (permille < NEVER).then_some(hold);
        match cause {
            Cause::Stale | Cause::DroppedRows | Cause::ProfileFallback => Some(1),
            Cause::Frozen | Cause::HighStuck | Cause::LowStuck => {
                (self.still_frames > 0).then_some(u16::from(self.still_frames) + 1)
            }
            Cause::GainsDisagree => share(self.disagree_permille),
            Cause::AllSaturated => share(self.saturated_permille),
            Cause::NoSamples => share(self.missing_permille),
            Cause::OutsideCalibration => share(self.outside_permille),
            Cause::TooManyDefects => share(self.defect_permille),
            Cause::CorrectionCorrupt => (self.table_rows > 0)
                .then(|| 2 * geometry.height().div_ceil(u16::from(self.table_rows))),
        }
    }
}

impl Default for HealthPlan {
    fn default() -> Self {
        Self::DEFAULT
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cause_has_its_own_bit_and_name() {
        let mut all = Health::GOOD;
        for (i, cause) in Cause::ALL.into_iter().enumerate() {
            assert_eq!(Health::GOOD.with(cause).bits(), 1 << i);
            assert!(cause.name().len() <= 18, "{}", cause.name());
            assert!(
                Cause::ALL
                    .iter()
                    .filter(|c| c.name() == cause.name())
                    .count()
                    == 1,
                "{}",
                cause.name()
            );
            all = all.with(cause);
        }
        assert_eq!(all.causes().count(), Cause::ALL.len());
    }

    #[test]
    fn off_watches_only_what_no_source_may_do() {
        let watched: std::vec::Vec<_> = Cause::ALL
            .into_iter()
            .filter(|c| {
                HealthPlan::OFF
                    .frames_to_detect(*c, Geometry::DEFAULT)
                    .is_some()
            })
            .collect();
        assert_eq!(
            watched,
            [Cause::Stale, Cause::DroppedRows, Cause::ProfileFallback]
        );
    }
}
