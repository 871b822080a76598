//! Contrast of two luminances: the WCAG ratio, Weber and Michelson.
//!
//! **Input**: relative luminances (WCAG) or luminances in one unit (Weber, Michelson), not negative.
//! **Output**: ratios without unit.

/// WCAG 2.x contrast ratio of two relative luminances (0 to 1), 1 to 21.
/// Source: WCAG 2.x, definition of "contrast ratio".
///
/// ```
/// use glowsill::photometry::{colour::relative_luminance, contrast::wcag};
/// let ratio = wcag(relative_luminance([0x77; 3]), relative_luminance([255; 3]));
/// assert!((ratio - 4.4781).abs() < 1e-4);
/// ```
#[must_use]
pub fn wcag(first: f64, second: f64) -> f64 {
    (first.max(second) + 0.05) / (first.min(second) + 0.05)
}

/// Weber contrast of a target on a background: (L - Lb)/Lb. Infinite on a black background.
#[must_use]
pub fn weber(target: f64, background: f64) -> f64 {
    (target - background) / background
}

/// Michelson contrast (Lmax - Lmin)/(Lmax + Lmin), 0 to 1; 0 where both are black.
#[must_use]
pub fn michelson(first: f64, second: f64) -> f64 {
    let sum = first + second;
    if sum > 0.0 {
        (first - second).abs() / sum
    } else {
        0.0
    }
}
