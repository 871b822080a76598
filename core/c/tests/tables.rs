//! Count tables change how much a frame costs and nothing else: a display with them beside one without.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "the scene is made from small numbers"
)]

use std::ptr::{null, null_mut};

use glowsill_c::*;
use glowsill_core::packed;
use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{
    Band, BandPlan, ColourPlan, Fill, GainPlan, Profile, ProfileSpec, ScaleLaw,
};
use glowsill_core::units::Temperature;

const W: usize = 64;
const H: usize = 48;
const N: usize = W * H;

const NO_CORRECTION: CorrectionTable = CorrectionTable {
    gain_q14: null(),
    offset: null(),
    len: 0,
    crc32: 0,
    has_crc32: 0,
};

/// What sessions differ in.
#[derive(Clone, Copy)]
struct Plan {
    /// Of a count, 14 or 15.
    bits: u8,
    /// Temperature of count 0.
    zero_k: u32,
    /// Whether the scale is mostly equalised; otherwise it stands still.
    is_equalised: bool,
}

const USUAL: Plan = Plan {
    bits: 14,
    zero_k: 230,
    is_equalised: true,
};

/// Both gain states and two bands.
fn profile(is_equalised: bool) -> Vec<u8> {
    let celsius = |t: i32| Temperature::from_millicelsius(t * 1000).unwrap();
    let mut spec = ProfileSpec::grey_example();
    spec.gain = GainPlan::PerPixel {
        blend_from: celsius(105),
        blend_to: celsius(135),
        dispute_k32: 640,
    };
    if is_equalised {
        spec.scale.law = ScaleLaw::Plateau {
            low_permille: 10,
            high_permille: 990,
            plateau_permille: 30,
            weight_q8: 218,
        };
    }
    let mut plan = BandPlan {
        bands: heapless::Vec::new(),
        hysteresis_k32: 128,
        ramp_end: None,
        ceiling: None,
    };
    for (start, colour) in [(160, [235, 210, 0]), (260, [220, 115, 0])] {
        let [r, g, b] = colour;
        let band = Band {
            start: celsius(start),
            colour: Rgb888::new(r, g, b),
            fill: Fill::Flat,
        };
        plan.bands.push(band).unwrap();
    }
    spec.colour = ColourPlan::Bands(plan);
    let mut bytes = [0; packed::MAX_LEN];
    let len = Profile::new(spec).unwrap().to_bytes(&mut bytes).unwrap();
    bytes[..len].to_vec()
}

/// Counts over 200 K (high) or 800 K (low).
fn calibration(Plan { bits, zero_k, .. }: Plan, codes_x10: u32) -> CalibrationTable {
    CalibrationTable {
        knots: std::array::from_fn(|i| (zero_k * 32 + i as u32 * codes_x10 / 10) as u16),
        saturation: (1 << bits) - 384,
        shift: bits - 8,
    }
}

/// Both states' planes of a frame: a room at 22 °C (72 °F), a disc at 330 °C (626 °F) that moves, noise.
fn planes(bits: u8, frame: usize, seed: &mut u32) -> [Vec<u16>; 2] {
    let mut noise = || {
        *seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        i64::from((*seed >> 16) % 4)
    };
    [80, 20].map(|per_kelvin| {
        let counts = (0..N).map(|i| {
            let (x, y) = ((i % W) as i64 - 20 - 2 * frame as i64, (i / W) as i64 - 24);
            let scene = if x * x + y * y < 144 {
                60_300 + 200 * x
            } else {
                29_500 + 3 * x
            };
            let full = 1i64 << bits;
            let above = (scene - 23_000) * per_kelvin * (full >> 14) / 100 + noise();
            above.clamp(0, full - 1) as u16
        });
        counts.collect()
    })
}

struct Display {
    storage: Box<Storage>,
    memory: Vec<u8>,
    scratch: Vec<u16>,
}

/// What one frame gave, in all three formats.
type Seen = (Record, Vec<u16>, Vec<u16>, Vec<u8>);

impl Display {
    fn new() -> Self {
        Self {
            storage: Box::new(Storage {
                bytes: [0; STORAGE_BYTES],
            }),
            memory: vec![0; N],
            scratch: vec![0; 6 * W],
        }
    }

