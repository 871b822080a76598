//! Check sums of what a session shows.

use core::fmt::{self, Write};

use crc::{CRC_32_ISO_HDLC, Crc, Digest, Table};
use glowsill_core::record::{FrameRecord, GainInUse, Spot};

use crate::moving::Room;

const CRC: Crc<u32, Table<16>> = Crc::<u32, Table<16>>::new(&CRC_32_ISO_HDLC);
static SUMS: Crc<u32, Table<16>> = CRC;

/// Running check sums of one profile on one panel.
pub(crate) struct Sums {
    pub(crate) pixels: Digest<'static, u32, Table<16>>,
    pub(crate) temperature: Digest<'static, u32, Table<16>>,
    pub(crate) grey: Digest<'static, u32, Table<16>>,
    pub(crate) band: Digest<'static, u32, Table<16>>,
    record: Digest<'static, u32, Table<16>>,
    frames: u32,
    struck: u32,
    blank: u32,
    switches: u32,
    /// The state that all pixels came from when last there was one.
    state: Option<bool>,
}

impl Sums {
    pub(crate) fn new() -> Self {
        Self {
            pixels: SUMS.digest(),
            temperature: SUMS.digest(),
            grey: SUMS.digest(),
            band: SUMS.digest(),
            record: SUMS.digest(),
            frames: 0,
            struck: 0,
            blank: 0,
            switches: 0,
            state: None,
        }
    }

    pub(crate) fn note(&mut self, record: &FrameRecord) {
        feed_record(&mut self.record, record);
        self.frames += 1;
        self.struck += u32::from(record.is_struck);
        self.blank += u32::from(record.gain == GainInUse::Blank);
        let is_low = match record.gain {
            GainInUse::High => false,
            GainInUse::Low => true,
            GainInUse::PerPixel | GainInUse::Blank => return,
        };
        self.switches += u32::from(self.state.replace(is_low) == Some(!is_low));
    }

    pub(crate) fn write(
        self,
        out: &mut dyn Write,
        profile: &str,
        room: Room,
        panel: &str,
    ) -> fmt::Result {
        writeln!(
            out,
            "{profile} {panel} {}x{}: {} frames, {} struck, {} blank, {} switches; pixels {:08x} temperature {:08x} \
             grey {:08x} band {:08x} record {:08x}",
            room.width,
            room.height,
            self.frames,
            self.struck,
            self.blank,
            self.switches,
            self.pixels.finalize(),
            self.temperature.finalize(),
            self.grey.finalize(),
            self.band.finalize(),
            self.record.finalize()
        )
    }
}

/// Bytes of a number of pixels, gathered so that the sum takes many at once.
pub(crate) fn feed<T: Copy, const B: usize>(
    digest: &mut Digest<'static, u32, Table<16>>,
    plane: &[T],
    bytes: impl Fn(T) -> [u8; B],
) {
    let mut gathered = [[0; B]; 32];
    for chunk in plane.chunks(32) {
        for (to, from) in gathered.iter_mut().zip(chunk) {
            *to = bytes(*from);
        }
        if let Some(filled) = gathered.get(..chunk.len()) {
            digest.update(filled.as_flattened());
        }
    }
}

fn feed_record(digest: &mut Digest<'static, u32, Table<16>>, record: &FrameRecord) {
    let spot = |spot: Option<Spot>| match spot {
        Some(spot) => [
            1 + u32::from(spot.temperature.to_bits()),
            u32::from(spot.x),
            u32::from(spot.y),
        ],
        None => [0; 3],
    };
    let gain = match record.gain {
        GainInUse::PerPixel => 0,
        GainInUse::High => 1,
        GainInUse::Low => 2,
        GainInUse::Blank => 3,
    };
    let numbers = [
        record.frame,
        gain,
        u32::from(record.scale_low.to_bits()),
        u32::from(record.scale_high.to_bits()),
        record.pixels,
        record.valid,
        record.from_low,
        record.coloured,
        record.saturated,
        record.invalid,
        record.disputed,
        record.replaced,
        u32::from(record.is_struck),
        u32::from(record.health.bits()),
    ];
    feed(digest, &numbers, u32::to_le_bytes);
    feed(digest, &record.in_band, u32::to_le_bytes);
    feed(digest, &spot(record.hottest), u32::to_le_bytes);
    feed(digest, &spot(record.coldest), u32::to_le_bytes);
}
