//! Sizes against closed forms.

use std::cell::RefCell;

use super::*;
use crate::chance::Streams;
use crate::stats::quantiles;
use crate::study::{Gate, StudyError};

const RUNS: u64 = 400;

fn job(range: [f64; 2], find: Find) -> SizeJob {
    SizeJob {
        range,
        find,
        points: POINTS,
        gate: Gate::USUAL,
        seed: 3,
    }
}

/// The uniform of a variation.
fn uniform(seed: u64, k: u64) -> f64 {
    Streams::new(seed, &["rate"]).variation(k).uniform_at(0, 0, 0, 0)
}

/// CO2 given off at an uncertain rate g = 1 + u into a sealed volume v over a time: it rises to g / v, and the limit is 0.2: 95 % of
/// variations have g <= 1.95, so the volume is 9.75.
fn sealed(value: f64, seed: u64, more: u64) -> Result<Margins, Untried> {
    Ok(Margins {
        values: (0..more * RUNS)
            .map(|k| 0.2 - (1.0 + uniform(seed, k)) / value)
            .collect(),
        exact: false,
        failure: None,
    })
}

#[test]
fn an_uncertain_rate_gives_the_volume_of_its_quantile() {
    let size = size(&job([2.0, 40.0], Find::Smallest), &sealed).expect("runs");
    let answer = size.answer.expect("an answer");
    // The curve's own root, from the same variations: 5 times the order statistic by which they are judged.
    let mut rates: Vec<f64> = (0..RUNS).map(|k| 1.0 + uniform(3, k)).collect();
    quantiles::sort(&mut rates);
    let order = crate::stats::tolerance::order(RUNS, 0.95, 0.95).expect("enough") as usize;
    let exact = 5.0 * rates[rates.len() - order];
    assert!(
        answer.found >= exact && answer.found <= exact * (1.0 + 2.5e-4),
        "{} {exact}",
        answer.found
    );
    let [Some(low), Some(high)] = answer.interval else {
        panic!("an interval")
    };
    assert!(low < 9.75 && 9.75 < high, "{low} {high}");
    assert!(
        low < answer.found && answer.found < high * 1.003,
        "{low} {} {high}",
        answer.found
    );
    // Proved on other variations, and right: 95 % of all keep it.
    assert!(answer.proof.proved().expect("proved") >= 9.75);
    assert!((answer.proof.confidence - (1.0 - 0.05 / 3.0)).abs() < 1e-12);
    assert!(size.curve.windows(2).all(|pair| pair[0].value < pair[1].value));
}

/// Over many seeds the interval covers the true value as it says, and a value that is proved is wrong in 5 % at most.
#[test]
fn the_interval_covers_and_the_proof_errs_as_seldom_as_they_say() {
    let (mut covered, mut proved, mut wrong, mut tries) = (0, 0, 0, 0);
    let seeds = 300;
    for seed in 0..seeds {
        let asked = SizeJob {
            seed,
            ..job([5.0, 15.0], Find::Smallest)
        };
        let found = size(&asked, &sealed).expect("runs");
        let answer = found.answer.expect("an answer");
        let [Some(low), Some(high)] = answer.interval else {
            panic!("an interval")
        };
        covered += u32::from(low <= 9.75 && 9.75 <= high * 1.002);
        tries += answer.proof.tries.len();
        if let Some(value) = answer.proof.proved() {
            proved += 1;
            wrong += u32::from(value < 9.75);
        }
    }
    let share = f64::from(covered) / seeds as f64;
    let band = |p: f64| 4.0 * (p * (1.0 - p) / seeds as f64).sqrt();
    assert!(share >= 0.95 - band(0.95), "covered {share}");
    assert!(f64::from(wrong) <= (0.05 + band(0.05)) * seeds as f64, "wrong {wrong}");
    assert!(
        proved as f64 >= 0.97 * seeds as f64 && tries < 2 * seeds as usize,
        "proved {proved}, tries {tries}"
    );
}

