#![no_std]
//! What the programs of this package share on the emulated board: an end, a way to say why, a look at
//! the stack, and a timer that counts instructions.

pub mod board;
pub mod fault;
pub mod stack;
pub mod timer;
