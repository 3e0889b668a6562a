//! Stress: removal devices degrade at the worst moment. Does the crew make it within the limits, and with how much time to spare?
//!
//! ```text
//! medians: no fault --> Usual     device x part left --search over onsets--> worst onset   (with and without responses, side by side)
//! variation k: drawn once --> no fault --> Usual --> each device and part at its worst onset --> Spread of the time left
//!                                                --> each of the scenario's own faults alone --> Over
//! ```
//!
//! What the run of the same case without any fault crosses no later is not counted ([`usual`]): it says nothing about the fault.
//!
//! A device keeps a part of what it would take, in one step and for good. The scenario's own faults rest meanwhile; its sensors and alarms
//! are as drawn. The worst onset is that of the medians ([`worst`]), and every variation has it: that it is the worst of each
//! is not claimed. Variation k is that of `vary` with the same seed and plain draws. Runs go into slots by index, so the number of threads shows
//! nowhere.

pub mod bench;
pub mod look;
pub mod runs;
pub mod singles;
pub mod spread;
pub mod times;
pub mod usual;
pub mod worst;

use std::sync::atomic::AtomicBool;

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Case, RunError};
use breathroom_sim::removal::{Device, Removal};
use breathroom_sim::scenario::{Medians, Scenario};
use breathroom_sim::units::Time;
use rayon::prelude::*;

use self::bench::{Bench, Degraded, Rested};
use self::look::Look;
use self::runs::{PartRuns, vary};
use self::singles::Row;
use self::usual::Usual;
use self::worst::Looked;
use super::{Gate, StudyError};

/// Most variations: their looks are kept.
pub const MOST_STRESS_RUNS: u64 = 65_536;

/// Parts that are left unless others are asked for.
pub const USUAL_LEFT: [f64; 5] = [1.0, 0.75, 0.5, 0.25, 0.0];

/// Onsets of the first grid unless others are asked for.
pub const USUAL_ONSETS: u32 = 96;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct StressJob {
    /// Devices by index.
    pub devices: Vec<usize>,
    /// Parts left, 0 to 1.
    pub left: Vec<f64>,
    /// Onsets of the first grid.
    pub onsets: u32,
    /// Variations; 0: the medians alone.
    pub runs: u64,
    /// The seed of all draws.
    pub seed: u64,
    /// Pairs of the scenario's own faults too.
    pub pairs: bool,
    /// What the time left is held against.
    pub gate: Gate,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Stress {
    /// Without any fault.
    pub no_fault: NoFault,
    /// By device and part left, in the order asked for.
    pub parts: Vec<Part>,
    /// No fault, each of the scenario's own, and pairs; worst first after the one without.
    pub singles: Vec<Row>,
    /// Something is done after at least one alarm.
    pub responses: bool,
    /// Runs of the simulator that could not be finished.
    pub failed: u64,
}

/// What is crossed without any fault: of the scenario's rules, then of the published levels by level and person.
#[derive(Clone, Debug, PartialEq)]
pub struct NoFault {
    /// On the medians.
    pub medians: Usual,
    /// Over the variations, if there are any; what failed has crossed nothing.
    pub runs: Option<Vec<Usual>>,
}

/// A device with a part left.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Index of the device.
    pub device: usize,
    /// Part left.
    pub left: f64,
    /// The onsets looked at on the medians; with all of it left one look, from the start.
    pub looked: Looked<Look>,
    /// Over the variations at the worst onset, if there are any.
    pub runs: Option<PartRuns>,
}

impl Part {
    /// The look at the worst onset, on the medians.
    #[must_use]
    pub fn worst(&self) -> &Look {
        &self.looked.looks[self.looked.worst].1
    }

    /// Onsets whose runs could not be finished.
    #[must_use]
    pub fn failed_onsets(&self) -> usize {
        let looks = self.looked.looks.iter();
        looks.filter(|(_, look)| look.failed.is_some()).count()
    }

    /// No onset that was looked at leads to a limit within the run.
    #[must_use]
    pub fn is_harmless(&self) -> bool {
        self.looked
            .looks
            .iter()
            .all(|(_, look)| look.failed.is_none() && !look.first.after.came() && !look.first_with.after.came())
    }
}

impl Stress {
    /// Whether every device with every part that was asked for passes the gate; nothing does without variations.
    #[must_use]
    pub fn gate_met(&self) -> bool {
        self.parts
            .iter()
            .all(|part| part.runs.as_ref().is_some_and(|runs| runs.gate_met))
    }
}

