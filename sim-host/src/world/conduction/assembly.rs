//! Layers in order, with the emissivities of both faces.

use super::cavity::Lie;
use super::error::{ConductionError, within};
use super::material::Material;

/// One layer.
#[derive(Clone, Debug, PartialEq)]
pub enum Ply {
    /// A solid.
    Solid {
        /// What it is made of.
        material: Material,
        /// How thick it is, metres.
        thickness_m: f64,
    },
    /// An air space between two solids.
    Gap {
        /// How wide it is, metres.
        thickness_m: f64,
        /// Emissivities of its faces, the fire side's first.
        emissivities: [f64; 2],
        /// How it lies.
        lie: Lie,
    },
}

impl Ply {
    /// A solid layer.
    #[must_use]
    pub const fn solid(material: Material, thickness_m: f64) -> Self {
        Self::Solid {
            material,
            thickness_m,
        }
    }

    /// How thick it is, metres.
    #[must_use]
    pub fn thickness_m(&self) -> f64 {
        match self {
            Self::Solid { thickness_m, .. } | Self::Gap { thickness_m, .. } => *thickness_m,
        }
    }
}

/// Layers from the fire side to the room side.
///
/// Emissivities in the imager's band and over all wavelengths are taken equal.
#[derive(Clone, Debug, PartialEq)]
pub struct Assembly {
    /// Its name on the command line, such as `steel-sheet`.
    pub name: &'static str,
    /// What it is, in words, with its thicknesses.
    pub title: &'static str,
    /// The layers, the fire side first.
    pub plies: Vec<Ply>,
    /// Emissivity of the face on the fire side.
    pub emissivity_fire: f64,
    /// Emissivity of the face that the imager looks at.
    pub emissivity_room: f64,
    /// Where emissivities and thicknesses come from, with marks.
    pub sources: &'static str,
    /// What this wall does to a picture, in a sentence.
    pub note: &'static str,
}

impl Assembly {
    /// How thick it is, metres.
    #[must_use]
    pub fn thickness_m(&self) -> f64 {
        self.plies.iter().map(Ply::thickness_m).sum()
    }

    /// The solid layers' materials, the fire side first.
    pub fn materials(&self) -> impl Iterator<Item = &Material> {
        self.plies.iter().filter_map(|ply| match ply {
            Ply::Solid { material, .. } => Some(material),
            Ply::Gap { .. } => None,
        })
    }

    /// Checks layers and emissivities.
    ///
    /// # Errors
    /// [`ConductionError`] naming what is wrong.
    pub fn check(&self) -> Result<(), ConductionError> {
        let wrong = |problem| {
            Err(ConductionError::Plies {
                name: self.name.to_owned(),
                problem,
            })
        };
        let gap = |ply: Option<&Ply>| matches!(ply, Some(Ply::Gap { .. }));
        if self.plies.is_empty() {
            return wrong("it has no layer");
        }
        if gap(self.plies.first()) || gap(self.plies.last()) {
            return wrong("an air space is its first or last layer");
        }
        if self
            .plies
            .windows(2)
            .any(|pair| gap(pair.first()) && gap(pair.last()))
        {
            return wrong("two air spaces follow each other");
        }
        within("emissivity_fire", self.emissivity_fire, 0.0, 1.0)?;
        within("emissivity_room", self.emissivity_room, 0.0, 1.0)?;
        for ply in &self.plies {
            match ply {
                Ply::Solid {
                    material,
                    thickness_m,
                } => {
                    material.check()?;
                    let field = format!("thickness_m of {}", material.name);
                    within(field, *thickness_m, 1e-5, 10.0)?;
                }
                Ply::Gap {
                    thickness_m,
                    emissivities,
                    ..
                } => {
                    within("thickness_m of an air space", *thickness_m, 1e-3, 2.0)?;
                    within("emissivities[0]", emissivities[0], 0.01, 1.0)?;
                    within("emissivities[1]", emissivities[1], 0.01, 1.0)?;
                }
            }
        }
        Ok(())
    }
}
