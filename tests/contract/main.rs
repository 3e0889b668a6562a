//! One module for each behaviour.

mod calls;
mod designs;
mod digests;
mod drivers;
mod exit_codes;
mod layering;
mod map;
mod parts;
mod rare;
mod readme;
mod results;
mod statistics;
mod stress;
mod tree;
mod upsets;
mod words;
