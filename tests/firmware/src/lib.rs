#![no_std]
//! What the programs of this package share on the emulated board: an end, a way to say why, and a
//! look at the stack.

pub mod board;
pub mod fault;
pub mod stack;
