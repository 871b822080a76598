//! Running displays over the frames that a source feeds them, because scale and bands have memory.

use rayon::prelude::*;

use glowsill_core::profile::Profile;

use super::SheetError;
use crate::run::{Display, Panel, RunError, SensorTables, with_displays};
use crate::source::{Counts, Frame, Source};
use crate::world::image::Image;
use crate::world::scene::Mark;

/// One frame after every display has shown it.
pub struct Moment<'m, 'd> {
    /// Number of the frame, from 0.
    pub frame: usize,
    /// What stood before the sensor, kelvin; `None` where only counts are known.
    pub scene: Option<&'m Image<f64>>,
    /// The marks in view.
    pub marks: &'m [Mark],
    /// The counts that every display was given.
    pub counts: &'m Counts,
    /// What the pipeline knows of the counts.
    pub tables: &'m SensorTables,
    /// The displays, in the order of the profiles.
    pub displays: &'m [Display<'d>],
}

/// Shows the frames `feed` of a source, in order, to a display for each profile, side by side, and
/// calls `visit` after each frame; [`Source::feed`] says which frames a display needs. All displays get the same exposures, drawn with one seed.
///
/// # Errors
/// [`SheetError`] when the source cannot be read, a display cannot be run, or `visit` fails.
pub fn run(
    source: &Source,
    profiles: &[&Profile],
    feed: &[usize],
    seed: u64,
    mut visit: impl FnMut(Moment<'_, '_>) -> Result<(), SheetError>,
) -> Result<(), SheetError> {
    let mut lens = source.lens(seed)?;
    let tables = lens.tables().clone();
    with_displays(
        profiles,
        &tables,
        source.size(),
        Panel::Rgb888,
        |displays| {
            for &frame in feed {
                let (scene, marks, counts) = match source.frame(frame)? {
                    Frame::Counts(counts) => (None, Vec::new(), counts),
                    Frame::Apparent { image, marks } => {
                        let counts = lens.sense(&image)?;
                        (Some(image), marks, counts)
                    }
                };
                displays
                    .par_iter_mut()
                    .try_for_each(|display| counts.show(display).map(|_| ()))
                    .map_err(|error: RunError| error)?;
                visit(Moment {
                    frame,
                    scene: scene.as_ref(),
                    marks: &marks,
                    counts: &counts,
                    tables: &tables,
                    displays,
                })?;
            }
            Ok(())
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::with_display;
    use glowsill_core::profile::ProfileSpec;

    #[test]
    fn displays_side_by_side_show_what_each_shows_alone() {
        let source = Source::open("workshop", Some((64, 48))).unwrap();
        let plain = Profile::new(ProfileSpec::grey_example()).unwrap();
        let mut narrow = ProfileSpec::grey_example();
        narrow.scale.start_high = glowsill_core::units::Temperature::from_bits(10_000);
        let narrow = Profile::new(narrow).unwrap();
        let mut together = Vec::new();
        run(
            &source,
            &[&plain, &narrow],
            &source.feed(&[4]),
            7,
            |moment| {
                if moment.frame == 4 {
                    together = moment
                        .displays
                        .iter()
                        .map(|d| d.last().picture.clone())
                        .collect();
                }
                Ok(())
            },
        )
        .unwrap();
        for (profile, picture) in [&plain, &narrow].into_iter().zip(&together) {
            let mut lens = source.lens(7).unwrap();
            let tables = lens.tables().clone();
            let alone = with_display(profile, &tables, (64, 48), Panel::Rgb888, |display| {
                for frame in 0..5 {
                    let counts = lens.expose(source.frame(frame).unwrap())?;
                    counts.show(display)?;
                }
                Ok::<_, RunError>(display.last().picture.clone())
            })
            .unwrap();
            assert_eq!(&alone, picture);
        }
        assert_ne!(together[0], together[1]);
    }
}
