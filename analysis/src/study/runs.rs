//! Runs side by side: one slot for each variation, filled by whichever thread comes to it.
//!
//! A slot depends on its variation alone (its luck is keyed by the index), so neither the number of threads nor the order
//! of work shows in it.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

use breathroom_sim::engine::{Counters, End, Outcome, RuleOutcome, RunError};
use breathroom_sim::units::Time;
use rayon::prelude::*;

use super::{Simulate, StudyError};
use crate::chance::Streams;

/// The rule of a run that gave no outcome.
const UNKNOWN: RuleOutcome = RuleOutcome {
    worst: f64::NAN,
    at: Time::ZERO,
    margin: f64::NAN,
    first_crossing: None,
    beyond_s: f64::NAN,
};

/// What each variation gave, by its index from 0.
#[derive(Clone, Debug)]
pub struct Runs {
    inputs: usize,
    limits: usize,
    values: Vec<f64>,
    rules: Vec<RuleOutcome>,
    tanks: usize,
    devices: usize,
    /// Of each variation, what its tanks hold at the end, kg, then the canisters its devices used.
    stores: Vec<f64>,
    ends: Vec<Result<End, RunError>>,
    counters: Vec<Counters>,
}

/// The slot of one variation.
struct Slot<'a> {
    values: &'a mut [f64],
    rules: &'a mut [RuleOutcome],
    tanks: usize,
    stores: &'a mut [f64],
    end: &'a mut Result<End, RunError>,
    counters: &'a mut Counters,
}

impl Runs {
    /// How many variations.
    #[must_use]
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// The value of each input in variation `k`, SI (a mean over turns and people where it was drawn for each).
    #[must_use]
    pub fn values(&self, k: usize) -> &[f64] {
        &self.values[k * self.inputs..][..self.inputs]
    }

    /// How each limit fared in variation `k`, SI: all NaN if the run failed; `worst` and `margin` are NaN if the limit
    /// never applied.
    #[must_use]
    pub fn rules(&self, k: usize) -> &[RuleOutcome] {
        &self.rules[k * self.limits..][..self.limits]
    }

    /// What each tank holds at the end of variation `k`, kg; NaN if the run failed.
    #[must_use]
    pub fn tanks_left_kg(&self, k: usize) -> &[f64] {
        &self.stores_of(k)[..self.tanks]
    }

    /// How many canisters each device used in variation `k`; NaN if the run failed.
    #[must_use]
    pub fn canisters_spent(&self, k: usize) -> &[f64] {
        &self.stores_of(k)[self.tanks..]
    }

    fn stores_of(&self, k: usize) -> &[f64] {
        let many = self.tanks + self.devices;
        &self.stores[k * many..][..many]
    }

    /// How variation `k` ended.
    ///
    /// # Errors
    /// Why it failed, if it did.
    pub fn end(&self, k: usize) -> Result<End, &RunError> {
        self.ends[k].as_ref().copied()
    }

    /// The work that variation `k` took; all 0 if it failed.
    #[must_use]
    pub fn counters(&self, k: usize) -> Counters {
        self.counters[k]
    }

    /// The margin as statistics take it: minus infinity if the run failed (nothing good is known of it), plus infinity if
    /// the limit never applied in it (no one there to breathe: it cannot be violated).
    #[must_use]
    pub fn judged_margin(&self, k: usize, limit: usize) -> f64 {
        let margin = self.rules(k)[limit].margin;
        match (&self.ends[k], margin.is_nan()) {
            (Err(_), _) => f64::NEG_INFINITY,
            (Ok(_), true) => f64::INFINITY,
            (Ok(_), false) => margin,
        }
    }

    /// How many inputs a variation has.
    pub(super) fn inputs(&self) -> usize {
        self.inputs
    }

    /// How many limits a variation has.
    pub(super) fn limits(&self) -> usize {
        self.limits
    }

