//! The form of the conformance vectors, as `docs/vectors.md` states it.
//!
//! A file holds the vectors of one stage; [`VectorFile::request_line`] writes the line that a program
//! under test reads, [`compare`] judges the line that it answers. Nothing here computes a pixel.
//!
//! Simulation and teaching only; not a certification. Passing every vector says that two programs
//! agree, not that any equipment is fit for anything.

mod answer;
mod file;
mod generator;

pub use answer::{Mismatch, compare};
pub use file::{Manifest, ManifestEntry, Source, Tolerance, Vector, VectorFile, VectorFileError};
pub use generator::{GeneratorError, expand};
