//! Sensors, alarms and faults: their numbers.
//!
//! Times of a response, and of a fault that comes and goes, are drawn [`OCCURRENCES`] times in a variation, turn 1 for the first.

use crate::engine::Case;
use crate::scenario::blueprint::{Blueprint, Parts};
use crate::scenario::num::Num;
use crate::scenario::upset::{
    AlarmNums, ChangeBy, ChangeNums, EndsNums, FaultNums, OnsetNums, ResponseNums, Scale, SensorNums, ShapeNums,
};
use crate::scenario::{Drawn, Input, Luck};
use crate::units::Time;
use crate::upset::{Alarm, Broken, By, Change, Ends, Fault, OCCURRENCES, Onset, Response, Sensor, Shape};

use super::cabin;

/// Where values come from.
pub(super) struct Source<'s> {
    pub parts: &'s Parts,
    pub inputs: &'s [Input],
    /// How often each input is drawn; 0: once.
    pub draws: &'s [u32],
    pub luck: &'s dyn Luck,
}

/// All of them in a drawn case.
pub(super) fn fill(blueprint: &Blueprint, inputs: &[Input], luck: &dyn Luck, drawn: &mut Drawn) {
    let source = Source {
        parts: &blueprint.parts,
        inputs,
        draws: &blueprint.draws,
        luck,
    };
    source.fill(&mut drawn.case, &mut drawn.values);
}

/// How many inputs of what goes wrong are drawn how often.
pub(super) fn count(parts: &Parts, inputs: &[Input], draws: &mut [u32]) {
    let responses = parts.alarms.iter().filter_map(|a| a.response.as_ref());
    let nums = responses
        .flat_map(ResponseNums::each_time)
        .chain(parts.faults.iter().flat_map(FaultNums::each_time));
    for input in nums.filter_map(Num::input) {
        if inputs[input].per_turn {
            draws[input] += OCCURRENCES as u32;
        }
    }
}

impl Source<'_> {
    /// Writes them into the case, into buffers that are there. `values` gets the sums of what is drawn anew.
    pub(super) fn fill(&self, case: &mut Case, values: &mut [f64]) {
        let parts = self.parts;
        case.sensors.clear();
        case.sensors
            .extend(parts.sensors.iter().map(|nums| self.sensor(nums, values)));
        case.alarms.truncate(parts.alarms.len());
        for (n, nums) in parts.alarms.iter().enumerate() {
            if n == case.alarms.len() {
                case.alarms.push(empty_alarm());
            }
            self.alarm(nums, &mut case.alarms[n], values);
            if let Some(response) = &case.alarms[n].response {
                let task = &mut case.plan.tasks[response.task];
                task.earliest = Time::NEVER;
                task.duration = response.takes[0];
            }
        }
        let air = cabin::density(parts, values);
        case.faults.truncate(parts.faults.len());
        for (n, nums) in parts.faults.iter().enumerate() {
            if n == case.faults.len() {
                case.faults.push(empty_fault());
            }
            self.fault(nums, &mut case.faults[n], air, values);
        }
    }

    fn sensor(&self, nums: &SensorNums, values: &[f64]) -> Sensor {
        let [lo, hi] = nums.range.map(|n| n.of(values));
        Sensor {
            quantity: nums.quantity,
            compartment: nums.compartment,
            gain: nums.gain.of(values),
            bias: nums.bias.of(values),
            drift_per_s: nums.drift.map_or(0.0, |[adds, over]| adds.of(values) / over.of(values)),
            noise: nums.noise.of(values),
            noise_key: self.luck.stream(&nums.path),
            lag_s: nums.lag.of(values),
            every: Time::from_seconds(nums.every_s).max(Time(1)),
            // A draw in which they cross has one reading.
            range: [lo, hi.max(lo)],
        }
    }

    /// A draw in which an alarm would clear beyond its set point clears at it.
    fn alarm(&self, nums: &AlarmNums, alarm: &mut Alarm, values: &mut [f64]) {
        use crate::limits::Bound;
        alarm.sensors.clone_from(&nums.sensors);
        alarm.votes = nums.votes;
        alarm.bound = nums.bound;
        alarm.set = nums.set.of(values);
        alarm.lasts = Time::from_seconds(nums.lasts.of(values));
        let clears = nums.clears.map_or(alarm.set, |n| n.of(values));
        alarm.clears = match nums.bound {
            Bound::AtMost => clears.min(alarm.set),
            Bound::AtLeast => clears.max(alarm.set),
        };
        alarm.grade = nums.grade;
        let Some(nums) = &nums.response else {
            alarm.response = None;
            return;
        };
        let response = alarm.response.get_or_insert_with(|| Response {
            by: nums.by.clone(),
            reactions: Vec::new(),
            takes: Vec::new(),
            task: 0,
            in_place: false,
            interrupts: false,
            succeeds: Vec::new(),
            tries: 1,
        });
        response.by.clone_from(&nums.by);
        response.task = nums.task;
        response.in_place = nums.in_place;
        response.interrupts = nums.interrupts;
        response.tries = nums.tries;
        let reactions = self.each(nums.reaction, values);
        response.reactions.clear();
        response
            .reactions
            .extend(reactions.list().iter().map(|s| Time::from_seconds(*s)));
        let takes = self.each(nums.takes, values);
        response.takes.clear();
        response
            .takes
            .extend(takes.list().iter().map(|s| Time::from_seconds(*s).max(Time(1))));
        response.succeeds.clear();
        if let Some((chance, uniform)) = nums.chance {
            let uniforms = self.each(uniform, values);
            response.succeeds.extend(uniforms.list().iter().map(|u| *u <= chance));
        }
    }

    fn fault(&self, nums: &FaultNums, fault: &mut Fault, air: f64, values: &mut [f64]) {
        fault.changes.clear();
        fault
            .changes
            .extend(nums.changes.iter().map(|c| change(c, air, values)));
        let time = |n: Num, values: &[f64]| Time::from_seconds(n.of(values));
        fault.onset = match nums.onset {
            OnsetNums::At(n) => Onset::At(time(n, values)),
            OnsetNums::Task { task, start, plus } => Onset::Task {
                task,
                start,
                plus: time(plus, values),
            },
            OnsetNums::Ran { device, time: n } => Onset::Ran {
                device,
                time: time(n, values),
            },
            OnsetNums::Turn { device, turn } => Onset::Turn {
                device,
                turn: libm::ceil(turn.of(values)).max(1.0) as u64,
            },
        };
        self.shape(nums.shape, &mut fault.shape, values);
        fault.ends = match nums.ends {
            EndsNums::Never => Ends::Never,
            EndsNums::After(n) => Ends::After(time(n, values)),
            EndsNums::Fresh(device) => Ends::Fresh(device),
        };
    }

    fn shape(&self, nums: ShapeNums, shape: &mut Shape, values: &mut [f64]) {
        let at_least = |s: f64| Time::from_seconds(s).max(Time(1));
        match nums {
            ShapeNums::Step => *shape = Shape::Step,
            ShapeNums::Ramp(n) => *shape = Shape::Ramp(at_least(n.of(values))),
            ShapeNums::Decay(n) => *shape = Shape::Decay(n.of(values)),
            ShapeNums::Rhythm { period, duty } => {
                let (period, duty) = (period.of(values), duty.of(values));
                let pair = [duty, 1.0 - duty].map(|part| at_least(part * period));
                let list = intermittent(shape);
                list.push(pair);
            }
            ShapeNums::Turns { on, off } => {
                let (ons, offs) = (self.each(on, values), self.each(off, values));
                let (ons, offs) = (ons.list(), offs.list());
                let pairs =
                    (0..ons.len().max(offs.len())).map(|n| [ons[n % ons.len()], offs[n % offs.len()]].map(at_least));
                intermittent(shape).extend(pairs);
            }
        }
    }

    /// The values of a number in turn: one, or one for each occurrence.
    fn each(&self, num: Num, values: &mut [f64]) -> Each {
        let mut each = Each {
            values: [num.kept(0.0); OCCURRENCES],
            count: 1,
        };
        let Some(input) = num.input().filter(|input| self.draws[*input] > 0) else {
            each.values[0] = num.of(values);
            return each;
        };
        for (value, turn) in each.values.iter_mut().zip(1..) {
            *value = num.kept(self.inputs[input].value(self.luck.uniform(input, turn, 0), values));
            values[input] += *value;
        }
        // All alike, as on the medians, are one: they go round.
        if each.values.iter().any(|value| *value != each.values[0]) {
            each.count = OCCURRENCES;
        }
        each
    }
}

