//! A small summary for the tests of what is made of one.

use super::CAUTION;
use super::ordered::Ordered;
use super::provenance::{InputRecord, Provenance, ScenarioFile};
use super::summary::{
    Balance, Counters, Driver, End, FORMAT, Limit, PerDay, Schedule, Statistics, Summary, Survival, Totals, Variations,
};

/// A limit of 3 mmHg with this margin.
pub fn limit(id: &str, margin: f64) -> Limit {
    Limit {
        id: id.to_owned(),
        place: "crew:lead".to_owned(),
        quantity: "co2",
        unit: "mmHg",
        limit: 3.0,
        worst: 3.0 - margin,
        at_h: 31.2,
        margin,
        margin_fraction: Some(margin / 3.0),
        met: margin >= 0.0,
        first_crossing_h: (margin < 0.0).then_some(30.5),
        time_beyond_h: if margin < 0.0 { 0.75 } else { 0.0 },
        statistics: None,
        words: "CO2 partial pressure, mean over 1 h, at most 3 mmHg".to_owned(),
        source: "a | source".to_owned(),
        from_memory: false,
    }
}

/// A run of a scenario with one spread.
pub fn run(limits: Vec<Limit>) -> Summary {
    let file = ScenarioFile {
        title: "Two crew".to_owned(),
        file: "two.toml".to_owned(),
        sha256: "ab".to_owned(),
    };
    Summary {
        format: FORMAT,
        command: "run",
        scenario: file,
        variations: None,
        only: None,
        end: End {
            completed: true,
            at_h: 72.0,
            cause: None,
        },
        limits,
        totals: Totals::default(),
        state_end: Ordered::default(),
        extremes: Ordered::default(),
        per_day: PerDay::default(),
        tanks: Ordered::default(),
        devices: Ordered::default(),
        suits: Ordered::default(),
        transfers: Vec::new(),
        sorties: Vec::new(),
        per_sortie: None,
        balance: Balance::default(),
        schedule: Schedule::default(),
        counters: Counters::default(),
        warnings: Vec::new(),
        from_memory: Vec::new(),
        provenance: Provenance {
            version: "0",
            command: "run",
            files: Vec::new(),
            overrides: Vec::new(),
            seed: None,
            runs: None,
            design: None,
            only: None,
            inputs: vec![InputRecord {
                path: "removal.scrubber.flow".to_owned(),
                unit: "m3/min",
                written: "x".to_owned(),
                per_turn: false,
            }],
        },
        caution: CAUTION.to_owned(),
    }
}

/// A thousand variations; each limit with the margin that is kept at 95/95 (`None`: too few runs).
pub fn vary(limits: Vec<(Limit, Option<f64>)>) -> Summary {
    let with = |(mut limit, kept): (Limit, Option<f64>)| {
        let quantiles = [("0.05", limit.margin - 0.5), ("0.5", limit.margin)];
        limit.statistics = Some(Statistics {
            violations: 123,
            probability: 0.123,
            probability_95: [0.104, 0.145],
            met_95_95: kept.is_some_and(|kept| kept >= 0.0),
            tolerance_95_95: kept,
            gate: None,
            margin_quantiles: quantiles
                .map(|(p, margin)| (p.to_owned(), margin))
                .into_iter()
                .collect(),
            drivers: vec![Driver {
                input: "removal.scrubber.flow".to_owned(),
                kind: "rank",
                index: 0.61,
            }],
            never_applied: 0,
            worst_variation: 17,
            time_beyond_mean_h: 0.1,
        });
        limit
    };
    let mut summary = run(limits.into_iter().map(with).collect());
    summary.command = "vary";
    summary.variations = Some(Variations {
        seed: 1,
        runs: 1000,
        failed: 0,
        design: "plain",
        survival: Survival {
            not_survivable: 0,
            probability: 0.0,
            probability_95: [0.0, 0.004],
            met_95_95: true,
            met_gate: None,
        },
        failures: Vec::new(),
        driver_noise: 0.095,
        quantiles: "Hyndman and Fan, type 7",
        gate: None,
    });
    summary
}
