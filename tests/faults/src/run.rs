//! Runs a case: what is named and when, what the glass shows, and when it is well again.

use glowsill_core::error::FrameError;
use glowsill_core::health::{Cause, Health, HealthPlan};
use glowsill_core::panel::PanelRgb565;
use glowsill_core::pipeline::{Correction, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::Profile;

use crate::Sequence;
use crate::campaign::Case;
use crate::fault::{Delivery, Injector};
use crate::scene::{Stream, stream};
use crate::storage::Stored;

/// Frames before the first fault; a whole-frame plan has switched by then.
const BEFORE: usize = 24;
/// Frames after the last fault.
const AFTER: usize = 16;
/// What a pixel holds that nothing has drawn: neither black nor white.
const UNTOUCHED: u16 = 0x1234;

/// What one delivered frame gave.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Causes that the record, or the error in place of a record, names.
    pub named: Health,
    /// Whether a record was given, and says that the picture was struck out.
    pub record_struck: Option<bool>,
    /// Whether every row drawn carries the mark.
    pub is_marked: bool,
    /// Rows drawn.
    pub rows: usize,
    /// Whether all rows were taken and the frame was ended.
    pub is_whole: bool,
}

/// A pipeline with its buffers lent, fed with deliveries.
pub struct Glass<'a> {
    pipeline: Pipeline<'a>,
    width: usize,
    picture: Vec<u16>,
}

/// Builds a pipeline from what is stored, as a device does at power-up, and hands it to `body`.
pub fn power_up<R>(
    stored: &Stored,
    geometry: Geometry,
    is_single: bool,
    body: impl FnOnce(&mut Glass<'_>) -> R,
) -> R {
    let lent = |index: usize| {
        let (gain_q14, offset) = &stored.corrections[index];
        Correction { gain_q14, offset }
    };
    let sensor = SensorConfig {
        high: Some(&stored.calibrations.0),
        low: (!is_single).then_some(&stored.calibrations.1),
        high_correction: Some(lent(0)),
        low_correction: (!is_single).then(|| lent(1)),
        high_crc: Some(stored.sums[0]),
        low_crc: (!is_single).then_some(stored.sums[1]),
        defects: Some(&stored.defects),
        health: HealthPlan::DEFAULT,
    };
    let (profile, reason) = Profile::from_bytes_or_safe(&stored.profile, &sensor);
    let mut memory = vec![0; geometry.pixels()];
    let mut scratch = vec![0; Pipeline::scratch_len(geometry)];
    let mut pipeline =
        Pipeline::new(geometry, &profile, sensor, &mut memory, &mut scratch).unwrap();
    if reason.is_some() {
        pipeline.raise(Cause::ProfileFallback);
    }
    body(&mut Glass {
        pipeline,
        width: usize::from(geometry.width()),
        picture: vec![UNTOUCHED; geometry.pixels()],
    })
}

impl Glass<'_> {
    /// Draws what is delivered.
    pub fn draw(&mut self, delivery: &Delivery) -> Seen {
        self.picture.fill(UNTOUCHED);
        let width = self.width;
        let mut frame = self.pipeline.begin_numbered_frame(delivery.number);
        let mut rows = 0;
        let mut is_whole = !delivery.is_left;
        let mut named = Health::GOOD;
        for &source in &delivery.rows {
            let span = source * width..(source + 1) * width;
            let row =
                |plane: &Option<Vec<u16>>| plane.as_ref().map(|plane| plane[span.clone()].to_vec());
            let (high, low) = (row(&delivery.high), row(&delivery.low));
            let mut out = vec![UNTOUCHED; width];
            match frame.row::<PanelRgb565>(high.as_deref(), low.as_deref(), &mut out) {
                Ok(()) => {
                    self.picture[rows * width..(rows + 1) * width].copy_from_slice(&out);
                    rows += 1;
                }
                Err(FrameError::TooManyRows { .. }) => {
                    is_whole = false;
                    named = named.with(Cause::DroppedRows);
                }
                Err(error) => panic!("{error}"),
            }
        }
        let mut record_struck = None;
        if !delivery.is_left {
            match frame.end_frame() {
                Ok(record) => {
                    named = named.and(record.health);
                    record_struck = Some(record.is_struck);
                }
                Err(FrameError::Incomplete { .. }) => {
                    is_whole = false;
                    named = named.with(Cause::DroppedRows);
                }
                Err(error) => panic!("{error}"),
            }
        }
        let is_marked = rows > 0 && is_struck_out(&self.picture[..rows * width], width);
        if let Some(struck) = record_struck {
            assert_eq!(
                struck, is_marked,
                "the record and the glass say different things"
            );
        }
        Seen {
            named,
            record_struck,
            is_marked,
            rows,
            is_whole,
        }
    }
}

/// Whether diagonal bars, four pixels of black beside four of white every 32, lie over every row.
fn is_struck_out(picture: &[u16], width: usize) -> bool {
    picture.chunks(width).enumerate().all(|(y, row)| {
        row.iter()
            .enumerate()
            .all(|(x, &pixel)| match (x + y) % 32 {
                0..4 => pixel == 0,
                4..8 => pixel == u16::MAX,
                _ => true,
            })
    })
}

/// How one expected cause came to be named.
#[derive(Clone, Copy, Debug)]
pub struct Found {
    /// What was expected.
    pub cause: Cause,
    /// Bad frames up to and with the one that names it, if it was named.
    pub frames: Option<usize>,
    /// Bad frames that are stated.
    pub limit: usize,
}

