//! Check sums of the correction tables, taken a few rows a frame.

use crc::{CRC_32_ISO_HDLC, Crc, Digest};

use crate::stage::correct::Correction;

static TABLE_CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

impl Correction<'_> {
    /// Check sum of the table: CRC-32 as in IEEE 802.3 over each pixel's gain and offset, both
    /// little-endian.
    ///
    /// ```
    /// use glowsill_core::pipeline::Correction;
    /// let table = Correction { gain_q14: &[0x3231, 0x3635], offset: &[0x3433, 0x3837] };
    /// // The bytes are the digits "12345678".
    /// assert_eq!(table.crc32(), 0x9AE0_DAAF);
    /// ```
    #[must_use]
    pub fn crc32(&self) -> u32 {
        let mut digest = TABLE_CRC.digest();
        self.feed(&mut digest, 0, self.gain_q14.len());
        digest.finalize()
    }

    fn feed(&self, digest: &mut Digest<'static, u32>, start: usize, end: usize) {
        if let (Some(gain), Some(offset)) =
            (self.gain_q14.get(start..end), self.offset.get(start..end))
        {
            for (gain, offset) in gain.iter().zip(offset) {
                digest.update(&gain.to_le_bytes());
                digest.update(&offset.to_le_bytes());
            }
        }
    }
}

/// Goes through a correction table a few rows a frame.
pub(super) struct TableCheck {
    digest: Digest<'static, u32>,
    pub(super) is_corrupt: bool,
}

impl TableCheck {
    pub(super) fn new() -> Self {
        Self {
            digest: TABLE_CRC.digest(),
            is_corrupt: false,
        }
    }

    pub(super) fn pass(
        &mut self,
        table: Option<Correction<'_>>,
        stored: Option<u32>,
        span: (usize, usize),
        is_last: bool,
    ) {
        let (Some(table), Some(stored)) = (table, stored) else {
            return;
        };
        table.feed(&mut self.digest, span.0, span.1);
        if is_last {
            let digest = core::mem::replace(&mut self.digest, TABLE_CRC.digest());
            self.is_corrupt = digest.finalize() != stored;
        }
    }
}
