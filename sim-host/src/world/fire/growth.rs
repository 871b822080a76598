//! Power of a fire against time: t-squared growth, plateau, decay.
//!
//! Source: growth coefficients and the time to 1055 kW (600 s, 300 s, 150 s, 75 s), NFPA 204 as quoted
//! by several calculators (seen).

use super::warning::{FireError, within};

/// A fire that grows with the square of time to a peak, burns on, and dies down linearly.
///
/// ```
/// use glowsill::world::fire::Growth;
/// let fire = Growth::fast(2000.0);
/// assert!((fire.kw(150.0) - 1055.0).abs() < 1.0); // by definition of fast
/// assert_eq!(fire.kw(600.0), 2000.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Growth {
    /// Before it nothing burns, seconds.
    pub start_s: f64,
    /// Growth coefficient, kW/s².
    pub alpha_kw_s2: f64,
    /// Power of the plateau, kW.
    pub peak_kw: f64,
    /// Length of the plateau, seconds; may be infinite.
    pub steady_s: f64,
    /// Time from the plateau's end to nothing, seconds.
    pub decay_s: f64,
}

impl Growth {
    /// Growth coefficient of a slow fire, kW/s²: 1055 kW after 600 s.
    pub const SLOW: f64 = 0.002_93;
    /// Growth coefficient of a medium fire, kW/s²: 1055 kW after 300 s.
    pub const MEDIUM: f64 = 0.011_72;
    /// Growth coefficient of a fast fire, kW/s²: 1055 kW after 150 s.
    pub const FAST: f64 = 0.0469;
    /// Growth coefficient of an ultrafast fire, kW/s²: 1055 kW after 75 s.
    pub const ULTRAFAST: f64 = 0.1876;

    /// A fire that starts at once and, once at its peak, burns on for ever.
    #[must_use]
    pub const fn new(alpha_kw_s2: f64, peak_kw: f64) -> Self {
        Self {
            start_s: 0.0,
            alpha_kw_s2,
            peak_kw,
            steady_s: f64::INFINITY,
            decay_s: 1.0,
        }
    }

    /// [`Growth::new`] with [`Growth::SLOW`].
    #[must_use]
    pub const fn slow(peak_kw: f64) -> Self {
        Self::new(Self::SLOW, peak_kw)
    }

    /// [`Growth::new`] with [`Growth::MEDIUM`].
    #[must_use]
    pub const fn medium(peak_kw: f64) -> Self {
        Self::new(Self::MEDIUM, peak_kw)
    }

    /// [`Growth::new`] with [`Growth::FAST`].
    #[must_use]
    pub const fn fast(peak_kw: f64) -> Self {
        Self::new(Self::FAST, peak_kw)
    }

    /// [`Growth::new`] with [`Growth::ULTRAFAST`].
    #[must_use]
    pub const fn ultrafast(peak_kw: f64) -> Self {
        Self::new(Self::ULTRAFAST, peak_kw)
    }

    /// Power at a time in seconds, kW.
    #[must_use]
    pub fn kw(&self, t_s: f64) -> f64 {
        let since = t_s - self.start_s;
        if since <= 0.0 {
            return 0.0;
        }
        let falling = since - self.peaks_after_s() - self.steady_s;
        if falling > 0.0 {
            return self.peak_kw * (1.0 - falling / self.decay_s).max(0.0);
        }
        (self.alpha_kw_s2 * since * since).min(self.peak_kw)
    }

    /// Time from the start to the plateau, seconds.
    #[must_use]
    pub fn peaks_after_s(&self) -> f64 {
        (self.peak_kw / self.alpha_kw_s2).sqrt()
    }

    /// Heat released up to a time in seconds, kJ.
    #[must_use]
    pub fn energy_kj(&self, t_s: f64) -> f64 {
        let since = (t_s - self.start_s).max(0.0);
        let peaks = self.peaks_after_s();
        let growing = since.min(peaks);
        let steady = (since - peaks).clamp(0.0, self.steady_s);
        let falling = (since - peaks - self.steady_s).clamp(0.0, self.decay_s);
        self.alpha_kw_s2 * growing.powi(3) / 3.0
            + self.peak_kw * (steady + falling * (1.0 - falling / (2.0 * self.decay_s)))
    }

    /// Checks every field.
    ///
    /// # Errors
    /// [`FireError::Range`] naming the field, its value and its limits.
    pub fn check(&self) -> Result<(), FireError> {
        within("start_s", self.start_s, -1e6, 1e6)?;
        within("alpha_kw_s2", self.alpha_kw_s2, 1e-6, 100.0)?;
        within("peak_kw", self.peak_kw, 0.1, 1e6)?;
        within("steady_s", self.steady_s, 0.0, f64::INFINITY)?;
        within("decay_s", self.decay_s, 1e-3, 1e6)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Arithmetic by hand: 0.04 t², peak 100 kW at 50 s, 100 s of plateau, 200 s of decay.
    #[test]
    fn energy_is_the_integral_of_the_power() {
        let fire = Growth {
            start_s: 10.0,
            alpha_kw_s2: 0.04,
            peak_kw: 100.0,
            steady_s: 100.0,
            decay_s: 200.0,
        };
        let whole = 0.04 * 50f64.powi(3) / 3.0 + 100.0 * 100.0 + 100.0 * 100.0;
        assert!((fire.energy_kj(1000.0) - whole).abs() < 1e-9);
        assert!((fire.kw(260.0) - 50.0).abs() < 1e-9);
        assert!((fire.kw(60.0) - 100.0).abs() < 1e-9);
        assert_eq!(fire.kw(10.0), 0.0);
        assert_eq!(fire.kw(400.0), 0.0);
    }
}