    /// Runs all variations on the threads of the pool that this is called in.
    pub(super) fn simulate<S: Simulate>(
        simulate: &S,
        streams: &Streams,
        runs: u64,
        progress: &(dyn Fn(u64) + Sync),
        stop: &AtomicBool,
    ) -> Result<Self, StudyError> {
        let mut all = Self::empty(simulate, runs)?;
        // One set of buffers for each thread; a lock that no other thread asks for costs nothing beside a run.
        let workers: Vec<_> = (0..rayon::current_num_threads())
            .map(|_| Mutex::new(simulate.worker()))
            .collect();
        let done = AtomicU64::new(0);
        all.slots().into_par_iter().enumerate().try_for_each(|(k, slot)| {
            if stop.load(Ordering::Relaxed) {
                return Err(StudyError::Stopped);
            }
            let thread = rayon::current_thread_index().unwrap_or(0);
            let mut worker = workers[thread].lock().unwrap_or_else(PoisonError::into_inner);
            let result = simulate.run(&streams.variation(k as u64), &mut worker, slot.values);
            slot.fill(result);
            progress(done.fetch_add(1, Ordering::Relaxed) + 1);
            Ok(())
        })?;
        Ok(all)
    }

    fn empty<S: Simulate>(simulate: &S, runs: u64) -> Result<Self, StudyError> {
        let (inputs, limits) = (simulate.paths().len(), simulate.limits());
        let (tanks, devices) = (simulate.tanks(), simulate.devices());
        let count = |each: usize| usize::try_from(runs).ok().and_then(|runs| runs.checked_mul(each));
        let no_memory = StudyError::NoMemory { runs };
        let make = || {
            Some(Self {
                inputs,
                limits,
                values: filled(f64::NAN, count(inputs)?)?,
                rules: filled(UNKNOWN, count(limits)?)?,
                tanks,
                devices,
                stores: filled(f64::NAN, count(tanks + devices)?)?,
                ends: filled(Err(RunError::Invalid("not run")), count(1)?)?,
                counters: filled(Counters::default(), count(1)?)?,
            })
        };
        make().ok_or(no_memory)
    }

    fn slots(&mut self) -> Vec<Slot<'_>> {
        let (mut values, mut rules) = (self.values.as_mut_slice(), self.rules.as_mut_slice());
        let (mut stores, many) = (self.stores.as_mut_slice(), self.tanks + self.devices);
        self.ends
            .iter_mut()
            .zip(&mut self.counters)
            .map(|(end, counters)| {
                let (values_here, rules_here, stores_here);
                (values_here, values) = std::mem::take(&mut values).split_at_mut(self.inputs);
                (rules_here, rules) = std::mem::take(&mut rules).split_at_mut(self.limits);
                (stores_here, stores) = std::mem::take(&mut stores).split_at_mut(many);
                Slot {
                    values: values_here,
                    rules: rules_here,
                    tanks: self.tanks,
                    stores: stores_here,
                    end,
                    counters,
                }
            })
            .collect()
    }
}

impl Slot<'_> {
    fn fill(self, result: Result<Outcome, RunError>) {
        *self.end = match result {
            Ok(outcome) if outcome.rules.len() == self.rules.len() => {
                self.rules.copy_from_slice(&outcome.rules);
                *self.counters = outcome.counters;
                let (tanks, devices) = self.stores.split_at_mut(self.tanks);
                for (left_kg, of) in tanks.iter_mut().zip(&outcome.tanks) {
                    *left_kg = of.left_kg;
                }
                for (spent, of) in devices.iter_mut().zip(&outcome.devices) {
                    *spent = f64::from(of.canisters_spent);
                }
                Ok(outcome.end)
            }
            Ok(_) => Err(RunError::Invalid("an outcome without a result for each limit")),
            Err(error) => Err(error),
        };
    }
}

/// `n` copies, or `None` if memory for them cannot be had.
fn filled<T: Clone>(value: T, n: usize) -> Option<Vec<T>> {
    let mut all = Vec::new();
    all.try_reserve_exact(n).ok()?;
    all.resize(n, value);
    Some(all)
}
