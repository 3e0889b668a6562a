//! Stress: removal devices degrade at the worst moment. Does the crew make it within the limits, and with how much time to spare?
//!
//! ```text
//! medians: device x part left --search over onsets--> worst onset        (with and without responses, side by side)
//! variation k: drawn once --> each device and part at its worst onset --> Spread of the time left
//!                         --> each of the scenario's own faults alone --> Over
//! ```
//!
//! A device keeps a part of what it would take, in one step and for good. The scenario's own faults rest meanwhile; its sensors and alarms
//! are as drawn. The worst onset is that of the medians ([`worst`]), and every variation has it: that it is the worst of each
//! is not claimed. Variation k is that of `vary` with the same seed and plain draws. Runs go into slots by index, so the number of threads shows
//! nowhere.

pub mod bench;
pub mod look;
pub mod singles;
pub mod spread;
pub mod times;
pub mod worst;

use std::sync::atomic::AtomicBool;

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Case, RunError};
use breathroom_sim::removal::{Device, Removal};
use breathroom_sim::scenario::{Drawn, Medians, Scenario};
use breathroom_sim::units::Time;
use rayon::prelude::*;

use self::bench::{Bench, Degraded, at_rest, has_response};
use self::look::Look;
use self::singles::{Brief, Over, Row};
use self::spread::{Share, Spread};
use self::times::After;
use self::worst::Looked;
use super::{Gate, StudyError, draws};
use crate::chance::{Design, Draws};

/// Most variations: their looks are kept.
pub const MOST_STRESS_RUNS: u64 = 65_536;

/// Parts that are left unless others are asked for.
pub const USUAL_LEFT: [f64; 5] = [1.0, 0.75, 0.5, 0.25, 0.0];

/// Onsets of the first grid unless others are asked for.
pub const USUAL_ONSETS: u32 = 24;

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
    /// By device and part left, in the order asked for.
    pub parts: Vec<Part>,
    /// No fault, each of the scenario's own, and pairs; worst first after the one without.
    pub singles: Vec<Row>,
    /// Something is done after at least one alarm.
    pub responses: bool,
    /// Runs of the simulator that could not be finished.
    pub failed: u64,
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

/// Variations of a device with a part left.
#[derive(Clone, Debug, PartialEq)]
pub struct PartRuns {
    /// Each of them.
    pub looks: Vec<Look>,
    /// The time left when the response is completed.
    pub margin: Spread,
    /// Time to the first limit without any response.
    pub to_limit: Spread,
    /// Those in which no completed response is in time.
    pub not_in_time: u64,
    /// Those in which a limit was crossed before the onset.
    pub before: u64,
    /// Those in which a limit is crossed in spite of the responses.
    pub crossed_with: Share,
    /// Those in which one is crossed without any.
    pub crossed_without: Share,
    /// Those in which an alarm came on after the onset.
    pub alarmed: u64,
    /// Those that could not be finished.
    pub failed: u64,
    /// The gate is passed: by the time left, and by the share in which a limit is crossed in spite of the responses.
    pub gate_met: bool,
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
            .all(|(_, look)| look.failed.is_none() && !look.first.after.came())
    }
}

