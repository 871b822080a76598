//! Wrong calls give a code, and leave what was right usable.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a failing helper fails its test"
)]
#![allow(clippy::cast_possible_truncation, reason = "small loop counters")]

use std::ffi::CStr;
use std::ptr::{null, null_mut};

use glowsill_c::*;
use glowsill_core::calibration::Calibration;
use glowsill_core::packed;
use glowsill_core::profile::{Profile, ProfileSpec};

const W: usize = 16;
const H: usize = 8;
const N: usize = W * H;

/// Everything one display needs, each piece on its own.
struct Parts {
    storage: Box<Storage>,
    memory: Vec<u8>,
    scratch: Vec<u16>,
    table: Box<CalibrationTable>,
    profile: Vec<u8>,
    gain: Vec<u16>,
    offset: Vec<i16>,
    tables: Box<Tables>,
    config: Config,
}

const NO_CORRECTION: CorrectionTable = CorrectionTable {
    gain_q14: null(),
    offset: null(),
    len: 0,
    crc32: 0,
    has_crc32: 0,
};

fn parts() -> Parts {
    let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
    let mut bytes = [0; packed::MAX_LEN];
    let len = profile.to_bytes(&mut bytes).unwrap();
    let identity = Calibration::identity();
    let table = Box::new(CalibrationTable {
        knots: identity.knots().map(|knot| knot.to_bits()),
        saturation: identity.saturation(),
        shift: identity.shift(),
    });
    let mut parts = Parts {
        storage: Box::new(Storage {
            bytes: [0; STORAGE_BYTES],
        }),
        memory: vec![0; N],
        scratch: vec![0; 6 * W],
        table,
        profile: bytes[..len].to_vec(),
        gain: vec![16_384; N],
        offset: vec![0; N],
        // What was in the memory before must not matter.
        tables: Box::new(Tables {
            bytes: [0xA5; TABLES_BYTES],
        }),
        config: Config {
            width: W as u16,
            height: H as u16,
            profile: null(),
            profile_len: len,
            high: null(),
            low: null(),
            high_correction: NO_CORRECTION,
            low_correction: NO_CORRECTION,
            defects: null(),
            defects_len: 0,
            memory: null_mut(),
            memory_len: N,
            scratch: null_mut(),
            scratch_len: 6 * W,
            health: null(),
            tables: null_mut(),
            tables_bytes: 0,
        },
    };
    parts.config.profile = parts.profile.as_ptr();
    parts.config.high = &raw const *parts.table;
    parts.config.memory = parts.memory.as_mut_ptr();
    parts.config.scratch = parts.scratch.as_mut_ptr();
    parts
}

impl Parts {
    fn init(&mut self) -> Status {
        // SAFETY: every pointer is null or leads to a live buffer of the length given, or of more.
        unsafe {
            glowsill_init(
                &raw mut *self.storage,
                STORAGE_BYTES,
                &raw const self.config,
            )
        }
    }

    fn storage(&mut self) -> *mut Storage {
        &raw mut *self.storage
    }

    fn begin(&mut self) -> Status {
        // SAFETY: the storage is all 0 or was initialised.
        unsafe { glowsill_begin_frame(self.storage()) }
    }

    fn row(&mut self, high: &[u16], out: &mut [u16]) -> Status {
        let storage = self.storage();
        // SAFETY: live buffers of the lengths given.
        unsafe {
            let (high, high_len) = (high.as_ptr(), high.len());
            let (out, out_len) = (out.as_mut_ptr(), out.len());
            glowsill_row_rgb565(storage, high, high_len, null(), 0, out, out_len)
        }
    }

    fn end(&mut self, record: *mut Record) -> Status {
        // SAFETY: null or a live record.
        unsafe { glowsill_end_frame(self.storage(), record) }
    }

    /// A whole good frame; gives its record.
    fn frame(&mut self) -> Record {
        assert_eq!(self.begin(), Status::Ok);
        let mut out = [0; W];
        for _ in 0..H {
            assert_eq!(self.row(&[10_821; W], &mut out), Status::Ok);
        }
        // Source: docs/pipeline.md, 65 °C in the middle of -20 °C to 150 °C is grey 128.
        assert_eq!(out[0], 0x8410);
        let mut record = std::mem::MaybeUninit::uninit();
        assert_eq!(self.end(record.as_mut_ptr()), Status::Ok);
        // SAFETY: written by a call that ended with Ok.
        unsafe { record.assume_init() }
    }
}

