//! A case from the parts of a scenario and the values of its inputs.
//!
//! What no input changes is copied from the case at the medians; only what varies is computed anew. Buffers of the drawn
//! case are used again.

mod beds;
mod cabin;
mod copy;
mod devices;
mod heat;
mod people;
mod suits;
mod supply;
mod turns;
mod upset;

pub(super) use heat::WALL_CAPACITY_J_K_M2;

use crate::air::Opening;
use crate::crew::{Person, Profile};
use crate::engine::Case;
use crate::limits::{Rule, Statistic};
use crate::timeline::Plan;
use crate::units::Time;

use super::blueprint::{Blueprint, Parts, RuleNums};
use super::num::Num;
use super::{Drawn, Input, Luck, Medians, Scenario};

impl Scenario {
    /// Draws one variation.
    #[must_use]
    pub fn draw(&self, luck: &dyn Luck) -> Drawn {
        let mut drawn = Drawn::default();
        self.draw_into(luck, &mut drawn);
        drawn
    }

    /// Draws one variation into buffers that are used again. Whatever the buffers held is replaced.
    pub fn draw_into(&self, luck: &dyn Luck, drawn: &mut Drawn) {
        let blueprint = &self.blueprint;
        drawn.values.clear();
        for (n, input) in self.inputs.iter().enumerate() {
            let once = blueprint.draws.get(n).is_none_or(|draws| *draws == 0);
            let value = if once {
                input.value(luck.uniform(n, 0, 0), &drawn.values)
            } else {
                0.0
            };
            drawn.values.push(value);
        }
        copy::case(&blueprint.template, &mut drawn.case);
        fill(&blueprint.parts, &mut drawn.case, &drawn.values, false);
        turns::fill(blueprint, &self.inputs, luck, drawn);
        upset::fill(blueprint, &self.inputs, luck, drawn);
        for (value, draws) in drawn.values.iter_mut().zip(&blueprint.draws) {
            if *draws > 1 {
                *value /= f64::from(*draws);
            }
        }
    }
}

/// The blueprint with its case at the medians.
pub(super) fn blueprint(parts: Parts, plan: Plan, rules: Vec<Rule>, inputs: &[Input]) -> Blueprint {
    let medians: Vec<f64> = inputs.iter().map(|i| i.spread.median()).collect();
    let mut draws = vec![0; inputs.len()];
    for turn in &parts.turns {
        let task = &parts.tasks[turn.entry];
        for input in task.nums().filter_map(Num::input) {
            if inputs[input].per_turn {
                draws[input] += 1;
            }
        }
    }
    upset::count(&parts, inputs, &mut draws);
    let mut case = Case {
        plan,
        rules,
        ..Case::default()
    };
    case.compartments = parts.compartments.iter().map(|_| cabin::empty()).collect();
    case.openings = parts
        .openings
        .iter()
        .map(|o| Opening {
            between: o.between,
            exchange_m3_s: 0.0,
            open: o.open,
            opens_within_pa: 0.0,
        })
        .collect();
    case.devices = parts.devices.iter().map(|d| devices::device(d, &medians)).collect();
    case.people = parts
        .people
        .iter()
        .map(|p| Person {
            gas_lag_s: 0.0,
            start: p.start,
            home: p.home,
            tissue_pa: None,
            idle: p.idle,
            profiles: parts
                .efforts
                .iter()
                .map(|_| Profile {
                    stages: Vec::new(),
                    sweat_lag: false,
                    towel: false,
                })
                .collect(),
        })
        .collect();
    fill(&parts, &mut case, &medians, true);
    let air_pa = parts.air.map_or(0.0, |air| air.pressure.of(&medians));
    for (n, turn) in parts.turns.iter().enumerate() {
        let mut value = |num: Num| num.of(&medians);
        turns::one(&parts.tasks[turn.entry], turn.turn, n, air_pa, &mut case, &mut value);
    }
    // Sums of what is drawn anew are nobody's here.
    let mut sums = medians;
    upset::Source {
        parts: &parts,
        inputs,
        draws: &draws,
        luck: &Medians,
    }
    .fill(&mut case, &mut sums);
    Blueprint {
        template: case,
        parts,
        draws,
    }
}

/// Computes the values of a case whose structure is there: all of them, or those that an input changes.
fn fill(parts: &Parts, case: &mut Case, values: &[f64], all: bool) {
    let of = |num: Option<Num>, otherwise: f64| num.map_or(otherwise, |n| n.of(values));
    case.duration = Time::from_seconds(of(parts.duration, 0.0));
    case.history_every = Time::from_seconds(parts.history_every_s);
    case.oxygen_floor_pa = of(parts.oxygen_floor, 0.0);
    case.towel_drying_s = of(parts.towel_drying, 3600.0);
    cabin::fill(parts, case, values, all);
    for (n, nums) in parts.openings.iter().enumerate() {
        case.openings[n].exchange_m3_s = nums.exchange.of(values);
        case.openings[n].opens_within_pa = nums.opens_within.of(values);
    }
    for (n, nums) in parts.devices.iter().enumerate() {
        if all || devices::varies(nums) {
            devices::fill(nums, &mut case.devices[n], values);
        }
    }
    case.holds.clear();
    case.holds.extend(parts.holds.iter().map(|h| supply::hold(h, values)));
    let air_pa = parts.air.map_or(0.0, |air| air.pressure.of(values));
    case.tanks.clear();
    case.tanks
        .extend(parts.tanks.iter().map(|t| supply::tank(t, air_pa, values)));
    case.suits.clear();
    let rooms = parts.compartments.len() - parts.suits.len();
    let suits = parts.suits.iter().enumerate();
    case.suits.extend(suits.map(|(n, s)| suits::suit(s, rooms + n, values)));
    if all {
        case.plan.effort_space_m3 = parts.efforts.iter().map(|e| e.space.of(values)).collect();
    } else {
        for (n, effort) in parts.efforts.iter().enumerate() {
            case.plan.effort_space_m3[n] = effort.space.of(values);
        }
    }
    people::fill(parts, case, values, all);
    for (n, nums) in parts.rules.iter().enumerate() {
        if all || nums.limit.varies() || nums.second.is_some_and(Num::varies) {
            rule(*nums, &mut case.rules[n], values);
        }
    }
}

fn rule(nums: RuleNums, rule: &mut Rule, values: &[f64]) {
    rule.limit = nums.limit.of(values);
    let Some(second) = nums.second.map(|n| n.of(values)) else {
        return;
    };
    match &mut rule.statistic {
        Statistic::Moving { window } => *window = Time::from_seconds(second),
        Statistic::Shift { length } => *length = Time::from_seconds(second),
        Statistic::Allowance { threshold, .. } => *threshold = second,
        Statistic::Instant | Statistic::Mission => {}
    }
}
