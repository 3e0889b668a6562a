//! How each limit stands, the tightest first: one entry for each rule, led by whoever has the least margin to it.

use super::summary::{Limit, Statistics, Summary};

/// A rule with all whom it is about.
#[derive(Clone, Debug)]
pub struct Standing<'a> {
    /// Whoever has the least margin.
    pub limit: &'a Limit,
    /// The least margin: what is kept at the gate; without that bound (too few variations) the lowest quantile given; of
    /// one run its margin. NaN if the rule never applied.
    pub low: f64,
    /// Met by everyone (over variations: shown to be).
    pub met: bool,
    /// How many others the rule is about.
    pub others: usize,
    /// How many of those do not meet it either.
    pub others_not_met: usize,
}

impl Standing<'_> {
    /// "co2-1h (crew:lead)", with those who do not meet it either.
    #[must_use]
    pub fn which(&self) -> String {
        match self.others_not_met {
            0 => format!("{} ({})", self.limit.id, self.limit.place),
            more => format!("{} ({} and {more} more)", self.limit.id, self.limit.place),
        }
    }
}

/// Every rule of a summary, the tightest first: those not met, then by the least margin as a fraction of the limit; margins
/// without a fraction, and rules that never applied, last.
#[must_use]
pub fn standings(summary: &Summary) -> Vec<Standing<'_>> {
    let mut all: Vec<Standing<'_>> = Vec::new();
    for limit in &summary.limits {
        let (low, met) = (low(limit), met(limit));
        let Some(same) = all.iter_mut().find(|standing| standing.limit.id == limit.id) else {
            all.push(Standing {
                limit,
                low,
                met,
                others: 0,
                others_not_met: 0,
            });
            continue;
        };
        let leads = key(limit, low, met) < key(same.limit, same.low, self::met(same.limit));
        let other_met = if leads { self::met(same.limit) } else { met };
        if leads {
            (same.limit, same.low) = (limit, low);
        }
        same.met &= met;
        same.others += 1;
        same.others_not_met += usize::from(!other_met);
    }
    all.sort_by(|a, b| {
        let (a, b) = (key(a.limit, a.low, a.met), key(b.limit, b.low, b.met));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    all
}

/// Sorts the tightest first.
fn key(limit: &Limit, low: f64, met: bool) -> (bool, f64) {
    let fraction = match limit.margin_fraction {
        _ if low.is_nan() => f64::INFINITY,
        Some(_) if limit.limit != 0.0 => low / limit.limit.abs(),
        _ if low < 0.0 => -1.0,
        _ => f64::MAX,
    };
    (met, fraction)
}

/// The least margin of a limit; see [`Standing::low`].
fn low(limit: &Limit) -> f64 {
    match &limit.statistics {
        None => limit.margin,
        Some(statistics) => bound_of(statistics).unwrap_or_else(|| {
            let lowest = statistics.margin_quantiles.iter().next();
            lowest.map_or(limit.margin, |(_, margin)| *margin)
        }),
    }
}

/// Whether a limit is met; over variations, whether it is shown to be.
#[must_use]
pub fn met(limit: &Limit) -> bool {
    limit.statistics.as_ref().map_or(limit.met, shown)
}

/// The bound by which a limit is judged: the gate's if one was asked for.
#[must_use]
pub fn bound_of(statistics: &Statistics) -> Option<f64> {
    statistics
        .gate
        .map_or(statistics.tolerance_95_95, |gate| gate.tolerance_gate)
}

/// Whether a limit is shown to be met, by the gate if one was asked for.
#[must_use]
pub fn shown(statistics: &Statistics) -> bool {
    statistics.gate.map_or(statistics.met_95_95, |gate| gate.met_gate)
}

#[cfg(test)]
mod tests {
    use super::super::sample::{limit, run, vary};
    use super::*;

    #[test]
    fn rules_are_led_by_whoever_has_the_least_margin_and_the_tightest_comes_first() {
        let mut second = limit("co2-1h", 0.2);
        second.place = "crew:second".to_owned();
        let mut warm = limit("warm", 0.1);
        warm.margin_fraction = None;
        let summary = run(vec![
            warm,
            limit("co2-1h", 0.6),
            second,
            limit("wide", 2.0),
            limit("broken", -0.1),
        ]);
        let all = standings(&summary);
        let seen: Vec<String> = all.iter().map(Standing::which).collect();
        assert_eq!(
            seen,
            [
                "broken (crew:lead)",
                "co2-1h (crew:second)",
                "wide (crew:lead)",
                "warm (crew:lead)"
            ]
        );
        assert_eq!((all[1].others, all[1].others_not_met), (1, 0));
    }

    #[test]
    fn those_who_do_not_meet_a_rule_are_counted_with_whoever_leads_it() {
        for margins in [[-0.3, -0.1], [-0.1, -0.3]] {
            let [one, other] = margins.map(|margin| limit("co2-1h", margin));
            let summary = run(vec![one, other]);
            let all = standings(&summary);
            assert_eq!(all[0].low, -0.3);
            assert_eq!(all[0].which(), "co2-1h (crew:lead and 1 more)");
        }
    }

    #[test]
    fn over_variations_the_bound_counts_and_without_one_the_lowest_quantile() {
        let summary = vary(vec![(limit("kept", 0.6), Some(0.15)), (limit("few", 0.6), None)]);
        let lows: Vec<(&str, f64)> = standings(&summary)
            .iter()
            .map(|of| (of.limit.id.as_str(), of.low))
            .collect();
        assert_eq!(lows[0].0, "few");
        assert!((lows[0].1 - 0.1).abs() < 1e-12);
        assert_eq!(lows[1], ("kept", 0.15));
    }
}
