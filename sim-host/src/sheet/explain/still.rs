//! What is followed: the background, which of it stands still, and the course of a mark.

use super::{Background, Course, When};
use crate::run::Shown;
use crate::sheet::instant;
use crate::sheet::view::MarkState;
use crate::source::Source;
use crate::temperature::Kelvin;
use crate::world::image::Image;
use crate::world::scene::Mark;

/// A pixel stands still when the scene changes by less than this over the window, kelvin.
const STILL_K: f64 = 0.1;
/// How far the blur of the optics carries a change, pixels: eight of its standard deviations.
const REACH: usize = 5;

/// What is below the onset and no mark: its 5th and 95th percentile, and its pixels.
pub(super) fn background(
    shown: &Shown,
    marks: &[Mark],
    onset: Option<Kelvin>,
) -> (Background, Vec<usize>) {
    let is_mark = |i: usize| {
        marks
            .iter()
            .any(|mark| mark.mask.get(i).copied().unwrap_or(false))
    };
    let below = |i: usize| {
        shown
            .kelvin(i)
            .filter(|kelvin| onset.is_none_or(|onset| *kelvin < onset.0))
    };
    let region: Vec<usize> = (0..shown.temperature.len())
        .filter(|i| !is_mark(*i) && below(*i).is_some())
        .collect();
    let mut kelvin: Vec<f64> = region.iter().filter_map(|i| below(*i)).collect();
    kelvin.sort_by(f64::total_cmp);
    let at = |percent: usize| {
        Kelvin(
            kelvin
                .get(kelvin.len() * percent / 100)
                .copied()
                .unwrap_or(0.0),
        )
    };
    let background = Background {
        low: at(5),
        high: at(95),
        pixels: region.len(),
    };
    (background, region)
}

/// The pixels of a region that stand still from one picture to another, and so does all within [`REACH`] of
/// them; all pixels, where the scene is not known.
pub(super) fn still(region: &[usize], pictures: Option<(&Image<f64>, &Image<f64>)>) -> Vec<usize> {
    let Some((before, after)) = pictures else {
        return region.to_vec();
    };
    let (width, height) = (before.width, before.height);
    let mut near = vec![false; before.data.len()];
    for (index, (was, is)) in before.data.iter().zip(&after.data).enumerate() {
        if (is - was).abs() >= STILL_K {
            let (x, y) = (index % width, index / width);
            for row in y.saturating_sub(REACH)..=(y + REACH).min(height - 1) {
                let columns = x.saturating_sub(REACH)..=(x + REACH).min(width - 1);
                columns.for_each(|column| near[row * width + column] = true);
            }
        }
    }
    region.iter().copied().filter(|i| !near[*i]).collect()
}

/// A mark between two instants, from its separation at each frame.
pub(super) fn course(
    name: String,
    points: &[(usize, Option<f64>)],
    ends: [When; 2],
    source: &Source,
    visible_jnd: f64,
) -> Course {
    let separation_jnd = ends.map(|end| {
        let found = points.iter().find(|point| point.0 == end.frame);
        found.and_then(|point| point.1)
    });
    let state = separation_jnd.map(|jnd| match jnd {
        None => MarkState::OutOfView,
        Some(jnd) if jnd < visible_jnd => MarkState::Lost,
        Some(_) => MarkState::Visible,
    });
    // The frame after the last one in which it was seen, between the two instants.
    let last_seen = points
        .iter()
        .rev()
        .find(|point| point.1.is_some_and(|jnd| jnd >= visible_jnd))
        .map(|point| point.0);
    let lost_from = match (state, last_seen) {
        ([_, MarkState::Lost], Some(seen)) if seen >= ends[0].frame => {
            let after = points.iter().map(|point| point.0).find(|at| *at > seen);
            after.map(|frame| When {
                frame,
                seconds: instant::seconds(source, frame),
            })
        }
        _ => None,
    };
    Course {
        name,
        separation_jnd,
        state,
        lost_from,
        points: points
            .iter()
            .map(|(frame, jnd)| (instant::seconds(source, *frame), jnd.unwrap_or(f64::NAN)))
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_near_a_change_does_not_stand_still() {
        let before = Image::new(20, 1, 300.0);
        let mut after = before.clone();
        after.data[0] = 310.0;
        let all: Vec<usize> = (0..20).collect();
        assert_eq!(
            still(&all, Some((&before, &after))),
            (6..20).collect::<Vec<_>>()
        );
        assert_eq!(still(&all, None), all);
    }
}
