//! Pictures and pages: what tables and summaries say, drawn and told, as SVG and HTML. Text only: others write it.
//!
//! ```text
//! Summary, tables --> marks on axes --> Figure --> a file of its own (SVG, mm)
//!                                          \\-----> a section of a Page --> report.html
//! ```
//!
//! Figures are drawn from the very tables that become CSV files, so both have the same numbers. Every figure has a title, words, keys
//! and numbers behind it; hues go with dashes, shapes or hatches, so that nothing is told by colour alone. A page needs no network
//! and reads without its scripts, which only stretch, zoom and tell.

pub mod air;
mod axes;
pub mod bars;
pub mod chances;
pub mod fans;
pub mod figure;
pub mod fitted;

mod labels;
pub mod lanes;
pub mod loads;
pub mod margins;
pub mod mark;
pub mod one_run;
pub mod page;
pub mod plot;
pub mod profiled;
pub mod ran;
pub mod sheet;
pub mod sized;
pub mod stressed;
pub mod svg;
mod ticks;
pub mod timed;
pub mod traded;
pub mod variations;
pub mod watched;
pub mod who;

pub use figure::Figure;
pub use page::Page;
pub use ran::Ran;
