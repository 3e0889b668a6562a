//! Tasks, equipment, space, repeats, dependencies: who does what, where and when.

mod plan;

pub use plan::{Effect, Plan, Task};
