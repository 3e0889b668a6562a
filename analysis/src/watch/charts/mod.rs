//! Control charts on one residual: the cumulative sum, the moving average, and how long they run without cause.

mod cusum;
mod ewma;
pub mod run_length;

pub use cusum::{ALLOWANCE, Cusum, TABLE_INTERVAL};
pub use ewma::{Ewma, TABLE_LIMIT, WEIGHT};
