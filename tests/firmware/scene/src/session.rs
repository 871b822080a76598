//! Sessions of every shipped profile on every panel format over the moving scene, as check sums.
//!
//! The text that [`run`] writes is compared between machines: it must be the same, letter by letter.

use core::fmt::Write;

use glowsill_core::calibration::Calibration;
use glowsill_core::panel::{PanelFormat, PanelRgb565, PanelRgb565Dithered, PanelRgb888, Rgb888};
use glowsill_core::pipeline::{Correction, CountTables, Geometry, Pipeline, SensorConfig, Trace};
use glowsill_core::profile::Profile;
use glowsill_core::record::FrameRecord;

use crate::moving::{self, PIXELS, Room, SMALL, USUAL, WIDTH};
use crate::sums::{Sums, feed};
use crate::{profiles, still};

/// A run of frames.
struct Plan {
    room: Room,
    frames: u32,
    /// Samples repeat here, so that the picture is struck out, until the noise is alive again.
    still: core::ops::Range<u32>,
}

/// The runs of each profile and panel: one fire in a larger picture, three in a small one.
const PLANS: [Plan; 2] = [
    Plan {
        room: USUAL,
        frames: 40,
        still: 26..36,
    },
    Plan {
        room: SMALL,
        frames: 300,
        still: 126..136,
    },
];

/// Panels, in the order of the sums.
const PANELS: [&str; 3] = ["rgb565", "rgb565-dithered", "rgb888"];

/// Every buffer of a run, of fixed size, for machines without a heap.
pub struct Store {
    /// Correction of the high state.
    pub high_gain: [u16; PIXELS],
    /// Its offsets.
    pub high_offset: [i16; PIXELS],
    /// Correction of the low state.
    pub low_gain: [u16; PIXELS],
    /// Its offsets.
    pub low_offset: [i16; PIXELS],
    /// Defect map.
    pub defects: [u8; PIXELS],
    /// Band memory of three pipelines.
    pub memory: [[u8; PIXELS]; 3],
    /// Scratch of three pipelines.
    pub scratch: [[u16; 6 * WIDTH]; 3],
    /// Count tables of two of them.
    pub tables: [CountTables; 2],
    /// Samples of the high state.
    pub high: [u16; PIXELS],
    /// Samples of the low state.
    pub low: [u16; PIXELS],
    /// Picture of a 16-bit panel.
    pub words: [u16; PIXELS],
    /// Picture of a 24-bit panel.
    pub colours: [Rgb888; PIXELS],
    /// Trace: temperature codes.
    pub temperature: [u16; PIXELS],
    /// Trace: greys.
    pub grey_q8: [u16; PIXELS],
    /// Trace: bands.
    pub band: [u8; PIXELS],
}

impl Store {
    /// Fills the correction tables.
    pub fn correct(&mut self) {
        still::correction(1, 60, &mut self.high_gain, &mut self.high_offset);
        still::correction(2, 15, &mut self.low_gain, &mut self.low_offset);
    }

    /// Empty buffers.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            high_gain: [0; PIXELS],
            high_offset: [0; PIXELS],
            low_gain: [0; PIXELS],
            low_offset: [0; PIXELS],
            defects: [0; PIXELS],
            memory: [[0; PIXELS]; 3],
            scratch: [[0; 6 * WIDTH]; 3],
            tables: [const { CountTables::new() }; 2],
            high: [0; PIXELS],
            low: [0; PIXELS],
            words: [0; PIXELS],
            colours: [Rgb888::new(0, 0, 0); PIXELS],
            temperature: [0; PIXELS],
            grey_q8: [0; PIXELS],
            band: [0; PIXELS],
        }
    }
}

impl Default for Store {
    fn default() -> Self {
        Self::new()
    }
}

type Traced<'s> = (&'s mut [u16], &'s mut [u16], &'s mut [u8]);

fn trace<'t>((temperature, grey_q8, band): &'t mut Traced<'_>) -> Trace<'t> {
    Trace {
        temperature: &mut temperature[..],
        grey_q8: &mut grey_q8[..],
        band: &mut band[..],
    }
}

/// One frame: every fifth one in the plain form, whose picture must be the quick form's.
fn draw<P: PanelFormat, const B: usize>(
    pipeline: &mut Pipeline<'_>,
    frame: u32,
    (high, low): (&[u16], &[u16]),
    picture: &mut [P::Pixel],
    trace: Trace<'_>,
    sums: &mut Sums,
    bytes: impl Fn(P::Pixel) -> [u8; B],
) -> Option<()> {
    let Trace {
        temperature,
        grey_q8,
        band,
    } = trace;
    let planes = Trace {
        temperature: &mut *temperature,
        grey_q8: &mut *grey_q8,
        band: &mut *band,
    };
    let record = if frame % 5 == 4 {
        pipeline.frame_plain::<P>(Some(high), Some(low), picture, Some(planes))
    } else {
        pipeline.frame_traced::<P>(Some(high), Some(low), picture, planes)
    }
    .ok()?;
    feed(&mut sums.pixels, picture, bytes);
    feed(&mut sums.temperature, temperature, u16::to_le_bytes);
    feed(&mut sums.grey, grey_q8, u16::to_le_bytes);
    feed(&mut sums.band, band, |band| [band]);
    sums.note(&record);
    Some(())
}

