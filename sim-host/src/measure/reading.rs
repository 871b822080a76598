//! What the measures read from a shown frame: means over regions, intervals, grey-only twins.

use glowsill_core::profile::{ColourPlan, GainPlan, Profile, ScaleLaw};

use crate::photometry::gsdf;
use crate::photometry::panel_model::PanelTable;
use crate::run::Shown;
use crate::world::scene::Mark;

/// A region of a picture: the indices of its pixels.
pub type Region = Vec<usize>;

/// Gives the pixels of a rectangle; parts outside the picture are left out.
#[must_use]
pub fn rectangle(
    (width, height): (usize, usize),
    columns: std::ops::Range<usize>,
    rows: std::ops::Range<usize>,
) -> Region {
    let rows = rows.start..rows.end.min(height);
    rows.flat_map(|y| (columns.start..columns.end.min(width)).map(move |x| y * width + x))
        .collect()
}

/// Gives the pixels a mask marks.
#[must_use]
pub fn masked(mask: &[bool]) -> Region {
    mask.iter()
        .enumerate()
        .filter_map(|(index, marked)| marked.then_some(index))
        .collect()
}

/// Gives the mean luminance (cd/m²) of a region; `None` for an empty one.
#[must_use]
pub fn luminance(shown: &Shown, region: &[usize], panel: &PanelTable) -> Option<f64> {
    mean(region.iter().filter_map(|index| {
        shown
            .picture
            .get(*index)
            .map(|colour| panel.luminance([colour.r, colour.g, colour.b]))
    }))
}

/// Gives the separation of two regions in just-noticeable differences.
#[must_use]
pub fn separation(shown: &Shown, a: &[usize], b: &[usize], panel: &PanelTable) -> Option<f64> {
    Some(gsdf::separation(luminance(shown, a, panel)?, luminance(shown, b, panel)?).abs())
}

/// Gives the separation of each mark from its surround in just-noticeable differences, in the order
/// of the marks; `None` for a mark or a surround without whole pixels.
#[must_use]
pub fn mark_separations(shown: &Shown, marks: &[Mark], panel: &PanelTable) -> Vec<Option<f64>> {
    marks
        .iter()
        .map(|mark| separation(shown, &masked(&mark.mask), &masked(&mark.surround), panel))
        .collect()
}

/// Gives the share of the grey range between the 5th and 95th percentile of a region's greys, 0 to 1.
#[must_use]
pub fn grey_share(shown: &Shown, region: &[usize]) -> f64 {
    let mut greys: Vec<u16> = region
        .iter()
        .filter_map(|i| shown.grey_q8.get(*i).copied())
        .collect();
    greys.sort_unstable();
    let at = |percent: usize| greys.get(greys.len() * percent / 100).copied().unwrap_or(0);
    f64::from(at(95).saturating_sub(at(5))) / 65_280.0
}

/// Gives the mean of numbers; `None` without any.
#[must_use]
pub fn mean(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values {
        sum += value;
        count += 1.0;
    }
    (count > 0.0).then(|| sum / count)
}

/// Gives the mean and the half-width of its 95 % interval (Student's t); without spread for fewer
/// than two values.
#[must_use]
pub fn interval(values: &[f64]) -> Option<(f64, Option<f64>)> {
    let centre = mean(values.iter().copied())?;
    let count = real(values.len());
    if values.len() < 2 {
        return Some((centre, None));
    }
    let variance = values.iter().map(|v| (v - centre).powi(2)).sum::<f64>() / (count - 1.0);
    Some((
        centre,
        Some(student_t(values.len() - 1) * (variance / count).sqrt()),
    ))
}

/// Two-sided 95 % point of Student's t. Source: standard statistical tables (from memory).
fn student_t(freedom: usize) -> f64 {
    const TABLE: [f64; 10] = [
        12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    ];
    match freedom {
        0 => f64::INFINITY,
        1..=10 => TABLE[freedom - 1],
        11..=20 => 2.201,
        21..=40 => 2.080,
        _ => 2.021,
    }
}

/// A count as a real number.
#[must_use]
#[allow(clippy::cast_precision_loss, reason = "counts stay far below 2^52")]
pub fn real(count: usize) -> f64 {
    count as f64
}

/// The same profile without its colours; `None` if it cannot be built.
#[must_use]
pub fn without_colour(profile: &Profile) -> Option<Profile> {
    let mut spec = profile.spec().clone();
    spec.colour = ColourPlan::GreyOnly;
    Profile::new(spec).ok()
}

/// The same profile with a scale that follows at once: on a still scene it shows what the profile
/// shows once its scale has settled, after a few frames instead of hundreds.
#[must_use]
pub fn settled(profile: &Profile) -> Option<Profile> {
    let mut spec = profile.spec().clone();
    spec.scale.frames_to_hotter = 1;
    spec.scale.frames_to_colder = 1;
    Profile::new(spec).ok()
}

/// Frames after which every memory of the profile stands still on a still scene.
#[must_use]
pub fn settling_frames(profile: &Profile) -> usize {
    let spec = profile.spec();
    let scale = match spec.scale.law {
        ScaleLaw::Fixed => 2,
        _ => 5 * usize::from(spec.scale.frames_to_hotter.max(spec.scale.frames_to_colder)) + 2,
    };
    let gain = match spec.gain {
        GainPlan::WholeFrame(plan) => {
            usize::from(plan.enter_frames.max(plan.leave_frames))
                + usize::from(plan.blank_frames)
                + 2
        }
        _ => 1,
    };
    scale + gain
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: the 95 % interval of five readings by hand, t(4) = 2.776 (from memory).
    #[test]
    fn the_interval_is_students() {
        let (mean, half) = interval(&[10.0, 11.0, 12.0, 13.0, 14.0]).unwrap();
        assert!((mean - 12.0).abs() < 1e-12);
        assert!((half.unwrap() - 2.776 * (2.5f64 / 5.0).sqrt()).abs() < 1e-9);
        assert_eq!(interval(&[]), None);
        assert_eq!(interval(&[3.0]), Some((3.0, None)));
    }

    #[test]
    fn rectangles_keep_inside_the_picture() {
        assert_eq!(rectangle((4, 3), 2..9, 1..9), vec![6, 7, 10, 11]);
        assert_eq!(masked(&[false, true, true]), vec![1, 2]);
    }
}
