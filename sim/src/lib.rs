//! Breathroom's simulator: crew activity and life-support load in a small cabin.
//!
//! # The way data flows
//!
//! ```text
//! text --scenario::read--> Scenario --Scenario::draw--> Case --engine::Engine::run--> Outcome (+ Trace)
//! ```
//!
//! A [`scenario::Scenario`] is what was meant (checked, SI, spreads kept); a [`engine::Case`] is plain numbers; an
//! [`engine::Outcome`] is margins, times and totals. Nothing flows back. This library never prints, reads the clock,
//! spawns a thread or writes a file.
//!
//! # The order contract
//!
//! Time is integer nanoseconds. At one instant the engine makes passes over the phases *ends*, *faults*, *alarms*,
//! *responses*, *hatches and devices*, *new tasks*, *samples*, until a pass finds no work. An effect joins the running
//! pass if its phase is still ahead, else the next pass. Ties inside a phase follow the order of the file.
//!
//! # The determinism contract
//!
//! The same `Case` gives the same bits on any thread, in any order, on any platform: transcendental functions come from
//! `libm`, nothing is fused, no hash map is iterated, and no result depends on how many cases ran before.

pub mod air;
pub mod crew;
pub mod engine;
pub mod limits;
pub mod removal;
pub mod scenario;
pub mod spread;
pub mod text;
pub mod timeline;
pub mod units;
pub mod upset;
