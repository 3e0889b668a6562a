//! Coverage over 2,000 repetitions of 16 replicates of 64 runs, plain and in strata.

use super::super::coverage_tests::{Draws, assert_covers_at_least, share};
use super::*;

const REPLICATES: u64 = 16;
const RUNS: u64 = 64;

/// Points of the unit square, 64 in each replicate.
#[derive(Clone, Copy, Debug)]
enum Design {
    Plain,
    /// One in each of 64 strips.
    Strips,
    /// One in each of 8 by 8 squares.
    Squares,
    LatinHypercube,
}

const DESIGNS: [Design; 4] = [Design::Plain, Design::Strips, Design::Squares, Design::LatinHypercube];

fn points(design: Design, draws: &Draws, repetition: u64, replicate: u64) -> Vec<[f64; 2]> {
    let uniform = |i: u64, part: u64| draws.uniform(repetition, replicate, 3 * i + part);
    let mut order: Vec<u64> = (0..RUNS).collect();
    if let Design::LatinHypercube = design {
        for i in (1..RUNS).rev() {
            order.swap(i as usize, (uniform(i, 2) * (i + 1) as f64) as usize);
        }
    }
    let n = RUNS as f64;
    let point = |i: u64| {
        let [x, y] = [uniform(i, 0), uniform(i, 1)];
        match design {
            Design::Plain => [x, y],
            Design::Strips => [(i as f64 + x) / n, y],
            Design::Squares => [((i / 8) as f64 + x) / 8.0, ((i % 8) as f64 + y) / 8.0],
            Design::LatinHypercube => [(i as f64 + x) / n, (order[i as usize] as f64 + y) / n],
        }
    };
    (0..RUNS).map(point).collect()
}

/// A quantity with a known distribution: uniform from 0 to 1 in strips, else by P(x + y < c) = c^2 / 2 up to 1/2.
fn value(design: Design, [x, y]: [f64; 2]) -> f64 {
    match design {
        Design::Plain | Design::Strips => x,
        Design::Squares | Design::LatinHypercube if x + y <= 1.0 => 0.5 * (x + y) * (x + y),
        Design::Squares | Design::LatinHypercube => 1.0 - 0.5 * (2.0 - x - y) * (2.0 - x - y),
    }
}

fn values(design: Design, draws: &Draws, repetition: u64, replicate: u64) -> Vec<f64> {
    let points = points(design, draws, repetition, replicate);
    points.into_iter().map(|point| value(design, point)).collect()
}

/// Bands: at least 0.95 less 4 standard deviations (0.0195) for two sides. The one-sided upper bound is known to
/// undercover, since the scatter goes with the mean (see the head of the module): its band starts at 0.93 in place of
/// 0.95.
fn assert_chances_are_covered(design: Design) {
    let draws = Draws::new("replicates");
    let chances = [0.001, 0.005, 0.015, 0.03, 0.1, 0.3];
    let mut covered = [[0.0; 2]; 6];
    share(|repetition| {
        let sample = |replicate| values(design, &draws, repetition, replicate);
        let samples: Vec<_> = (0..REPLICATES).map(sample).collect();
        for (p, covered) in chances.into_iter().zip(&mut covered) {
            let below = |values: &Vec<f64>| values.iter().filter(|&&value| value < p).count() as u64;
            let counts: Vec<_> = samples.iter().map(|values| (below(values), RUNS)).collect();
            let [low, high] = interval(&counts, 0.95);
            covered[0] += f64::from(u8::from(low <= p && p <= high)) / 2_000.0;
            covered[1] += f64::from(u8::from(p <= upper(&counts, 0.95))) / 2_000.0;
        }
        true
    });
    for (p, [two_sided, one_sided]) in chances.into_iter().zip(covered) {
        assert_covers_at_least(two_sided, 0.95, &format!("{design:?} {p}"));
        assert_covers_at_least(one_sided, 0.93, &format!("{design:?} {p}, upper"));
    }
}

#[test]
fn chances_are_covered_by_plain_draws() {
    assert_chances_are_covered(Design::Plain);
}

#[test]
fn chances_are_covered_by_strips() {
    assert_chances_are_covered(Design::Strips);
}

