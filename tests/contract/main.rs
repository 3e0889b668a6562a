//! One module for each behaviour.

mod statistics;
