//! The climb from level to level, for anything that has a value by its luck.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

use breathroom_sim::scenario::Luck;
use rayon::prelude::*;

use super::state::{State, Walk};
use super::{Found, LEAST_RUNS, Level, ONE_IN, Rare, RareError, RareJob, Why};
use crate::stats::proportion;
use crate::stats::subset::{Scatter, correlation_factor};
use crate::study::StudyError;

/// Something whose value below 0 is the rare event.
pub(super) trait Performance: Sync {
    /// Buffers that one thread keeps from run to run; they change no result.
    type Worker: Send;

    /// Fresh buffers.
    fn worker(&self) -> Self::Worker;

    /// The value: any number or infinity, never NaN.
    fn value(&self, luck: &dyn Luck, worker: &mut Self::Worker) -> f64;
}

/// After each tenth of the chains of a level the stride is adapted; within it, chains run side by side.
const BATCHES: usize = 10;
/// The share of moves kept that it is adapted to, and where it starts (Papaioannou et al. 2015: 0.44; 0.6).
const KEPT: f64 = 0.44;
const FIRST_STRIDE: f64 = 0.6;
/// Fewer samples than these cannot start the chains of a level.
const LEAST_SEEDS: usize = 10;

#[derive(Clone)]
struct Sample {
    state: Arc<State>,
    value: f64,
}

/// Where a level is cut: what lies inside the next.
#[derive(Clone, Copy)]
enum Cut {
    /// At most this.
    UpTo(f64),
    /// Less than this: the threshold is a plateau.
    Below(f64),
}

impl Cut {
    fn holds(self, value: f64) -> bool {
        match self {
            Self::UpTo(threshold) => value <= threshold,
            Self::Below(threshold) => value < threshold,
        }
    }

    fn threshold(self) -> f64 {
        let (Self::UpTo(threshold) | Self::Below(threshold)) = self;
        threshold
    }
}

/// The next cut, or why there is none.
fn cut(samples: &[Sample]) -> Result<Cut, Why> {
    let mut values: Vec<f64> = samples.iter().map(|sample| sample.value).collect();
    values.sort_unstable_by(f64::total_cmp);
    let threshold = values[values.len() / ONE_IN - 1];
    let (below, up_to) = (
        values.iter().filter(|&&value| value < threshold).count(),
        values.iter().filter(|&&value| value <= threshold).count(),
    );
    if threshold < 0.0 {
        Err(Why::Reached)
    } else if up_to <= values.len() / 2 {
        Ok(Cut::UpTo(threshold))
    } else if below >= LEAST_SEEDS {
        Ok(Cut::Below(threshold))
    } else {
        Err(Why::Plateau)
    }
}

/// What all levels share.
struct Climb<'a, P: Performance, F> {
    performance: &'a P,
    luck: &'a F,
    progress: &'a (dyn Fn(u64) + Sync),
    stop: &'a AtomicBool,
    workers: Vec<Mutex<P::Worker>>,
    done: AtomicU64,
}

/// Climbs until the threshold is below 0 or cannot fall any more.
pub(super) fn climb<P, L, F>(
    performance: &P,
    luck: &F,
    job: &RareJob,
    progress: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Rare, RareError>
where
    P: Performance,
    L: Luck,
    F: Fn(u64) -> L + Sync,
{
    if job.runs < LEAST_RUNS {
        return Err(RareError::TooFewRuns(job.runs));
    }
    if job.most_levels == 0 {
        return Err(RareError::NoLevels);
    }
    let climb = Climb {
        performance,
        luck,
        progress,
        stop,
        workers: (0..rayon::current_num_threads())
            .map(|_| Mutex::new(performance.worker()))
            .collect(),
        done: AtomicU64::new(0),
    };
    let mut samples = climb.plain(job.runs)?;
    let count = samples.len();
    let mut lengths = vec![1; count];
    let (mut reached, mut varies) = (1.0, Scatter::default());
    let mut level = Level {
        threshold: f64::INFINITY,
        inside: 0,
        share: 0.0,
        chains: job.runs,
        kept: None,
        stride: 1.0,
        correlation: 0.0,
    };
    let (mut levels, mut stride): (Vec<Level>, f64) = (Vec::new(), FIRST_STRIDE);
    let why = loop {
        let next = match cut(&samples) {
            Ok(_) if levels.len() + 1 == job.most_levels as usize => Err(Why::Levels),
            next => next,
        };
        let inside: Vec<bool> = samples
            .iter()
            .map(|sample| next.map_or(sample.value < 0.0, |cut| cut.holds(sample.value)))
            .collect();
        let seeds = inside.iter().filter(|&&inside| inside).count();
        level.inside = seeds as u64;
        level.share = seeds as f64 / count as f64;
        level.correlation = correlation_factor(&chains(&inside, &lengths));
        levels.push(level);
        if seeds > 0 {
            reached *= level.share;
            varies = varies.with(level.share, count, level.correlation);
        }
        let cut = match next {
            Ok(cut) => cut,
            Err(why) => break why,
        };
        lengths = (0..seeds)
            .map(|chain| count / seeds + usize::from(chain < count % seeds))
            .collect();
        let seeds: Vec<Sample> = samples
            .iter()
            .zip(&inside)
            .filter(|&(_, &inside)| inside)
            .map(|(sample, _)| sample.clone())
            .collect();
        let walked;
        (samples, walked) = climb.walk(&seeds, &lengths, cut, levels.len() as u64 * job.runs, &mut stride)?;
        level = Level {
            threshold: cut.threshold(),
            chains: seeds.len() as u64,
            kept: walked,
            stride,
            ..level
        };
    };
    let plain = levels.len() == 1;
    let found = match levels.last().map_or(0, |level| level.inside) {
        0 if plain => Found::Below(proportion::upper(0, job.runs, 0.95)),
        0 => Found::Below(varies.upper_95(reached)),
        violations => Found::Probability {
            estimate: reached,
            variation: varies.variation(),
            variation_most: varies.most(),
            interval_95: if plain {
                proportion::interval(violations, job.runs, 0.95)
            } else {
                varies.interval_95(reached)
            },
        },
    };
    let failed = samples
        .iter()
        .filter(|sample| sample.value == f64::NEG_INFINITY)
        .count();
    Ok(Rare {
        job: *job,
        found,
        why,
        levels,
        runs: climb.done.into_inner(),
        failed: failed as u64,
    })
}

/// Consecutive samples as chains of these lengths.
fn chains<'a>(mut samples: &'a [bool], lengths: &[usize]) -> Vec<&'a [bool]> {
    let cut = |&length: &usize| {
        let chain;
        (chain, samples) = samples.split_at(length);
        chain
    };
    lengths.iter().map(cut).collect()
}

