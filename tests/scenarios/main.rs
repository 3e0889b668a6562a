//! One module for each behaviour.

mod broken;
mod command;
mod luck;
mod outside;
mod reference;
mod shipped;
