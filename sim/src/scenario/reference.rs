//! stub
/// The page.
#[must_use] pub fn reference_page() -> String { String::new() }
