//! The stages, in data order; each file states its contract first.

pub mod colour;
pub mod correct;
pub mod merge;
pub mod overlay;
pub mod scale;
pub mod statistics;
