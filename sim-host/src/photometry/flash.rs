//! Flashes that can provoke photosensitive seizures, counted from block averages of a display.
//!
//! **Input**: per frame, one [`BlockSample`] a block. **Output**: [`FlashReport`].
//! **Sources**: WCAG 2.2 success criterion 2.3.1 (general and red flash thresholds); ITU-R BT.1702.
//!
//! A *change* joins two states no more than one second apart that differ by the criterion's limit; a
//! flash is a pair of opposing changes. Per block, changes are counted once per direction; a window
//! of one second holds half as many flashes, rounded down. A criterion is exceeded when in one
//! window more than three flashes occur on more than a quarter of the blocks.
//! Limits of the method: the quarter is of the picture, not of a 10° field; flashes that wander
//! from block to block are not added up. Simulation and teaching only; not a certification.

use serde::Serialize;

use super::panel_model::{self, PanelModel};
use super::{colour, contrast};

/// Flashes allowed in any one second. Source: WCAG 2.2, 2.3.1; ITU-R BT.1702.
pub const ALLOWED_FLASHES: u32 = 3;
/// Share of the picture that may flash more often. Source: WCAG 2.2, 2.3.1; ITU-R BT.1702.
pub const ALLOWED_AREA: f64 = 0.25;

/// Mean light of one block in one frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BlockSample {
    /// Relative luminance, 0 to 1.
    pub relative_luminance: f64,
    /// Luminance the panel emits, in cd/m².
    pub emitted_cd_m2: f64,
    /// R/(R+G+B) of linear light; 0 for black.
    pub red_share: f64,
    /// CIE 1976 u', v'.
    pub chromaticity: (f64, f64),
}

impl BlockSample {
    /// From the mean linear RGB of a block (0 to 1 each) on a panel.
    #[must_use]
    pub fn new(linear: [f64; 3], panel: &PanelModel) -> Self {
        let sum: f64 = linear.iter().sum();
        Self {
            relative_luminance: panel_model::relative(linear),
            emitted_cd_m2: panel.emitted(linear),
            red_share: if sum > 0.0 { linear[0] / sum } else { 0.0 },
            chromaticity: colour::chromaticity(linear),
        }
    }

    /// From one colour in codes on a panel.
    #[must_use]
    pub fn of_codes(rgb: [u8; 3], panel: &PanelModel) -> Self {
        Self::new(rgb.map(|code| panel.linear(code)), panel)
    }
}

/// A criterion for a change between two states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Criterion {
    /// WCAG general flash: at least 10 % of the maximum relative luminance, darker state below 0.80.
    WcagGeneral,
    /// WCAG 2.2 red flash: one state with R/(R+G+B) of at least 0.8 and u'v' more than 0.2 apart.
    WcagRed,
    /// ITU-R BT.1702: at least 20 cd/m² with the darker state below 160 cd/m², else Michelson 1/17.
    Bt1702,
}

impl Criterion {
    /// Every criterion.
    pub const ALL: [Self; 3] = [Self::WcagGeneral, Self::WcagRed, Self::Bt1702];

    /// Name in quantities and conditions.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::WcagGeneral => "wcag-general",
            Self::WcagRed => "wcag-red",
            Self::Bt1702 => "bt1702",
        }
    }

    /// Whether going from one state to the other is a change of half a flash.
    ///
    /// ```
    /// use glowsill::photometry::{flash::{BlockSample, Criterion}, panel_model::PanelModel};
    /// let panel = PanelModel::default();
    /// let (red, grey) = (BlockSample::of_codes([255, 0, 0], &panel), BlockSample::of_codes([128; 3], &panel));
    /// assert!(Criterion::WcagRed.is_change(&red, &grey));
    /// ```
    #[must_use]
    pub fn is_change(self, a: &BlockSample, b: &BlockSample) -> bool {
        // Means of many codes carry rounding; a limit hit exactly in decimals must still count.
        const ROUNDING: f64 = 1e-9;
        match self {
            Self::WcagGeneral => {
                let (x, y) = (a.relative_luminance, b.relative_luminance);
                (x - y).abs() >= 0.1 - ROUNDING && x.min(y) < 0.8
            }
            Self::WcagRed => {
                let (du, dv) = (
                    a.chromaticity.0 - b.chromaticity.0,
                    a.chromaticity.1 - b.chromaticity.1,
                );
                a.red_share.max(b.red_share) >= 0.8 - ROUNDING && du.hypot(dv) > 0.2
            }
            Self::Bt1702 => {
                let (x, y) = (a.emitted_cd_m2, b.emitted_cd_m2);
                if x.min(y) < 160.0 {
                    (x - y).abs() >= 20.0 - ROUNDING
                } else {
                    contrast::michelson(x, y) >= 1.0 / 17.0 - ROUNDING
                }
            }
        }
    }

    /// Whether the second state is the brighter (for the red criterion: the redder) one.
    fn rises(self, from: &BlockSample, to: &BlockSample) -> bool {
        match self {
            Self::WcagGeneral => to.relative_luminance > from.relative_luminance,
            Self::WcagRed => to.red_share > from.red_share,
            Self::Bt1702 => to.emitted_cd_m2 > from.emitted_cd_m2,
        }
    }

    /// Frames at which a change is completed, each opposing the one before.
    fn changes(self, series: &[BlockSample], window: usize) -> Vec<usize> {
        let mut completed = Vec::new();
        let mut last: Option<(usize, bool)> = None;
        for (now, state) in series.iter().enumerate() {
            let begin = last
                .map_or(0, |(frame, _)| frame)
                .max(now.saturating_sub(window));
            let change = series[begin..now].iter().find_map(|earlier| {
                let rising = self.rises(earlier, state);
                let opposes = last.is_none_or(|(_, before)| before != rising);
                (opposes && self.is_change(earlier, state)).then_some(rising)
            });
            if let Some(rising) = change {
                completed.push(now);
                last = Some((now, rising));
            }
        }
        completed
    }
}

