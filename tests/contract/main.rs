//! One module for each behaviour.

mod command_line;
mod layering;
mod map;
mod readme;
mod statistics;
mod tree;
