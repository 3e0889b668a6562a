//! The reference week: one variation, many on one thread and on two, and the arithmetic floor of the same work.
//!
//! `cargo bench -p breathroom-benches`. Absolute times depend on the machine; the ratios printed at the end, all from this one
//! run, are what to compare. The number of variations is small because each still takes a good tenth of a second; give
//! another in `VARIATIONS`.

use std::hint::black_box;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use breathroom_analysis::study::{Gate, VaryJob, vary};
use breathroom_benches::{Hashed, Work, reference_week, week_with_beds};
use breathroom_sim::engine::{Case, Engine};
use breathroom_sim::scenario::{Drawn, Scenario};
use criterion::{Criterion, SamplingMode, criterion_group, criterion_main};

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
        seed: 1,
        threads,
        gate: Gate::USUAL,
    };
    let done = vary(scenario, &job, &|_| {}, &AtomicBool::new(false));
    assert!(black_box(done).is_ok());
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

    let mut mean = |case: &Case| {
        let all = timed(|| {
            for _ in 0..8 {
                let _ = black_box(engine.run(case, None));
            }
        });
        all.as_secs_f64() / 8.0
    };
    let (one, beds) = (mean(&drawn.case), mean(&with_beds.case));
    let floor = timed(|| {
        for _ in 0..200 {
            black_box(work.floor());
        }
    })
    .as_secs_f64()
        / 200.0;
    let threads = [1, 2].map(|threads| timed(|| many(&scenario, threads)).as_secs_f64());
    println!(
        "one variation: {:.2} ms; floor {:.3} ms; ratio {:.0}",
        one * 1e3,
        floor * 1e3,
        one / floor
    );
    println!(
        "with a pair of beds: {:.2} ms, {:.1} times the device of constant efficiency",
        beds * 1e3,
        beds / one
    );
    println!("two threads over one: {:.2}", threads[0] / threads[1]);
}

criterion_group!(benches, reference);
criterion_main!(benches);
