//! Studies of a made-up thing whose margins are known functions of its draws.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use breathroom_sim::engine::{Counters, DeviceOutcome, End, Outcome, RuleOutcome, RunError, TankOutcome};
use breathroom_sim::scenario::Luck;
use breathroom_sim::units::Time;

use super::*;
use crate::chance::{Design, Streams};

/// Inputs a, b, c, each width (u - 1/2); limits: margin (a - b), one that applies only while c is positive, and one that
/// is always violated. Fails while a is above `fails_above`; not survivable while b is above `ends_above`.
struct Made {
    paths: Vec<&'static str>,
    width: f64,
    fails_above: f64,
    ends_above: f64,
}

/// What its second device used, in every run.
const SPENT: DeviceOutcome = DeviceOutcome {
    canisters_spent: 3,
    co2_kg: 0.0,
    water_kg: 0.0,
    co2_held_kg: 0.0,
    water_held_kg: 0.0,
    turns: 0,
    lost_kg: [0.0; 4],
    heat_mj: 0.0,
};

const GOOD: Made = Made {
    paths: vec![],
    width: 1.0,
    fails_above: f64::INFINITY,
    ends_above: f64::INFINITY,
};

fn made() -> Made {
    Made {
        paths: vec!["a", "b", "c"],
        ..GOOD
    }
}

impl Simulate for Made {
    /// Counts the runs of one worker: must not show in any result.
    type Worker = u64;

    fn worker(&self) -> u64 {
        0
    }

    fn paths(&self) -> Vec<&str> {
        self.paths.clone()
    }

    fn limits(&self) -> usize {
        3
    }

    fn duration(&self, _: &u64) -> Time {
        Time::from_seconds(90.0)
    }

    fn tanks(&self) -> usize {
        1
    }

    fn devices(&self) -> usize {
        2
    }

    fn run(&self, luck: &dyn Luck, worker: &mut u64, values: &mut [f64]) -> Result<Outcome, RunError> {
        *worker += 1;
        for (input, value) in values.iter_mut().enumerate() {
            // Without a spread +0, never -0.
            *value = self.width * (luck.uniform(input, 0, 0) - 0.5) + 0.0;
        }
        let [a, b, c] = [values[0], values[1], values[2]];
        if a > self.fails_above {
            return Err(RunError::NotFinite {
                at: Time(7),
                compartment: 0,
            });
        }
        let end = End::OxygenFloor {
            at: Time(9),
            compartment: 0,
            person: 0,
        };
        let rule = |margin: f64, beyond_s: f64| RuleOutcome {
            worst: -margin,
            margin,
            beyond_s,
            ..RuleOutcome::default()
        };
        Ok(Outcome {
            end: if b > self.ends_above { end } else { End::Completed },
            rules: vec![
                rule(a - b, a.abs() / 3.0),
                rule(if c > 0.0 { c } else { f64::NAN }, 0.0),
                rule(-1.0, 1.0),
            ],
            tanks: vec![TankOutcome {
                left_kg: 10.0 + a,
                ..TankOutcome::default()
            }],
            devices: vec![DeviceOutcome::default(), SPENT],
            counters: Counters {
                events: 2,
                looked_into: 3,
                ..Counters::default()
            },
            ..Outcome::default()
        })
    }
}

fn job(runs: u64) -> VaryJob {
    VaryJob {
        runs,
        threads: 2,
        ..VaryJob::default()
    }
}

/// A study with all its variations.
struct Study {
    vary: Vary,
    pieces: Vec<Piece>,
}

impl std::ops::Deref for Study {
    type Target = Vary;

    fn deref(&self) -> &Vary {
        &self.vary
    }
}

impl Study {
    /// The piece of a variation, and its place there.
    fn at(&self, k: u64) -> (&Piece, usize) {
        (&self.pieces[(k / PIECE) as usize], (k % PIECE) as usize)
    }

    fn values(&self, k: u64) -> &[f64] {
        let (piece, i) = self.at(k);
        piece.values(i)
    }

    fn rules(&self, k: u64) -> &[RuleOutcome] {
        let (piece, i) = self.at(k);
        piece.rules(i)
    }
}

fn study(made: &Made, job: &VaryJob) -> Study {
    let mut pieces = Vec::new();
    let vary = vary_with(made, job, &|_| {}, &AtomicBool::new(false), |piece| {
        pieces.push(piece.clone());
    });
    let vary = vary.expect("a study");
    assert_eq!(pieces.iter().map(|piece| piece.len() as u64).sum::<u64>(), job.runs);
    Study { vary, pieces }
}

