//! What `check` says, on the medians, of what people give off.

use breathroom_sim::air::Species;
use breathroom_sim::crew::{Load, kg_per_day};
use breathroom_sim::engine::Case;
use breathroom_sim::scenario::Scenario;
use serde::Serialize;

use crate::results::numbers::short;

/// Stages that are told one by one; a measured series has one to a minute, and is told as a whole.
const MOST_STAGES: usize = 12;

/// What a stage of an effort amounts to: lowest and highest of the crew.
#[derive(Serialize)]
pub struct Effort {
    effort: String,
    /// From 1; 0 for all of them together.
    stage: usize,
    stages: usize,
    space_m3: f64,
    co2_kg_d: [f64; 2],
    oxygen_kg_d: [f64; 2],
    vapour_kg_d: [f64; 2],
    runoff_kg_d: [f64; 2],
    sensible_w: [f64; 2],
}

/// Every stage of every effort, for the crew as it is.
pub fn efforts(scenario: &Scenario, case: &Case) -> Vec<Effort> {
    let mut all = Vec::new();
    for (index, name) in scenario.names.efforts.iter().enumerate() {
        let profiles: Vec<_> = case.people.iter().map(|person| &person.profiles[index]).collect();
        let stages = profiles.first().map_or(0, |profile| profile.stages.len());
        let rows: Vec<Option<usize>> = match stages {
            0..=MOST_STAGES => (0..stages).map(Some).collect(),
            _ => vec![None],
        };
        for row in rows {
            let over = |of: fn(&Load) -> f64| {
                let own = |stage: &usize| row.is_none_or(|only| only == *stage);
                let values = profiles
                    .iter()
                    .flat_map(|profile| (0..stages).filter(own).filter_map(|stage| profile.stages.get(stage)));
                values.fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], stage| {
                    [lo.min(of(&stage.load)), hi.max(of(&stage.load))]
                })
            };
            all.push(Effort {
                effort: name.clone(),
                stage: row.map_or(0, |stage| stage + 1),
                stages,
                space_m3: case.plan.effort_space_m3.get(index).copied().unwrap_or(f64::NAN),
                co2_kg_d: over(|load| kg_per_day(load.co2_mol_s, Species::Co2)),
                oxygen_kg_d: over(|load| kg_per_day(load.oxygen_mol_s, Species::Oxygen)),
                vapour_kg_d: over(|load| kg_per_day(load.vapour_mol_s, Species::Water)),
                runoff_kg_d: over(|load| kg_per_day(load.runoff_mol_s, Species::Water)),
                sensible_w: over(|load| load.sensible_w),
            });
        }
    }
    all
}

/// "sleep: CO2 0.73 to 0.8, oxygen 0.6 to 0.7, vapour 0.9, runoff 0, heat 60 to 66 W, claims 1.2 m3".
pub fn told_effort(effort: &Effort) -> String {
    let span = |[lo, hi]: [f64; 2]| {
        let (lo, hi) = (short(lo), short(hi));
        if lo == hi { lo } else { format!("{lo} to {hi}") }
    };
    let stage = if effort.stage == 0 {
        format!(", over all {} steps that were measured", effort.stages - 1)
    } else if effort.stages > 1 {
        format!(", stage {} of {}", effort.stage, effort.stages)
    } else {
        String::new()
    };
    format!(
        "{}{stage}: CO2 {}, oxygen {}, vapour {}, runoff {}, heat {} W, claims {} m3",
        effort.effort,
        span(effort.co2_kg_d),
        span(effort.oxygen_kg_d),
        span(effort.vapour_kg_d),
        span(effort.runoff_kg_d),
        span(effort.sensible_w),
        short(effort.space_m3)
    )
}