#[test]
fn nothing_works_before_init_and_null_is_named() {
    let mut parts = parts();
    assert_eq!(parts.begin(), Status::NotReady);
    assert_eq!(parts.row(&[0; W], &mut [0; W]), Status::NotReady);
    assert_eq!(parts.end(null_mut()), Status::NotReady);
    let storage = parts.storage();
    // SAFETY: null pointers, which every function must refuse, and a storage of zeros.
    unsafe {
        assert_eq!(glowsill_reset(storage), Status::NotReady);
        assert_eq!(glowsill_profile_problem(storage), Status::NotReady);
        assert_eq!(glowsill_begin_frame(null_mut()), Status::NullPointer);
        assert_eq!(
            glowsill_begin_numbered_frame(null_mut(), 1),
            Status::NullPointer
        );
        assert_eq!(
            glowsill_end_frame(null_mut(), null_mut()),
            Status::NullPointer
        );
        assert_eq!(glowsill_reset(null_mut()), Status::NullPointer);
        assert_eq!(glowsill_profile_problem(null_mut()), Status::NullPointer);
        assert_eq!(
            glowsill_init(storage, STORAGE_BYTES, null()),
            Status::NullPointer
        );
        let config = &raw const parts.config;
        assert_eq!(
            glowsill_init(null_mut(), STORAGE_BYTES, config),
            Status::NullPointer
        );
        assert_eq!(
            glowsill_init(storage, glowsill_storage_bytes() - 1, config),
            Status::StorageTooSmall
        );
        let inside = storage.cast::<u8>().add(1).cast::<Storage>();
        assert_eq!(
            glowsill_init(inside, STORAGE_BYTES - 1, config),
            Status::Misaligned
        );
        let mut sum = 0;
        assert_eq!(
            glowsill_correction_crc32(null(), &raw mut sum),
            Status::NullPointer
        );
        assert_eq!(
            glowsill_correction_crc32(&NO_CORRECTION, &raw mut sum),
            Status::NullPointer
        );
        assert_eq!(
            glowsill_frame_rgb888(null_mut(), null(), 0, null(), 0, null_mut(), 0, null_mut()),
            Status::NullPointer
        );
    }
    assert_eq!(parts.init(), Status::Ok);
    assert_eq!(parts.frame().valid, 128);
}

#[test]
fn every_wrong_part_of_a_configuration_has_its_own_code() {
    let check = |change: &dyn Fn(&mut Parts), wanted: Status| {
        let mut parts = parts();
        assert_eq!(parts.init(), Status::Ok);
        assert_eq!(parts.frame().frame, 0);
        change(&mut parts);
        assert_eq!(parts.init(), wanted);
        // After a refusal the storage holds no display, although there was one.
        assert_eq!(parts.begin(), Status::NotReady, "{wanted:?}");
    };
    check(&|p| p.config.width = 7, Status::Geometry);
    check(&|p| p.config.height = 1025, Status::Geometry);
    check(&|p| p.config.memory_len = N - 1, Status::MemoryLength);
    check(&|p| p.config.memory = null_mut(), Status::NullPointer);
    check(&|p| p.config.scratch_len = 6 * W - 1, Status::ScratchLength);
    check(&|p| p.config.scratch = null_mut(), Status::NullPointer);
    check(&|p| p.config.high = null(), Status::NoHighCalibration);
    check(&|p| p.table.shift = 5, Status::CalibrationShift);
    check(&|p| p.table.saturation = 0, Status::CalibrationSaturation);
    check(&|p| p.table.knots[200] = 3, Status::CalibrationFalls);
    check(&|p| p.config.profile = null(), Status::NullPointer);
    check(
        &|p| {
            p.config.defects = p.profile.as_ptr();
            p.config.defects_len = N - 1;
        },
        Status::DefectsLength,
    );
    check(
        &|p| {
            p.config.high_correction.gain_q14 = p.gain.as_ptr();
            p.config.high_correction.len = N;
        },
        Status::NullPointer,
    );
    check(
        &|p| {
            p.config.low_correction.gain_q14 = p.gain.as_ptr();
            p.config.low_correction.offset = p.offset.as_ptr();
            p.config.low_correction.len = N + 1;
        },
        Status::CorrectionLength,
    );
    check(
        &|p| p.config.scratch = p.scratch.as_mut_ptr().cast::<u8>().wrapping_add(1).cast(),
        Status::Misaligned,
    );
    check(
        &|p| p.config.memory = p.scratch.as_mut_ptr().cast(),
        Status::Overlap,
    );
    check(&|p| p.config.memory = p.storage().cast(), Status::Overlap);
    let lend = |p: &mut Parts, bytes| {
        p.config.tables = &raw mut *p.tables;
        p.config.tables_bytes = bytes;
    };
    check(
        &|p| lend(p, glowsill_tables_bytes() - 1),
        Status::TablesTooSmall,
    );
    check(&|p| lend(p, 0), Status::TablesTooSmall);
    check(&|p| p.config.tables_bytes = 1, Status::NullPointer);
    check(
        &|p| {
            lend(p, TABLES_BYTES - 4);
            p.config.tables = p.config.tables.wrapping_byte_add(4);
        },
        Status::Misaligned,
    );
    check(
        &|p| {
            lend(p, TABLES_BYTES);
            p.config.scratch = p.config.tables.wrapping_byte_add(TABLES_BYTES - 2).cast();
        },
        Status::Overlap,
    );
}