impl<P, L, F> Climb<'_, P, F>
where
    P: Performance,
    L: Luck,
    F: Fn(u64) -> L + Sync,
{
    fn run(&self, walk: Walk<'_, L>) -> Result<Sample, StudyError> {
        if self.stop.load(Ordering::Relaxed) {
            return Err(StudyError::Stopped);
        }
        let thread = rayon::current_thread_index().unwrap_or(0);
        let mut worker = self.workers[thread].lock().unwrap_or_else(PoisonError::into_inner);
        let value = self.performance.value(&walk, &mut worker);
        (self.progress)(self.done.fetch_add(1, Ordering::Relaxed) + 1);
        Ok(Sample {
            state: Arc::new(walk.into_state()),
            value,
        })
    }

    /// The first level: variations 0 .. runs.
    fn plain(&self, runs: u64) -> Result<Vec<Sample>, StudyError> {
        let no_memory = StudyError::NoMemory { runs };
        let mut slots: Vec<Option<Sample>> = Vec::new();
        let count = usize::try_from(runs).map_err(|_| no_memory.clone())?;
        slots.try_reserve_exact(count).map_err(|_| no_memory)?;
        slots.resize(count, None);
        slots.par_iter_mut().enumerate().try_for_each(|(k, slot)| {
            *slot = Some(self.run(Walk::new((self.luck)(k as u64)))?);
            Ok::<(), StudyError>(())
        })?;
        Ok(slots.into_iter().flatten().collect())
    }

    /// Chains from seeds, each as long as told with its seed, inside the cut; the share of moves kept. Sample number j of the
    /// level, were it made by a move, has the fresh luck of variation `first + j`: no two runs share one.
    fn walk(
        &self,
        seeds: &[Sample],
        lengths: &[usize],
        cut: Cut,
        first: u64,
        stride: &mut f64,
    ) -> Result<(Vec<Sample>, Option<f64>), StudyError> {
        let mut samples = Vec::with_capacity(lengths.iter().sum());
        let (mut kept, mut moves) = (0, 0);
        // Unbounded, so that it finds back from above 1.
        let mut scale = *stride;
        let batch = seeds.len().div_ceil(BATCHES);
        for (number, (seeds, lengths)) in seeds.chunks(batch).zip(lengths.chunks(batch)).enumerate() {
            let mut place = first + samples.len() as u64;
            let starts: Vec<u64> = lengths
                .iter()
                .map(|&length| {
                    place += length as u64;
                    place - length as u64
                })
                .collect();
            let mut slots = vec![(Vec::new(), 0); seeds.len()];
            slots.par_iter_mut().enumerate().try_for_each(|(i, slot)| {
                *slot = self.chain(&seeds[i], lengths[i], starts[i], cut, *stride)?;
                Ok::<(), StudyError>(())
            })?;
            let (mut kept_here, mut moves_here) = (0, 0);
            for (chain, kept) in slots {
                kept_here += kept;
                moves_here += chain.len() - 1;
                samples.extend(chain);
            }
            (kept, moves) = (kept + kept_here, moves + moves_here);
            if moves_here > 0 {
                let off = kept_here as f64 / moves_here as f64 - KEPT;
                scale *= libm::exp(off / ((number + 1) as f64).sqrt());
                *stride = scale.min(1.0);
            }
        }
        Ok((samples, (moves > 0).then(|| kept as f64 / moves as f64)))
    }

    /// One chain, and how many of its moves were kept.
    fn chain(
        &self,
        seed: &Sample,
        length: usize,
        first: u64,
        cut: Cut,
        stride: f64,
    ) -> Result<(Vec<Sample>, usize), StudyError> {
        let mut chain = Vec::with_capacity(length);
        let (mut at, mut kept) = (seed.clone(), 0);
        chain.push(at.clone());
        for step in 1..length as u64 {
            let moved = self.run(Walk::moved(&at.state, stride, (self.luck)(first + step)))?;
            if cut.holds(moved.value) {
                at = moved;
                kept += 1;
            }
            chain.push(at.clone());
        }
        Ok((chain, kept))
    }
}
