//! Rare violations of a scenario with random inputs inside its tasks, against brute force.

use std::sync::atomic::AtomicBool;

use breathroom_analysis::chance::Streams;
use breathroom_analysis::study::{RareJob, Simulate, VaryJob, own_seed, rare, vary};
use breathroom_sim::scenario::{Scenario, Source, read};

/// One person in a sealed room; how long each of six turns of work takes is drawn by itself.
const ROOM: &str = r#"format = 1
title = "Six turns of work in a sealed room"
duration = "7 h"

[air]
pressure = "101.325 kPa"
oxygen = "20.9 %"
co2 = "0.3 mmHg"
humidity = "40 %"
temperature = "22 degC"

[compartments.room]
free_volume = { normal = ["40 m3", "0.5 m3"], within = ["37 m3", "43 m3"] }

[control.room]
oxygen = { hold = "20.5 kPa" }

[efforts.calm]
oxygen = "0.6 kg/d"
co2 = "0.7 kg/d"
vapour = "1 kg/d"

[efforts.busy]
oxygen = "2.4 kg/d"
co2 = "2.8 kg/d"
vapour = "2 kg/d"

[crew.lead]
idle = "calm"

[[tasks]]
id = "work"
crew = ["lead"]
effort = "busy"
in = "room"
at = "0 h"
duration = { uniform = ["10 min", "50 min"] }
repeat = { every = "1 h", times = 6 }

[[limits.rule]]
id = "co2-ceiling"
quantity = "co2"
at_most = "6.4 mmHg"
source = "this test"
"#;

fn scenario() -> Scenario {
    let source = Source {
        name: "room.toml",
        text: ROOM,
        overrides: &[],
        files: &|_| Err("no data files here".to_owned()),
    };
    read(&source).expect("a scenario")
}

#[test]
fn rare_violations_are_as_likely_as_brute_force_says() {
    let scenario = scenario();
    let stop = AtomicBool::new(false);
    let job = VaryJob {
        runs: 20_000,
        ..VaryJob::default()
    };
    let brute = vary(&scenario, &job, &|_| {}, &stop).expect("a study").limits[0].violations as f64 / 20_000.0;
    eprintln!("{brute}");
}

#[test]
fn calibrate() {
    let scenario = scenario();
    let stop = AtomicBool::new(false);
    let begin = std::time::Instant::now();
    let runs = 100_000;
    let job = VaryJob {
        runs,
        ..VaryJob::default()
    };
    let brute = vary(&scenario, &job, &|_| {}, &stop).expect("a study");
    eprintln!("{:?} a run", begin.elapsed() / runs as u32);
    let mut m: Vec<f64> = (0..runs as usize).map(|k| brute.runs.judged_margin(k, 0)).collect();
    m.sort_by(f64::total_cmp);
    for k in [0, 10, 100, 1000, 10000, 50000] {
        eprintln!("{k}: {}", m[k]);
    }
    eprintln!("{:?}", brute.limits[0].drivers);
    let seed = own_seed(1, "rare");
    let streams = Streams::new(seed, &scenario.paths());
    let job = RareJob::default();
    eprintln!(
        "{:#?}",
        rare(&scenario, &|k| streams.variation(k), &job, &|_| {}, &stop)
    );
}
