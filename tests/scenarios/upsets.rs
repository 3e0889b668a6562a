//! Faults, alarms and responses from a scenario file to the engine: what is drawn, and what one file says of another.

use breathroom_analysis::chance::Streams;
use breathroom_sim::engine::{Case, Engine, Outcome};
use breathroom_sim::scenario::{Medians, Scenario, Source, read};
use breathroom_sim::units::Time;

/// A quiet cabin: two people at rest, a scrubber that goes round, a backup.
const QUIET: &str = r#"
format = 1
title = "Quiet"
duration = "60 h"

[air]
pressure = "101.3 kPa"
oxygen = "21 %"
co2 = "1 mmHg"
humidity = "40 %"
temperature = "21 degC"

[compartments.cabin]
free_volume = "20 m3"

[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = "0.8 m3/min"
co2_efficiency = "85 %"

[removal.backup]
kind = "flow-through"
serves = "cabin"
flow = "0.6 m3/min"
co2_efficiency = "80 %"
on = false

[control.cabin]
oxygen = { hold = "21 kPa" }

[efforts.calm]
co2 = "1 kg/d"
oxygen = "0.84 kg/d"

[efforts.hard]
co2 = "4 kg/d"
oxygen = "3.4 kg/d"

[crew.one]
idle = "calm"

[crew.two]
idle = "calm"

[[limits.rule]]
id = "co2"
where = "compartments"
quantity = "co2"
at_most = "12 mmHg"
source = "a number for this test"
"#;

fn scenario(more: &str) -> Scenario {
    let text = format!("{QUIET}\n{more}");
    let source = Source {
        name: "test.toml",
        text: &text,
        overrides: &[],
        files: &|_: &str| Err("there is none".to_owned()),
    };
    read(&source).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn outcome(case: &Case) -> Outcome {
    Engine::new().run(case, None).expect("it runs")
}

/// Onsets of fault 0 over variations, h; none where it never began.
fn onsets(scenario: &Scenario, runs: u64) -> Vec<Option<f64>> {
    let paths: Vec<&str> = scenario.inputs.iter().map(|input| input.path.as_str()).collect();
    let streams = Streams::new(7, &paths);
    let mut engine = Engine::new();
    let mut onsets = Vec::new();
    for k in 0..runs {
        let drawn = scenario.draw(&streams.variation(k));
        let outcome = engine.run(&drawn.case, None).expect("it runs");
        onsets.push(outcome.faults[0].began.map(|at| at.seconds() / 3600.0));
    }
    onsets
}

/// Kolmogorov's distance between onsets, cut off at `until` h, and a distribution function.
fn distance(onsets: &[Option<f64>], until: f64, distribution: impl Fn(f64) -> f64) -> f64 {
    let mut met: Vec<f64> = onsets.iter().flatten().copied().collect();
    met.sort_by(f64::total_cmp);
    let n = onsets.len() as f64;
    let mut worst = (met.len() as f64 / n - distribution(until)).abs();
    for (k, t) in met.iter().enumerate() {
        let should = distribution(*t);
        worst = worst
            .max((should - k as f64 / n).abs())
            .max((should - (k + 1) as f64 / n).abs());
    }
    worst
}

/// The distance that a true sample of this size exceeds once in a thousand times: 1.949 / sqrt(n) (Kolmogorov's limit
/// distribution; Smirnov 1948, table).
fn allowed(n: usize) -> f64 {
    1.949 / (n as f64).sqrt()
}

const RUNS: u64 = 3000;

#[test]
fn onsets_of_constant_hazard_follow_the_exponential() {
    let scenario = scenario(
        r#"
[[faults]]
id = "f"
on = "removal.scrubber"
mode = "off"
onset = { exponential = "40 h" }
"#,
    );
    let onsets = onsets(&scenario, RUNS);
    let found = distance(&onsets, 60.0, |t| 1.0 - (-t / 40.0).exp());
    assert!(found < allowed(onsets.len()), "{found}");
    // And the test sees a mean that is a fifth off.
    assert!(distance(&onsets, 60.0, |t| 1.0 - (-t / 48.0).exp()) > allowed(onsets.len()));
    // On the medians it begins at the median: 40 h ln 2.
    let median = outcome(&scenario.draw(&Medians).case).faults[0]
        .began
        .expect("it begins");
    assert!((median.seconds() / 3600.0 - 40.0 * std::f64::consts::LN_2).abs() < 1e-6);
}

#[test]
fn weibull_onsets_in_operating_time_follow_the_weibull_of_time_on() {
    // On for the first 20 h and again from 30 h on.
    let scenario = scenario(
        r#"
[[tasks]]
id = "rest-it"
crew = ["one"]
effort = "calm"
in = "cabin"
at = "20 h"
duration = "10 h"
starts = [{ switch_off = "scrubber" }]
ends = [{ switch_on = "scrubber" }]

[[faults]]
id = "f"
on = "removal.scrubber"
factor = "50 %"
onset = { weibull = ["30 h", 2] }
running = "scrubber"
"#,
    );
    let onsets = onsets(&scenario, RUNS);
    assert!(
        onsets.iter().flatten().all(|t| !(20.0 + 1e-9..30.0).contains(t)),
        "none while it rests"
    );
    let in_time_on: Vec<Option<f64>> = onsets
        .iter()
        .map(|t| t.map(|t| if t > 20.0 { t - 10.0 } else { t }))
        .collect();
    let found = distance(&in_time_on, 50.0, |t| 1.0 - (-(t / 30.0_f64).powi(2)).exp());
    assert!(found < allowed(onsets.len()), "{found}");
}

#[test]
fn a_bus_that_is_off_stops_all_that_it_feeds_at_once() {
    let bus = r#"
[buses.main]
feeds = ["removal.scrubber", "removal.backup", "alarms.high.sensor"]

[[alarms]]
id = "high"
watches = "cabin.co2"
above = "3 mmHg"

[[faults]]
id = "f"
on = "buses.main"
mode = "off"
onset = "5 h"
"#;
    let dark = outcome(&scenario(bus).draw(&Medians).case);
    assert_eq!(dark.alarms[0].trips, 0, "its sensor is dead");
    assert_eq!(dark.alarms[0].missed, 1);
    // Two people at 1 kg a day in 20 m3 without a scrubber, from the steady value on: ideal gas.
    let case = scenario(bus).draw(&Medians).case;
    let rise = 2.0 / 0.044_009_5 / 86_400.0 * 8.314_462_618 * case.compartments[0].temperature_k / 20.0;
    let without = outcome(&scenario("").draw(&Medians).case);
    let steady = without.state_end[0].partial_pa[0];
    let should = steady + rise * 55.0 * 3600.0;
    let is = dark.state_end[0].partial_pa[0];
    assert!((is / should - 1.0).abs() < 1e-6, "{is} {should}");
}

/// The responder is missing from their task, the delay shows in the timeline, and they breathe harder meanwhile.
#[test]
fn a_response_costs_time_and_air() {
    let file = |response: &str| {
        scenario(&format!(
            r#"
[[tasks]]
id = "survey"
crew = ["one"]
effort = "calm"
in = "cabin"
at = "1 h"
duration = "20 h"

[[tasks]]
id = "report"
crew = ["one"]
effort = "calm"
in = "cabin"
after = ["survey"]
duration = "1 h"

[[faults]]
id = "f"
on = "removal.scrubber"
mode = "off"
onset = "5 h"

[[alarms]]
id = "high"
watches = "cabin.co2"
above = "3 mmHg"
for = "5 min"
sensor = {{ lag = "195 s" }}
{response}
"#
        ))
    };
    let response = r#"response = { by = "one", reaction = "6 min", takes = "90 min", effort = "hard", does = [{ swap = "scrubber", to = "backup" }] }"#;
    let (with, without) = (file(response), file(""));
    let (with_case, without_case) = (with.draw(&Medians).case, without.draw(&Medians).case);
    let (a, b) = (outcome(&with_case), outcome(&without_case));
    let hours = |h: f64| Some(Time::from_seconds(3600.0 * h));
    assert_eq!((b.schedule.ended[0], b.schedule.started[1]), (hours(21.0), hours(21.0)));
    assert_eq!((a.schedule.ended[0], a.schedule.started[1]), (hours(22.5), hours(22.5)));
    assert_eq!(a.schedule.interruptions[0], 1);
    let one = a.responses[0];
    assert_eq!(one.done.zip(one.began).map(|(done, began)| done - began), hours(1.5));
    assert_eq!(
        one.began.map(|began| began - one.tripped),
        Some(Time::from_seconds(360.0))
    );
    // Ninety minutes at 4 kg a day in place of 1.
    let more = a.totals.co2_made_kg - b.totals.co2_made_kg;
    assert!((more / (3.0 * 1.5 / 24.0) - 1.0).abs() < 1e-6, "{more}");
    // Without it the limit is crossed; with it the backup is on before.
    assert!(b.rules[0].first_crossing.is_some() && a.rules[0].first_crossing.is_none());
}

/// What one variation draws does not depend on the faults and alarms of the file.
#[test]
fn faults_and_alarms_leave_all_other_draws_as_they_were() {
    let air = |text: &str| {
        let scenario = scenario(text);
        let paths: Vec<&str> = scenario.inputs.iter().map(|input| input.path.as_str()).collect();
        let streams = Streams::new(3, &paths);
        let case = scenario.draw(&streams.variation(11)).case;
        (
            case.people[0].gas_lag_s,
            case.plan.tasks.first().map(|task| task.duration),
        )
    };
    let task = r#"
[[tasks]]
id = "work"
crew = ["one"]
effort = "hard"
in = "cabin"
at = "2 h"
duration = { lognormal = ["3 h", "30 %"] }
"#;
    let upsets = r#"
[[faults]]
id = "f"
on = "removal.scrubber.flow"
factor = { uniform = ["20 %", "70 %"] }
onset = { uniform = ["1 h", "9 h"] }

[[alarms]]
id = "high"
watches = "cabin.co2"
above = "3 mmHg"
sensor = { bias = { normal = ["0 mmHg", "0.2 mmHg"] }, noise = "0.1 mmHg" }
response = { by = "two", reaction = { lognormal = ["6 min", "60 %"] }, does = [{ repair = "f" }] }
"#;
    assert_eq!(air(task), air(&format!("{task}\n{upsets}")));
    assert_ne!(
        air(task).1,
        Some(Time::from_seconds(3.0 * 3600.0)),
        "it is drawn at all"
    );
}
