//! Against probabilities that are known, and at the borders of the method.

use std::sync::atomic::Ordering;

use breathroom_sim::spread::{standard_lower, standard_quantile};

use super::*;
use crate::chance::Streams;

/// A value that is a function of its luck.
struct Of<G>(G);

impl<G: Fn(&dyn Luck) -> f64 + Sync> Performance for Of<G> {
    type Worker = ();

    fn worker(&self) {}

    fn value(&self, luck: &dyn Luck, _: &mut ()) -> f64 {
        (self.0)(luck)
    }
}

fn normal(luck: &dyn Luck, input: usize, turn: u32) -> f64 {
    standard_quantile(luck.uniform(input, turn, 0))
}

fn climbed(seed: u64, runs: u64, g: impl Fn(&dyn Luck) -> f64 + Sync) -> Rare {
    let streams = Streams::new(seed, &["a", "b"]);
    let job = RareJob {
        runs,
        ..RareJob::default()
    };
    let stop = AtomicBool::new(false);
    climb::climb(&Of(g), &|k| streams.variation(k), &job, &|_| {}, &stop).expect("an answer")
}

/// Estimate, coefficient of variation, interval.
type Said = (f64, f64, [f64; 2]);

fn number(rare: &Rare) -> Said {
    match rare.found {
        Found::Probability {
            estimate,
            variation,
            variation_most,
            interval_95,
        } => {
            assert!(variation_most >= variation);
            (estimate, variation, interval_95)
        }
        Found::Below(_) => panic!("a number was expected: {rare:?}"),
    }
}

/// Many estimates: their mean within three standard errors of the truth, their scatter within a factor of 1.5 of what they say
/// of themselves, most intervals over the truth.
fn check_more(what: &str, truth: f64, (times, runs): (u64, u64), g: impl Fn(&dyn Luck) -> f64 + Sync) {
    let found: Vec<_> = (0..times).map(|seed| number(&climbed(seed, runs, &g))).collect();
    let count = times as f64;
    let mean = |of: &dyn Fn(&Said) -> f64| found.iter().map(of).sum::<f64>() / count;
    let estimate = mean(&|of| of.0);
    let deviation = (mean(&|of| (of.0 - estimate).powi(2)) * count / (count - 1.0)).sqrt();
    let (off, scatter) = ((estimate - truth) / (deviation / count.sqrt()), deviation / truth);
    let said = mean(&|of| of.1);
    assert!(off.abs() < 3.0, "{what}: {estimate:e}, {off} standard errors off");
    assert!(
        scatter / said < 1.5 && said / scatter < 1.5,
        "{what}: {scatter}, said {said}"
    );
    let covered = mean(&|of| f64::from(u8::from(of.2[0] <= truth && truth <= of.2[1])));
    assert!(covered >= 0.86, "{what}: {covered}");
}

/// 50 estimates of 1,000 runs to a level.
fn check(what: &str, truth: f64, g: impl Fn(&dyn Luck) -> f64 + Sync) {
    check_more(what, truth, (50, 1_000), g);
}

/// The interval covers Phi(-3) in at least 95 of 100 repetitions (2,000 of them, of 500 runs to a level), and not always.
#[test]
fn the_interval_covers() {
    let (repetitions, truth) = (2_000, 1.349_898e-3);
    let covered = (0..repetitions)
        .map(|seed| {
            number(&climbed(seed, 500, |luck| {
                3.0 - (normal(luck, 0, 0) + normal(luck, 1, 0)) / 2.0_f64.sqrt()
            }))
            .2
        })
        .filter(|[low, high]| (low..=high).contains(&&truth))
        .count();
    let share = covered as f64 / repetitions as f64;
    assert!((0.95..0.995).contains(&share), "{share}");
}

/// A linear limit of ten normals: Phi(-beta) (Abramowitz and Stegun, table 26.2).
#[test]
fn a_linear_limit() {
    for (beta, truth) in [(3.0, 1.349_898e-3), (4.0, 3.167_124e-5), (4.5, 3.397_673e-6)] {
        let sum = |luck: &dyn Luck| (1..=10).map(|turn| normal(luck, 0, turn)).sum::<f64>();
        check(&format!("beta {beta}"), truth, |luck| {
            beta - sum(luck) / 10.0_f64.sqrt()
        });
    }
}

/// The four-branch series system, in the variant with 6 / sqrt 2; 4.457331e-3 by quadrature.
#[test]
fn four_branches() {
    check("four branches", 4.457_331e-3, |luck| {
        let (x, y) = (normal(luck, 0, 0), normal(luck, 1, 0));
        let (apart, along, far) = (x - y, (x + y) / 2.0_f64.sqrt(), 6.0 / 2.0_f64.sqrt());
        let bowl = 3.0 + 0.1 * apart * apart;
        (bowl - along).min(bowl + along).min(far + apart).min(far - apart)
    });
}

/// How many draws a run asks for is itself drawn: 1 to 4 turns, all as likely. The mean over the four of Phi(-4.5 / sqrt n).
/// With more and larger climbs: a chain that kept normals which its runs do not ask for is 4 % too high here.
#[test]
fn runs_that_ask_for_more_or_less() {
    let truth = (1..=4).map(|n| standard_lower(-4.5 / f64::from(n).sqrt())).sum::<f64>() / 4.0;
    check_more("turns", truth, (200, 2_000), |luck| {
        let turns = 1 + (4.0 * luck.uniform(0, 0, 0)) as u32;
        4.5 - (1..=turns).map(|turn| normal(luck, 1, turn)).sum::<f64>()
    });
}

