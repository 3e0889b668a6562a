//! One module for each behaviour.

mod layering;
mod map;
mod readme;
mod statistics;
mod tree;
