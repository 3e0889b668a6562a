//! When things go wrong, as plain numbers: faults, what sensors read, alarms, what people then do.
//!
//! A [`Fault`] changes numbers of a case, or breaks something, from its onset until it ends. A [`Sensor`] reads a quantity of a
//! compartment, not quite as it is. An [`Alarm`] acts on what its sensors say, never on the truth. A [`Response`] is what people do
//! after an alarm: a task of the plan that is on call (see [`crate::timeline::Task::on_call`]). Indices refer to the case.

mod alarm;
mod fault;
mod sensor;
mod target;

pub use alarm::{Alarm, Grade, OCCURRENCES, Responder, Response};
pub use fault::{Broken, By, Change, Ends, Fault, Onset, Shape};
pub use sensor::Sensor;
pub use target::{DeviceNumber, HoldNumber, SensorNumber, Target};