    /// Builds the display; `tables` may be null with no bytes.
    fn init(&mut self, plan: Plan, tables: *mut Tables, tables_bytes: usize) -> Status {
        let profile = profile(plan.is_equalised);
        let (high, low) = (calibration(plan, 255), calibration(plan, 1025));
        let config = Config {
            width: W as u16,
            height: H as u16,
            profile: profile.as_ptr(),
            profile_len: profile.len(),
            high: &raw const high,
            low: &raw const low,
            high_correction: NO_CORRECTION,
            low_correction: NO_CORRECTION,
            defects: null(),
            defects_len: 0,
            memory: self.memory.as_mut_ptr(),
            memory_len: N,
            scratch: self.scratch.as_mut_ptr(),
            scratch_len: 6 * W,
            health: null(),
            tables,
            tables_bytes,
        };
        let storage = &raw mut *self.storage;
        // SAFETY: live buffers of the lengths given.
        unsafe { glowsill_init(storage, STORAGE_BYTES, &raw const config) }
    }

    /// Four frames, each in every format; `tables` may be null.
    fn session(&mut self, plan: Plan, tables: *mut Tables) -> Vec<Seen> {
        let tables_bytes = if tables.is_null() { 0 } else { TABLES_BYTES };
        assert_eq!(self.init(plan, tables, tables_bytes), Status::Ok);
        let storage = &raw mut *self.storage;
        let mut seed = 1;
        (0..4)
            .map(|frame| {
                let [high, low] = planes(plan.bits, frame, &mut seed);
                let (high, low) = (high.as_ptr(), low.as_ptr());
                let (mut words, mut dithered) = (vec![0; N], vec![0; N]);
                let mut bytes = vec![0; 3 * N];
                let mut record = std::mem::MaybeUninit::uninit();
                // SAFETY: live buffers of the lengths given; the record is written before it is read.
                unsafe {
                    let out = words.as_mut_ptr();
                    let a = glowsill_frame_rgb565(storage, high, N, low, N, out, N, null_mut());
                    let out = dithered.as_mut_ptr();
                    let b = glowsill_frame_rgb565_dithered(
                        storage,
                        high,
                        N,
                        low,
                        N,
                        out,
                        N,
                        null_mut(),
                    );
                    let (out, place) = (bytes.as_mut_ptr(), record.as_mut_ptr());
                    let c = glowsill_frame_rgb888(storage, high, N, low, N, out, 3 * N, place);
                    assert_eq!([a, b, c], [Status::Ok; 3]);
                    (record.assume_init(), words, dithered, bytes)
                }
            })
            .collect()
    }
}

fn filled(byte: u8) -> Box<Tables> {
    Box::new(Tables {
        bytes: [byte; TABLES_BYTES],
    })
}

fn bytes(tables: &Tables) -> &[u8; TABLES_BYTES] {
    // SAFETY: filled when it was made, and written since by the display alone.
    unsafe { &tables.bytes }
}

#[test]
fn pictures_and_records_are_the_same_with_and_without_tables() {
    let without = Display::new().session(USUAL, null_mut());
    let last = &without[3].0;
    assert!(last.coloured > 300 && last.from_low > 300 && last.health == 0);

    let (mut display, mut tables) = (Display::new(), filled(0xA5));
    assert!(display.session(USUAL, &raw mut *tables) == without);
    // They were used, and nothing behind what they take was touched.
    let (used, rest) = bytes(&tables).split_at(glowsill_tables_bytes());
    assert!(used.iter().filter(|byte| **byte != 0).count() > 1000);
    assert!(rest.iter().all(|byte| *byte == 0xA5));
}

#[test]
fn what_a_session_left_in_tables_says_nothing_to_the_next() {
    let (mut display, mut tables) = (Display::new(), filled(0xA5));
    let still = Plan {
        is_equalised: false,
        ..USUAL
    };
    let warmer = Plan {
        zero_k: 240,
        ..still
    };
    let finer = Plan { bits: 15, ..warmer };
    for (number, plan) in [still, warmer, USUAL, finer, still].into_iter().enumerate() {
        let with = display.session(plan, &raw mut *tables);
        let without = Display::new().session(plan, null_mut());
        assert!(with == without, "session {number}");
    }
}

#[test]
fn refused_tables_are_not_touched() {
    let mut tables = filled(0xA5);
    let status = Display::new().init(USUAL, &raw mut *tables, glowsill_tables_bytes() - 1);
    assert_eq!(status, Status::TablesTooSmall);
    assert!(bytes(&tables).iter().all(|byte| *byte == 0xA5));
}
