//! Rows of any counts under any tables, sizes and lengths: no panic, errors where something does not fit,
//! and both forms of the pipeline the same.
#![no_main]

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::health::Cause;
use glowsill_core::panel::PanelRgb565Dithered;
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::Profile;
use glowsill_core::units::Temperature;
use libfuzzer_sys::fuzz_target;

const PROFILES: [&[u8]; 6] = [
    include_bytes!("../seeds/profile/interior-attack.bin"),
    include_bytes!("../seeds/profile/overhaul.bin"),
    include_bytes!("../seeds/profile/poor-cycle.bin"),
    include_bytes!("../seeds/profile/poor-opaque.bin"),
    include_bytes!("../seeds/profile/search.bin"),
    include_bytes!("../seeds/profile/size-up.bin"),
];

/// Numbers out of the bytes; when they are used up, a sequence that depends on them goes on.
struct Source<'d>(&'d [u8], u32);

impl Source<'_> {
    fn byte(&mut self) -> u8 {
        self.1 = self.1.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        match self.0.split_first() {
            Some((first, rest)) => {
                self.0 = rest;
                self.1 ^= u32::from(*first) << 16;
                *first
            }
            None => (self.1 >> 24) as u8,
        }
    }

    fn word(&mut self) -> u16 {
        u16::from_le_bytes([self.byte(), self.byte()])
    }

    /// A count: anything, or close to what a room gives, so that the quick ways are taken too.
    fn count(&mut self, kind: u8) -> u16 {
        match kind % 4 {
            0 => self.word(),
            1 => 4200 + u16::from(self.byte()),
            2 => {
                [0, 1, 15_564, 15_565, 16_383, 16_384, 65_534, 65_535][usize::from(self.byte() % 8)]
            }
            _ => u16::from(self.byte()) << 6,
        }
    }

    fn counts(&mut self, n: usize) -> Vec<u16> {
        let kind = self.byte();
        (0..n).map(|_| self.count(kind)).collect()
    }

    fn calibration(&mut self) -> Option<Calibration> {
        let shift = 5 + self.byte() % 5;
        let (start, rise) = (u32::from(self.word()), u32::from(self.byte()));
        let bend = u32::from(self.byte());
        let mut knot = start % 20_000;
        let knots: [Temperature; KNOTS] = core::array::from_fn(|i| {
            knot = (knot + rise + if i as u32 > bend { rise } else { 0 }).min(65_535);
            Temperature::from_bits(knot as u16)
        });
        Calibration::new(shift, knots, self.word()).ok()
    }

    fn table(&mut self, n: usize) -> (Vec<u16>, Vec<i16>) {
        let is_wild = self.byte() % 2 == 0;
        let gain = |s: &mut Self| {
            if is_wild {
                s.word()
            } else {
                16_300 + u16::from(s.byte())
            }
        };
        let offset = |s: &mut Self| {
            if is_wild {
                s.word() as i16
            } else {
                i16::from(s.byte() as i8)
            }
        };
        (
            (0..n).map(|_| gain(self)).collect(),
            (0..n).map(|_| offset(self)).collect(),
        )
    }
}

fuzz_target!(|data: &[u8]| {
    let mut source = Source(data, 1);
    let profile = Profile::from_bytes(PROFILES[usize::from(source.byte() % 6)]).expect("shipped");
    let (width, height) = (u16::from(source.byte() % 80), u16::from(source.byte() % 20));
    let Ok(geometry) = Geometry::new(width, height) else {
        assert!(width < 8 || height < 8);
        return;
    };
    let n = geometry.pixels();
    let (high, low) = (source.calibration(), source.calibration());
    let flags = source.byte();
    // Now and then a table that does not fit.
    let length = if flags & 0xC0 == 0xC0 { n - 1 } else { n };
    let tables = [source.table(length), source.table(n)];
    let defects: Vec<u8> = (0..n).map(|_| u8::from(source.byte() < 6)).collect();
    let lent = |index: usize, flag: u8| {
        (flags & flag != 0).then(|| Correction {
            gain_q14: &tables[index].0,
            offset: &tables[index].1,
        })
    };
    let sensor = SensorConfig {
        high: high.as_ref(),
        low: low.as_ref(),
        high_correction: lent(0, 1),
        low_correction: lent(1, 2),
        high_crc: (flags & 4 != 0).then_some(7),
        defects: (flags & 8 != 0).then_some(&defects),
        ..SensorConfig::default()
    };
    let mut memory = [vec![9; n], vec![9; n]];
    let len = Pipeline::scratch_len(geometry);
    let mut scratch = [vec![9; len], vec![9; len]];
    let ([ma, mb], [ra, rb]) = (&mut memory, &mut scratch);
    let (Ok(mut quick), Ok(mut plain)) = (
        Pipeline::new(geometry, &profile, sensor, ma, ra),
        Pipeline::new(geometry, &profile, sensor, mb, rb),
    ) else {
        return;
    };
    for _ in 0..3 + source.byte() % 3 {
        let (high, low) = (source.counts(n), source.counts(n));
        let (mut a, mut b) = (vec![0; n], vec![0; n]);
        let seen = quick.frame::<PanelRgb565Dithered>(Some(&high), Some(&low), &mut a);
        let stated =
            plain.frame_plain::<PanelRgb565Dithered>(Some(&high), Some(&low), &mut b, None);
        assert_eq!((seen, a), (stated, b));
        let record = seen.expect("everything fits");
        assert_eq!(
            record.valid + record.invalid,
            if record.valid == 0 && record.invalid == 0 {
                0
            } else {
                record.pixels
            }
        );
    }
    // Rows of any number and length.
    let wide = usize::from(width);
    let mut frame = quick.begin_numbered_frame(u32::from(source.byte() % 2));
    let mut taken = 0;
    for _ in 0..source.byte() % 24 {
        let kind = source.byte();
        let given = if kind < 20 {
            wide + 1 - usize::from(kind % 3)
        } else {
            wide
        };
        let (row, other) = (source.counts(given), source.counts(wide));
        let mut out = vec![0; wide];
        let low = (kind % 5 != 0).then_some(other.as_slice());
        taken += u16::from(
            frame
                .row::<PanelRgb565Dithered>(Some(&row), low, &mut out)
                .is_ok(),
        );
    }
    let ended = frame.end_frame();
    assert_eq!(ended.is_ok(), taken == height);
    if ended.is_err() {
        let row = source.counts(n);
        let mut out = vec![0; n];
        if let Ok(record) = quick.frame::<PanelRgb565Dithered>(Some(&row), Some(&row), &mut out) {
            assert!(record.is_struck && record.health.has(Cause::DroppedRows));
        }
    }
});
