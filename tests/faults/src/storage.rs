//! Wrappers round what is stored: tables and profile bytes are not what was written.

use glowsill_core::calibration::Calibration;
use glowsill_core::packed;
use glowsill_core::profile::Profile;
use glowsill_core::units::Temperature;

use crate::Sequence;
use crate::scene::Stream;

/// What is wrong from power-up on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Storage {
    /// One bit of one gain of high gain's correction.
    HighGainBit,
    /// One bit of one offset of high gain's correction.
    HighOffsetBit,
    /// One bit of one gain of low gain's correction.
    LowGainBit,
    /// One bit of one offset of low gain's correction.
    LowOffsetBit,
    /// The profile's bytes.
    Profile(Bytes),
    /// Defects all over the picture, thousandths of the pixels.
    Scattered(usize),
    /// The left tenth of the columns is defective.
    Columns,
    /// Both calibrations end at 240 K (-33 °C, -28 °F), below everything in view.
    EndsTooLow,
    /// Both calibrations start at 1100 K (827 °C, 1520 °F), above everything in view.
    StartsTooHigh,
    /// Each gain state has the other's calibration.
    CalibrationsExchanged,
}

/// Which bytes of a stored profile are damaged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bytes {
    /// A bit of the mark.
    Mark,
    /// A bit of the version.
    Version,
    /// A bit of the length.
    Length,
    /// A bit of the body.
    Body,
    /// A bit of the check sum.
    CheckSum,
    /// The end is missing.
    Cut,
    /// Every byte is FF, as in erased flash.
    Erased,
    /// Every byte is 0.
    Zero,
    /// A byte of the body is lost, and the ones behind it have moved up.
    Moved,
}

/// What a pipeline is built from.
pub struct Stored {
    /// Calibrations of high and low gain.
    pub calibrations: (Calibration, Calibration),
    /// Corrections of high and low gain.
    pub corrections: [(Vec<u16>, Vec<i16>); 2],
    /// Their check sums as they were written.
    pub sums: [u32; 2],
    /// Defect map.
    pub defects: Vec<u8>,
    /// Packed profile.
    pub profile: Vec<u8>,
}

impl Stored {
    /// What was written for a stream and a profile.
    #[must_use]
    pub fn new(stream: &Stream, profile: &Profile) -> Self {
        let mut bytes = vec![0; packed::MAX_LEN];
        let len = profile.to_bytes(&mut bytes).unwrap();
        bytes.truncate(len);
        let sum = |(gain_q14, offset): &(Vec<u16>, Vec<i16>)| {
            glowsill_core::pipeline::Correction { gain_q14, offset }.crc32()
        };
        Self {
            calibrations: stream.calibrations.clone(),
            sums: [sum(&stream.corrections[0]), sum(&stream.corrections[1])],
            corrections: stream.corrections.clone(),
            defects: stream.defects.clone(),
            profile: bytes,
        }
    }

    /// Damages it.
    pub fn damage(&mut self, storage: Storage, random: &mut Sequence) {
        let pixel = random.below(self.defects.len());
        let bit = random.below(16);
        match storage {
            Storage::HighGainBit => self.corrections[0].0[pixel] ^= 1 << bit,
            Storage::HighOffsetBit => self.corrections[0].1[pixel] ^= 1 << bit,
            Storage::LowGainBit => self.corrections[1].0[pixel] ^= 1 << bit,
            Storage::LowOffsetBit => self.corrections[1].1[pixel] ^= 1 << bit,
            Storage::Profile(bytes) => damage(&mut self.profile, bytes, random),
            Storage::Scattered(permille) => {
                let needed = (self.defects.len() * permille).div_ceil(1000);
                while self.defects.iter().filter(|defect| **defect != 0).count() < needed {
                    let at = random.below(self.defects.len());
                    self.defects[at] = 1;
                }
            }
            Storage::Columns => {
                let width = self.defects.len() / self.height();
                for (i, defect) in self.defects.iter_mut().enumerate() {
                    *defect |= u8::from(i % width < width.div_ceil(10));
                }
            }
            Storage::EndsTooLow => self.clamp_knots(0, 240 * 32),
            Storage::StartsTooHigh => self.clamp_knots(1100 * 32, u16::MAX),
            Storage::CalibrationsExchanged => {
                core::mem::swap(&mut self.calibrations.0, &mut self.calibrations.1);
            }
        }
    }

    /// Rows; the sizes of the campaign are three high to four wide, or square.
    fn height(&self) -> usize {
        let pixels = self.defects.len();
        (8..=1024)
            .find(|height| height * height * 4 == pixels * 3 || height * height == pixels)
            .unwrap()
    }

    fn clamp_knots(&mut self, least: u16, most: u16) {
        for table in [&mut self.calibrations.0, &mut self.calibrations.1] {
            let knots = table
                .knots()
                .map(|knot| Temperature::from_bits(knot.to_bits().clamp(least, most)));
            *table = Calibration::new(table.shift(), knots, table.saturation()).unwrap();
        }
    }
}

fn damage(bytes: &mut Vec<u8>, class: Bytes, random: &mut Sequence) {
    let end = bytes.len();
    let span = match class {
        Bytes::Mark => 0..4,
        Bytes::Version => 4..5,
        Bytes::Length => 5..7,
        Bytes::Body | Bytes::Moved => 7..end - 4,
        Bytes::CheckSum => end - 4..end,
        Bytes::Cut => return bytes.truncate(random.below(end)),
        Bytes::Erased => return bytes.fill(0xFF),
        Bytes::Zero => return bytes.fill(0),
    };
    let at = span.start + random.below(span.len());
    if class == Bytes::Moved {
        bytes.remove(at);
    } else {
        bytes[at] ^= 1 << random.below(8);
    }
}
