//! Fault campaign: wrappers with a seed break what goes into the pipeline, and the campaign counts the
//! frames until the record names the cause and the picture is struck out.
//!
//! | module | takes → gives |
//! | --- | --- |
//! | [`scene`] | a scene, a size, a seed → a sensor's tables and frames |
//! | [`fault`] | a frame as it should be → the frame as it arrives |
//! | [`storage`] | tables and profile bytes as they should be → as they are found at power-up |
//! | [`campaign`] | every case, and what must be named in it |
//! | [`run`] | a case → what was named and when, what was struck, when it recovered |
//! | [`table`] | results → `docs/faults.md` |
//!
//! The pipeline under test is the one in use: no special case in it knows of faults.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a test may stop; its numbers are small"
)]

pub mod campaign;
pub mod fault;
pub mod run;
pub mod scene;
pub mod storage;
pub mod table;

/// A sequence of numbers that a test can repeat: linear congruence with Knuth's multiplier for 64 bits.
#[derive(Clone, Debug)]
pub struct Sequence(pub u64);

impl Sequence {
    /// The next number from 0 to `limit` - 1; `limit` is at least 1.
    pub fn below(&mut self, limit: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % limit as u64) as usize
    }
}