/// What a case gave.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Each expected cause.
    pub found: Vec<Found>,
    /// Whether the picture after each finding was struck out, and all of them while the fault lasted
    /// without a break.
    pub is_shown: bool,
    /// Causes named that are not true.
    pub wrong: Vec<Cause>,
    /// Frames from the end of the fault to a good record under an unmarked picture; 0 is at once,
    /// after power-up with sound data.
    pub recovered: Option<usize>,
    /// Whether pictures before the fault were clean.
    pub was_clean: bool,
}

/// The frame of a stream that is taken at a time.
#[must_use]
pub fn clean(stream: &Stream, at: usize, is_single: bool) -> Delivery {
    let (high, low) = &stream.frames[at % stream.frames.len()];
    Delivery {
        number: at as u32,
        high: Some(high.clone()),
        low: (!is_single).then(|| low.clone()),
        rows: (0..usize::from(stream.geometry.height())).collect(),
        is_left: false,
    }
}

/// Runs a case on a profile.
#[must_use]
pub fn run(case: &Case, profile: &Profile) -> Outcome {
    let stream = stream(case.scene, case.size, case.seed);
    let mut stored = Stored::new(&stream, profile);
    let mut random = Sequence(case.seed ^ (case.profile as u64) << 8);
    let is_stored = !case.plan.storage.is_empty();
    for storage in &case.plan.storage {
        stored.damage(*storage, &mut random);
    }
    let limit = |cause| {
        usize::from(
            HealthPlan::DEFAULT
                .frames_to_detect(cause, stream.geometry)
                .unwrap(),
        )
    };
    let before = if is_stored { 0 } else { BEFORE };
    let slowest = case
        .expected
        .iter()
        .map(|(cause, _)| limit(*cause))
        .max()
        .unwrap_or(0);
    // Bursts spread the bad frames; twice and a burst more holds them all.
    let during = if case.plan.faults.is_empty() {
        slowest + 4
    } else {
        2 * slowest + 24
    };
    let mut injectors: Vec<_> = case
        .plan
        .faults
        .iter()
        .map(|(fault, pattern)| Injector::new(*fault, *pattern, random.below(1 << 30) as u64))
        .collect();
    let mut play = |glass: &mut Glass<'_>, span: core::ops::Range<usize>, is_bad: bool| {
        let first = span.start;
        span.map(|at| {
            let sent = clean(&stream, at, case.is_single);
            let arrived = injectors.iter_mut().fold(sent, |frame, injector| {
                injector.pass(frame, is_bad.then(|| at - first))
            });
            glass.draw(&arrived)
        })
        .collect::<Vec<_>>()
    };
    let (start, bad, mut after) = power_up(&stored, stream.geometry, case.is_single, |glass| {
        (
            play(glass, 0..before, false),
            play(glass, before..before + during, true),
            play(glass, before + during..before + during + AFTER, false),
        )
    });
    if is_stored {
        let sound = Stored::new(&stream, profile);
        after = power_up(&sound, stream.geometry, case.is_single, |glass| {
            play(glass, 0..AFTER, false)
        });
    }
    let is_on = |index: Option<usize>, at: usize| {
        index.is_none_or(|index| case.plan.faults[index].1.is_on(at))
    };
    let mut is_shown = true;
    let found = case
        .expected
        .iter()
        .map(|&(cause, index)| {
            let named_at = (0..bad.len()).find(|&at| names(&bad, at, cause));
            if let Some(at) = named_at {
                is_shown &= bad
                    .get(at + 1)
                    .is_none_or(|next| next.is_marked || next.rows == 0);
                if (0..bad.len()).all(|at| is_on(index, at)) {
                    is_shown &= bad[at + 1..]
                        .iter()
                        .all(|seen| seen.is_marked || seen.rows == 0);
                }
            }
            // A frame that was not whole says nothing of its samples.
            let counts = |at: &usize| {
                is_on(index, *at)
                    && (bad[*at].is_whole || cause == Cause::DroppedRows || cause == Cause::Stale)
            };
            Found {
                cause,
                frames: named_at.map(|at| (0..=at).filter(counts).count()),
                limit: limit(cause),
            }
        })
        .collect();
    let is_wrong = |cause: &Cause| {
        let is_true = case.expected.iter().any(|(expected, _)| expected == cause)
            || case.allowed.contains(cause);
        !is_true && bad.iter().any(|seen| seen.named.has(*cause))
    };
    let settled = start.len() / 2;
    Outcome {
        found,
        is_shown,
        wrong: Cause::ALL.into_iter().filter(is_wrong).collect(),
        recovered: (0..after.len()).find(|&at| after[at..].iter().all(is_clean)),
        was_clean: start[settled..].iter().all(is_clean),
    }
}

/// Whether a frame names a cause: by its record or error, or, if it was left, by the next picture.
fn names(bad: &[Seen], at: usize, cause: Cause) -> bool {
    let seen = &bad[at];
    let was_left = seen.record_struck.is_none() && seen.named.is_good();
    seen.named.has(cause)
        || (was_left
            && cause == Cause::DroppedRows
            && bad.get(at + 1).is_some_and(|next| next.is_marked))
}

fn is_clean(seen: &Seen) -> bool {
    seen.named.is_good() && seen.record_struck == Some(false)
}
