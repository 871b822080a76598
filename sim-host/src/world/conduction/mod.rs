//! Heat through walls: transient one-dimensional conduction through layers.
//!
//! | module | what |
//! | --- | --- |
//! | [`material`] | what a layer is made of, with handbook values |
//! | [`mod@assembly`] | layers in order, with the emissivities of both faces |
//! | [`library`] | walls, doors, ceilings and clothing by name |
//! | [`boundary`] | what acts on a face: gas, radiation, an imposed flux, water |
//! | [`water`] | what a spray takes from a face |
//! | [`cavity`] | heat across an air space |
//! | [`wall`] | an assembly with a temperature in every place, stepped in time |
//!
//! `docs/fire-and-walls.md` states the model, its sources and its limits.
//!
//! ```
//! use glowsill::world::conduction::{Boundary, Grid, Wall, assembly};
//! let sheet = assembly("steel-sheet").unwrap();
//! let mut wall = Wall::new(sheet, 293.15, Grid::default()).unwrap();
//! let fire = Boundary::exchange(873.15, 25.0, sheet.emissivity_fire);
//! let room = Boundary::exchange(293.15, 4.0, sheet.emissivity_room);
//! for _ in 0..60 {
//!     wall.step(1.0, fire, room).unwrap();
//! }
//! assert!(wall.room_face_k() > 600.0); // a thin sheet follows the fire within a minute or two
//! ```

pub mod assembly;
pub mod boundary;
pub mod cavity;
pub mod error;
pub mod library;
pub mod material;
mod tridiagonal;
pub mod wall;
pub mod water;

pub use assembly::{Assembly, Ply};
pub use boundary::{Boundary, STEFAN_BOLTZMANN};
pub use cavity::Lie;
pub use error::{ConductionError, UnknownAssembly};
pub use library::{assembly, assembly_library, clothing_library};
pub use material::{BoundWater, Limit, Material};
pub use wall::{Exceeded, Grid, Wall};
pub use water::Spray;
