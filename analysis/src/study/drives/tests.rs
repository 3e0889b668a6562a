//! Of a made-up thing whose margins have known variances.

use breathroom_sim::engine::RuleOutcome;
use breathroom_sim::units::Time;

use super::*;
use crate::chance::Streams;

/// Margins of four uniforms less a half: 3 a + (sum of b over turns 1 to 4) + c d; one that fails and one that never applies
/// while d is above `above`.
struct Made {
    above: f64,
}

impl Simulate for Made {
    type Worker = ();

    fn worker(&self) {}

    fn paths(&self) -> Vec<&str> {
        vec!["a", "b", "c", "d"]
    }

    fn limits(&self) -> usize {
        2
    }

    fn run(&self, luck: &dyn Luck, (): &mut (), _: &mut [f64]) -> Result<Outcome, RunError> {
        let [a, c, d] = [0, 2, 3].map(|input| luck.uniform(input, 0, 0) - 0.5);
        let b: f64 = (1..=4).map(|turn| luck.uniform(1, turn, 9) - 0.5).sum();
        if c > self.above {
            return Err(RunError::NotFinite {
                at: Time(1),
                compartment: 0,
            });
        }
        let rule = |margin: f64| RuleOutcome {
            margin,
            ..RuleOutcome::default()
        };
        Ok(Outcome {
            rules: vec![
                rule(3.0 * a + b + 12.0_f64.sqrt() * c * d),
                rule(if d > self.above { f64::NAN } else { d }),
            ],
            ..Outcome::default()
        })
    }
}

const GOOD: Made = Made { above: 1.0 };

fn of(made: &Made, groups: &[Vec<usize>], rows: u64) -> Drives {
    let streams = Streams::new(own_seed(1, "drives"), &made.paths());
    let stop = AtomicBool::new(false);
    drives(made, &|k| streams.variation(k), groups, rows, &|_| {}, &stop).expect("a study")
}

/// Variances, in twelfths: 9 of a, 4 of b (each of its turns 1), 1 of c and d together.
#[test]
fn whole_paths_are_exchanged() {
    let found = of(&GOOD, &[], 4_000);
    assert_eq!((found.runs, found.failed, found.factors.len()), (24_000, 0, 4));
    let of = found.limits[0].factors.as_ref().expect("it varies");
    for (factor, first, total) in [(0, 9.0, 9.0), (1, 4.0, 4.0), (2, 0.0, 1.0), (3, 0.0, 1.0)] {
        for (of, truth) in [(of[factor].first, first / 14.0), (of[factor].total, total / 14.0)] {
            assert!((of.value - truth).abs() < 0.03, "{factor}: {of:?}");
        }
    }
    let noise = found.noise(0).expect("indices");
    assert!(noise > 0.005 && noise < 0.03, "{noise}");
    // The second limit is d alone.
    let of = found.limits[1].factors.as_ref().expect("it varies");
    assert!((of[3].first.value - 1.0).abs() < 1e-12 && of[..3].iter().all(|of| of.total.value.abs() < 1e-12));
}

#[test]
fn what_is_drawn_together_is_one_factor() {
    assert_eq!(
        factors(5, &[vec![4, 1], vec![], vec![3]]),
        [vec![0], vec![1, 4], vec![2], vec![3]]
    );
    assert_eq!(
        factors(5, &[vec![0, 2], vec![3, 4], vec![2, 3]]),
        [vec![0, 2, 3, 4], vec![1]]
    );
    let found = of(&GOOD, &[vec![3, 2]], 4_000);
    assert_eq!(
        (found.runs, found.factors.clone()),
        (20_000, vec![vec![0], vec![1], vec![2, 3]])
    );
    // Together they hold alone what neither holds alone.
    let of = found.limits[0].factors.as_ref().expect("it varies");
    assert!((of[2].first.value - 1.0 / 14.0).abs() < 0.03, "{of:?}");
}

#[test]
fn rows_with_failed_runs_are_left_out() {
    let found = of(&Made { above: 0.4 }, &[], 1_000);
    // Of the six runs of a row, four have one c and two the other: a row is whole in 0.81.
    for limit in &found.limits[..1] {
        assert!(limit.left_out > 140 && limit.left_out < 240, "{limit:?}");
        assert_eq!(limit.rows + limit.left_out, 1_000);
    }
    assert!(
        found.limits[1].left_out > found.limits[0].left_out,
        "and those in which it never applied"
    );
    assert!(found.failed > 4 * 50);
    // Five of the six runs of a row are of A's c; all fail if it is always above.
    let none = of(&Made { above: -1.0 }, &[], 100);
    assert_eq!(
        (none.limits[0].rows, none.limits[0].factors.clone(), none.failed),
        (0, None, 600)
    );
    assert_eq!(none.noise(0), None);
}

#[test]
fn threads_change_no_bit() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("a pool");
        pool.install(|| of(&Made { above: 0.45 }, &[vec![0, 1]], 300))
    };
    let one = on(1);
    assert!(one.limits[0].left_out > 0 && one.limits[0].factors.is_some());
    for threads in [2, 3, 7] {
        assert_eq!(on(threads), one);
    }
}

#[test]
fn its_draws_are_its_own() {
    let seeds = [own_seed(1, "drives"), own_seed(1, "rare"), own_seed(2, "drives"), 1, 2];
    assert!((0..5).all(|i| (0..i).all(|j| seeds[i] != seeds[j])), "{seeds:?}");
}

#[test]
fn it_stops_tells_how_far_it_is_and_refuses_what_cannot_be() {
    let streams = Streams::new(1, &GOOD.paths());
    let luck = |k| streams.variation(k);
    let stop = AtomicBool::new(false);
    let most = AtomicU64::new(0);
    let progress = |done: u64| {
        most.fetch_max(done, Ordering::Relaxed);
        stop.store(done >= 50, Ordering::Relaxed);
    };
    let found = drives(&GOOD, &luck, &[], 1_000, &progress, &stop);
    assert_eq!(found, Err(StudyError::Stopped));
    assert!(most.into_inner() < 6_000);
    let refused = |rows| drives(&GOOD, &luck, &[], rows, &|_| {}, &AtomicBool::new(false));
    assert_eq!(refused(0), Err(StudyError::NoRuns));
    assert_eq!(refused(1 << 50), Err(StudyError::NoMemory { runs: 6 << 50 }));
    assert_eq!(refused(u64::MAX), Err(StudyError::NoMemory { runs: u64::MAX }));
}