/// A flow-through device: steady state is g / (e q) = limit, so q = g / (e limit), exactly.
#[test]
fn nothing_uncertain_gives_the_closed_form() {
    let flow = |q: f64, _: u64, _: u64| {
        Ok(Margins {
            values: vec![0.3 - 0.9 / (0.85 * q)],
            exact: true,
            failure: None,
        })
    };
    let exact = 0.9 / (0.85 * 0.3);
    let found = size(&job([0.5, 30.0], Find::Smallest), &flow).expect("runs");
    let answer = found.answer.expect("an answer");
    assert!(
        (answer.value() / exact - 1.0).abs() < 3e-4 && answer.value() >= exact,
        "{}",
        answer.value()
    );
    assert_eq!(answer.proof.tries.len(), 1);
    assert!(found.curve.len() < 30, "{}", found.curve.len());
}

#[test]
fn the_largest_is_found_from_the_other_side() {
    let load = |value: f64, _: u64, _: u64| {
        Ok(Margins {
            values: vec![7.0 - value],
            exact: true,
            failure: None,
        })
    };
    let found = size(&job([1.0, 20.0], Find::Largest), &load).expect("runs");
    let value = found.answer.expect("an answer").value();
    assert!(value <= 7.0 && value > 7.0 * (1.0 - 3e-4), "{value}");
    let other = size(&job([1.0, 20.0], Find::Smallest), &load).expect("runs");
    assert_eq!(other.answer, Err(Why::OtherEnd));
}

#[test]
fn where_there_is_no_answer_it_says_why_and_shows_the_curve() {
    let of = |margin: fn(f64) -> f64| {
        move |value: f64, _: u64, _: u64| {
            Ok(Margins {
                values: vec![margin(value)],
                exact: true,
                failure: None,
            })
        }
    };
    let asked = job([1.0, 9.0], Find::Smallest);
    for (margin, why) in [
        ((|_| -1.0) as fn(f64) -> f64, Why::Never),
        (|_| 1.0, Why::Always),
        (|value| (value - 4.5).abs() - 2.0, Why::NotMonotone),
    ] {
        let found = size(&asked, &of(margin)).expect("runs");
        assert_eq!(found.answer, Err(why));
        assert_eq!(found.curve.len(), POINTS as usize);
        assert!(found.curve.iter().all(|point| point.median == margin(point.value)));
    }
}

#[test]
fn refused_values_are_left_out_and_an_end_of_the_study_ends_it() {
    let tried = RefCell::new(Vec::new());
    let of = |value: f64, _: u64, _: u64| {
        tried.borrow_mut().push(value);
        if value < 3.0 {
            return Err(Untried::Refused("smaller than what people occupy".to_owned()));
        }
        Ok(Margins {
            values: vec![value - 5.0],
            exact: true,
            failure: None,
        })
    };
    let found = size(&job([1.0, 9.0], Find::Smallest), &of).expect("runs");
    assert!((found.answer.expect("an answer").value() - 5.0).abs() < 2e-3);
    assert!(found.curve[0].refused.is_some());
    // Each value once (the proof is another study).
    let mut values = tried.borrow().clone();
    values.pop();
    let count = values.len();
    values.sort_by(f64::total_cmp);
    values.dedup();
    assert_eq!(values.len(), count);
    let none = |_: f64, _: u64, _: u64| Err(Untried::Refused("no".to_owned()));
    let found = size(&job([1.0, 9.0], Find::Smallest), &none).expect("runs");
    assert_eq!(found.answer, Err(Why::Refused("no".to_owned())));
    let stopped = |_: f64, _: u64, _: u64| Err(Untried::Ended(StudyError::Stopped));
    assert_eq!(
        size(&job([1.0, 9.0], Find::Smallest), &stopped),
        Err(Untried::Ended(StudyError::Stopped))
    );
}

#[test]
fn figures_go_to_the_safe_side() {
    for (value, up, down) in [
        (9.876_543, 9.876_6, 9.876_5),
        (123_456.7, 123_460.0, 123_450.0),
        (0.012_345_678, 0.012_346, 0.012_345),
        (7.5, 7.5, 7.5),
        (0.0, 0.0, 0.0),
    ] {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs();
        assert!(near(safe(value, Find::Smallest), up), "{value}");
        assert!(near(safe(value, Find::Largest), down), "{value}");
    }
}
