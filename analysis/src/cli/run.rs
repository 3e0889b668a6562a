//! `run`: one run on the medians; and `vary --only`: one variation alone. Both with their full history.

use breathroom_sim::engine::{Case, Engine, Outcome, RunError, Trace};
use breathroom_sim::scenario::Medians;

use super::console::{Console, Ended};
use super::job::{OnlyJob, ScenarioJob};
use super::scenario_file::{self, Read};
use super::{Code, course, deliver};
use crate::report::{Ran, one_run};
use crate::results::summary::{Only, Summary};
use crate::results::{describe, events, history, sheets, summarise};
use crate::study;

/// Runs a scenario once, on the medians of its spreads.
///
/// # Errors
/// If the scenario is wrong, the run fails or its results cannot be written.
pub fn medians(job: &ScenarioJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = scenario_file::read(job, console)?;
    let stem = deliver::stem(&read, "run");
    let target = deliver::target(&job.output, &stem)?;
    let case = read.scenario.draw(&Medians).case;
    let (case, result, trace) = console.interruptible(move || {
        let mut trace = Trace::default();
        let result = Engine::new().run(&case, Some(&mut trace));
        (case, result, trace)
    })?;
    let outcome = result.map_err(|error| failed("the run", &error, &read))?;
    let summary = summary("run", &job.overrides, &read, &case, &outcome);
    finish(console, job, &read, target, &stem, &summary, (&trace, &case, &outcome))
}

/// Runs one variation alone.
///
/// # Errors
/// If the scenario is wrong, the run fails or its results cannot be written.
pub fn only(job: &ScenarioJob, only: OnlyJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = scenario_file::read(job, console)?;
    let stem = deliver::stem(&read, "vary");
    let target = deliver::target(&job.output, &stem)?;
    let scenario = read.scenario.clone();
    let again =
        console.interruptible(move || study::only(&scenario, only.seed, (only.design, only.runs), only.k))??;
    let name = format!("variation {}", only.k);
    let outcome = again.outcome.map_err(|error| failed(&name, &error, &read))?;
    let mut summary = summary("vary", &job.overrides, &read, &again.drawn.case, &outcome);
    summary.only = Some(Only {
        seed: only.seed,
        variation: only.k,
        design: again.draws.design().name(),
    });
    summary.provenance.seed = Some(only.seed);
    summary.provenance.runs = only.runs;
    summary.provenance.drawn_by(&again.draws);
    summary.provenance.only = Some(only.k);
    finish(
        console,
        job,
        &read,
        target,
        &stem,
        &summary,
        (&again.trace, &again.drawn.case, &outcome),
    )
}

/// A run that could not be finished, told with names.
pub fn failed(what: &str, error: &RunError, read: &Read) -> Ended {
    // Which task opens what is the same in every case of a scenario.
    let plan = read.scenario.draw(&Medians).case.plan;
    Ended::Wrong(format!(
        "{what} could not be finished: {}",
        describe(error, &read.scenario.names, &plan)
    ))
}

/// The summary of one run.
pub fn summary(command: &'static str, overrides: &[String], read: &Read, case: &Case, outcome: &Outcome) -> Summary {
    summarise(
        command,
        &read.scenario,
        case,
        outcome,
        read.file.clone(),
        read.provenance(command, overrides),
    )
}

fn finish(
    console: &mut Console<'_>,
    job: &ScenarioJob,
    read: &Read,
    target: crate::results::Target,
    stem: &str,
    summary: &Summary,
    (trace, case, outcome): (&Trace, &Case, &Outcome),
) -> Result<Code, Ended> {
    let tables = [
        history::table(trace, &read.scenario.names, case),
        events::table(trace, &read.scenario, case, outcome),
        sheets::inputs(&read.scenario),
    ];
    let ran = Ran::new(&read.scenario, case, outcome, trace);
    let page = one_run::page(summary, &ran);
    let course = course::told(console, &job.output, summary, (&read.scenario, case, trace), "");
    deliver::results(console, &job.output, target, stem, (summary, &course), (&tables, &page))?;
    let met = summary.end.completed && summary.limits.iter().all(|limit| limit.met);
    Ok(if met { Code::Done } else { Code::NotMet })
}
