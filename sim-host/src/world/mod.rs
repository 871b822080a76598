//! The simulated world: scenes of known apparent temperature, the sensor that looks at them, and
//! recordings.
//!
//! | module | takes → gives |
//! | --- | --- |
//! | [`barrier`] | a wall and an exposure → what shows on its far side, against time |
//! | [`conduction`] | a wall and what acts on its faces → temperatures through it, stepped in time |
//! | [`fire`] | a fire and its room → power, hot layer, plume, radiation; exposure curves |
//! | [`image`] | a plain row-major picture of any pixel type |
//! | [`radiometry`] | kelvin ↔ in-band radiance; emissivity, surroundings, air |
//! | [`sensor`] | apparent temperature → high-gain and low-gain counts |
//! | [`scene`] | what can be looked at: a frame → apparent temperature and marks |
//! | [`scenario`] | a file of rooms, a fire and things → a scene that changes with time |
//! | [`target`] | a bench target at a frame → apparent temperature |
//! | [`recording`] | a folder → count or kelvin frames |
//!
//! Simulation and teaching only; not a certification.

pub mod barrier;
pub mod conduction;
pub mod fire;
pub mod image;
pub mod radiometry;
pub mod recording;
pub(crate) mod rounding;
pub mod scenario;
pub mod scene;
pub mod sensor;
pub mod target;