#[test]
fn chances_are_covered_by_squares() {
    assert_chances_are_covered(Design::Squares);
}

#[test]
fn chances_are_covered_by_latin_hypercubes() {
    assert_chances_are_covered(Design::LatinHypercube);
}

/// The gain of a design is kept where there are violations enough.
#[test]
fn strata_narrow_the_interval() {
    let draws = Draws::new("width");
    let width = |design: Design| {
        let counts = |replicate| {
            let values = values(design, &draws, 0, replicate);
            (values.iter().filter(|&&value| value < 0.2).count() as u64, RUNS)
        };
        let [low, high] = interval(&(0..REPLICATES).map(counts).collect::<Vec<_>>(), 0.95);
        high - low
    };
    let [plain, strips, squares, hypercube] = DESIGNS.map(width);
    assert!(
        strips < squares && squares < hypercube && hypercube < plain,
        "{:?}",
        DESIGNS.map(width)
    );
    assert!(strips < 0.25 * plain, "{strips} {plain}");
}

/// By hand: see the head of the module.
#[test]
fn few_and_none_are_not_taken_for_certain() {
    let none = [(0, 64); 16];
    let odds = (40.0_f64.powf(1.0 / 16.0) - 1.0) / 63.0;
    let [low, high] = interval(&none, 0.95);
    assert_eq!(low, 0.0);
    assert!((high - odds / (1.0 + odds)).abs() < 1e-12);
    // Wider than for independent runs, and mirrored.
    assert!(high > proportion::interval(0, 1024, 0.95)[1]);
    let all = interval(&[(64, 64); 16], 0.95);
    assert!((all[0] - (1.0 - high)).abs() < 1e-12 && all[1] == 1.0);
    // One violation says about what it says of independent runs (the design effect is 1.001), and less than none.
    let mut one = none;
    one[3].0 = 1;
    let once = interval(&one, 0.95);
    let plain = proportion::interval(1, 1_024, 0.95)[1];
    assert!(once[1] >= plain && once[1] < 1.003 * plain, "{once:?} {plain}");
    assert!(once[1] > high);
    // Five of them in one replicate count as about one run of five.
    one[3].0 = 5;
    let clump = interval(&one, 0.95);
    assert!(clump[1] > 1.5 * proportion::interval(5, 1024, 0.95)[1], "{clump:?}");
    // All alike within: as far as rounding can hide.
    let alike = interval(&[(16, 64); 16], 0.95);
    let hidden = (1.0 - 0.025_f64.powf(1.0 / 16.0)) / 64.0;
    assert!((alike[0] - (0.25 - hidden)).abs() < 1e-12 && (alike[1] - (0.25 + hidden)).abs() < 1e-12);
}

/// Many violations: batch means alone. m = 0.25, s of the shares 0.1 exactly, t(3, 0.975) = 3.182446 (table, from
/// memory).
#[test]
fn it_is_the_interval_of_batch_means() {
    let counts = [(150, 1_000), (250, 1_000), (250, 1_000), (350, 1_000)];
    let half = 3.182_446_305 * (0.02_f64 / 3.0 / 4.0).sqrt();
    let [low, high] = interval(&counts, 0.95);
    assert!((low - (0.25 - half)).abs() < 1e-9 && (high - (0.25 + half)).abs() < 1e-9);
}

/// Quantiles and tolerance bounds rest on the same ends: bands as above.
fn assert_quantiles_are_covered(design: Design) {
    let draws = Draws::new("replicates, quantiles");
    let (mut low_quantile, mut bound) = (0.0, 0.0);
    let median = share(|repetition| {
        let sample = |replicate| Sample::exact(values(design, &draws, repetition, replicate));
        let samples: Vec<Sample> = (0..REPLICATES).map(sample).collect();
        let covers = |p: f64| {
            let [low, high] = quantile_interval(&samples, p, 0.95).expect("enough runs");
            low <= p && p <= high
        };
        low_quantile += f64::from(u8::from(covers(0.05))) / 2_000.0;
        let tolerance = lower_bound(&samples, 0.95, 0.95).expect("enough runs");
        bound += f64::from(u8::from(tolerance <= 0.05)) / 2_000.0;
        covers(0.5)
    });
    assert_covers_at_least(median, 0.95, &format!("{design:?}, median"));
    assert_covers_at_least(low_quantile, 0.95, &format!("{design:?}, 5 %"));
    assert_covers_at_least(bound, 0.93, &format!("{design:?}, tolerance bound"));
}

