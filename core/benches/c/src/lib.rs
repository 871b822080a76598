#![deny(unsafe_op_in_unsafe_fn)]
//! The core beside a plain C form of the same steps, and beside the floor: moving the same bytes.
//!
//! All of them take the same frames of one scene ([`scene`]), in turn, in one process.
//! [`measure::compare`] refuses to time forms that do not give the same pixels.

pub mod measure;
pub mod plain_c;
pub mod scene;
