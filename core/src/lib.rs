#![no_std]
#![forbid(unsafe_code)]
//! placeholder
#[cfg(test)]
extern crate std;
pub mod fixedpoint;
pub mod panel;
pub mod profile;
pub mod record;
pub mod stage;
pub mod units;
mod validate;
