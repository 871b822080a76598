#![no_std]
#![forbid(unsafe_code)]
//! Scenes in whole numbers, and sessions over them, so that every machine sees the same samples.
//!
//! [`still`] has the scenes that instructions are counted on, [`moving`] one that lives, and
//! [`session`] runs every shipped profile over it and gives check sums to compare.
//!
//! Simulation and teaching only; everything here is invented.

pub mod moving;
pub mod profiles;
pub mod session;
pub mod still;
mod sums;
