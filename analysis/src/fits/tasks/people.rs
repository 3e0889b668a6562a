//! How people differ, and so how many independent trials there were.
//!
//! Equations: one-way analysis of variance of `ln x`: `r = (B - W) / (B + (m0 - 1) W)`, mean squares B between people and W within, `m0 = (n - sum m_i^2 / n) /
//! (people - 1)`; held between 0 and 1. Trials count as `n / (1 + (m - 1) r)`, `m = sum m_i^2 / n`, and never as fewer than people did it.
//! Symbols: n trials, m_i of them by person i, r the intraclass correlation; no units.
//! Source: Fisher 1925, Statistical Methods for Research Workers, chapter 7; design effect: Kish 1965, Survey Sampling (both from memory).
//! Valid where somebody did it twice; else r is not known and trials count as they are. Left out: what r itself leaves unsure, which with a
//! handful of people is much; and everyone who was not timed.

use super::Trial;
use super::learning::by_person;

/// How people differ in one task.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct People {
    /// How many did it.
    pub count: usize,
    /// How many trials there are.
    pub trials: usize,
    /// Part of the variance of ln x that is between people; none if it cannot be told.
    pub between: Option<f64>,
    /// As many independent trials say as much of the centre.
    pub effective: u32,
}

/// From the trials of one task.
#[must_use]
pub fn people(trials: &[&Trial]) -> People {
    let people = by_person(trials);
    let (n, k) = (trials.len() as f64, people.len() as f64);
    let squares: f64 = people.iter().map(|own| (own.len() * own.len()) as f64).sum();
    let between = between(&people, (n, k, squares));
    let clustered = 1.0 + (squares / n - 1.0) * between.unwrap_or(0.0);
    let effective = (n / clustered).floor().clamp(k.min(n), n);
    People {
        count: people.len(),
        trials: trials.len(),
        between,
        effective: effective as u32,
    }
}

fn between(people: &[Vec<&Trial>], (n, k, squares): (f64, f64, f64)) -> Option<f64> {
    if people.len() < 2 || people.len() as f64 >= n {
        return None;
    }
    let log = |trial: &&Trial| libm::log(trial.seconds);
    let grand = people.iter().flatten().map(log).sum::<f64>() / n;
    let (mut between, mut within) = (0.0, 0.0);
    for own in people {
        let mean = own.iter().map(log).sum::<f64>() / own.len() as f64;
        between += own.len() as f64 * (mean - grand) * (mean - grand);
        within += own
            .iter()
            .map(|trial| (log(trial) - mean) * (log(trial) - mean))
            .sum::<f64>();
    }
    let (between, within) = (between / (k - 1.0), within / (n - k));
    let size = (n - squares / n) / (k - 1.0);
    let part = (between - within) / (between + (size - 1.0) * within);
    part.is_finite().then_some(part.clamp(0.0, 1.0))
}