/// All numbers of a study, as bits.
fn bits(vary: &Study) -> Vec<u64> {
    let mut bits = Vec::new();
    for piece in &vary.pieces {
        bits.extend(piece.values.iter().map(|x| x.to_bits()));
        for rule in &piece.rules {
            bits.extend([rule.worst, rule.margin, rule.beyond_s].map(f64::to_bits));
        }
    }
    for limit in &vary.limits {
        bits.extend([limit.violations, limit.worst_variation]);
        bits.extend(limit.margin_quantiles.map(f64::to_bits));
        bits.extend([limit.beyond_mean_s, limit.tolerance_95_95.unwrap_or(0.0)].map(f64::to_bits));
        bits.extend(
            limit
                .drivers
                .iter()
                .flat_map(|driver| [driver.input as u64, driver.index.to_bits()]),
        );
    }
    bits
}

#[test]
fn threads_change_no_bit() {
    let made = Made {
        fails_above: 0.48,
        ends_above: 0.45,
        ..made()
    };
    let one = study(
        &made,
        &VaryJob {
            threads: 1,
            ..job(2_500)
        },
    );
    assert!(!one.failed.is_empty() && one.survival.not_survivable > 0);
    for threads in [2, 3, 7] {
        let many = study(&made, &VaryJob { threads, ..job(2_500) });
        assert_eq!(bits(&one), bits(&many), "{threads} threads");
        assert_eq!(
            (&one.failed, one.survival, one.counters),
            (&many.failed, many.survival, many.counters)
        );
    }
}

#[test]
fn each_variation_has_the_luck_of_its_index() {
    let long = study(&made(), &job(300));
    let short = study(&made(), &job(100));
    let streams = Streams::new(1, &["a", "b", "c"]);
    for k in 0..100 {
        assert_eq!(long.values(k), short.values(k));
        let luck = streams.variation(k);
        assert_eq!(long.values(k)[1], luck.uniform(1, 0, 0) - 0.5);
        assert_eq!(long.rules(k)[0].margin, long.values(k)[0] - long.values(k)[1]);
    }
    let other = study(&made(), &VaryJob { seed: 2, ..job(100) });
    assert_ne!(other.values(0), short.values(0));
}

#[test]
fn statistics_are_those_of_the_margins() {
    let vary = study(&made(), &job(4_000));
    let [difference, at_times, never] = &vary.limits[..] else {
        panic!("three limits")
    };
    // a - b is triangular on [-1, 1]: median 0, quantile p < 1/2 at sqrt(2 p) - 1. The quantile's standard deviation is
    // sqrt(p (1 - p) / n) over the density, sqrt(2 p).
    for (p, seen) in QUANTILES.iter().zip(difference.margin_quantiles).take(3) {
        let sd = (p * (1.0 - p) / 4_000.0).sqrt() / (2.0 * p).sqrt();
        assert!((seen - ((2.0 * p).sqrt() - 1.0)).abs() < 4.0 * sd, "{p}: {seen}");
    }
    assert!((difference.probability - 0.5).abs() < 4.0 * (0.25_f64 / 4_000.0).sqrt());
    let [low, high] = difference.probability_95;
    assert!(low < difference.probability && difference.probability < high && high - low < 0.04);
    // 5 % quantile of the truth: the bound lies below it, and not far.
    let bound = difference.tolerance_95_95.expect("enough runs");
    assert!(bound < 0.1_f64.sqrt() - 1.0 && bound > 0.08_f64.sqrt() - 1.0, "{bound}");
    assert!(!difference.met_95_95 && !vary.gate_met());
    // Spearman's correlation of a - b with a by a sum over a grid of 1,000 x 1,000 points: 0.7000.
    let [first, second] = [difference.drivers[0], difference.drivers[1]];
    assert!(
        (first.index.abs() - 0.70).abs() < 0.03 && (second.index.abs() - 0.70).abs() < 0.03,
        "{first:?} {second:?}"
    );
    for driver in [first, second] {
        assert_eq!(
            driver.index > 0.0,
            driver.input == 0,
            "more of a is good, more of b is bad"
        );
    }
    assert!(difference.drivers[2].index.abs() < vary.driver_noise);
    let mean: f64 = (0..4_000).map(|k| vary.values(k)[0].abs() / 3.0).sum::<f64>() / 4_000.0;
    assert!((difference.beyond_mean_s - mean).abs() < 1e-12);
    let worst = vary.rules(difference.worst_variation)[0].margin;
    assert!((0..4_000).all(|k| vary.rules(k)[0].margin >= worst));

    // A limit that rests cannot be violated; one that applies half the time has half of its margins at plus infinity.
    assert_eq!((at_times.violations, at_times.met_95_95), (0, true));
    assert_eq!(
        at_times.never_applied,
        (0..4_000).filter(|&k| vary.values(k)[2] <= 0.0).count() as u64
    );
    assert_eq!(at_times.margin_quantiles[6], f64::INFINITY);
    // A constant margin has no driver.
    assert_eq!(
        (never.violations, never.drivers.len(), never.probability_95[1]),
        (4_000, 0, 1.0)
    );
    assert_eq!((vary.counters.events, vary.counters.looked_into), (8_000, 12_000));
}

