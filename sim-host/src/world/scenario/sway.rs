//! Small differences of a surface: no wall has one temperature.

/// A number of −1 to 1 for a whole place, from a seed.
fn hash(seed: u64, x: i64, y: i64) -> f64 {
    // SplitMix64, public domain, by Sebastiano Vigna.
    let mut z = seed
        .wrapping_add(x.cast_unsigned().wrapping_mul(0x9e37_79b9_7f4a_7c15))
        .wrapping_add(y.cast_unsigned().wrapping_mul(0xc2b2_ae3d_27d4_eb4f));
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^= z >> 31;
    let top = u32::try_from(z >> 32).unwrap_or(0);
    f64::from(top) / f64::from(u32::MAX) * 2.0 - 1.0
}

/// The floor of a place and what is left, without a call where processors have no rounding.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "a place in metres over centimetres; `as` saturates"
)]
fn split(value: f64) -> (i64, f64) {
    let cut = value as i64;
    let floor = cut - i64::from((cut as f64) > value);
    (floor, value - floor as f64)
}

/// Smooth noise of −1 to 1 over a plane; about one bump a unit.
pub(super) fn noise(seed: u64, u: f64, v: f64) -> f64 {
    let ((x, u), (y, v)) = (split(u), split(v));
    let soft = |t: f64| t * t * (3.0 - 2.0 * t);
    let (a, b) = (soft(u), soft(v));
    let mix = |p: f64, q: f64, t: f64| p + (q - p) * t;
    mix(
        mix(hash(seed, x, y), hash(seed, x + 1, y), a),
        mix(hash(seed, x, y + 1), hash(seed, x + 1, y + 1), a),
        b,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: the definition of the floor.
    #[test]
    fn a_place_is_split_at_its_floor() {
        for value in [-2.0, -1.25, -1e-9, 0.0, 0.5, 3.0, 3.75] {
            let (whole, part) = split(value);
            assert_eq!(
                (f64::from(i32::try_from(whole).unwrap()), part),
                (value.floor(), value - value.floor())
            );
        }
    }

    #[test]
    fn noise_is_bounded_smooth_and_depends_on_its_seed() {
        let mut largest: f64 = 0.0;
        for i in 0..2000 {
            let u = f64::from(i) * 0.037 - 20.0;
            let here = noise(5, u, 0.3 * u);
            assert!((-1.0..=1.0).contains(&here));
            assert!((noise(5, u + 1e-4, 0.3 * u) - here).abs() < 1e-3);
            largest = largest.max((here - noise(6, u, 0.3 * u)).abs());
        }
        assert!(largest > 0.5);
    }
}
