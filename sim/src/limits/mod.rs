//! Limits: what must hold of the air, over which time, on whose authority.

mod effects;
mod quantity;
mod rule;
mod set;
mod sets;

pub use effects::{EFFECT_LEVELS, EffectLevel};
pub use rule::{Bound, Quantity, Rule, Statistic, Subject};
pub use set::{LimitSet, Scope, SetRule, SetStatistic, set, sets};