#[test]
fn quantiles_are_covered_by_plain_draws() {
    assert_quantiles_are_covered(Design::Plain);
}

#[test]
fn quantiles_are_covered_by_squares() {
    assert_quantiles_are_covered(Design::Squares);
}

#[test]
fn quantiles_are_covered_by_latin_hypercubes() {
    assert_quantiles_are_covered(Design::LatinHypercube);
}

#[test]
fn pooled_quantiles_are_those_of_all_values() {
    let draws = Draws::new("pooled");
    let parts: Vec<Vec<f64>> = (0..5)
        .map(|part| {
            (0..=40 * part)
                .map(|i| (draws.uniform(0, part, i) * 50.0).floor() - 20.0)
                .collect()
        })
        .collect();
    let samples: Vec<Sample> = parts.iter().map(|part| Sample::exact(part.clone())).collect();
    let all = Sample::exact(parts.concat());
    for p in [0.0, 0.05, 0.333, 0.5, 0.9, 1.0] {
        assert_eq!(quantile(&samples, p), all.quantile(p), "{p}");
    }
    assert!(quantile(&[], 0.5).is_nan() && quantile(&samples, 1.5).is_nan());
}

#[test]
fn ends_are_values_and_sketches_stay_within_their_error() {
    use crate::stats::sample::Gathering;
    use crate::stats::sketch::RELATIVE_ERROR;
    let draws = Draws::new("sketched replicates");
    let of = |exact: bool| -> Vec<Sample> {
        let sample = |replicate| {
            let mut gathering = Gathering::new(exact);
            (0..200).for_each(|i| gathering.add(draws.uniform(0, replicate, i) - 0.3));
            gathering.into_sample()
        };
        (0..8).map(sample).collect()
    };
    let (exact, sketched) = (of(true), of(false));
    for p in [0.05, 0.3, 0.5, 0.9] {
        let [a, b] = [&exact, &sketched].map(|samples| quantile_interval(samples, p, 0.95).expect("enough runs"));
        for (a, b) in a.into_iter().zip(b) {
            assert!(
                exact.iter().any(|sample| sample.up_to(a) > sample.below(a)),
                "{a} is no value"
            );
            assert!((a - b).abs() <= 3.0 * RELATIVE_ERROR * a.abs(), "{p}: {a} {b}");
        }
    }
}

#[test]
fn nothing_known_claims_nothing() {
    assert_eq!(interval(&[], 0.95), [0.0, 1.0]);
    assert_eq!(interval(&[(3, 64)], 0.95), [0.0, 1.0]);
    assert_eq!(interval(&[(3, 64), (0, 0)], 0.95), [0.0, 1.0]);
    assert_eq!(interval(&[(3, 64), (65, 64)], 0.95), [0.0, 1.0]);
    for confidence in [f64::NAN, 1.0, 2.0, -1.5] {
        assert_eq!(interval(&[(3, 64), (5, 64)], confidence), [0.0, 1.0], "{confidence}");
    }
    let samples = vec![Sample::exact(vec![1.0, 2.0]); 3];
    assert_eq!(lower_bound(&samples, 0.95, 0.95), None);
    assert_eq!(quantile_interval(&samples, 0.05, 0.95), None);
    assert_eq!(quantile_interval(&samples, f64::NAN, 0.95), None);
    // Failed runs pull the bound down, as far as they reach.
    let failed = vec![Sample::exact(vec![f64::NEG_INFINITY; 100]); 4];
    assert_eq!(lower_bound(&failed, 0.95, 0.95), Some(f64::NEG_INFINITY));
    let never = vec![Sample::exact(vec![f64::INFINITY; 100]); 4];
    assert_eq!(lower_bound(&never, 0.95, 0.95), Some(f64::INFINITY));
}
