//! One module for each behaviour.
