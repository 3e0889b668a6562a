//! The real binary, as a user starts it.
