//! Shared by the test binaries.