#[test]
fn what_is_not_rare_is_counted() {
    let rare = climbed(1, 1_000, |luck| luck.uniform(0, 0, 0) - 0.3);
    let (estimate, variation, interval) = number(&rare);
    assert_eq!((rare.why, rare.levels.len(), rare.runs), (Why::Reached, 1, 1_000));
    assert_eq!(estimate, rare.levels[0].inside as f64 / 1_000.0);
    assert!((variation - ((1.0 - estimate) / estimate / 1_000.0).sqrt()).abs() < 1e-12);
    assert_eq!(
        interval,
        crate::stats::proportion::interval(rare.levels[0].inside, 1_000, 0.95)
    );
}

/// The levels tell a whole story: falling thresholds, the runs they took, shares of a tenth, the product.
#[test]
fn levels_add_up() {
    let rare = climbed(1, 500, |luck| 4.0 - normal(luck, 0, 0));
    let product: f64 = rare.levels.iter().map(|level| level.share).product();
    assert_eq!(product, number(&rare).0);
    assert!(rare.levels.windows(2).all(|pair| pair[1].threshold < pair[0].threshold));
    let moves: u64 = rare.levels[1..].iter().map(|level| 500 - level.chains).sum();
    assert_eq!(rare.runs, 500 + moves);
    for level in &rare.levels[1..] {
        assert_eq!(level.chains, 50);
        assert!((0.2..0.7).contains(&level.kept.expect("moves")), "{level:?}");
    }
    assert_eq!(rare.failed, 0);
}

#[test]
fn threads_change_no_bit() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("a pool");
        pool.install(|| {
            climbed(7, 300, |luck| {
                3.5 - (normal(luck, 0, 0) + normal(luck, 1, 3)) / 2.0_f64.sqrt()
            })
        })
    };
    let one = on(1);
    assert!(one.levels.len() > 2);
    for threads in [2, 3, 7] {
        assert_eq!(on(threads), one);
    }
}

#[test]
fn never_is_below_what_so_many_runs_can_show() {
    for value in [f64::INFINITY, 0.0, 5.0] {
        let rare = climbed(1, 1_000, |_| value);
        // 1 - 0.05^(1/1000): nothing among 1,000.
        assert!(
            matches!(rare.found, Found::Below(p) if (p - 2.991e-3).abs() < 1e-6),
            "{rare:?}"
        );
        assert_eq!((rare.why, rare.runs), (Why::Plateau, 1_000));
    }
}

#[test]
fn a_floor_without_violations_ends_the_climb() {
    // Never below a half: from the second level on all stand there.
    let rare = climbed(1, 1_000, |luck| (3.0 - normal(luck, 0, 0)).max(0.5));
    let Found::Below(bound) = rare.found else {
        panic!("{rare:?}")
    };
    assert_eq!(rare.why, Why::Plateau);
    // Phi(-2.5) = 6.2e-3 at the floor.
    assert!(bound > 6.2e-3 && bound < 2e-2, "{rare:?}");
}

#[test]
fn used_up_levels_leave_a_bound() {
    let rare = climbed(1, 1_000, |luck| 30.0 - normal(luck, 0, 0));
    let Found::Below(bound) = rare.found else {
        panic!("{rare:?}")
    };
    assert_eq!((rare.why, rare.levels.len()), (Why::Levels, 8));
    assert!(
        bound > 1e-7 && bound < 5e-7,
        "seven levels of a tenth, and their doubt: {bound}"
    );
}

/// A limit that seldom applies, and a step on the way: plateaus are cut below, or counted as they are.
#[test]
fn plateaus_are_cut_below() {
    let truth = 0.05 * standard_lower(-2.0);
    check("seldom applies", truth, |luck| {
        if luck.uniform(1, 0, 0) < 0.05 {
            2.0 - normal(luck, 0, 0)
        } else {
            f64::INFINITY
        }
    });
    let rare = climbed(1, 1_000, |luck| match (luck.uniform(0, 0, 0), luck.uniform(1, 0, 0)) {
        (first, second) if first < 0.2 && second < 4e-3 => f64::NEG_INFINITY,
        (first, _) if first < 0.2 => 0.5,
        _ => 1.0,
    });
    let (estimate, variation, _) = number(&rare);
    assert_eq!((rare.why, rare.levels.len()), (Why::Plateau, 2));
    assert_eq!(rare.failed, rare.levels[1].inside, "all of them are failed runs");
    assert!(
        variation > 0.3 && (estimate / 8e-4).ln().abs() < 3.0 * variation,
        "{rare:?}"
    );
}

#[test]
fn it_stops_and_tells_how_far_it_is() {
    let streams = Streams::new(1, &["a"]);
    let job = RareJob::default();
    let stop = AtomicBool::new(false);
    let progress = |done: u64| {
        if done == 1_200 {
            stop.store(true, Ordering::Relaxed);
        }
    };
    let g = Of(|luck: &dyn Luck| 4.0 - normal(luck, 0, 0));
    let found = climb::climb(&g, &|k| streams.variation(k), &job, &progress, &stop);
    assert_eq!(found, Err(RareError::Study(StudyError::Stopped)));
    for (job, error) in [
        (RareJob { runs: 99, ..job }, RareError::TooFewRuns(99)),
        (RareJob { most_levels: 0, ..job }, RareError::NoLevels),
        (
            RareJob { runs: 1 << 60, ..job },
            RareError::Study(StudyError::NoMemory { runs: 1 << 60 }),
        ),
    ] {
        let found = climb::climb(&g, &|k| streams.variation(k), &job, &|_| {}, &AtomicBool::new(false));
        assert_eq!(found, Err(error));
    }
}
