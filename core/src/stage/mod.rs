//! Stages, in data order.
pub mod overlay;