#[test]
fn a_wrong_order_of_calls_gives_a_code_and_the_frame_goes_on() {
    let mut parts = parts();
    assert_eq!(parts.init(), Status::Ok);
    let (good, mut out) = ([10_821; W], [0; W]);
    assert_eq!(parts.row(&good, &mut out), Status::NoFrame);
    assert_eq!(parts.end(null_mut()), Status::NoFrame);
    assert_eq!(parts.begin(), Status::Ok);
    assert_eq!(parts.row(&good[..W - 1], &mut out), Status::SamplesLength);
    assert_eq!(parts.row(&good, &mut out[..W - 1]), Status::OutputLength);
    assert_eq!(parts.row(&[], &mut out), Status::SamplesLength);
    for _ in 0..H {
        assert_eq!(parts.row(&good, &mut out), Status::Ok);
    }
    assert_eq!(parts.row(&good, &mut out), Status::TooManyRows);
    let mut record = parts_record();
    assert_eq!(parts.end(&raw mut record), Status::Ok);
    assert_eq!((record.valid, record.health), (128, HEALTH_DROPPED_ROWS));
    assert_eq!(parts.end(null_mut()), Status::NoFrame);
    // SAFETY: an initialised storage.
    assert_eq!(unsafe { glowsill_reset(parts.storage()) }, Status::Ok);
    assert_eq!(parts.frame().frame, 0);

    // A frame that is left, and one that ends too early, strike out the next picture.
    assert_eq!(parts.begin(), Status::Ok);
    assert_eq!(parts.row(&good, &mut out), Status::Ok);
    assert_eq!(parts.begin(), Status::FrameAbandoned);
    assert_eq!(parts.end(null_mut()), Status::Incomplete);
    let storage = parts.storage();
    let mut picture = [0u8; 3 * N];
    let plane = [10_821; N];
    // SAFETY: live buffers of the lengths given.
    let status = unsafe {
        let out = picture.as_mut_ptr();
        glowsill_frame_rgb888(
            storage,
            plane.as_ptr(),
            N,
            null(),
            0,
            out,
            3 * N,
            &raw mut record,
        )
    };
    assert_eq!((status, record.is_struck), (Status::Ok, 1));
    assert_eq!(record.health & HEALTH_DROPPED_ROWS, HEALTH_DROPPED_ROWS);
    assert_eq!(picture[..3], [0; 3], "the first bar is black");
    // SAFETY: as above.
    unsafe {
        assert_eq!(glowsill_reset(storage), Status::Ok);
    }
    let after = parts.frame();
    assert_eq!((after.frame, after.is_struck, after.health), (0, 0, 0));
}

fn parts_record() -> Record {
    let spot = Spot {
        temperature: 0,
        x: 0,
        y: 0,
    };
    Record {
        frame: 77,
        pixels: 0,
        valid: 0,
        from_low: 0,
        coloured: 0,
        in_band: [0; 7],
        saturated: 0,
        invalid: 0,
        disputed: 0,
        replaced: 0,
        scale_low: 0,
        scale_high: 0,
        hottest: spot,
        coldest: spot,
        health: 0,
        gain: 0,
        is_struck: 0,
    }
}

#[test]
fn buffers_may_not_overlap_what_is_written() {
    let mut parts = parts();
    assert_eq!(parts.init(), Status::Ok);
    assert_eq!(parts.begin(), Status::Ok);
    let (storage, scratch, memory) = (parts.storage(), parts.config.scratch, parts.config.memory);
    let mut words = [0u16; 2 * W];
    let (words, good) = (words.as_mut_ptr(), [10_821u16; W]);
    // SAFETY: live buffers; those that overlap must be refused before they are used.
    unsafe {
        let row = |high: *const u16, out| glowsill_row_rgb565(storage, high, W, null(), 0, out, W);
        assert_eq!(row(words, words), Status::Overlap);
        assert_eq!(row(words, words.add(W - 1)), Status::Overlap);
        assert_eq!(row(good.as_ptr(), scratch), Status::Overlap);
        assert_eq!(row(good.as_ptr(), memory.cast()), Status::Overlap);
        assert_eq!(row(good.as_ptr(), storage.cast()), Status::Overlap);
        assert_eq!(row(scratch, words), Status::Overlap);
        let odd = words.cast::<u8>().add(1).cast::<u16>();
        assert_eq!(row(good.as_ptr(), odd), Status::Misaligned);
        assert_eq!(row(good.as_ptr(), null_mut()), Status::NullPointer);
        assert_eq!(row(null(), words), Status::NullPointer);
        assert_eq!(
            glowsill_row_rgb888(
                storage,
                good.as_ptr(),
                W,
                null(),
                0,
                words.cast(),
                3 * W - 1
            ),
            Status::OutputLength
        );
        assert_eq!(
            glowsill_row_rgb565(storage, null(), 0, null(), 0, words, W),
            Status::NoHighSamples
        );
        assert_eq!(
            row(words, words.add(W)),
            Status::Ok,
            "side by side is apart"
        );
        assert_eq!(glowsill_end_frame(storage, scratch.cast()), Status::Overlap);
        let record = words.cast::<u8>().add(1).cast::<Record>();
        assert_eq!(glowsill_end_frame(storage, record), Status::Misaligned);
    }
}

