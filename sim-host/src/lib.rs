//! Computes, measures and proves what a fire-service thermal imager display shows.
//!
//! Data flows one way: [`world`] → [`run`] (the only caller of `glowsill-core`) → [`measure`] →
//! [`requirement`] → [`report`]. See `docs/architecture.md`.

pub mod animation;
pub mod cli;
pub mod measure;
pub mod photometry;
pub mod plot;
pub mod profile_file;
pub mod report;
pub mod requirement;
pub mod run;
pub mod sheet;
pub(crate) mod shown_colour;
pub mod source;
pub mod temperature;
pub mod vectors;
pub mod video;
pub mod world;
