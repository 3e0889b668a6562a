//! Monte Carlo, statistics, tables and command line of Breathroom.

pub mod chance;
pub mod cli;
pub mod desk;
pub mod fits;
pub mod measured;
pub mod profile;
pub mod report;
pub mod results;
pub mod stats;
pub mod study;
pub mod trades;
pub mod watch;
