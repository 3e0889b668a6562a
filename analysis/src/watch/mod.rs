//! Nominal or off-nominal: what instruments would say, and a detector that any other must beat.
//!
//! ```text
//! Scenario --Lab--> runs, nominal and with each fault --instruments--> readings --> labelled traces
//! readings - reference --whiten--> innovations --charts, innovation test, bank of fault models--> alarms, and the likely fault
//! ```
//!
//! Knows nothing of files: it is given texts and hands on numbers.

pub mod bank;
pub mod characterise;
pub mod charts;
pub mod detector;
pub mod file;
pub mod instruments;
pub mod lab;
pub mod measured;
pub mod modes;
pub mod noise;
pub mod operating;
pub mod traces;
pub mod tuning;
pub mod usual;
pub mod whiten;
