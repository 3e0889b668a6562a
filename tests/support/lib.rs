//! Shared by the test binaries: builders of cases, a seeded generator of random cases, and an independent reference
//! integration of a case that shares nothing with the engine but the case itself.

pub mod cases;
pub mod collocation;
pub mod compare;
pub mod hardware;
pub mod laboratory;
pub mod random;
pub mod reference;
pub mod rooms;
