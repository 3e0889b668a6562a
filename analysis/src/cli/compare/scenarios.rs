//! Two scenario files, run on the same luck.

use std::path::Path;

use breathroom_sim::engine::RunError;
use breathroom_sim::scenario::Medians;

use super::{CompareJob, Sides, USUAL_RUNS, USUAL_SEED, both, name, stem};
use crate::chance::Design;
use crate::cli::console::{Console, Ended};
use crate::cli::deliver;
use crate::cli::progress::Bar;
use crate::cli::scenario_file::{self, Read};
use crate::results::compare::{Of, Side, gauges};
use crate::results::{caution, describe};
use crate::study::trade::{RowRuns, row};
use crate::study::{StudyError, pool};

/// Reads and runs both.
///
/// # Errors
/// If one is wrong (all faults of both are told), the gate takes more runs, or inputs cannot go together as asked for.
pub fn sides(job: &CompareJob, console: &mut Console<'_>) -> Result<Sides, Ended> {
    let (runs, seed) = (job.runs.unwrap_or(USUAL_RUNS), job.seed.unwrap_or(USUAL_SEED));
    let needed = job.gate.runs_needed().unwrap_or(u64::MAX);
    if runs < needed {
        return Err(Ended::Usage(format!(
            "that gate takes {needed} variations at the least: --runs {needed} or more"
        )));
    }
    let read = |path: &Path| scenario_file::read_file(path, &[], console);
    let (a, b) = both(read(&job.a), read(&job.b))?;
    let stems = [a.stem.clone(), b.stem.clone()];
    let target = deliver::target(&job.output, &stem(&stems))?;
    let warnings = warnings(&a, &b);
    let caution = [&a, &b]
        .map(|read| caution::of(&read.scenario.draw(&Medians).case))
        .into_iter()
        .max_by_key(String::len)
        .unwrap_or_default();
    let bar = Bar::new(2 * runs, 0, console.progress && !job.output.quiet);
    let (counter, stop, threads) = (bar.counter(), console.stop, job.threads);
    let names = [name(&job.a), name(&job.b)];
    let result = console.interruptible(move || {
        let pool = pool(threads)?;
        let run = |read: &Read| -> Result<RowRuns, StudyError> {
            let scenario = &read.scenario;
            // Which task opens what is the same in every case of a scenario.
            let plan = scenario.draw(&Medians).case.plan;
            let words = |error: &RunError| describe(error, &scenario.names, &plan);
            let progress = || counter.count();
            row(scenario, &gauges(scenario), (runs, seed), &words, (&progress, stop))
        };
        let [of_a, of_b] = names;
        let (ran_a, ran_b) = pool.install(|| Ok::<_, StudyError>((run(&a)?, run(&b)?)))?;
        let side = |name, read: &Read, ran: RowRuns| Side {
            seed: Some(seed),
            runs: Some(runs),
            design: Some(Design::Plain.name().to_owned()),
            failed: ran.failed,
            first_failed: ran.first_failed.map(|(k, why)| format!("variation {k}: {why}")),
            ..Side::of(name, &read.scenario, read.file.clone(), ran.values)
        };
        Ok::<_, StudyError>((side(of_a, &a, ran_a), side(of_b, &b, ran_b)))
    });
    bar.clear();
    let (a, b) = result??;
    Ok(Sides {
        of: Of::Scenarios,
        a,
        b,
        stems,
        warnings,
        caution,
        target: Some(target),
    })
}

/// What deserves a look in each, once where both have it.
fn warnings(a: &Read, b: &Read) -> Vec<String> {
    let of = |read: &Read| -> Vec<String> {
        let all = read.scenario.warnings.iter();
        all.map(|warning| warning.message.clone()).collect()
    };
    let (of_a, of_b) = (of(a), of(b));
    let mut told: Vec<String> = of_a
        .iter()
        .map(|text| {
            if of_b.contains(text) {
                text.clone()
            } else {
                format!("in A: {text}")
            }
        })
        .collect();
    told.extend(
        of_b.iter()
            .filter(|text| !of_a.contains(text))
            .map(|text| format!("in B: {text}")),
    );
    told
}
