//! The plans of a profile as lists of numbers, in the order of `docs/vectors.md`.

use super::{length, place};

/// Takes numbers from a list, one after another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Numbers<'a>(pub(crate) &'a [i64]);

impl Numbers<'_> {
    pub(crate) fn next(&mut self) -> Result<i64, String> {
        let (first, rest) = self.0.split_first().ok_or("a list is too short")?;
        self.0 = rest;
        Ok(*first)
    }

    pub(crate) fn take<const N: usize>(&mut self) -> Result<[i64; N], String> {
        let (first, rest) = self.0.split_first_chunk().ok_or("a list is too short")?;
        self.0 = rest;
        Ok(*first)
    }

    pub(crate) fn end(self) -> Result<(), String> {
        if self.0.is_empty() {
            Ok(())
        } else {
            Err("a list is too long".to_owned())
        }
    }
}

pub(crate) type Colour = [i64; 3];

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Calibration {
    pub(crate) shift: i64,
    pub(crate) saturation: i64,
    pub(crate) knots: Vec<i64>,
}

impl Calibration {
    /// None from an empty list.
    pub(crate) fn read(list: &[i64]) -> Result<Option<Self>, String> {
        match list {
            [] => Ok(None),
            [shift, saturation, knots @ ..] if knots.len() == 257 => Ok(Some(Self {
                shift: *shift,
                saturation: *saturation,
                knots: knots.to_vec(),
            })),
            _ => Err("a calibration has 2 + 257 numbers".to_owned()),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct WholeFrame {
    pub(crate) enter_above: i64,
    pub(crate) enter_permille: i64,
    pub(crate) enter_frames: i64,
    pub(crate) leave_above: i64,
    pub(crate) leave_permille: i64,
    pub(crate) leave_frames: i64,
    pub(crate) blank_frames: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Gain {
    PerPixel { from: i64, to: i64, dispute: i64 },
    WholeFrame(WholeFrame),
    HighOnly,
    LowOnly,
}

impl Gain {
    pub(crate) fn read(list: &[i64]) -> Result<Self, String> {
        match *list {
            [0, from, to, dispute] => Ok(Self::PerPixel { from, to, dispute }),
            [
                1,
                enter_above,
                enter_permille,
                enter_frames,
                leave_above,
                leave_permille,
                leave_frames,
                blank_frames,
            ] => Ok(Self::WholeFrame(WholeFrame {
                enter_above,
                enter_permille,
                enter_frames,
                leave_above,
                leave_permille,
                leave_frames,
                blank_frames,
            })),
            [2] => Ok(Self::HighOnly),
            [3] => Ok(Self::LowOnly),
            _ => Err("no gain plan looks like this".to_owned()),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Law {
    Fixed,
    Extremes,
    Percentile,
    Plateau,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Scale {
    pub(crate) law: Law,
    pub(crate) low_permille: i64,
    pub(crate) high_permille: i64,
    pub(crate) plateau_permille: i64,
    pub(crate) weight: i64,
    pub(crate) start_low: i64,
    pub(crate) start_high: i64,
    pub(crate) to_hotter: i64,
    pub(crate) to_colder: i64,
    pub(crate) min_span: i64,
    pub(crate) slope: i64,
}

impl Scale {
    pub(crate) fn read(list: &[i64]) -> Result<Self, String> {
        let [law, rest @ ..] = list else {
            return Err("no scale looks like this".to_owned());
        };
        let law = *[Law::Fixed, Law::Extremes, Law::Percentile, Law::Plateau]
            .get(place(*law))
            .ok_or("no such scale law")?;
        let [
            low_permille,
            high_permille,
            plateau_permille,
            weight,
            start_low,
            start_high,
            to_hotter,
            to_colder,
            min_span,
            slope,
        ] = *<&[i64; 10]>::try_from(rest).map_err(|_| "a scale has 11 numbers")?;
        Ok(Self {
            law,
            low_permille,
            high_permille,
            plateau_permille,
            weight,
            start_low,
            start_high,
            to_hotter,
            to_colder,
            min_span,
            slope,
        })
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Band {
    pub(crate) start: i64,
    pub(crate) colour: Colour,
    pub(crate) ramp: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Bands {
    pub(crate) bands: Vec<Band>,
    pub(crate) hysteresis: i64,
    pub(crate) ramp_end: Option<(i64, Colour)>,
    pub(crate) ceiling: Option<(i64, Colour)>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum ColourPlan {
    Grey,
    Bands(Bands),
    Pseudo(Vec<Colour>),
}

fn place_and_colour(from: &mut Numbers<'_>) -> Result<Option<(i64, Colour)>, String> {
    if from.next()? == 0 {
        return Ok(None);
    }
    Ok(Some((from.next()?, from.take()?)))
}

impl ColourPlan {
    pub(crate) fn read(list: &[i64]) -> Result<Self, String> {
        let mut from = Numbers(list);
        let plan = match from.next()? {
            0 => Self::Grey,
            1 => {
                let hysteresis = from.next()?;
                let mut bands = Vec::new();
                for _ in 0..from.next()? {
                    bands.push(Band {
                        start: from.next()?,
                        colour: from.take()?,
                        ramp: from.next()? != 0,
                    });
                }
                Self::Bands(Bands {
                    bands,
                    hysteresis,
                    ramp_end: place_and_colour(&mut from)?,
                    ceiling: place_and_colour(&mut from)?,
                })
            }
            2 => {
                let mut stops = Vec::new();
                for _ in 0..from.next()? {
                    stops.push(from.take()?);
                }
                Self::Pseudo(stops)
            }
            _ => return Err("no such colour plan".to_owned()),
        };
        from.end()?;
        Ok(plan)
    }

    /// The list again, as [`Self::read`] takes it.
    pub(crate) fn write(&self) -> Vec<i64> {
        let mut list = Vec::new();
        match self {
            Self::Grey => list.push(0),
            Self::Bands(plan) => {
                list.extend([1, plan.hysteresis, length(plan.bands.len())]);
                for band in &plan.bands {
                    list.push(band.start);
                    list.extend(band.colour);
                    list.push(i64::from(band.ramp));
                }
                for end in [plan.ramp_end, plan.ceiling] {
                    list.push(i64::from(end.is_some()));
                    if let Some((start, colour)) = end {
                        list.push(start);
                        list.extend(colour);
                    }
                }
            }
            Self::Pseudo(stops) => {
                list.extend([2, length(stops.len())]);
                list.extend(stops.iter().flatten());
            }
        }
        list
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Overlay {
    Opaque,
    Veil { opacity: i64 },
    Tint { knee: i64, lift: i64 },
}

impl Overlay {
    pub(crate) fn read(list: &[i64]) -> Result<Self, String> {
        match *list {
            [0] => Ok(Self::Opaque),
            [1, opacity] => Ok(Self::Veil { opacity }),
            [2, knee, lift] => Ok(Self::Tint { knee, lift }),
            _ => Err("no overlay looks like this".to_owned()),
        }
    }
}
