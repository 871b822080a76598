//! Where the fields of a file stand, and errors that point there.

use std::collections::BTreeMap;

use glowsill_core::profile::{Field, MAX_BANDS, ProfileError};

use crate::profile_file::{ProfileFileError, value};

/// Where each field that was read stands, and how it was written.
#[derive(Debug, Default)]
pub(crate) struct Places(pub(super) BTreeMap<String, (usize, String)>);

impl Places {
    pub(super) fn find(&self, path: &str) -> (usize, Option<&str>) {
        let mut part = path;
        loop {
            if let Some((line, written)) = self.0.get(part) {
                return (*line, (part == path).then_some(written.as_str()));
            }
            match part.rfind('.') {
                Some(dot) => part = &part[..dot],
                None => return (1, None),
            }
        }
    }

    /// An error about a field that was read, which only makes no sense beside others.
    pub(crate) fn refuse(
        &self,
        file: &str,
        path: &str,
        problem: &str,
        allowed: &str,
        next: &str,
    ) -> ProfileFileError {
        let (line, written) = self.find(path);
        let problem = match written {
            Some(written) if !written.is_empty() => format!("= {written} {problem}"),
            _ => problem.to_owned(),
        };
        ProfileFileError::Field {
            file: file.to_owned(),
            line,
            field: path.to_owned(),
            problem,
            allowed: allowed.to_owned(),
            next: next.to_owned(),
        }
    }

    /// Turns a limit that core found broken into an error that points into the file.
    pub(crate) fn explain(&self, error: ProfileError, file: &str) -> ProfileFileError {
        let path = match error.field {
            Field::BandStart(n) => format!("colour.bands[{n}].start"),
            Field::BandColour(n) => format!("colour.bands[{n}].colour"),
            Field::RampEnd => "colour.ramp_end.temperature".to_owned(),
            other => other.path().to_owned(),
        };
        let (line, written) = self.find(&path);
        let shown = written.map_or_else(|| value::limit(error.field, error.value), str::to_owned);
        let range = format!(
            "{} to {}",
            value::limit(error.field, error.min),
            value::limit(error.field, error.max)
        );
        if let Field::BandStart(_) | Field::CeilingStart = error.field
            && let Some(explained) = self.out_of_order(&path, file)
        {
            return explained;
        }
        let (problem, allowed, next) = match error.field {
            Field::RampEnd if error.value < 0 && written.is_some() => (
                "is given, but the last band is flat".to_owned(),
                "a ramp end exactly when the last band has fill = \"ramp\"".to_owned(),
                "Remove [colour.ramp_end], or make the last band a ramp".to_owned(),
            ),
            Field::RampEnd if error.value < 0 => (
                "is missing, but the last band is a ramp".to_owned(),
                "a ramp end exactly when the last band has fill = \"ramp\"".to_owned(),
                "Add [colour.ramp_end] with temperature and colour, or make the last band flat"
                    .to_owned(),
            ),
            Field::BandColour(_) => (
                format!(
                    "= {shown}: under this tint it follows the grey picture strictly at {} of 255 \
                     grey steps only",
                    error.value
                ),
                "colours (the course of a ramp included) that rise at all 255".to_owned(),
                "Lower overlay.knee, raise overlay.lift, or choose a purer colour whose strongest \
                 channel is at least the knee"
                    .to_owned(),
            ),
            field => (
                format!("= {shown} is out of its limits"),
                range,
                next_step(field).to_owned(),
            ),
        };
        ProfileFileError::Field {
            file: file.to_owned(),
            line,
            field: path,
            problem,
            allowed,
            next,
        }
    }
}

/// A temperature of the file that must lie above the one before.
struct Step {
    path: String,
    line: usize,
    written: String,
    code: i32,
}

/// 1 K, in the codes of [`Step`].
const STEP: i32 = 32;

fn rising<'s>(steps: impl Iterator<Item = &'s Step>) -> bool {
    let codes: Vec<i32> = steps.map(|step| step.code).collect();
    codes.windows(2).all(|pair| pair[0] + STEP <= pair[1])
}

impl Places {
    fn step(&self, path: String) -> Option<Step> {
        let (line, written) = self.0.get(&path)?;
        let code = value::temperature(written.trim_matches(['"', '\''])).ok()?;
        Some(Step {
            path,
            line: *line,
            written: written.clone(),
            code: i32::from(code.to_bits()),
        })
    }

    /// Bands and ceiling that do not rise, of which core found the one at `path`: names the one that stands out,
    /// or both where either may be meant.
    fn out_of_order(&self, path: &str, file: &str) -> Option<ProfileFileError> {
        let bands = (1..=MAX_BANDS).map(|n| format!("colour.bands[{n}].start"));
        let steps: Vec<Step> = bands
            .chain(["colour.ceiling.start".to_owned()])
            .filter_map(|path| self.step(path))
            .collect();
        let later = steps.iter().position(|step| step.path == path)?;
        let earlier = later.checked_sub(1)?;
        let without = |index: usize| {
            let left = steps.iter().enumerate().filter(move |(n, _)| *n != index);
            rising(left.map(|(_, step)| step))
        };
        let (wrong, other) = if without(earlier) && !without(later) {
            (earlier, later)
        } else {
            (later, earlier)
        };
        let room = |index: usize| {
            let low = index
                .checked_sub(1)
                .map_or(1, |below| steps[below].code + STEP);
            let high = steps
                .get(index + 1)
                .map_or(i32::from(u16::MAX), |above| above.code - STEP);
            let field = Field::CeilingStart;
            (low <= high).then(|| {
                format!(
                    "{} to {}",
                    value::limit(field, low),
                    value::limit(field, high)
                )
            })
        };
        let (at, beside) = (&steps[wrong], &steps[other]);
        let relation = if wrong > other { "above" } else { "below" };
        let either = without(earlier) && without(later);
        let elsewhere = room(other)
            .filter(|_| either)
            .map_or_else(String::new, |room| {
                format!(", or correct {} to {room}", beside.path)
            });
        Some(ProfileFileError::Field {
            file: file.to_owned(),
            line: at.line,
            field: at.path.clone(),
            problem: format!(
                "= {} is not at least 1 K {relation} {} = {} (line {})",
                at.written, beside.path, beside.written, beside.line
            ),
            allowed: room(wrong).unwrap_or_else(|| {
                "bands in rising order, then the ceiling, each at least 1 K above the one before".to_owned()
            }),
            next: format!("Correct it{elsewhere}"),
        })
    }
}

fn next_step(field: Field) -> &'static str {
    match field {
        Field::BlendTo => "Keep blend_to at least 1 K above blend_from",
        Field::LeaveAbove => "Keep leave_above at or below enter_above",
        Field::StartHigh => "Keep start_high at least 2 K above start_low",
        Field::HighShare => "Keep high_share above low_share",
        Field::BandStart(_) => "Let each band start at least 1 K above the one before",
        Field::RampEnd => "Let the ramp end at least 1 K above the last band's start",
        Field::CeilingStart => "Let the ceiling start at least 1 K above the last band's start",
        Field::BandCount => "Give 1 to 6 [[colour.bands]]; for none write plan = \"grey-only\"",
        Field::StopCount => "Give 2 to 12 colours",
        Field::Name => "Give a short name",
        _ => "Choose a value inside the limits; docs/profile-format.md says what the field does",
    }
}
