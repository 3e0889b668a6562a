//! One module for each behaviour.

mod calls;
mod exit_codes;
mod layering;
mod map;
mod readme;
mod results;
mod statistics;
mod tree;
mod words;