/// What one criterion found.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FlashCount {
    /// Most flashes in one second that any single block showed.
    pub in_any_block: u32,
    /// Most flashes in one second that more than a quarter of the blocks showed.
    pub over_area: u32,
    /// Largest share of blocks (0 to 1) that showed more than three flashes in one same second.
    pub area_share: f64,
}

impl FlashCount {
    /// More than three flashes in one second on more than a quarter of the picture.
    #[must_use]
    pub fn exceeded(&self) -> bool {
        self.over_area > ALLOWED_FLASHES
    }
}

/// What every criterion found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FlashReport {
    /// WCAG general flash.
    pub general: FlashCount,
    /// WCAG red flash.
    pub red: FlashCount,
    /// ITU-R BT.1702.
    pub bt1702: FlashCount,
}

impl FlashReport {
    /// The count of one criterion.
    #[must_use]
    pub fn count(&self, criterion: Criterion) -> FlashCount {
        match criterion {
            Criterion::WcagGeneral => self.general,
            Criterion::WcagRed => self.red,
            Criterion::Bt1702 => self.bt1702,
        }
    }

    /// Whether any criterion is exceeded.
    #[must_use]
    pub fn exceeded(&self) -> bool {
        Criterion::ALL
            .into_iter()
            .any(|criterion| self.count(criterion).exceeded())
    }
}

/// Block series that cannot be counted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FlashError {
    /// The frame rate is out of its limits.
    #[error("frame rate is {0} Hz: it must be from 1 to 1000 Hz; give the rate of the sequence")]
    FrameRate(f64),
    /// A frame has another number of blocks than the first one.
    #[error("frame {frame} has {found} blocks and frame 0 has {expected}: keep one picture size")]
    Blocks {
        /// Number of the frame.
        frame: usize,
        /// Blocks it has.
        found: usize,
        /// Blocks of the first frame.
        expected: usize,
    },
    /// No frames or no blocks.
    #[error("the sequence has no frames or no blocks: give at least one frame of one block")]
    Empty,
}

/// Counts flashes in a sequence: `frames[n][b]` is block b in frame n, all blocks of equal area.
///
/// # Errors
/// [`FlashError`] for a rate outside 1 to 1000 Hz, an empty sequence or uneven frames.
pub fn analyse(frames: &[Vec<BlockSample>], frame_hz: f64) -> Result<FlashReport, FlashError> {
    let window = frames_in_one_second(frame_hz).ok_or(FlashError::FrameRate(frame_hz))?;
    let expected = frames.first().map_or(0, Vec::len);
    if expected == 0 {
        return Err(FlashError::Empty);
    }
    if let Some(frame) = frames.iter().position(|blocks| blocks.len() != expected) {
        return Err(FlashError::Blocks {
            frame,
            found: frames[frame].len(),
            expected,
        });
    }
    let series: Vec<Vec<BlockSample>> = (0..expected)
        .map(|block| frames.iter().map(|frame| frame[block]).collect())
        .collect();
    let count = |criterion| count_one(criterion, &series, window);
    Ok(FlashReport {
        general: count(Criterion::WcagGeneral),
        red: count(Criterion::WcagRed),
        bt1702: count(Criterion::Bt1702),
    })
}

fn frames_in_one_second(frame_hz: f64) -> Option<usize> {
    if !(1.0..=1000.0).contains(&frame_hz) {
        return None;
    }
    (1..=1000u16)
        .find(|n| f64::from(*n) >= frame_hz - 1e-9)
        .map(usize::from)
}

fn count_one(criterion: Criterion, series: &[Vec<BlockSample>], window: usize) -> FlashCount {
    let changes: Vec<Vec<usize>> = series
        .iter()
        .map(|block| criterion.changes(block, window))
        .collect();
    let mut worst = FlashCount {
        in_any_block: 0,
        over_area: 0,
        area_share: 0.0,
    };
    let mut starts: Vec<usize> = changes.iter().flatten().copied().collect();
    starts.sort_unstable();
    starts.dedup();
    for start in starts {
        let mut flashes: Vec<u32> = changes
            .iter()
            .map(|block| {
                let before = |frame| block.partition_point(|at| *at < frame);
                let inside = before(start + window) - before(start);
                u32::try_from(inside / 2).unwrap_or(u32::MAX)
            })
            .collect();
        flashes.sort_unstable_by(|a, b| b.cmp(a));
        let over = flashes.iter().filter(|n| **n > ALLOWED_FLASHES).count();
        worst.in_any_block = worst.in_any_block.max(flashes[0]);
        worst.area_share = worst.area_share.max(share(over, flashes.len()));
        // The block at this rank is the first with more than a quarter of the blocks before and at it.
        let rank = flashes.len() / 4;
        worst.over_area = worst.over_area.max(flashes[rank]);
    }
    worst
}

fn share(part: usize, whole: usize) -> f64 {
    let number = |n| f64::from(u32::try_from(n).unwrap_or(u32::MAX));
    number(part) / number(whole)
}
