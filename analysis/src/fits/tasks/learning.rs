//! Practice: whether a task goes faster each time someone does it.
//!
//! Equation: `ln x = a_person + b ln(trial)`, least squares with a level of its own for each person; doubling the number of trials
//! changes the duration by the factor `2^b`. Interval of b by Student's t with n - people - 1 degrees of freedom.
//! Source: Wright 1936, J. Aeronaut. Sci. 3, 122 (the law; from memory). Valid for people with two trials or more. Left out: that
//! learning ends, and that people learn at different rates.

use super::Trial;
use crate::stats::student;

/// How durations go with practice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Learning {
    /// Duration after twice as many trials, as a part of before.
    pub per_doubling: f64,
    /// Its 95 % interval.
    pub per_doubling_95: [f64; 2],
    /// Deviation of the logarithm once practice and people are taken out.
    pub residual: f64,
    /// Degrees of freedom.
    pub freedom: u64,
}

impl Learning {
    /// Whether it is more than chance, at 95 %.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        !(self.per_doubling_95[0]..=self.per_doubling_95[1]).contains(&1.0)
    }
}

/// From the trials of one task; none if nobody did it twice, or nothing is left to tell chance by.
#[must_use]
pub fn learning(trials: &[&Trial]) -> Option<Learning> {
    let people = by_person(trials);
    let (mut xx, mut xy, mut yy, mut freedom) = (0.0, 0.0, 0.0, 0_u64);
    for own in &people {
        let n = own.len() as f64;
        let mean = |of: &dyn Fn(&Trial) -> f64| own.iter().map(|trial| of(trial)).sum::<f64>() / n;
        let x = |trial: &Trial| libm::log(f64::from(trial.trial));
        let y = |trial: &Trial| libm::log(trial.seconds);
        let (mx, my) = (mean(&x), mean(&y));
        for trial in own {
            let (dx, dy) = (x(trial) - mx, y(trial) - my);
            xx += dx * dx;
            xy += dx * dy;
            yy += dy * dy;
        }
        freedom += own.len() as u64 - 1;
    }
    if xx <= 0.0 || freedom < 2 {
        return None;
    }
    let freedom = freedom - 1;
    let slope = xy / xx;
    let residual = libm::sqrt(((yy - slope * xy) / freedom as f64).max(0.0));
    let reach = student::quantile(0.975, freedom) * residual / libm::sqrt(xx);
    let factor = |slope: f64| libm::exp2(slope);
    Some(Learning {
        per_doubling: factor(slope),
        per_doubling_95: [factor(slope - reach), factor(slope + reach)],
        residual,
        freedom,
    })
}

/// Trials by person, in the order in which people come.
pub(super) fn by_person<'a>(trials: &[&'a Trial]) -> Vec<Vec<&'a Trial>> {
    let mut people: Vec<Vec<&Trial>> = Vec::new();
    for trial in trials {
        match people.iter_mut().find(|own| own[0].person == trial.person) {
            Some(own) => own.push(trial),
            None => people.push(vec![trial]),
        }
    }
    people
}
