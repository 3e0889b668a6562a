//! `vary --rare`: how likely one limit is broken, by subset simulation, beside the run on the medians.

use std::sync::Arc;

use breathroom_sim::limits::Quantity;
use breathroom_sim::scenario::{Medians, Scenario};
use breathroom_sim::upset::{Change, SensorNumber, Target};

use super::console::{Console, Ended};
use super::drivers::{can_be_asked, ended};
use super::job::{RareAsked, ScenarioJob};
use super::progress::Bar;
use super::scenario_file;
use super::{Code, deliver, run, vary};
use crate::chance::Design;
use crate::report::one_run;
use crate::results::{rarely, words};
use crate::study::{self, RareError, RareJob, VaryJob};

/// Names of limits that an error lists.
const MOST_LISTED: usize = 20;

/// Estimates how likely a limit is broken. The exit code is that of the run on the medians, as `run` gives it; 1 if runs
/// failed among the violations.
///
/// # Errors
/// If the scenario is wrong or has no such limit, its medians cannot be run, or the results cannot be written.
pub fn rare(job: &ScenarioJob, asked: &RareAsked, console: &mut Console<'_>) -> Result<Code, Ended> {
    if asked.design != Design::Plain {
        let said = "--rare goes with the design `plain` alone: each sample is drawn from the one before, which no even design can do";
        return Err(Ended::Usage(said.to_owned()));
    }
    let read = Arc::new(scenario_file::read(job, console)?);
    can_be_asked(&read, "--rare")?;
    let limit = limit(&read.scenario, &asked.limit).map_err(Ended::Usage)?;
    without_noise(&read.scenario).map_err(Ended::Usage)?;
    let stem = deliver::stem(&read, "vary");
    let target = deliver::target(&job.output, &stem)?;
    let of_medians = VaryJob {
        threads: asked.threads,
        seed: asked.seed,
        ..VaryJob::default()
    };
    let outcome = vary::medians(&read, &of_medians, console)?;
    let bar = Bar::further("runs", console.progress && !job.output.quiet);
    let (done, stop, shared) = (bar.counter(), console.stop, Arc::clone(&read));
    let (seed, threads) = (asked.seed, asked.threads);
    let climb = RareJob {
        limit,
        runs: asked.runs,
        ..RareJob::default()
    };
    let result = console.interruptible(move || {
        let scenario = &shared.scenario;
        let draws = study::own_draws(scenario, seed, "rare").map_err(Ended::Wrong)?;
        let pool = study::pool(threads).map_err(ended)?;
        let progress = |_| done.count();
        pool.install(|| study::rare(scenario, &|k| draws.variation(k), &climb, &progress, stop))
            .map_err(|error| match error {
                RareError::Study(error) => ended(error),
                other => Ended::Wrong(other.to_string()),
            })
    });
    bar.clear();
    let found = result??;
    let case = read.scenario.draw(&Medians).case;
    let mut summary = run::summary("vary", &job.overrides, &read, &case, &outcome);
    rarely::add(&mut summary, &found, &read.scenario, asked.seed);
    let page = one_run::in_words(&summary, &read.scenario);
    deliver::results(console, &job.output, target, &stem, (&summary, ""), (&[], &page))?;
    let met = summary.end.completed && summary.limits.iter().all(|limit| limit.met);
    Ok(match (found.failed, met) {
        (1.., _) => Code::Failed,
        (0, true) => Code::Done,
        (0, false) => Code::NotMet,
    })
}

/// Refuses alarms that act on readings with noise: each reading would be a draw of its own, thousands in a run, and the small steps
/// of the climb are steps of all draws at once.
fn without_noise(scenario: &Scenario) -> Result<(), String> {
    let case = scenario.draw(&Medians).case;
    let names = &scenario.names;
    let mut told: Vec<String> = Vec::new();
    for (alarm, of) in case.alarms.iter().enumerate() {
        for &index in &of.sensors {
            let Some(sensor) = case.sensors.get(index) else {
                continue;
            };
            let path = noise_path(scenario, index);
            let drawn = scenario.inputs.iter().any(|input| input.path == path);
            let zero = match sensor.quantity {
                Quantity::Humidity => "0 %",
                Quantity::Temperature => "0 K",
                Quantity::Co2 => "0 mmHg",
                _ => "0 kPa",
            };
            let alarm = words::alarm(names, alarm);
            let mut tell = |what: String| {
                if !told.contains(&what) {
                    told.push(what);
                }
            };
            if sensor.noise > 0.0 || drawn {
                tell(format!(
                    "the alarm `{alarm}` acts on readings with noise: leave it out with `--set '{path}=\"{zero}\"'`"
                ));
            }
            for (fault, of) in case.faults.iter().enumerate() {
                let target = Target::Sensor {
                    sensor: index,
                    number: SensorNumber::Noise,
                };
                let to_noise =
                    |change: &Change| matches!(change, Change::Number { target: changed, .. } if *changed == target);
                if of.changes.iter().any(to_noise) {
                    let fault = words::fault(names, fault);
                    tell(format!(
                        "the fault `{fault}` puts noise on the readings that the alarm `{alarm}` acts on: leave the fault out of \
                         the file"
                    ));
                }
            }
        }
    }
    if told.is_empty() {
        return Ok(());
    }
    Err(format!(
        "--rare cannot draw the noise of readings (small steps in what is drawn would be none in the noise); {}",
        told.join("; ")
    ))
}

/// The path of the noise of a sensor: one of its own has said what it watches; behind those come the ones inside alarms, which go
/// by the alarm's name.
fn noise_path(scenario: &Scenario, sensor: usize) -> String {
    let name = scenario.names.sensors.get(sensor).map_or("?", String::as_str);
    let watches = |path: &str| path.starts_with("sensors.") && path.ends_with(".watches");
    let of_their_own = scenario.resolved.iter().filter(|value| watches(&value.path)).count();
    if sensor < of_their_own {
        format!("sensors.{name}.noise")
    } else {
        format!("alarms.{name}.sensor.noise")
    }
}

/// The limit of this name: its id, or its id and whom it is about ("co2-1h@crew:lead").
fn limit(scenario: &Scenario, name: &str) -> Result<usize, String> {
    let limits = &scenario.limits;
    let full = |index: &usize| format!("{}@{}", limits[*index].id, limits[*index].subject);
    let list = |of: &[usize]| {
        let more = match of.len().saturating_sub(MOST_LISTED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let names: Vec<String> = of.iter().take(MOST_LISTED).map(full).collect();
        format!("{}{more}", names.join(", "))
    };
    let all: Vec<usize> = (0..limits.len()).collect();
    let of_id: Vec<usize> = all.iter().copied().filter(|&index| limits[index].id == name).collect();
    match of_id[..] {
        [only] => return Ok(only),
        [_, _, ..] => {
            return Err(format!(
                "the limit `{name}` is about several: say which, one of {}",
                list(&of_id)
            ));
        }
        [] => {}
    }
    all.iter().copied().find(|index| full(index) == name).ok_or_else(|| {
        if all.is_empty() {
            format!("there is no limit `{name}`: the scenario sets none")
        } else {
            format!("there is no limit `{name}`; those of the scenario: {}", list(&all))
        }
    })
}
