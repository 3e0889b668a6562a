//! stub
/// The schema.
#[must_use] pub fn json_schema() -> String { String::new() }
