//! The fire: its power, its hot layer, its plume, what it radiates, and exposure curves.
//!
//! | module | what |
//! | --- | --- |
//! | [`growth`] | power against time: t-squared growth, plateau, decay |
//! | [`compartment`] | the room, its openings, and the temperature of the hot layer (MQH correlation) |
//! | [`layer`] | how far the hot layer has come down, and the density of hot gas |
//! | [`plume`] | flame height, virtual origin, centreline temperature, entrainment |
//! | [`radiation`] | flux from a flame or a layer on a target |
//! | [`view_factor`] | closed forms of view factors |
//! | [`exposure`] | what a wall meets on its fire side: ISO 834, ASTM E119, and others |
//!
//! These are correlations of measured fires, good to some ten percent inside their limits and to
//! nothing outside them. What is computed carries [`Warning`]s where limits are left.
//! `docs/fire-and-walls.md` states formulas, sources and limits. Simulation and teaching only.

pub mod compartment;
pub mod exposure;
pub mod growth;
pub mod layer;
pub mod plume;
pub mod radiation;
pub mod view_factor;
mod warning;

pub use compartment::{Compartment, LayerRise, Lining, Vent};
pub use exposure::{Exposure, FireSide};
pub use growth::Growth;
pub use layer::{Descent, Layer};
pub use warning::{FireError, Warning};
