//! One module for each behaviour.

mod broken;
mod command;
mod outside;
mod reference;
mod shipped;
