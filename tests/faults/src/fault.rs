//! Wrappers round the stream of frames: what arrives is not what was sent.

use crate::Sequence;

/// A frame on its way to the pipeline.
#[derive(Clone, Debug)]
pub struct Delivery {
    /// The sensor's own frame number.
    pub number: u32,
    /// Counts of high gain, if it is read out.
    pub high: Option<Vec<u16>>,
    /// Counts of low gain.
    pub low: Option<Vec<u16>>,
    /// Rows in the order in which they arrive.
    pub rows: Vec<usize>,
    /// Whether the frame is left without its end being told.
    pub is_left: bool,
}

/// What goes wrong between the sensor and the pipeline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The frame number stands still; the samples live.
    CounterStands,
    /// All samples stay as they were; the frame number counts on.
    ContentStands,
    /// The first row is lost.
    FirstRowLost,
    /// The last row is lost.
    LastRowLost,
    /// One row anywhere is lost.
    RandomRowLost,
    /// Half of the rows, anywhere, are lost.
    HalfLost,
    /// A row anywhere arrives twice, so that there is one too many.
    RowTwice,
    /// The frame stops somewhere, and the next one starts.
    FrameLeft,
    /// High gain stays as it was.
    HighStands,
    /// Low gain stays as it was.
    LowStands,
    /// High gain gives nothing: all samples are 0.
    HighDead,
    /// Low gain gives nothing.
    LowDead,
    /// High and low gain are exchanged.
    Swapped,
    /// Every sample of high gain is at the end of its range.
    HighSaturated,
    /// Every sample of low gain is.
    LowSaturated,
    /// Every sample is.
    BothSaturated,
    /// The upper 3 of 10 rows give nothing in both states.
    BlockDead,
    /// Both states fall below the counts of no light, and still have their noise.
    BothDark,
    /// High gain does.
    HighDark,
    /// Low gain does.
    LowDark,
    /// A row arrives in place of its neighbour, so that the number of rows is right.
    RowInPlaceOfAnother,
    /// All rows arrive, in the wrong order.
    RowsShuffled,
    /// The upper half of the picture stays as it was.
    HalfStands,
    /// Both states read 10 % more counts than they should.
    BothDrift,
    /// Low gain reads 5 % more counts than it should.
    LowDrifts,
    /// One in a hundred samples of high gain, always the same ones, stays as it was.
    SomeSamplesStand,
}

/// In which frames of the time a fault is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// In all of them.
    Always,
    /// In the first `on` of each `of` frames.
    Bursts {
        /// Bad frames.
        on: usize,
        /// Frames from one burst to the next.
        of: usize,
    },
}

impl Pattern {
    /// Whether the fault is there in a frame, counted from its first one.
    #[must_use]
    pub const fn is_on(self, frame: usize) -> bool {
        match self {
            Self::Always => true,
            Self::Bursts { on, of } => frame % of < on,
        }
    }
}

/// A fault with its pattern, its seed and what it holds on to.
pub struct Injector {
    fault: Fault,
    pattern: Pattern,
    random: Sequence,
    held: Option<Delivery>,
}

/// The last count of a 14-bit sensor.
const END: u16 = 16_383;

impl Injector {
    /// A wrapper that does nothing until [`Self::pass`] is told that the fault's time has come.
    #[must_use]
    pub const fn new(fault: Fault, pattern: Pattern, seed: u64) -> Self {
        Self {
            fault,
            pattern,
            random: Sequence(seed),
            held: None,
        }
    }

    /// Whether the fault is there `at` frames after its first one.
    #[must_use]
    pub const fn is_on(&self, at: usize) -> bool {
        self.pattern.is_on(at)
    }

    /// Passes a frame on, broken if the fault is there: `at` counts from the fault's first frame, and is
    /// `None` before and after its time.
    pub fn pass(&mut self, mut frame: Delivery, at: Option<usize>) -> Delivery {
        if at.is_none_or(|at| !self.is_on(at)) {
            self.held = Some(frame.clone());
            return frame;
        }
        let held = self.held.get_or_insert_with(|| frame.clone());
        let height = frame.rows.len();
        let fill = |plane: &mut Option<Vec<u16>>, value: u16| {
            if let Some(plane) = plane {
                plane.fill(value);
            }
        };
        let change = |plane: &mut Option<Vec<u16>>, to: &dyn Fn(u16) -> u16| {
            for sample in plane.iter_mut().flatten() {
                *sample = to(*sample);
            }
        };
        let scaled = |percent: u32| {
            move |raw: u16| (u32::from(raw) * percent / 100).min(u32::from(END)) as u16
        };
        // Noise stays: the lowest four bits.
        let dark = |raw: u16| 30 + raw % 16;
        match self.fault {
            Fault::CounterStands => frame.number = held.number,
            Fault::ContentStands => (frame.high, frame.low) = (held.high.clone(), held.low.clone()),
            Fault::FirstRowLost => drop(frame.rows.remove(0)),
            Fault::LastRowLost => drop(frame.rows.pop()),
            Fault::RandomRowLost => drop(frame.rows.remove(self.random.below(height))),
            Fault::HalfLost => {
                for left in (height / 2 + 1..=height).rev() {
                    frame.rows.remove(self.random.below(left));
                }
            }
            Fault::RowTwice => {
                let y = self.random.below(height);
                frame.rows.insert(y, y);
            }
            Fault::FrameLeft => {
                frame.rows.truncate(1 + self.random.below(height - 1));
                frame.is_left = true;
            }
            Fault::HighStands => frame.high = held.high.clone(),
            Fault::LowStands => frame.low = held.low.clone(),
            Fault::HighDead => fill(&mut frame.high, 0),
            Fault::LowDead => fill(&mut frame.low, 0),
            Fault::Swapped => core::mem::swap(&mut frame.high, &mut frame.low),
            Fault::HighSaturated => fill(&mut frame.high, END),
            Fault::LowSaturated => fill(&mut frame.low, END),
            Fault::BothSaturated => {
                fill(&mut frame.high, END);
                fill(&mut frame.low, END);
            }
            Fault::BlockDead => {
                for plane in [&mut frame.high, &mut frame.low].into_iter().flatten() {
                    let dead = (plane.len() * 3).div_ceil(10);
                    plane[..dead].fill(0);
                }
            }
            Fault::BothDark => {
                change(&mut frame.high, &dark);
                change(&mut frame.low, &dark);
            }
            Fault::HighDark => change(&mut frame.high, &dark),
            Fault::LowDark => change(&mut frame.low, &dark),
            Fault::RowInPlaceOfAnother => {
                let y = self.random.below(height - 1);
                frame.rows[y + 1] = y;
            }
            Fault::RowsShuffled => {
                for y in (1..height).rev() {
                    frame.rows.swap(y, self.random.below(y + 1));
                }
            }
            Fault::HalfStands => {
                for (plane, held) in [(&mut frame.high, &held.high), (&mut frame.low, &held.low)] {
                    if let (Some(plane), Some(held)) = (plane, held) {
                        let half = plane.len() / 2;
                        plane[..half].copy_from_slice(&held[..half]);
                    }
                }
            }
            Fault::BothDrift => {
                change(&mut frame.high, &scaled(110));
                change(&mut frame.low, &scaled(110));
            }
            Fault::LowDrifts => change(&mut frame.low, &scaled(105)),
            Fault::SomeSamplesStand => {
                if let (Some(plane), Some(held)) = (&mut frame.high, &held.high) {
                    for (i, sample) in plane.iter_mut().enumerate().filter(|(i, _)| i % 100 == 7) {
                        *sample = held[i];
                    }
                }
            }
        }
        frame
    }
}
