//! The reference week: one variation, many on one thread and on two, and the arithmetic floor of the same work.
//!
//! `cargo bench -p breathroom-benches`. Absolute times depend on the machine; the ratios printed at the end, all from this one
//! run, are what to compare. The number of variations is small because each takes about a tenth of a second; give
//! another in `VARIATIONS`.

use std::hint::black_box;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use breathroom_analysis::study::{VaryJob, vary};
use breathroom_benches::{Hashed, Work, reference_week, week_with_beds};
use breathroom_sim::engine::{Case, Engine};
use breathroom_sim::scenario::{Drawn, Scenario};
use criterion::{Criterion, SamplingMode, criterion_group, criterion_main};

/// Rounds of which the middle ratio is printed.
const ROUNDS: usize = 15;
/// Floors timed in each.
const FLOORS: u32 = 20;
/// Rounds of which the middle ratio of two threads to one is printed.
const THREAD_ROUNDS: usize = 5;

fn variations() -> u64 {
    std::env::var("VARIATIONS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(24)
}

/// Draws of one variation: every input once, and those of tasks once a turn.
fn draws(scenario: &Scenario) -> u64 {
    let inputs = scenario.inputs.iter().filter(|input| !input.per_turn).count();
    (inputs + scenario.names.tasks.len()) as u64
}

fn many(scenario: &Scenario, threads: usize) {
    let job = VaryJob {
        runs: variations(),
        threads,
        ..VaryJob::default()
    };
    let done = vary(scenario, &job, &|_| {}, &AtomicBool::new(false));
    assert!(black_box(done).is_ok());
}

/// The arithmetic floor, `times` on each of so many threads: no memory is shared, nothing is waited for, so that two threads over one
/// show what the machine gives.
fn floors(work: Work, threads: usize, times: u32) {
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(move || {
                for _ in 0..times {
                    black_box(work.floor());
                }
            });
        }
    });
}

fn timed(mut work: impl FnMut()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

fn reference(criterion: &mut Criterion) {
    let scenario = reference_week();
    let mut engine = Engine::new();
    let mut drawn = Drawn::default();
    scenario.draw_into(&Hashed(1), &mut drawn);
    let outcome = engine.run(&drawn.case, None).expect("the reference week runs");
    let work = Work::of(&outcome, draws(&scenario));
    let mut with_beds = Drawn::default();
    week_with_beds().draw_into(&Hashed(1), &mut with_beds);

    let mut group = criterion.benchmark_group("reference week");
    group.sample_size(10).sampling_mode(SamplingMode::Flat);
    group.bench_function("one variation", |bencher| {
        bencher.iter(|| {
            scenario.draw_into(&Hashed(1), &mut drawn);
            black_box(engine.run(&drawn.case, None))
        });
    });
    group.bench_function("one variation with a pair of beds", |bencher| {
        bencher.iter(|| black_box(engine.run(&with_beds.case, None)));
    });
    group.bench_function("its arithmetic floor", |bencher| {
        bencher.iter(|| black_box(work.floor()));
    });
    for threads in [1, 2] {
        group.bench_function(format!("{} variations, threads: {threads}", variations()), |bencher| {
            bencher.iter(|| many(&scenario, threads));
        });
    }
    group.finish();

    // In turn, and the middle of the ratios: what else the machine does falls on all of them.
    let mut runs = |case: &Case| timed(|| drop(black_box(engine.run(case, None)))).as_secs_f64();
    let rounds: Vec<[f64; 3]> = (0..ROUNDS)
        .map(|_| {
            let floors = timed(|| {
                for _ in 0..FLOORS {
                    black_box(work.floor());
                }
            });
            [
                runs(&drawn.case),
                runs(&with_beds.case),
                floors.as_secs_f64() / f64::from(FLOORS),
            ]
        })
        .collect();
    let middle = |of: &dyn Fn(&[f64; 3]) -> f64| {
        let mut all: Vec<f64> = rounds.iter().map(of).collect();
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    };
    let seconds = |work: &dyn Fn()| timed(work).as_secs_f64();
    let mut speedups = [Vec::new(), Vec::new()];
    for _ in 0..THREAD_ROUNDS {
        let [one, two] = [1, 2].map(|threads| seconds(&|| many(&scenario, threads)));
        speedups[0].push(one / two);
        // Twice the work on two threads.
        let [one, two] = [1, 2].map(|threads| seconds(&|| floors(work, threads, 25 * FLOORS)));
        speedups[1].push(2.0 * one / two);
    }
    let [variations, machine] = speedups.map(|mut all| {
        all.sort_by(f64::total_cmp);
        all[THREAD_ROUNDS / 2]
    });
    println!(
        "one variation: {:.2} ms; floor {:.3} ms; ratio {:.0}",
        middle(&|round| round[0]) * 1e3,
        middle(&|round| round[2]) * 1e3,
        middle(&|round| round[0] / round[2])
    );
    println!(
        "with a pair of beds: {:.2} ms, {:.1} times the device of constant efficiency",
        middle(&|round| round[1]) * 1e3,
        middle(&|round| round[1] / round[0])
    );
    println!("two threads over one: {variations:.2}; the machine gives {machine:.2} to arithmetic that shares nothing");
}

criterion_group!(benches, reference);
criterion_main!(benches);
