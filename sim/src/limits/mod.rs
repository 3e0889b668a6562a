//! Limits: what must hold of the air, over which time, on whose authority.

mod rule;

pub use rule::{Bound, Quantity, Rule, Statistic, Subject};