#[test]
fn a_moved_storage_is_refused() {
    let mut parts = parts();
    assert_eq!(parts.init(), Status::Ok);
    let mut copy = Box::new(Storage {
        bytes: [0; STORAGE_BYTES],
    });
    // SAFETY: both are live and as long; the copy is only looked at.
    unsafe {
        std::ptr::copy_nonoverlapping(parts.storage(), &raw mut *copy, 1);
        assert_eq!(glowsill_begin_frame(&raw mut *copy), Status::NotReady);
    }
    assert_eq!(parts.frame().frame, 0);
}

#[test]
fn damaged_profiles_give_the_built_in_one_and_say_why() {
    type Damage = fn(&mut Parts);
    let cases: [(Damage, Status); 6] = [
        (
            |p| {
                p.config.profile = null();
                p.config.profile_len = 0;
            },
            Status::ProfileMissing,
        ),
        (|p| p.config.profile_len = 6, Status::ProfileTruncated),
        (|p| p.profile[0] = b'x', Status::ProfileNotOne),
        (|p| p.profile[4] = 9, Status::ProfileVersion),
        (|p| p.profile[9] ^= 1, Status::ProfileDamaged),
        (|p| p.config.profile_len -= 1, Status::ProfileTruncated),
    ];
    for (damage, wanted) in cases {
        let mut parts = parts();
        damage(&mut parts);
        assert_eq!(parts.init(), Status::ProfileReplaced);
        let storage = parts.storage();
        // SAFETY: an initialised storage.
        unsafe {
            assert_eq!(glowsill_profile_problem(storage), wanted);
            assert_eq!(
                glowsill_reset(storage),
                Status::Ok,
                "which must not forget it"
            );
        }
        assert_eq!(parts.begin(), Status::Ok);
        for _ in 0..H {
            assert_eq!(parts.row(&[10_821; W], &mut [0; W]), Status::Ok);
        }
        let mut record = parts_record();
        assert_eq!(parts.end(&raw mut record), Status::Ok);
        assert_eq!(
            (record.health, record.is_struck),
            (HEALTH_PROFILE_FALLBACK, 1)
        );
    }
}

#[test]
fn names_and_texts_are_there_for_every_number() {
    let text = |pointer| {
        // SAFETY: never null, ends with 0, lives for ever.
        unsafe { CStr::from_ptr(pointer) }.to_str().unwrap()
    };
    assert_eq!(glowsill_cause_count(), 12);
    assert_eq!(text(glowsill_cause_name(1)), "frozen");
    assert_eq!(text(glowsill_cause_name(12)), "unknown cause");
    assert_eq!(text(glowsill_cause_name(u32::MAX)), "unknown cause");
    assert_eq!(text(glowsill_status_text(0)), "as asked");
    assert!(text(glowsill_status_text(-6)).contains("8 to 1280"));
    assert_eq!(text(glowsill_status_text(3)), "unknown status");
    assert_eq!(text(glowsill_status_text(i32::MIN)), "unknown status");
    assert_eq!(glowsill_memory_bytes(320, 240), 76_800);
    assert_eq!(glowsill_scratch_words(320, 240), 1920);
    assert_eq!(
        (glowsill_memory_bytes(7, 8), glowsill_scratch_words(8, 1025)),
        (0, 0)
    );
    assert!(glowsill_storage_bytes() <= STORAGE_BYTES && glowsill_storage_align() == 8);
    // Two gain states, a word for each count of 14 bits.
    assert!((2 * 4 * (1 << 14)..=TABLES_BYTES).contains(&glowsill_tables_bytes()));
    assert!(text(glowsill_status_text(-31)).contains("131,328"));
    assert_eq!(glowsill_version(), VERSION);
    assert_eq!(glowsill_health_default().still_frames, 8);
    assert_eq!(glowsill_health_off().still_frames, 0);
}
