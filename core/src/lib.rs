#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    test,
    allow(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "expected values are made from small loop counters"
    )
)]
//! Reference display pipeline for fire-service thermal imagers, in fixed point.
//!
//! ```text
//! counts (high, low) → correct → merge → temperature → statistics ┐
//!                                             │     scale control ┘ (memory, one frame of lag)
//!                                             ├→ grey
//!                                             └→ onset and bands (memory) → overlay → panel pixel
//! ```
//!
//! | stage | takes | gives | memory |
//! | --- | --- | --- | --- |
//! | [`stage::correct`] | raw counts | corrected counts | two rows a gain state |
//! | [`stage::merge`] | corrected counts, [`calibration`] | temperature codes, 1/32 K | gain state |
//! | [`stage::statistics`] | temperature codes | histogram, extremes | one frame |
//! | [`stage::scale`] | statistics | grey, 8.8 bits | ends, curve |
//! | [`stage::colour`] | temperature codes | band, colour | one byte a pixel |
//! | [`stage::overlay`] | colour, grey | sRGB codes | none |
//! | [`panel`] | sRGB codes | panel words | none |
//! | [`health`] | samples, counts, tables | causes; a picture struck out | counters |
//!
//! [`pipeline::Pipeline`] runs them row by row. `docs/pipeline.md` states them exactly; an
//! independent f64 oracle is held against them. Configuration ([`profile::Profile`],
//! [`pipeline::SensorConfig`]), state and [`record::FrameRecord`] are three types.
//!
//! Properties: no heap, no float, no unsafe code; errors at construction, none per pixel; no Cargo
//! feature changes a pixel of the picture (`defmt` adds impls, and events when a cause of [`health`]
//! starts and ends; `embedded-graphics` adds `symbols`, which the caller draws over it).
//!
//! Simplifications: one frame of lag between statistics and scale; colours are mixed in sRGB codes;
//! a defect sees five neighbours. Out of scope: shutter control, geometric distortion, detail
//! enhancement, and any statement about what equipment is fit for.

#[cfg(test)]
extern crate std;

pub mod calibration;
pub mod error;
pub mod fallback;
mod fixedpoint;
pub mod health;
mod mark;
pub mod packed;
pub mod panel;
pub mod pipeline;
pub mod profile;
pub mod record;
pub mod selector;
pub mod stage;
#[cfg(feature = "embedded-graphics")]
pub mod symbols;
pub mod units;
mod validate;
mod watch;