/// The devices that are on at the start and take CO2 or water.
#[must_use]
pub fn usual_devices(case: &Case) -> Vec<usize> {
    let takes = |device: &Device| match &device.removal {
        Removal::FlowThrough {
            co2_efficiency,
            water_efficiency,
            ..
        } => *co2_efficiency > 0.0 || *water_efficiency > 0.0,
        Removal::Curve { .. } => [Species::Co2, Species::Water]
            .iter()
            .any(|species| device.pieces(*species) > 0),
        Removal::Condenser { .. } | Removal::Sorbent { .. } | Removal::SwingBed(_) => true,
    };
    let all = case.devices.iter().enumerate();
    all.filter(|(_, device)| device.on && takes(device))
        .map(|(index, _)| index)
        .collect()
}

/// Puts the devices of a scenario under stress, on the threads of the pool that this is called in. `progress` is told of every run.
///
/// # Errors
/// If it was stopped, if the run on the medians without any fault cannot be finished, or if inputs cannot go together as asked for.
/// Other runs that fail are part of the result.
pub fn stress(
    scenario: &Scenario,
    job: &StressJob,
    progress: &(dyn Fn() + Sync),
    stop: &AtomicBool,
) -> Result<Stress, StudyError> {
    let mut rested = Rested::of(scenario.draw(&Medians).case);
    let bench = Bench::new(scenario, rested.case().people.len(), progress, stop);
    let unharmed = bench.unharmed(&mut rested)?.map_err(StudyError::Medians)?;
    let responses = rested.responds();
    let mut parts = Vec::new();
    for &device in &job.devices {
        for &left in &job.left {
            let looked = if left < 1.0 {
                let of = (&rested, &unharmed.usual);
                search(&bench, of, (device, left), (job.onsets, responses))?
            } else {
                Looked {
                    looks: vec![(Time::ZERO, unharmed.look.clone())],
                    worst: 0,
                }
            };
            parts.push(Part {
                device,
                left,
                looked,
                runs: None,
            });
        }
    }
    let sets = singles::sets(rested.case().faults.len(), job.pairs);
    let fares: Result<Vec<_>, StudyError> = sets
        .par_iter()
        .map(|set| match &set[..] {
            [] => Ok(unharmed.fared.clone()),
            some => bench.fare(&mut rested.clone(), &unharmed, some),
        })
        .collect();
    let mut rows: Vec<Row> = sets
        .into_iter()
        .zip(fares?)
        .map(|(faults, medians)| Row {
            faults,
            medians,
            runs: None,
        })
        .collect();
    let mut no_fault = NoFault {
        medians: unharmed.usual,
        runs: None,
    };
    if job.runs > 0 {
        no_fault.runs = Some(vary(scenario, (job, responses), &bench, (&mut parts, &mut rows))?);
    }
    singles::rank(&mut rows);
    let failed = failed(&parts, &rows);
    Ok(Stress {
        no_fault,
        parts,
        singles: rows,
        responses,
        failed,
    })
}

fn search(
    bench: &Bench<'_>,
    (rested, usual): (&Rested, &Usual),
    (device, left): (usize, f64),
    (onsets, responses): (u32, bool),
) -> Result<Looked<Look>, StudyError> {
    let look = |rested: &mut Rested, onset: &Time| {
        let onset = *onset;
        bench.look(rested, usual, &Degraded { device, left, onset })
    };
    let looks = |onsets: &[Time]| onsets.par_iter().map_init(|| rested.clone(), look).collect();
    let rank = |look: &Look| look.rank(responses);
    worst::search(rested.case().duration, onsets, rank, looks)
}

/// Runs of the simulator, as they are told of, that could not be finished.
fn failed(parts: &[Part], rows: &[Row]) -> u64 {
    let of_part = |part: &Part| part.failed_onsets() as u64 + part.runs.as_ref().map_or(0, |runs| runs.failed);
    let of_row = |row: &Row| u64::from(row.medians.failed.is_some()) + row.runs.as_ref().map_or(0, |over| over.failed);
    parts.iter().map(of_part).sum::<u64>() + rows.iter().map(of_row).sum::<u64>()
}

/// The first failure, if any, for words.
#[must_use]
pub fn first_failure(stress: &Stress) -> Option<&RunError> {
    let looks = stress.parts.iter().flat_map(|part| {
        let runs = part.runs.iter().flat_map(|runs| &runs.looks);
        part.looked.looks.iter().map(|(_, look)| look).chain(runs)
    });
    let rows = stress.singles.iter().filter_map(|row| row.medians.failed.as_ref());
    looks.filter_map(|look| look.failed.as_ref()).chain(rows).next()
}

#[cfg(test)]
mod tests;
