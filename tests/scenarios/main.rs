//! One module for each behaviour.

mod command;
mod outside;
mod shipped;
