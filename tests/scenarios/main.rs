//! One module for each behaviour.

mod broken;
mod reference;
