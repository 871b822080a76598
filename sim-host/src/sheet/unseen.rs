//! What an imager cannot see: sentences for sheets and for the command line.

use crate::measure::reading::real;
use crate::source::Source;

/// Pixels that a spot must span in each direction before its temperature can be read: with fewer, blur mixes
/// it with what stands beside it. Common practice, no published source.
const PIXELS_ACROSS: f64 = 3.0;
/// Distance at which sizes are stated, metres.
const DISTANCE_M: f64 = 5.0;

/// What the imager cannot see of a source: what the source itself says, then what holds everywhere.
#[must_use]
pub fn of(source: &Source) -> Vec<String> {
    let mut all = source.unseen();
    all.extend(everywhere(source.size(), source.view_degrees()));
    all
}

/// What no imager sees, for a picture of `size` (columns, rows) and a vertical field of view in degrees,
/// if it is known.
#[must_use]
pub fn everywhere(size: (usize, usize), view_degrees: Option<f64>) -> Vec<String> {
    vec![
        "Nothing behind a wall, a door, glass or water: the picture holds the temperature of the surface \
         that faces the imager, and a hot surface behind shows only once this side has warmed."
            .to_owned(),
        "Glass, water, bare metal and glossy paint mirror heat: a warm patch on them may be a reflection of \
         a person or of fire elsewhere, and a hot bare metal reads far too cool."
            .to_owned(),
        spot(size, view_degrees),
    ]
}

/// How small or distant is too small to read.
fn spot((_, rows): (usize, usize), view_degrees: Option<f64>) -> String {
    match view_degrees {
        Some(degrees) => {
            let ratio = distance_to_spot(rows, degrees);
            let spot_cm = 100.0 * DISTANCE_M / ratio;
            format!(
                "Small or distant spots: with {rows} rows over {degrees:.0}° a spot must be at least 1/{ratio:.0} of \
                 its distance across (three pixels) to be read; at {DISTANCE_M:.0} m (16 ft) that is \
                 {spot_cm:.0} cm ({:.1} in). Anything smaller reads too cool when it is hot.",
                spot_cm / 2.54
            )
        }
        None => "Small or distant spots: what spans fewer than three pixels in either direction reads too \
                 cool when it is hot. The field of view of this source is not known, so that no size in \
                 metres can be given."
            .to_owned(),
    }
}

/// Distance over the size of the smallest spot that can be read, from rows and vertical field of view.
///
/// ```
/// // 240 rows over 53.13° (as high as far): a pixel is 1/240 of the distance, three pixels 1/80.
/// let ratio = glowsill::sheet::unseen::distance_to_spot(240, 53.130_102);
/// assert!((ratio - 80.0).abs() < 1e-4);
/// ```
#[must_use]
pub fn distance_to_spot(rows: usize, view_degrees: f64) -> f64 {
    let height_at_one = 2.0 * (view_degrees.to_radians() / 2.0).tan();
    real(rows) / (PIXELS_ACROSS * height_at_one)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_given_only_where_the_view_is_known() {
        let known = everywhere((320, 240), Some(53.130_102)).join(" ");
        // By hand: 5 m / 80 = 6.25 cm = 2.46 in.
        assert!(
            known.contains("1/80") && known.contains("6 cm (2.5 in)"),
            "{known}"
        );
        let unknown = everywhere((320, 240), None).join(" ");
        assert!(
            unknown.contains("not known") && unknown.contains("glass"),
            "{unknown}"
        );
    }
}
