//! What joins two nodes of a wall, and the bound water at one.

use crate::world::conduction::cavity::{self, Lie};

/// Just inside an interval, kelvin.
const INSIDE_K: f64 = 1e-3;
#[derive(Clone, Copy, Debug)]
pub(super) enum Link {
    Solid(f64),
    Air {
        thickness_m: f64,
        emissivity: f64,
        lie: Lie,
    },
}

impl Link {
    /// Heat from the first to the second node and its slopes with both temperatures.
    pub(super) fn heat(&self, first_k: f64, second_k: f64) -> (f64, f64, f64) {
        match *self {
            Self::Solid(conductance) => {
                (conductance * (first_k - second_k), conductance, conductance)
            }
            Self::Air {
                thickness_m,
                emissivity,
                lie,
            } => cavity::heat_and_slopes(thickness_m, lie, emissivity, first_k, second_k),
        }
    }
}

/// Bound water in the half cells of one layer at one node.
#[derive(Clone, Copy, Debug)]
pub(super) struct Water {
    pub(super) node: usize,
    pub(super) latent_j_m2: f64,
    pub(super) from_k: f64,
    pub(super) to_k: f64,
    /// Share already gone; it never comes back.
    pub(super) gone: f64,
}

impl Water {
    pub(super) fn share(&self, kelvin: f64) -> f64 {
        let share = (kelvin - self.from_k) / (self.to_k - self.from_k);
        share.clamp(0.0, 1.0).max(self.gone)
    }

    /// Where driving out goes on.
    fn resumes_k(&self) -> f64 {
        self.from_k + self.gone * (self.to_k - self.from_k)
    }

    pub(super) fn slope(&self, kelvin: f64) -> f64 {
        if self.gone < 1.0 && kelvin >= self.resumes_k() && kelvin < self.to_k {
            self.latent_j_m2 / (self.to_k - self.from_k)
        } else {
            0.0
        }
    }

    /// Keeps a change of temperature from leaping over the whole interval, where the heat taken up
    /// changes most: the iteration would leap back and forth.
    pub(super) fn hold(&self, from_k: f64, to_k: f64) -> f64 {
        let resumes_k = self.resumes_k();
        if self.gone >= 1.0 {
            to_k
        } else if from_k < resumes_k && to_k > resumes_k + INSIDE_K {
            resumes_k + INSIDE_K
        } else if from_k > self.to_k && to_k < self.to_k - INSIDE_K {
            self.to_k - INSIDE_K
        } else {
            to_k
        }
    }
}
