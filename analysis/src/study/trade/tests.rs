//! Rows against a model whose differences are known.

use std::sync::atomic::AtomicBool;

use breathroom_sim::engine::{Outcome, RuleOutcome};
use breathroom_sim::scenario::{LimitInfo, Luck, Scenario};
use breathroom_sim::units::{Dimension, unit};

use super::*;
use crate::study::measure::Measure;

/// margin = shift + weight a + 0.5 b, a and b uniform: two rows differ by (weight - weight') a + the shift.
struct Model {
    shift: f64,
    weight: f64,
}

impl Simulate for Model {
    type Worker = ();

    fn worker(&self) {}

    fn paths(&self) -> Vec<&str> {
        vec!["a", "b"]
    }

    fn limits(&self) -> usize {
        1
    }

    fn run(&self, luck: &dyn Luck, (): &mut (), values: &mut [f64]) -> Result<Outcome, RunError> {
        for (input, value) in values.iter_mut().enumerate() {
            *value = luck.uniform(input, 0, 0);
        }
        if values[0] > 0.999 && self.weight > 100.0 {
            return Err(RunError::Invalid("too heavy"));
        }
        let margin = self.shift + self.weight * values[0] + 0.5 * values[1];
        Ok(Outcome {
            rules: vec![RuleOutcome {
                margin,
                ..RuleOutcome::default()
            }],
            ..Outcome::default()
        })
    }
}

fn gauges() -> Vec<Gauge> {
    let scenario = Scenario {
        limits: vec![LimitInfo {
            id: "a".to_owned(),
            subject: "cabin".to_owned(),
            words: String::new(),
            unit: unit("Pa", Dimension::Pressure).expect("a unit"),
            fraction_means_something: true,
            source: String::new(),
            from_memory: false,
            set: None,
        }],
        ..Scenario::default()
    };
    [Measure::margin("a"), Measure::Broken]
        .iter()
        .map(|measure| measure.of(&scenario).expect("there"))
        .collect()
}

fn run(model: &Model, runs: u64) -> RowRuns {
    let go = AtomicBool::new(false);
    let words = |error: &RunError| format!("{error:?}");
    row(model, &gauges(), (runs, 5), &words, (&|| (), &go)).expect("runs")
}

/// d = 0.2 + 0.1 a: mean 0.25, variance 0.01 / 12; b, which both share, adds nothing. 4 standard errors of the mean over n runs, and of a
/// variance of a uniform (kurtosis 1.8) 4 sqrt(0.8 / n) of it.
#[test]
fn differences_have_the_variance_of_the_difference() {
    let n = 4_000;
    let (one, other) = (
        run(
            &Model {
                shift: 0.2,
                weight: 1.1,
            },
            n,
        ),
        run(
            &Model {
                shift: 0.0,
                weight: 1.0,
            },
            n,
        ),
    );
    let pairs = (&one.values[0][..], &other.values[0][..]);
    let of = Statistic::Mean.difference(pairs, 0.95, 5).expect("pairs");
    let variance = 0.01 / 12.0 / n as f64;
    assert!((of.value - 0.25).abs() < 4.0 * variance.sqrt(), "{of:?}");
    let half = 0.5 * (of.interval[1] - of.interval[0]);
    let seen = (half / 1.960_6).powi(2);
    assert!(
        (seen / variance - 1.0).abs() < 4.0 * (0.8 / n as f64).sqrt(),
        "{}",
        seen / variance
    );
    // Independent runs would have (1.21 + 1 + 2 * 0.25) / 12: 271 times that.
    assert!(half * half * 100.0 < 1.96 * 1.96 * (2.71 / 12.0 / n as f64));
}

#[test]
fn the_number_of_threads_and_other_rows_change_nothing() {
    let model = Model {
        shift: -0.3,
        weight: 1.0,
    };
    let alone = run(&model, 100);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool");
    assert_eq!(pool.install(|| run(&model, 100)), alone);
    // The first runs of a longer row are those of a shorter one.
    assert_eq!(run(&model, 250).values[0][..100], alone.values[0][..]);
    let broken = alone.values[0].iter().map(|margin| f64::from(u8::from(*margin < 0.0)));
    assert_eq!(alone.values[1], broken.collect::<Vec<f64>>());
}

#[test]
fn failed_variations_are_the_worst_and_the_first_says_why() {
    let row = run(
        &Model {
            shift: 0.0,
            weight: 1000.0,
        },
        5_000,
    );
    assert!(row.failed > 0 && row.values[0].len() == 5_000);
    let (k, why) = row.first_failed.clone().expect("one failed");
    assert_eq!(row.values[0][k as usize], f64::NEG_INFINITY);
    assert_eq!(row.values[1][k as usize], 1.0);
    assert!(why.contains("too heavy"));
    assert_eq!(
        row.values[0].iter().filter(|margin| margin.is_infinite()).count() as u64,
        row.failed
    );
}

#[test]
fn stopped_is_stopped() {
    let halt = AtomicBool::new(true);
    let model = Model {
        shift: 0.0,
        weight: 1.0,
    };
    let result = row(&model, &gauges(), (10, 1), &|_| String::new(), (&|| (), &halt));
    assert_eq!(result, Err(StudyError::Stopped));
}
