//! What drives each margin: sensitivity indices from runs in which one factor's draws are exchanged for others.
//!
//! Row j is made of two lucks, A = luck(2 j) and B = luck(2 j + 1), and n + 2 runs for n factors: on A, on B, and for each
//! factor on A with every draw of that factor (all turns, all people) from B: a Saltelli design swaps whole paths. Inputs
//! that are drawn together are one factor. The rows cost (n + 2) runs each, so a scenario with few inputs is cheap.
//! The draws should not be those of runs already made: see [`own_seed`].
//!
//! A run that failed has the margin of minus infinity, a limit that never applied that of plus infinity, as everywhere;
//! such rows are left out and counted (see [`crate::stats::sensitivity`]).

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

use breathroom_sim::engine::{Outcome, RunError};
use breathroom_sim::scenario::Luck;
use rayon::prelude::*;

use super::{Simulate, StudyError};
use crate::chance::{mix, path_hash};
use crate::stats::sensitivity::{Sensitivity, sensitivity};

#[cfg(test)]
mod tests;

/// What the rows say.
#[derive(Clone, Debug, PartialEq)]
pub struct Drives {
    /// Rows asked for.
    pub rows: u64,
    /// Runs made: the factors and two more, for each row.
    pub runs: u64,
    /// Runs among them that failed.
    pub failed: u64,
    /// The factors: the inputs (by index, rising) that are exchanged together; by their first input, rising.
    pub factors: Vec<Vec<usize>>,
    /// One for each limit; its indices are in the order of `factors`.
    pub limits: Vec<Sensitivity>,
}

impl Drives {
    /// Half the width of the widest 95 % interval among a limit's first-order indices: differences below it are hard to
    /// tell from chance. `None` where there are no indices.
    #[must_use]
    pub fn noise(&self, limit: usize) -> Option<f64> {
        let factors = self.limits[limit].factors.as_ref()?;
        let halves = factors
            .iter()
            .map(|of| 0.5 * (of.first.interval_95[1] - of.first.interval_95[0]));
        Some(halves.fold(0.0, f64::max))
    }
}

/// The seed of the draws that a further study makes for itself, so that they share nothing with the variations of `seed`:
/// the upper half of the mix of (seed, the hash of the study's name, turn 0, person 0) at the last variation there is, 2^64
/// - 1. `study` is its name, "drives" or "rare".
#[must_use]
pub fn own_seed(seed: u64, study: &str) -> u64 {
    (mix(seed, u64::MAX, path_hash(&format!("study.{study}")), 0, 0, 0) >> 64) as u64
}

