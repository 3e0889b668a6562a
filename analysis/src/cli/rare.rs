//! `vary --rare`: how likely one limit is broken, by subset simulation, beside the run on the medians.

use std::sync::Arc;

use breathroom_sim::scenario::{Medians, Scenario};

use super::console::{Console, Ended};
use super::drivers::{can_be_asked, ended};
use super::job::{RareAsked, ScenarioJob};
use super::progress::Bar;
use super::scenario_file;
use super::{Code, deliver, run, vary};
use crate::chance::Design;
use crate::results::rarely;
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
    deliver::results(console, &job.output, target, &stem, &summary, &[])?;
    let met = summary.end.completed && summary.limits.iter().all(|limit| limit.met);
    Ok(match (found.failed, met) {
        (1.., _) => Code::Failed,
        (0, true) => Code::Done,
        (0, false) => Code::NotMet,
    })
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
