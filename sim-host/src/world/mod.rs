//! The simulated world: scenes of known apparent temperature, the sensor that looks at them, and
//! recordings.
//!
//! | module | takes → gives |
//! | --- | --- |
//! | [`image`] | a plain row-major picture of any pixel type |
//! | [`radiometry`] | kelvin ↔ in-band radiance; emissivity, surroundings, air |
//! | [`sensor`] | apparent temperature → high-gain and low-gain counts |
//! | [`scene`] | what can be looked at: a frame → apparent temperature and marks |
//! | [`target`] | a bench target at a frame → apparent temperature |
//! | [`recording`] | a folder → count or kelvin frames |
//!
//! Simulation and teaching only; not a certification.

pub mod image;
pub mod radiometry;
pub mod recording;
pub(crate) mod rounding;
pub mod scene;
pub mod sensor;
pub mod target;