/// Runs every profile on every panel, in both sizes, and writes a line of check sums each. `None` when a buffer, a
/// profile or a frame is refused, or nothing can be written.
pub fn run(store: &mut Store, out: &mut dyn Write) -> Option<()> {
    store.correct();
    for (place, defect) in store.defects.iter_mut().enumerate() {
        // Single ones, neighbours, and one in the last row.
        *defect = u8::from(matches!(place % 1237, 5 | 6 | 300));
    }
    let (high_table, low_table) = still::calibrations()?;
    for (name, bytes) in profiles::ALL {
        for plan in &PLANS {
            one(store, (&high_table, &low_table), name, bytes, plan, out)?;
        }
    }
    Some(())
}

fn one(
    store: &mut Store,
    (high_table, low_table): (&Calibration, &Calibration),
    name: &str,
    bytes: &[u8],
    plan: &Plan,
    out: &mut dyn Write,
) -> Option<()> {
    let room = plan.room;
    let (pixels, row) = (room.width * room.height, 6 * room.width);
    let profile = Profile::from_bytes(bytes).ok()?;
    let high = Correction {
        gain_q14: store.high_gain.get(..pixels)?,
        offset: store.high_offset.get(..pixels)?,
    };
    let low = Correction {
        gain_q14: store.low_gain.get(..pixels)?,
        offset: store.low_offset.get(..pixels)?,
    };
    let sensor = SensorConfig {
        high: Some(high_table),
        low: Some(low_table),
        high_correction: Some(high),
        low_correction: Some(low),
        high_crc: Some(high.crc32()),
        low_crc: Some(low.crc32()),
        defects: Some(store.defects.get(..pixels)?),
        ..SensorConfig::default()
    };
    let geometry = Geometry::new(
        u16::try_from(room.width).ok()?,
        u16::try_from(room.height).ok()?,
    )
    .ok()?;
    let [ma, mb, mc] = &mut store.memory;
    let [sa, sb, sc] = &mut store.scratch;
    let [ta, tc] = &mut store.tables;
    let mut first = Pipeline::new(
        geometry,
        &profile,
        sensor,
        ma.get_mut(..pixels)?,
        sa.get_mut(..row)?,
    )
    .ok()?
    .with_tables(ta);
    let mut second = Pipeline::new(
        geometry,
        &profile,
        sensor,
        mb.get_mut(..pixels)?,
        sb.get_mut(..row)?,
    )
    .ok()?;
    let mut third = Pipeline::new(
        geometry,
        &profile,
        sensor,
        mc.get_mut(..pixels)?,
        sc.get_mut(..row)?,
    )
    .ok()?
    .with_tables(tc);
    let mut sums = [Sums::new(), Sums::new(), Sums::new()];
    for frame in 0..plan.frames {
        let seen = if plan.still.contains(&frame) {
            plan.still.start
        } else {
            frame
        };
        let (high_plane, low_plane) = (store.high.get_mut(..pixels)?, store.low.get_mut(..pixels)?);
        moving::frame(
            room,
            seen,
            seen,
            (
                (&store.high_gain, &store.high_offset),
                (&store.low_gain, &store.low_offset),
            ),
            high_plane,
            low_plane,
        );
        let planes: (&[u16], &[u16]) = (high_plane, low_plane);
        let traced = &mut (
            store.temperature.get_mut(..pixels)?,
            store.grey_q8.get_mut(..pixels)?,
            store.band.get_mut(..pixels)?,
        );
        let [a, b, c] = &mut sums;
        let words = store.words.get_mut(..pixels)?;
        draw::<PanelRgb565, 2>(
            &mut first,
            frame,
            planes,
            words,
            trace(traced),
            a,
            u16::to_le_bytes,
        )?;
        draw::<PanelRgb565Dithered, 2>(
            &mut second,
            frame,
            planes,
            words,
            trace(traced),
            b,
            u16::to_le_bytes,
        )?;
        let colours = store.colours.get_mut(..pixels)?;
        draw::<PanelRgb888, 3>(&mut third, frame, planes, colours, trace(traced), c, |c| {
            [c.r, c.g, c.b]
        })?;
    }
    for (sums, panel) in sums.into_iter().zip(PANELS) {
        sums.write(out, name, room, panel).ok()?;
    }
    Some(())
}