/// Runs `rows` rows on the threads of the pool that this is called in.
///
/// `luck` gives the draws of variation k. `groups` names the inputs that are drawn together; groups that share an input are
/// one factor, and every other input is one by itself. `progress` is told how many runs are done (from several threads, so
/// not always in order). Once `stop` is set no further run begins.
///
/// # Errors
/// If it was stopped, if no rows were asked for, or if the margins of all runs do not fit into memory.
///
/// # Panics
/// If a group names an input that there is not: a fault of the program.
pub fn drives<S, L, F>(
    simulate: &S,
    luck: &F,
    groups: &[Vec<usize>],
    rows: u64,
    progress: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Drives, StudyError>
where
    S: Simulate,
    L: Luck,
    F: Fn(u64) -> L + Sync,
{
    if rows == 0 {
        return Err(StudyError::NoRuns);
    }
    let inputs = simulate.paths().len();
    let factors = factors(inputs, groups);
    let (limits, runs_each) = (simulate.limits(), factors.len() + 2);
    if limits == 0 {
        // Nothing to ask the runs for.
        return Ok(Drives {
            rows,
            runs: 0,
            failed: 0,
            factors,
            limits: Vec::new(),
        });
    }
    let no_memory = StudyError::NoMemory {
        runs: rows.saturating_mul(runs_each as u64),
    };
    let size = usize::try_from(rows).ok().and_then(|rows| rows.checked_mul(runs_each));
    let all = size.and_then(|runs| runs.checked_mul(limits)).and_then(filled);
    // The columns of one limit at a time, taken out of the rows.
    let (Some(mut margins), Some(mut columns)) = (all, size.and_then(filled)) else {
        return Err(no_memory);
    };
    let failed = AtomicU64::new(0);
    let row = |j: u64, slots: &mut [f64], worker: &mut S::Worker, values: &mut [f64], told: &dyn Fn()| {
        let (a, b) = (luck(2 * j), luck(2 * j + 1));
        for run in 0..runs_each {
            if stop.load(Ordering::Relaxed) {
                return Err(StudyError::Stopped);
            }
            let outcome = match run {
                0 => simulate.run(&a, worker, values),
                1 => simulate.run(&b, worker, values),
                _ => {
                    let factor = &factors[run - 2];
                    simulate.run(&Exchanged { a: &a, b: &b, factor }, worker, values)
                }
            };
            failed.fetch_add(u64::from(outcome.is_err()), Ordering::Relaxed);
            for (limit, slot) in slots[run * limits..][..limits].iter_mut().enumerate() {
                *slot = judged_margin(&outcome, limit);
            }
            told();
        }
        Ok(())
    };
    // One set of buffers for each thread; a lock that no other thread asks for costs nothing beside a run.
    let workers: Vec<_> = (0..rayon::current_num_threads())
        .map(|_| Mutex::new((simulate.worker(), vec![f64::NAN; inputs])))
        .collect();
    let done = AtomicU64::new(0);
    let slots = margins.par_chunks_mut(runs_each * limits);
    slots.enumerate().try_for_each(|(j, slots)| {
        let thread = rayon::current_thread_index().unwrap_or(0);
        let mut worker = workers[thread].lock().unwrap_or_else(PoisonError::into_inner);
        let (worker, values) = &mut *worker;
        row(j as u64, slots, worker, values, &|| {
            progress(done.fetch_add(1, Ordering::Relaxed) + 1);
        })
    })?;
    let limits = (0..limits)
        .map(|limit| {
            for (run, column) in columns.chunks_mut(rows as usize).enumerate() {
                for (j, slot) in column.iter_mut().enumerate() {
                    *slot = margins[(j * runs_each + run) * limits + limit];
                }
            }
            let columns: Vec<&[f64]> = columns.chunks(rows as usize).collect();
            sensitivity(columns[0], columns[1], &columns[2..])
        })
        .collect();
    Ok(Drives {
        rows,
        runs: done.into_inner(),
        failed: failed.into_inner(),
        factors,
        limits,
    })
}

/// The margin as statistics take it: see `Piece`.
pub(super) fn judged_margin(outcome: &Result<Outcome, RunError>, limit: usize) -> f64 {
    match outcome.as_ref().map(|outcome| outcome.rules[limit].margin) {
        Err(_) => f64::NEG_INFINITY,
        Ok(margin) if margin.is_nan() => f64::INFINITY,
        Ok(margin) => margin,
    }
}

/// So many NaNs, if there is memory for them.
fn filled(count: usize) -> Option<Vec<f64>> {
    let mut values = Vec::new();
    values.try_reserve_exact(count).ok()?;
    values.resize(count, f64::NAN);
    Some(values)
}

/// Inputs that share a group, directly or through others, are one factor.
fn factors(inputs: usize, groups: &[Vec<usize>]) -> Vec<Vec<usize>> {
    // The factor of an input is the least input in it.
    let mut least: Vec<usize> = (0..inputs).collect();
    for group in groups {
        let joined: Vec<usize> = group.iter().map(|&input| least[input]).collect();
        let Some(&first) = joined.iter().min() else { continue };
        for of in &mut least {
            if joined.contains(of) {
                *of = first;
            }
        }
    }
    let members = |first: usize| (0..inputs).filter(|&input| least[input] == first).collect();
    (0..inputs)
        .filter(|&input| least[input] == input)
        .map(members)
        .collect()
}

/// The draws of one factor from `b`, all others from `a`.
struct Exchanged<'a, L> {
    a: &'a L,
    b: &'a L,
    factor: &'a [usize],
}

impl<L: Luck> Luck for Exchanged<'_, L> {
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64 {
        let from = if self.factor.binary_search(&input).is_ok() {
            self.b
        } else {
            self.a
        };
        from.uniform(input, turn, person)
    }

    /// The noise of readings is that of the first of the two rows: it is no factor.
    fn stream(&self, path: &str) -> Option<u64> {
        self.a.stream(path)
    }
}
