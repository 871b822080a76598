//! The stages, in data order; each file states its contract first.

pub(crate) mod agreement;
pub(crate) mod cells;
pub mod colour;
pub mod correct;
pub mod merge;
pub mod overlay;
pub mod scale;
pub(crate) mod sense;
pub mod statistics;
