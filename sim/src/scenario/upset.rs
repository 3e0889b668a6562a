//! What goes wrong, what senses it and what is done about it, as numbers that are fixed or drawn.

use crate::limits::{Bound, Quantity};
use crate::upset::{Broken, Grade, Responder, Target};

use super::num::Num;

/// A sensor; SI units of its quantity.
#[derive(Clone, Debug)]
pub(super) struct SensorNums {
    /// Its table: "sensors.co2_a", "alarms.co2_high.sensor".
    pub path: String,
    pub quantity: Quantity,
    pub compartment: usize,
    pub gain: Num,
    pub bias: Num,
    /// So much (the quantity's unit), over so long (s).
    pub drift: Option<[Num; 2]>,
    pub noise: Num,
    pub lag: Num,
    pub every_s: f64,
    pub range: [Num; 2],
}

#[derive(Clone, Debug)]
pub(super) struct AlarmNums {
    /// Indices of the case.
    pub sensors: Vec<usize>,
    pub votes: usize,
    pub bound: Bound,
    pub set: Num,
    pub lasts: Num,
    /// None: the set point.
    pub clears: Option<Num>,
    pub grade: Grade,
    pub response: Option<ResponseNums>,
}

/// A response. Its place, its effort and its effects are those of its task.
#[derive(Clone, Debug)]
pub(super) struct ResponseNums {
    pub by: Responder,
    /// s, for each occurrence.
    pub reaction: Num,
    /// s, for each attempt.
    pub takes: Num,
    /// Index in the plan.
    pub task: usize,
    pub in_place: bool,
    pub interrupts: bool,
    /// Chance of a repair, and the uniform that decides on it; none: it always succeeds.
    pub chance: Option<(f64, Num)>,
    pub tries: u32,
}

#[derive(Clone, Debug)]
pub(super) struct FaultNums {
    pub changes: Vec<ChangeNums>,
    pub onset: OnsetNums,
    pub shape: ShapeNums,
    pub ends: EndsNums,
}

/// One thing that a fault does.
#[derive(Clone, Copy, Debug)]
pub(super) enum ChangeNums {
    Number {
        target: Target,
        by: ChangeBy,
        /// From the unit of the file's key to that of the target.
        scale: Scale,
        /// In SI of the file's key.
        domain: [f64; 2],
    },
    Broken(Broken),
    /// A sensor that goes on saying this.
    Says {
        sensor: usize,
        at: Num,
    },
}

/// What the file says of a number, in SI of its key.
#[derive(Clone, Copy, Debug)]
pub(super) enum ChangeBy {
    Factor(Num),
    Add(Num),
    To(Num),
}

/// What makes a key's SI value one of the case.
#[derive(Clone, Copy, Debug)]
pub(super) enum Scale {
    Times(f64),
    /// Times this part.
    Part(Num),
    /// Times what this part leaves.
    Rest(Num),
    /// Divided by this.
    Over(Num),
    /// A mass of the gas of `[air]` as its volume.
    Gas,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum OnsetNums {
    At(Num),
    /// Index in the plan.
    Task {
        task: usize,
        start: bool,
        plus: Num,
    },
    Ran {
        device: usize,
        time: Num,
    },
    Turn {
        device: usize,
        turn: Num,
    },
}

#[derive(Clone, Copy, Debug)]
pub(super) enum ShapeNums {
    Step,
    Ramp(Num),
    Decay(Num),
    /// There for so long, gone for so long, s; drawn anew each time.
    Turns {
        on: Num,
        off: Num,
    },
    /// Period, s, and the part of it for which it is there.
    Rhythm {
        period: Num,
        duty: Num,
    },
}

#[derive(Clone, Copy, Debug)]
pub(super) enum EndsNums {
    Never,
    After(Num),
    Fresh(usize),
}

impl FaultNums {
    /// Whether it changes the leak of this compartment.
    pub fn leaks(&self, compartment: usize) -> bool {
        let leak = Target::Leak(compartment);
        let mut changes = self.changes.iter();
        changes.any(|change| matches!(change, ChangeNums::Number { target, .. } if *target == leak))
    }

    /// What is drawn anew each time.
    pub fn each_time(&self) -> impl Iterator<Item = Num> + use<> {
        let list = match self.shape {
            ShapeNums::Turns { on, off } => [Some(on), Some(off)],
            _ => [None; 2],
        };
        list.into_iter().flatten()
    }
}

impl ResponseNums {
    /// What is drawn anew each time.
    pub fn each_time(&self) -> impl Iterator<Item = Num> + use<> {
        [Some(self.reaction), Some(self.takes), self.chance.map(|(_, u)| u)]
            .into_iter()
            .flatten()
    }
}
