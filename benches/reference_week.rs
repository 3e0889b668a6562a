//! Reference week.
fn main() {}