#[test]
fn sums_are_folded_in_blocks_of_1024() {
    let vary = study(&made(), &job(2_500));
    let beyond: Vec<f64> = (0..2_500).map(|k| vary.values(k)[0].abs() / 3.0).collect();
    let mut total = 0.0;
    for block in beyond.chunks(1_024) {
        let mut sum = 0.0;
        for beyond in block {
            sum += beyond;
        }
        total += sum;
    }
    assert_eq!(vary.limits[0].beyond_mean_s.to_bits(), (total / 2_500.0).to_bits());
}

#[test]
fn failed_runs_are_the_worst_and_are_listed() {
    let vary = study(
        &Made {
            fails_above: 0.4,
            ..made()
        },
        &job(1_000),
    );
    let failed: Vec<u64> = (0..1_000).filter(|&k| vary.values(k)[0] > 0.4).collect();
    assert!(failed.len() > 50);
    assert_eq!(vary.failed.iter().map(|run| run.k).collect::<Vec<_>>(), failed[..10]);
    let why = RunError::NotFinite {
        at: Time(7),
        compartment: 0,
    };
    assert_eq!(vary.failed[0].why, format!("{why:?}"));
    assert_eq!(vary.survival.failed, failed.len() as u64);
    let limit = &vary.limits[1];
    assert_eq!(
        limit.violations,
        failed.len() as u64,
        "the limit is violated by failed runs alone"
    );
    assert_eq!(limit.tolerance_95_95, Some(f64::NEG_INFINITY));
    assert_eq!(limit.worst_variation, failed[0]);
    assert_eq!(vary.limits[0].margin_quantiles[0], f64::NEG_INFINITY);
    assert!(vary.rules(failed[0])[0].margin.is_nan());
    assert!(!limit.met_95_95 && !vary.survival.met_95_95);
}

#[test]
fn a_crew_that_ends_early_passes_no_gate() {
    let ends = Made {
        ends_above: 0.3,
        ..made()
    };
    let vary = study(&ends, &job(1_000));
    let early = (0..1_000).filter(|&k| vary.values(k)[1] > 0.3).count() as u64;
    assert_eq!((vary.survival.not_survivable, vary.survival.failed), (early, 0));
    assert_eq!(vary.survival.probability, early as f64 / 1_000.0);
    assert!(vary.limits[1].gate_met, "its margins are as reported");
    assert!(!vary.survival.gate_met && !vary.gate_met());
    assert!(study(&made(), &job(59)).survival.gate_met);
    assert!(!study(&made(), &job(58)).survival.gate_met);
}

#[test]
fn a_gate_of_its_own_is_judged_beside_the_usual_one() {
    let gate = Gate::new(0.3, 0.9).expect("a gate");
    let limit = &study(&made(), &VaryJob { gate, ..job(1_000) }).limits[0];
    // 70 % quantile of the truth 1 - sqrt(0.6) = 0.225: the bound on 30 % of the variations is above zero.
    assert!(limit.gate_met && !limit.met_95_95, "{limit:?}");
    assert!((limit.gate_bound.expect("enough runs") - 0.225).abs() < 0.06);
}

#[test]
fn without_spread_every_variation_is_the_run_on_the_medians() {
    let vary = study(&Made { width: 0.0, ..made() }, &job(100));
    let medians = &vary.medians;
    for k in 0..100 {
        for (rule, median) in vary.rules(k).iter().zip(&medians.rules) {
            assert_eq!(rule.margin.to_bits(), median.margin.to_bits());
        }
    }
    assert_eq!(
        vary.limits[0].margin_quantiles,
        [medians.rules[0].margin; QUANTILES.len()]
    );
    assert!(vary.limits.iter().all(|limit| limit.drivers.is_empty()));
}

#[test]
fn it_stops_and_tells_how_far_it_is() {
    let (stop, most) = (AtomicBool::new(false), AtomicU64::new(0));
    let progress = |done: u64| {
        most.fetch_max(done, Ordering::Relaxed);
        if done == 50 {
            stop.store(true, Ordering::Relaxed);
        }
    };
    let stopped = vary(&made(), &job(1_000_000), &progress, &stop);
    assert_eq!(stopped.err(), Some(StudyError::Stopped));
    assert!(most.load(Ordering::Relaxed) < 1_000);

    let told = Mutex::new(Vec::new());
    let progress = |done: u64| told.lock().expect("no panic").push(done);
    vary(&made(), &job(200), &progress, &AtomicBool::new(false)).expect("a study");
    let mut told = told.into_inner().expect("no panic");
    told.sort_unstable();
    assert_eq!(told, (1..=200).collect::<Vec<_>>());
}

