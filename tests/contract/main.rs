//! One module for each behaviour.

mod command_line;
mod statistics;