impl PartRuns {
    /// What the looks of all variations say.
    #[must_use]
    pub fn of(looks: Vec<Look>, gate: Gate) -> Self {
        let runs = looks.len() as u64;
        let count = |of: &dyn Fn(&Look) -> bool| looks.iter().filter(|look| of(look)).count() as u64;
        let failed = count(&|look| look.failed.is_some());
        let crossed = |of: fn(&Look) -> After| count(&|look| look.failed.is_some() || of(look).came());
        let with = crossed(|look| look.first_with.after);
        let margin = Spread::of(looks.iter().map(Look::margin).collect(), gate);
        Self {
            gate_met: margin.gate_bound.is_some_and(times::Censored::in_time) && spread::allows(gate, with, runs),
            margin,
            to_limit: Spread::of(looks.iter().map(Look::to_limit).collect(), gate),
            not_in_time: count(&|look| !look.margin().in_time()),
            before: count(&|look| look.first.after == After::Before),
            crossed_with: Share::of(with, runs),
            crossed_without: Share::of(crossed(|look| look.first.after), runs),
            alarmed: count(&|look| look.alarm.is_some()),
            failed,
            looks,
        }
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
    let medians = scenario.draw(&Medians).case;
    let bench = Bench::new(scenario, medians.people.len(), progress, stop);
    let rested = at_rest(&medians);
    let unharmed = bench.look(&rested, &unharmed(0))?;
    if let Some(error) = unharmed.failed {
        return Err(StudyError::Medians(error));
    }
    let responses = has_response(&rested);
    let mut parts = Vec::new();
    for &device in &job.devices {
        for &left in &job.left {
            let looked = if left < 1.0 {
                search(&bench, &rested, (device, left), (job.onsets, responses))?
            } else {
                Looked {
                    looks: vec![(Time::ZERO, unharmed.clone())],
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
    let sets = singles::sets(medians.faults.len(), job.pairs);
    let fares: Result<Vec<_>, StudyError> = sets
        .par_iter()
        .map(|set| singles::fare(&bench, scenario, &medians, set))
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
    if job.runs > 0 {
        vary(scenario, job, &bench, (&mut parts, &mut rows))?;
    }
    singles::rank(&mut rows);
    let failed = failed(&parts, &rows);
    Ok(Stress {
        parts,
        singles: rows,
        responses,
        failed,
    })
}

/// All of a device left: what is seen without any fault.
fn unharmed(device: usize) -> Degraded {
    Degraded {
        device,
        left: 1.0,
        onset: Time::ZERO,
    }
}

fn search(
    bench: &Bench<'_>,
    rested: &Case,
    (device, left): (usize, f64),
    (onsets, responses): (u32, bool),
) -> Result<Looked<Look>, StudyError> {
    let look = |onset: &Time| {
        let onset = *onset;
        bench.look(rested, &Degraded { device, left, onset })
    };
    let looks = |onsets: &[Time]| onsets.par_iter().map(look).collect();
    worst::search(rested.duration, onsets, |look: &Look| look.rank(responses), looks)
}

/// Runs the variations and adds what they say.
fn vary(
    scenario: &Scenario,
    job: &StressJob,
    bench: &Bench<'_>,
    (parts, rows): (&mut [Part], &mut [Row]),
) -> Result<(), StudyError> {
    let draws = draws(scenario, job.seed, Design::Plain, job.runs)?;
    let one = |k: u64| variation(scenario, (&draws, k), bench, (parts, rows));
    let all: Result<Vec<_>, StudyError> = (0..job.runs).into_par_iter().map(one).collect();
    let (mut looks, mut briefs) = (by(parts.len()), by(rows.len()));
    for (of_parts, of_rows) in all? {
        looks.iter_mut().zip(of_parts).for_each(|(all, one)| all.push(one));
        briefs.iter_mut().zip(of_rows).for_each(|(all, one)| all.push(one));
    }
    for (part, looks) in parts.iter_mut().zip(looks) {
        part.runs = Some(PartRuns::of(looks, job.gate));
    }
    for (row, briefs) in rows.iter_mut().zip(briefs) {
        row.runs = Some(Over::of(&briefs));
    }
    Ok(())
}

fn by<T>(count: usize) -> Vec<Vec<T>> {
    (0..count).map(|_| Vec::new()).collect()
}

/// One variation: drawn once, then every part at its worst onset and every set of faults.
fn variation(
    scenario: &Scenario,
    (draws, k): (&Draws, u64),
    bench: &Bench<'_>,
    (parts, rows): (&[Part], &[Row]),
) -> Result<(Vec<Look>, Vec<Brief>), StudyError> {
    let mut drawn = Drawn::default();
    scenario.draw_into(&draws.variation(k), &mut drawn);
    let rested = at_rest(&drawn.case);
    // The same for every device of which all is left.
    let mut whole: Option<Look> = None;
    let mut looks = Vec::with_capacity(parts.len());
    for part in parts {
        let (device, left) = (part.device, part.left);
        let onset = part.worst().onset;
        looks.push(match &whole {
            Some(look) if left >= 1.0 => look.clone(),
            _ => bench.look(&rested, &Degraded { device, left, onset })?,
        });
        if left >= 1.0 && whole.is_none() {
            whole = looks.last().cloned();
        }
    }
    let brief = |row: &Row| Ok(Brief::from(&singles::fare(bench, scenario, &drawn.case, &row.faults)?));
    let briefs: Result<Vec<Brief>, StudyError> = rows.iter().map(brief).collect();
    Ok((looks, briefs?))
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
