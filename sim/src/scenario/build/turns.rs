//! Turns of tasks: when each may start, how long it takes, what it does.

use crate::air::{Place, Species};
use crate::crew::pre_breathe_s;
use crate::engine::Case;
use crate::scenario::blueprint::{Blueprint, DurationNums, EffectNums, PaceNums, TaskNums};
use crate::scenario::num::Num;
use crate::scenario::{Drawn, Input, Luck};
use crate::timeline::{Effect, Pace, Task};
use crate::units::Time;

/// Length of a pre-breathe that never comes to its end, s: longer than any run.
const NEVER_S: f64 = 3.2e8;

impl TaskNums {
    /// What may be drawn anew in every turn.
    pub(in crate::scenario) fn nums(&self) -> impl Iterator<Item = Num> + '_ {
        let duration = match self.duration {
            DurationNums::Given(length) => [Some(length), None, None],
            DurationNums::PreBreathe {
                ratio,
                breathing,
                breaks,
            } => [Some(ratio), Some(breathing), Some(breaks)],
        };
        let effects = self.starts.iter().chain(&self.ends).flat_map(EffectNums::nums);
        [self.at, self.every]
            .into_iter()
            .chain(duration.into_iter().flatten())
            .chain(effects)
    }

    /// Whether an input changes it. A pre-breathe hangs on people, suits and air.
    fn varies(&self) -> bool {
        matches!(self.duration, DurationNums::PreBreathe { .. }) || self.nums().any(Num::varies)
    }
}

impl EffectNums {
    fn nums(&self) -> impl Iterator<Item = Num> + use<> {
        let list = match *self {
            Self::Plain(_) => [None; 3],
            Self::Vent { to, pace, .. } => [Some(to), Some(pace.num()), None],
            Self::Fill { to, pace, oxygen, .. } => [Some(to), Some(pace.num()), Some(oxygen)],
            Self::Equalise { pace, .. } => [Some(pace.num()), None, None],
            Self::Recall { within, .. } => [Some(within), None, None],
        };
        list.into_iter().flatten()
    }

    /// The effect in numbers.
    pub(in crate::scenario) fn effect(&self, value: &mut impl FnMut(Num) -> f64) -> Effect {
        match *self {
            Self::Plain(effect) => effect,
            Self::Vent { compartment, to, pace } => Effect::Vent {
                compartment,
                to_pa: value(to),
                pace: pace.pace(0.0, value),
            },
            Self::Fill {
                compartment,
                to,
                pace,
                oxygen,
                oxygen_from,
                diluent_from,
            } => {
                let oxygen = value(oxygen);
                let molar_mass = oxygen * Species::Oxygen.molar_mass_kg_mol()
                    + (1.0 - oxygen) * Species::Diluent.molar_mass_kg_mol();
                Effect::Fill {
                    compartment,
                    to_pa: value(to),
                    pace: pace.pace(molar_mass, value),
                    oxygen,
                    oxygen_from,
                    diluent_from,
                }
            }
            Self::Equalise { opening, pace } => Effect::Equalise {
                opening,
                pace: pace.pace(0.0, value),
            },
            Self::Recall { people, within } => Effect::Recall {
                people,
                within: Time::from_seconds(value(within)).max(Time(1)),
            },
        }
    }
}

impl PaceNums {
    fn num(self) -> Num {
        let (Self::Over(num) | Self::Through(num) | Self::At(num)) = self;
        num
    }

    /// `molar_mass`: of what flows, kg/mol; only a flow needs it.
    fn pace(self, molar_mass: f64, value: &mut impl FnMut(Num) -> f64) -> Pace {
        match self {
            Self::Over(time) => Pace::Over(Time::from_seconds(value(time)).max(Time(1))),
            Self::Through(area) => Pace::Through(value(area)),
            Self::At(flow) => Pace::At(value(flow) / molar_mass),
        }
    }
}

/// Numbers of every turn of every task that an input changes.
pub(super) fn fill(blueprint: &Blueprint, inputs: &[Input], luck: &dyn Luck, drawn: &mut Drawn) {
    let parts = &blueprint.parts;
    for (n, turn) in parts.turns.iter().enumerate() {
        let nums = &parts.tasks[turn.entry];
        if !nums.varies() {
            continue;
        }
        let air_pa = parts.air.map_or(0.0, |air| air.pressure.of(&drawn.values));
        let values = &mut drawn.values;
        let mut value = |num: Num| match num.input() {
            Some(input) if blueprint.draws[input] > 0 => {
                let u = luck.uniform(input, turn.turn, turn.person);
                let x = num.kept(inputs[input].value(u, values));
                values[input] += x;
                x
            }
            _ => num.of(values),
        };
        one(nums, turn.turn, n, air_pa, &mut drawn.case, &mut value);
    }
}

/// Numbers of task `n` of the case's plan, turn `turn` of its entry. When one on call starts, and how long it takes, is not its own.
pub(super) fn one(
    nums: &TaskNums,
    turn: u32,
    n: usize,
    air_pa: f64,
    case: &mut Case,
    value: &mut impl FnMut(Num) -> f64,
) {
    let at = value(nums.at);
    let every = value(nums.every);
    let duration = match nums.duration {
        DurationNums::Given(length) => value(length),
        DurationNums::PreBreathe {
            ratio,
            breathing,
            breaks,
        } => {
            let (ratio, diluent_pa) = (value(ratio), (1.0 - value(breathing)) * air_pa);
            let breaks = value(breaks);
            let length = pre_breathe(case, &case.plan.tasks[n], diluent_pa, ratio);
            length.map_or(NEVER_S, |s| (s + 2.0 * breaks).min(NEVER_S))
        }
    };
    let task = &mut case.plan.tasks[n];
    task.earliest = Time::from_seconds(at + f64::from(turn - 1) * every);
    task.duration = Time::from_seconds(duration).max(Time(1));
    let lists = [(&nums.starts, &mut task.starts), (&nums.ends, &mut task.ends)];
    for (from, to) in lists {
        to.clear();
        to.extend(from.iter().map(|effect| effect.effect(value)));
    }
}

/// How long a task's people breathe a partial pressure of diluent (Pa) before a sortie, breaks left out, s: whoever needs
/// longest. None: for ever.
fn pre_breathe(case: &Case, task: &Task, diluent_pa: f64, ratio: f64) -> Option<f64> {
    let mut longest = 0.0_f64;
    for suit in case.suits.iter().filter(|s| task.people.contains(&s.wearer)) {
        let tissue_pa = tissue_pa(case, suit.wearer);
        longest = longest.max(pre_breathe_s(tissue_pa, diluent_pa, ratio, suit.above_pa)?);
    }
    Some(longest)
}

/// Diluent in a person's tissue at the start, Pa.
fn tissue_pa(case: &Case, person: usize) -> f64 {
    let person = &case.people[person];
    person.tissue_pa.unwrap_or_else(|| {
        let gas = match person.start {
            Place::Compartment(c) => &case.compartments[c].partial_pa,
            Place::Outside => &case.outside.partial_pa,
        };
        gas[Species::Diluent as usize]
    })
}