/// Values of a number, at least one.
struct Each {
    values: [f64; OCCURRENCES],
    count: usize,
}

impl Each {
    fn list(&self) -> &[f64] {
        &self.values[..self.count]
    }
}

/// The list of an intermittent shape, emptied.
fn intermittent(shape: &mut Shape) -> &mut Vec<[Time; 2]> {
    if !matches!(shape, Shape::Intermittent(_)) {
        *shape = Shape::Intermittent(Vec::new());
    }
    match shape {
        Shape::Intermittent(list) => {
            list.clear();
            list
        }
        _ => unreachable!("it was made one above"),
    }
}

/// One change. `air`: density of the gas of `[air]`, kg/m3.
fn change(nums: &ChangeNums, air: f64, values: &[f64]) -> Change {
    match *nums {
        ChangeNums::Broken(broken) => Change::Broken(broken),
        ChangeNums::Says { sensor, at } => Change::Broken(Broken::SensorStuck {
            sensor,
            at: Some(at.of(values)),
        }),
        ChangeNums::Number {
            target,
            by,
            scale,
            domain,
        } => {
            let scale = match scale {
                Scale::Times(factor) => factor,
                Scale::Part(part) => part.of(values),
                Scale::Rest(part) => 1.0 - part.of(values),
                Scale::Over(by) => 1.0 / by.of(values),
                Scale::Gas => 1.0 / air,
            };
            Change::Number {
                target,
                by: match by {
                    ChangeBy::Factor(n) => By::Factor(n.of(values)),
                    ChangeBy::Add(n) => By::Add(n.of(values) * scale),
                    ChangeBy::To(n) => By::To(n.of(values) * scale),
                },
                domain: domain.map(|x| x * scale),
            }
        }
    }
}

/// One that is still to be filled.
fn empty_alarm() -> Alarm {
    Alarm {
        sensors: Vec::new(),
        votes: 1,
        bound: crate::limits::Bound::AtMost,
        set: 0.0,
        lasts: Time::ZERO,
        clears: 0.0,
        grade: crate::upset::Grade::default(),
        response: None,
    }
}

/// One that is still to be filled.
fn empty_fault() -> Fault {
    Fault {
        changes: Vec::new(),
        onset: Onset::Never,
        shape: Shape::Step,
        ends: Ends::Never,
    }
}
