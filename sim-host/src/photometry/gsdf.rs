//! Luminance as an index of just-noticeable differences (JND): the DICOM grayscale standard display function.
//!
//! **Input**: luminance, 0.05 to 3993 cd/m². **Output**: JND index, 1 to 1023. Values outside are
//! clamped to the ends, so a separation that reaches outside the domain is understated, never
//! overstated. **Source**: DICOM PS3.14, section 7.1, equations for L(j) and j(L).
//!
//! [`jnd`] inverts the display function itself (Newton steps inside a bracket, to 1e-9 JND);
//! [`jnd_by_fit`] is the standard's own polynomial, good to about 0.1 JND.

/// First index of the display function.
pub const FIRST_JND: f64 = 1.0;
/// Last index of the display function.
pub const LAST_JND: f64 = 1023.0;

const NUMERATOR: [f64; 5] = [
    -1.301_187_7,
    8.024_263_6e-2,
    1.364_669_9e-1,
    -2.546_840_4e-2,
    1.363_533_4e-3,
];
const DENOMINATOR: [f64; 6] = [
    1.0,
    -2.584_019_1e-2,
    -1.032_022_9e-1,
    2.874_562_0e-2,
    -3.197_897_7e-3,
    1.299_263_4e-4,
];
const INVERSE: [f64; 9] = [
    71.498_068,
    94.593_053,
    41.912_053,
    9.824_700_4,
    0.281_754_07,
    -1.187_845_5,
    -0.180_143_49,
    0.147_108_99,
    -0.017_046_845,
];

fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

fn derivative(coefficients: &[f64], x: f64) -> f64 {
    let (mut value, mut slope) = (0.0, 0.0);
    for c in coefficients.iter().rev() {
        slope = slope * x + value;
        value = value * x + c;
    }
    slope
}

/// Common logarithm of the luminance and its slope over ln(j).
fn log_luminance(ln_j: f64) -> (f64, f64) {
    let (n, d) = (polynomial(&NUMERATOR, ln_j), polynomial(&DENOMINATOR, ln_j));
    let slope = (derivative(&NUMERATOR, ln_j) * d - n * derivative(&DENOMINATOR, ln_j)) / (d * d);
    (n / d, slope)
}

/// Luminance of a JND index, in cd/m². The index is clamped to 1 to 1023.
///
/// ```
/// let luminance = glowsill::photometry::gsdf::luminance(512.0);
/// assert!((luminance - 130.065_284).abs() < 1e-6);
/// ```
#[must_use]
pub fn luminance(jnd: f64) -> f64 {
    10f64.powf(log_luminance(jnd.clamp(FIRST_JND, LAST_JND).ln()).0)
}

/// JND index of a luminance in cd/m², by inverting [`luminance`].
///
/// Luminances outside [`luminance`]`(1)` to `(1023)` give 1 and 1023.
///
/// ```
/// let jnd = glowsill::photometry::gsdf::jnd(100.0);
/// assert!((jnd - 476.364).abs() < 0.1); // DICOM PS3.14 inverse fit
/// ```
#[must_use]
pub fn jnd(luminance_cd_m2: f64) -> f64 {
    let (mut low, mut high) = (FIRST_JND.ln(), LAST_JND.ln());
    let target = luminance_cd_m2.max(f64::MIN_POSITIVE).log10();
    if target <= log_luminance(low).0 {
        return FIRST_JND;
    }
    if target >= log_luminance(high).0 {
        return LAST_JND;
    }
    let mut at = jnd_by_fit(luminance_cd_m2).ln();
    for _ in 0..60 {
        let (value, slope) = log_luminance(at);
        if value < target {
            low = at;
        } else {
            high = at;
        }
        let newton = at - (value - target) / slope;
        let next = if newton > low && newton < high {
            newton
        } else {
            (low + high) / 2.0
        };
        if (next - at).abs() < 1e-13 {
            return next.exp();
        }
        at = next;
    }
    at.exp()
}

/// JND index of a luminance by the inverse polynomial that the standard prints, clamped to 1 to 1023.
#[must_use]
pub fn jnd_by_fit(luminance_cd_m2: f64) -> f64 {
    let x = luminance_cd_m2.clamp(0.05, 3993.404).log10();
    polynomial(&INVERSE, x).clamp(FIRST_JND, LAST_JND)
}

/// Separation of two luminances in cd/m², in JND; never negative.
#[must_use]
pub fn separation(first: f64, second: f64) -> f64 {
    (jnd(first) - jnd(second)).abs()
}
