//! stub
/// The starter.
#[must_use] pub fn starter() -> String { String::new() }