#[test]
fn impossible_jobs_are_refused() {
    let refused = |runs| vary(&made(), &job(runs), &|_| {}, &AtomicBool::new(false)).err();
    assert_eq!(refused(0), Some(StudyError::NoRuns));
    assert_eq!(refused(u64::MAX), Some(StudyError::TooManyRuns { runs: u64::MAX }));
    assert_eq!(
        refused(MOST_RUNS + 1),
        Some(StudyError::TooManyRuns { runs: MOST_RUNS + 1 })
    );
}

#[test]
fn one_run_is_enough_for_a_study_but_for_no_claim() {
    let vary = study(&made(), &job(1));
    assert_eq!(vary.limits[0].tolerance_95_95, None);
    assert!(!vary.limits[1].met_95_95);
    assert_eq!(vary.driver_noise, 1.0);
    assert_eq!(
        vary.limits[0].margin_quantiles,
        [vary.rules(0)[0].margin; QUANTILES.len()]
    );
}

#[test]
fn stocks_stay_with_their_variation_and_a_failed_one_knows_none() {
    let made = Made {
        fails_above: 0.3,
        ..made()
    };
    let study = study(&made, &job(50));
    let mut failed = 0;
    for k in 0..50 {
        let (piece, i) = study.at(k);
        let (left_kg, spent) = (piece.tanks_left_kg(i), piece.canisters_spent(i));
        assert_eq!((left_kg.len(), spent.len()), (1, 2));
        if piece.end(i).is_ok() {
            assert_eq!(left_kg[0].to_bits(), (10.0 + piece.values(i)[0]).to_bits());
            assert_eq!(spent, [0.0, 3.0]);
        } else {
            failed += 1;
            assert!(left_kg[0].is_nan() && spent.iter().all(|spent| spent.is_nan()));
        }
    }
    assert!(failed > 0);
}

#[test]
fn failed_runs_cross_at_once_and_what_is_judged_at_the_end_crosses_there() {
    let made = Made {
        fails_above: 0.4,
        ..made()
    };
    let vary = study(&made, &job(1_000));
    let failed = vary.survival.failed;
    let steps = |limit: usize| -> Vec<(u32, u64)> {
        let curve = &vary.limits[limit].uncrossed;
        curve.steps.iter().map(|step| (step.minute, step.crossed)).collect()
    };
    assert_eq!(steps(2), [(0, failed), (2, 1_000 - failed)]);
    assert_eq!(steps(1), [(0, failed)], "crossed by failed runs alone");
    assert_eq!(vary.limits[1].uncrossed.last_minute, Some(2));
    assert_eq!(vary.limits[2].crossed.map(|time| time.minute), [Some(0), Some(2)]);
    assert_eq!(
        (
            vary.joint.violations,
            vary.joint.bounds.and_then(|bounds| bounds.runs_needed),
            vary.joint.met
        ),
        (1_000, Some(124), false)
    );
}

/// Each row is what a job of so many runs says; of a Latin hypercube only the last, since its draws are others then.
#[test]
fn convergence_is_what_shorter_studies_say() {
    for design in [Design::Plain, Design::Sobol] {
        let of = |runs| study(&made(), &VaryJob { design, ..job(runs) });
        let long = of(300);
        for (index, runs) in [(2, 64), (4, 256), (5, 300)] {
            for (limit, short) in long.limits.iter().zip(&of(runs).limits) {
                let row = limit.convergence[index];
                assert_eq!((row.runs, Some(&row)), (runs, short.convergence.last()), "{design:?}");
                assert_eq!((row.violations, row.interval), (short.violations, short.probability_95));
                assert_eq!(row.low_margin.to_bits(), short.margin_quantiles[1].to_bits());
            }
        }
    }
}

#[test]
fn even_draws_know_a_share_better() {
    let plain = study(&made(), &job(2_048));
    for design in [Design::LatinHypercube, Design::Sobol] {
        let even = study(&made(), &VaryJob { design, ..job(2_048) });
        let [plain, even] = [&plain, &even].map(|of| {
            let [low, high] = of.limits[0].probability_95;
            assert!(low < 0.5 && 0.5 < high, "{design:?} {low} {high}");
            high - low
        });
        assert!(even < 0.8 * plain, "{design:?}: {even} {plain}");
    }
}
