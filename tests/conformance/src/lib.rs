//! Holds `glowsill-core` against the f64 oracle and against values from outside the project.
//!
//! The comparisons are the integration tests of this package; the library only puts a core
//! configuration into the oracle's words. Bounds: given the same temperatures, grey within 1 of
//! 255, RGB565 within 1 code a channel and bands identical; temperature within 1/16 K.

pub mod translate;
