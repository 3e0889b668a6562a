//! Faults: what changes, from when, how, until when.
//!
//! ```text
//! factor   x = x0 (1 + g (f - 1))        add   x = x0 + g b        to   x = x0 + g (v - x0)
//! step     g = 1                          ramp  g = min(s / T, 1)   decay g = 1 - e^(-s / tau)
//! ```
//!
//! `x0` the number as it would be, `f`, `b`, `v` what the fault says, `s` time since its onset, s; `T`, `tau`, s. An intermittent
//! fault is a step that comes and goes. Several faults on one number: all factors first, then what is added, then what it is
//! brought to, each kind in the order of the file; the result is kept inside the number's domain. What is broken by several is whole
//! again when all of them have ended.
//!
//! Source of the forms: common practice (drift, step and decay of a hardware's figure); nothing of them is fitted.

use crate::units::Time;

use super::Target;

/// One fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Everything it acts on: several have one common cause.
    pub changes: Vec<Change>,
    /// When it begins.
    pub onset: Onset,
    /// How it grows.
    pub shape: Shape,
    /// When it ends of itself; a repair may end it before.
    pub ends: Ends,
}

/// One thing that a fault does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// A number of the case changes.
    Number {
        /// Which.
        target: Target,
        /// How, with the whole severity.
        by: By,
        /// Least and largest value that it can have.
        domain: [f64; 2],
    },
    /// Something breaks, whatever the shape says of numbers: while an intermittent fault is there.
    Broken(Broken),
}

/// How a number changes with the whole severity of a fault; SI units of the number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum By {
    /// Times this.
    Factor(f64),
    /// Plus this.
    Add(f64),
    /// It becomes this.
    To(f64),
}

/// What a failure does that is not a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Broken {
    /// A device stands still, whatever it is switched to: no flow, no power.
    DeviceOff(usize),
    /// The valves of a pair of beds stay: with this bed adsorbing, or (none) with the one that does at the onset.
    BedsStuck {
        /// Index of the device.
        device: usize,
        /// 0 or 1.
        bed: Option<usize>,
    },
    /// An opening stays as it is: it is neither opened nor closed.
    OpeningStuck(usize),
    /// A hold lets nothing in.
    HoldShut {
        /// Index of the hold.
        hold: usize,
        /// The valve of its oxygen, else that of its total pressure.
        oxygen: bool,
    },
    /// A compartment's relief valve stays open.
    ReliefOpen(usize),
    /// A compartment's relief valve stays shut.
    ReliefShut(usize),
    /// A sensor goes on saying this (SI), or (none) what it said last.
    SensorStuck {
        /// Index of the sensor.
        sensor: usize,
        /// SI.
        at: Option<f64>,
    },
    /// A sensor says nothing.
    SensorDead(usize),
}

/// When a fault begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Onset {
    /// In this run never.
    Never,
    /// At this time.
    At(Time),
    /// So long after the first start or the end of a task of the plan.
    Task {
        /// Index of the task in the plan.
        task: usize,
        /// After its start, else its end.
        start: bool,
        /// So long after.
        plus: Time,
    },
    /// When a device has run for so long in all.
    Ran {
        /// Index of the device.
        device: usize,
        /// How long.
        time: Time,
    },
    /// At this turn of a pair of beds or of a device's cycle, counted from 1.
    Turn {
        /// Index of the device.
        device: usize,
        /// Which.
        turn: u64,
    },
}

/// How a fault grows from its onset.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// At once.
    Step,
    /// In proportion to time, until after this time it is whole.
    Ramp(Time),
    /// Exponentially, with this time constant, s.
    Decay(f64),
    /// There and gone by turns: (there, gone), beginning with there; after the last they go round. Not empty.
    Intermittent(Vec<[Time; 2]>),
}

/// When a fault ends of itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// Never.
    Never,
    /// So long after its onset.
    After(Time),
    /// When this device gets a fresh canister.
    Fresh(usize),
}
