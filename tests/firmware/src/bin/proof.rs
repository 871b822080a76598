//! Links only if nothing of the pipeline can panic: its panic handler calls what does not exist.
//!
//! Built with overflow checks, so that a sum that wraps unasked would be a panic, too. Every input
//! is hidden from the compiler: it must prove that *no* packed profile, calibration, correction
//! table, geometry, buffer and sample reaches a panic. The feature `locate` gives the handler a body,
//! so that it links and the panics' places can be read out of the file; the feature `control` adds
//! one panic on purpose, which must then keep it from linking.
#![no_std]
#![no_main]

use core::hint::black_box as any;
use core::panic::PanicInfo;

use cortex_m::singleton;
use cortex_m_rt::entry;

use glowsill_core::calibration::{Calibration, KNOTS};
use glowsill_core::health::{Cause, HealthPlan};
use glowsill_core::packed;
use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Correction, CountTables, Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::Profile;
use glowsill_core::selector::{ProfileSet, Selector, SelectorPlan};
use glowsill_core::units::Temperature;

#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    any(info.location());
    #[cfg(not(feature = "locate"))]
    {
        unsafe extern "C" {
            safe fn a_panic_is_reachable() -> !;
        }
        a_panic_is_reachable()
    }
    #[cfg(feature = "locate")]
    loop {
        cortex_m::asm::nop();
    }
}

const W: usize = 64;
const N: usize = 64 * 64;

fn maybe<T>(value: T) -> Option<T> {
    any(true).then_some(value)
}

/// Samples of a frame: two states, either may be missing.
type Planes<'s> = (Option<&'s [u16]>, Option<&'s [u16]>);

fn rows<P: PanelFormat>(pipeline: &mut Pipeline<'_>, planes: Planes<'_>, out: &mut [P::Pixel]) {
    let mut frame = if any(true) {
        pipeline.begin_frame()
    } else {
        pipeline.begin_numbered_frame(any(1))
    };
    while any(true) {
        any(&frame.row::<P>(any(planes.0), any(planes.1), any(&mut *out)));
    }
    if let Ok(record) = any(frame.end_frame()) {
        any(record.coloured_permille());
        for cause in any(record.health).causes() {
            any(cause.name());
            any(HealthPlan::DEFAULT.frames_to_detect(cause, Geometry::DEFAULT));
        }
    }
}

fn whole<P: PanelFormat>(
    pipeline: &mut Pipeline<'_>,
    (high, low): Planes<'_>,
    out: &mut [P::Pixel],
    trace: Trace<'_>,
) {
    let _ = any(pipeline.frame::<P>(high, low, any(&mut *out)));
    if any(true) {
        let _ = any(pipeline.frame_plain::<P>(high, low, any(&mut *out), None));
    } else {
        let _ = any(pipeline.frame_traced::<P>(high, low, any(&mut *out), trace));
    }
}

fn run() -> Option<()> {
    let bytes = singleton!(: [u8; packed::MAX_LEN] = [0; packed::MAX_LEN])?;
    let knots = singleton!(: [Temperature; KNOTS] = [Temperature::MIN; KNOTS])?;
    let gain = singleton!(: [u16; N] = [0; N])?;
    let offset = singleton!(: [i16; N] = [0; N])?;
    let defects = singleton!(: [u8; N] = [0; N])?;
    let memory = singleton!(: [u8; N] = [0; N])?;
    let scratch = singleton!(: [u16; 6 * W] = [0; 6 * W])?;
    let high = singleton!(: [u16; N] = [0; N])?;
    let low = singleton!(: [u16; N] = [0; N])?;
    let words = singleton!(: [u16; N] = [0; N])?;
    let colours = singleton!(: [Rgb888; N] = [Rgb888::new(0, 0, 0); N])?;
    let temperature = singleton!(: [u16; N] = [0; N])?;
    let grey_q8 = singleton!(: [u16; N] = [0; N])?;
    let band = singleton!(: [u8; N] = [0; N])?;

    let tables = singleton!(: CountTables = CountTables::new())?;

    let high_table = match Calibration::new(any(8), *any(&*knots), any(1)) {
        Ok(table) => table,
        Err(error) => {
            any(error);
            Calibration::identity()
        }
    };
    let low_table = Calibration::new(any(6), *any(&*knots), any(1)).ok()?;
    any(high_table.temperature(any(9)));
    let correction = Correction {
        gain_q14: any(&*gain),
        offset: any(&*offset),
    };
    any(correction.crc32());
    let sensor = SensorConfig {
        high: maybe(&high_table),
        low: maybe(&low_table),
        high_correction: maybe(correction),
        low_correction: maybe(correction),
        high_crc: maybe(any(1)),
        low_crc: maybe(any(1)),
        defects: maybe(any(&*defects)),
        health: any(HealthPlan::DEFAULT),
    };
    let (profile, why) = Profile::from_bytes_or_safe(any(&*bytes), &sensor);
    any(profile.onset());
    let _ = any(profile.to_bytes(any(&mut *bytes)));
    let geometry = Geometry::new(any(64), any(64)).ok()?;
    any(Pipeline::scratch_len(geometry));
    let mut pipeline = Pipeline::new(
        geometry,
        &profile,
        sensor,
        any(&mut *memory),
        any(&mut *scratch),
    )
    .ok()?;
    if any(true) {
        pipeline = pipeline.with_tables(tables);
    }
    if why.is_some() {
        pipeline.raise(Cause::ProfileFallback);
    }
    let planes: Planes<'_> = (maybe(any(&*high)), maybe(any(&*low)));
    while any(true) {
        rows::<PanelRgb565>(&mut pipeline, planes, words);
        rows::<PanelRgb565Dithered>(&mut pipeline, planes, words);
        rows::<PanelRgb888>(&mut pipeline, planes, colours);
        let trace = Trace {
            temperature: any(&mut *temperature),
            grey_q8: any(&mut *grey_q8),
            band: any(&mut *band),
        };
        whole::<PanelRgb565>(&mut pipeline, planes, words, trace);
        let trace = Trace {
            temperature: any(&mut *temperature),
            grey_q8: any(&mut *grey_q8),
            band: any(&mut *band),
        };
        whole::<PanelRgb888>(&mut pipeline, planes, colours, trace);
        pipeline.reset();
    }
    let profiles = [profile.clone(), Profile::safe(&sensor)];
    let set = ProfileSet::new(any(&profiles)).ok()?;
    let mut selector = Selector::new(set, any(SelectorPlan::DEFAULT));
    while any(true) {
        any(selector.step(any(true), None));
        any(selector.profile());
        any((selector.index(), selector.is_locked()));
    }
    if cfg!(feature = "control") {
        // A byte can lie beyond four entries; a u16 could not lie beyond 65,536.
        any([1u8, 2, 3, 4][usize::from(any(3u8))]);
    }
    Some(())
}

#[entry]
fn main() -> ! {
    any(run());
    loop {
        cortex_m::asm::nop();
    }
}
