//! The work counted by the arithmetic floor.
