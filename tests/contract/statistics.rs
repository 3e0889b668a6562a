//! The statistics against printed values, and by coverage: an interval is tried 2,000 times on a problem whose truth is
//! known.

use breathroom_analysis::chance::Streams;
use breathroom_analysis::stats::{proportion, quantiles, tolerance};
use breathroom_sim::scenario::Luck;
use statrs::distribution::{Binomial, DiscreteCDF};
use statrs::function::beta::beta_reg;

/// Repetitions of each coverage test.
const REPETITIONS: u64 = 2_000;

/// Clopper and Pearson 1934, exact: 2 of 10 and the 0 of 59 bound as SciPy's `binomtest` prints them; the rest recomputed
/// from the beta distribution and printed to six places (0.065391 is 0.0653904879 in exact arithmetic: one unit of the last
/// place, hence 1e-6).
#[test]
fn proportions_have_their_exact_intervals() {
    for (k, n, low, high, tolerance) in [
        (2, 10, 0.0252, 0.5561, 5e-5),
        (0, 100, 0.0, 0.036217, 1e-6),
        (5, 100, 0.016432, 0.112835, 1e-6),
        (50, 1000, 0.037335, 0.065391, 1e-6),
    ] {
        let interval = proportion::interval(k, n, 0.95);
        assert!((interval[0] - low).abs() <= tolerance, "{k} of {n}: {interval:?}");
        assert!((interval[1] - high).abs() <= tolerance, "{k} of {n}: {interval:?}");
    }
    assert!((proportion::upper(0, 59, 0.95) - 0.0495).abs() < 5e-5);
}

/// The ends put back into another library's incomplete beta function give back the tail of 2.5 %.
#[test]
fn the_ends_are_quantiles_of_the_beta_distribution() {
    for (k, n) in [
        (1_u64, 5_u64),
        (2, 10),
        (5, 100),
        (123, 10_000),
        (9_999, 10_000),
        (50_000, 1_000_000),
    ] {
        let [low, high] = proportion::interval(k, n, 0.95);
        let (k, rest) = (k as f64, (n - k) as f64);
        assert!((beta_reg(k, rest + 1.0, low) - 0.025).abs() < 1e-8, "{k} {low}");
        assert!((beta_reg(k + 1.0, rest, high) - 0.975).abs() < 1e-8, "{k} {high}");
    }
}

/// Wilks 1941 (from memory), 95 % coverage with 95 % confidence: runs for the first to the sixth order.
#[test]
fn tolerance_orders_need_their_runs() {
    let runs: Vec<_> = (1..=6).map(|order| tolerance::runs_needed(order, 0.95, 0.95)).collect();
    assert_eq!(runs, [59, 93, 124, 153, 181, 208].map(Some));
    assert_eq!(tolerance::order(58, 0.95, 0.95), None);
    assert_eq!(tolerance::order(207, 0.95, 0.95), Some(5));
    assert_eq!(tolerance::order(208, 0.95, 0.95), Some(6));
}

/// How often the two-sided 95 % interval holds the true chance: at least 95 %, and as often as theory says.
#[test]
fn the_proportion_interval_covers() {
    let (runs, chance) = (200_u64, 0.07);
    let streams = Streams::new(11, &["event"]);
    let covered = (0..REPETITIONS)
        .filter(|&k| {
            let luck = streams.variation(k);
            let events = (0..runs as u32).filter(|&run| luck.uniform(0, run, 0) < chance).count() as u64;
            let [low, high] = proportion::interval(events, runs, 0.95);
            low <= chance && chance <= high
        })
        .count();
    // The exact coverage: the chance of all counts whose interval holds the truth.
    let binomial = Binomial::new(chance, runs).expect("a valid distribution");
    let holds = |k: &u64| {
        let [low, high] = proportion::interval(*k, runs, 0.95);
        low <= chance && chance <= high
    };
    let first = (0..=runs).find(holds).expect("some count holds it");
    let last = (0..=runs).rfind(holds).expect("some count holds it");
    let exact = binomial.cdf(last) - binomial.cdf(first - 1);
    assert!(exact >= 0.95, "{exact}");
    assert_share(covered, exact);
}

/// How often the 95/95 bound lies on or below the true 5 % quantile (of an exponential, known in closed form).
#[test]
fn the_tolerance_bound_covers() {
    let runs = 150_u32;
    let truth = -f64::ln(0.95);
    let streams = Streams::new(12, &["margin"]);
    let covered = (0..REPETITIONS)
        .filter(|&k| {
            let luck = streams.variation(k);
            let mut margins: Vec<f64> = (0..runs).map(|run| -f64::ln(1.0 - luck.uniform(0, run, 0))).collect();
            quantiles::sort(&mut margins);
            tolerance::lower_bound(&margins, 0.95, 0.95).expect("150 runs are enough") <= truth
        })
        .count();
    let order = tolerance::order(150, 0.95, 0.95).expect("150 runs are enough");
    let exact = 1.0 - Binomial::new(0.05, 150).expect("a valid distribution").cdf(order - 1);
    assert!(exact >= 0.95, "{exact}");
    assert_share(covered, exact);
}

/// A share seen in the repetitions, within four standard deviations of the exact one.
fn assert_share(seen: usize, exact: f64) {
    let n = REPETITIONS as f64;
    let share = seen as f64 / n;
    assert!(
        (share - exact).abs() < 4.0 * (exact * (1.0 - exact) / n).sqrt(),
        "{share} against {exact}"
    );
}
