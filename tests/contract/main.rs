//! One module for each behaviour.

mod calls;
mod designs;
mod digests;
mod exit_codes;
mod layering;
mod map;
mod parts;
mod readme;
mod results;
mod statistics;
mod tree;
mod words;
