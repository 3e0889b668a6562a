//! A small summary for the tests of what is made of one.

use super::CAUTION;
use super::ordered::Ordered;
use super::provenance::{InputRecord, Provenance, ScenarioFile};
use super::summary::{
    Balance, Counters, Crossing, Device, Doing, Driver, End, FORMAT, Gas, Joint, JointBounds, Limit, PerDay, PerSortie,
    Schedule, Sortie, Statistics, Suit, Summary, Survival, Tank, TaskTimes, Tight, Totals, Transfer, Variations,
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
        drivers: None,
        rare: None,
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
        faults: Vec::new(),
        alarms: Vec::new(),
        responses: Vec::new(),
        responses_in_variations: Vec::new(),
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
            drivers: None,
            rare: None,
            inputs: vec![InputRecord {
                path: "removal.scrubber.flow".to_owned(),
                unit: "m3/min",
                written: "x".to_owned(),
                per_turn: false,
                dimension: None,
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
            margin_quantiles_95: [("0.05".to_owned(), Some([0.05, 0.15]))].into_iter().collect(),
            crossing_h: [(
                "0.05".to_owned(),
                Crossing {
                    time_h: 30.5,
                    interval_95: Some([Some(29.0), None]),
                },
            )]
            .into_iter()
            .collect(),
            drivers: vec![Driver {
                input: "removal.scrubber.flow".to_owned(),
                kind: "rank",
                index: 0.61,
                index_95: None,
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
        interval_method: "Clopper-Pearson",
        until: None,
        joint_95_95: Joint {
            met: false,
            limits: 1,
            violations: 123,
            probability_95: [0.103, 0.145],
            bounds: Some(JointBounds {
                met: false,
                order: Some(1),
                runs_needed: Some(59),
            }),
        },
        survival: Survival {
            not_survivable: 0,
            probability: 0.0,
            probability_95: [0.0, 0.004],
            met_95_95: true,
            met_gate: None,
        },
        failures: Vec::new(),
        driver_runs: 1000,
        driver_noise: 0.095,
        quantiles: "Hyndman and Fan, type 7",
        quantile_error: None,
        gate: None,
    });
    summary
}

/// A run with a tank, devices that hold something, a suit, a sortie with its vent and a fill that ended short, a late task
/// and a tight moment.
pub fn sortie(limits: Vec<Limit>) -> Summary {
    let mut summary = run(limits);
    let named = |name: &str| name.to_owned();
    let gas = |oxygen_kg, diluent_kg| Gas {
        oxygen_kg,
        diluent_kg,
        ..Gas::default()
    };
    summary.per_day = PerDay {
        days: 3.0,
        canisters: 2.0,
        ..PerDay::default()
    };
    summary.totals.vented = gas(1.0, 1.5);
    summary.totals.oxygen_filled_kg = 0.9;
    let tank = Tank {
        gas: "oxygen",
        start_kg: 24.0,
        used_kg: 22.0,
        left_kg: 2.0,
        reserve_kg: 4.0,
        residue_kg: 0.5,
        dry_at_h: None,
        reserve_at_h: Some(60.0),
        used_kg_per_day: 22.0 / 3.0,
        days_left: Some(0.2),
        days_to_reserve: Some(0.0),
        contingency_days: Some(0.2),
    };
    summary.tanks.0.push((named("oxygen"), tank));
    let canister = Device {
        co2_removed_kg: 2.0,
        co2_held_kg: 0.3,
        canisters_spent: 6,
        canisters_left: Some(3),
        canister_days_left: Some(1.5),
        ..Device::default()
    };
    let beds = Device {
        turns: 40,
        lost: gas(0.1, 0.2),
        heat_mj: 1.0,
        ..Device::default()
    };
    summary.devices.0 = vec![(named("canister"), canister), (named("beds"), beds)];
    let suit = Suit {
        worn_h: 6.0,
        mean_cooling_w: Some(310.0),
        ..Suit::default()
    };
    summary.suits.0.push((named("lead"), suit));
    let transfer = |kind, began_h: f64, from_pa, to_pa| Transfer {
        kind,
        task: named("out"),
        subject: named("lock"),
        began_h,
        ended_h: Some(began_h + 0.25),
        from_pa,
        to_pa,
        gas: gas(0.9, 1.6),
        short: kind == "fill",
    };
    summary.transfers = vec![
        transfer("vent", 10.0, 56_500.0, 0.0),
        transfer("fill", 15.0, 0.0, 50_000.0),
    ];
    summary.sorties.push(Sortie {
        tasks: vec![named("out")],
        people: vec![named("lead")],
        start_h: 10.0,
        end_h: Some(15.25),
        duration_h: Some(5.25),
        vented: gas(0.9, 1.6),
        filled: gas(0.9, 1.6),
    });
    summary.per_sortie = Some(PerSortie {
        sorties: 1,
        oxygen_vented_kg: 1.0,
        ..PerSortie::default()
    });
    let on_time = TaskTimes {
        task: named("sleep"),
        start_h: Some(0.0),
        end_h: Some(8.0),
        late_h: Some(0.0),
        end_late_h: Some(0.0),
        ..TaskTimes::default()
    };
    let late = TaskTimes {
        task: named("out"),
        planned_start_h: 9.5,
        planned_end_h: 14.0,
        start_h: Some(10.0),
        end_h: Some(15.25),
        late_h: Some(0.5),
        end_late_h: Some(1.25),
        waited_h: 0.5,
        waited_for_space_h: 0.25,
        upset: None,
    };
    summary.schedule.waits_h = 0.5;
    summary.schedule.tasks = vec![on_time, late];
    let tight = Tight {
        from_h: 9.0,
        to_h: 10.0,
        claimed_m3: 3.8,
        usable_m3: 3.4,
        who: vec![Doing {
            person: named("lead"),
            effort: named("suit-work"),
            claims_m3: 1.9,
        }],
    };
    summary.schedule.tightest.0.push((named("lock"), vec![tight]));
    summary
}
