//! One module for each behaviour.

// What only the open tests use.
#![cfg_attr(not(feature = "disagreements"), allow(dead_code, unused_imports))]

mod command_line;
mod layering;
mod map;
mod readme;
mod statistics;
mod tree;
