//! An independent integration of cases with real hardware: tanks, regulation, transfers, suits, beds, heat.
//!
//! It shares no code with the engine: it reads the case's numbers, has its own laws of gas and beds, its own schedule (of
//! tasks that never wait for people, equipment or space), and integrates by Chebyshev collocation at about 1e-13, cutting its
//! steps where the equations change. Rules are not judged here: that is for [`crate::reference`].

#[cfg(test)]
mod checks;
#[cfg(test)]
mod checks_hardware;
#[cfg(test)]
mod checks_random;
mod clock;
mod columns;
pub mod compare;
mod devices;
mod guards;
mod instant;
mod laws;
mod mode;
mod plant;
pub mod random;
mod rates;
mod run;
mod steps;
mod told;
mod transfers;

pub use guards::Stop;
pub use run::{integrate, watch};
pub use told::{Books, Drawn, Failure, Gas, Moved, Solution, Worked, kg};
