//! Stress of a small scenario: that it is the same on any threads, that variations are those of `vary`, and when the gate is passed.

use super::*;
use breathroom_sim::scenario;

const ROOM: &str = r#"
format = 1
duration = "6 h"
[air]
pressure = "101.3 kPa"
oxygen = "21 %"
co2 = "0.5 mmHg"
[compartments.cabin]
free_volume = { normal = ["9 m3", "0.3 m3"], within = ["8 m3", "10 m3"] }
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = "0.4 m3/min"
co2_efficiency = "85 %"
[removal.backup]
kind = "flow-through"
serves = "cabin"
flow = "0.4 m3/min"
co2_efficiency = "85 %"
on = false
[control.cabin]
oxygen = { hold = "21 kPa" }
[crew.one]
mass = "71 kg"
[[limits.rule]]
id = "co2-now"
quantity = "co2"
at_most = "7 mmHg"
source = "a test"
"#;

fn room() -> Scenario {
    let source = scenario::Source {
        name: "room.toml",
        text: ROOM,
        overrides: &[],
        files: &|_| Err("no files".to_owned()),
    };
    scenario::read(&source).expect("a scenario")
}

fn job(runs: u64) -> StressJob {
    StressJob {
        devices: vec![0],
        left: vec![1.0, 0.5, 0.0],
        onsets: 6,
        runs,
        seed: 3,
        pairs: true,
        gate: Gate::USUAL,
    }
}

fn stressed(threads: usize, job: &StressJob) -> Stress {
    let (pool, go) = (crate::study::pool(threads).expect("threads"), AtomicBool::new(false));
    pool.install(|| stress(&room(), job, &|| (), &go).expect("stress"))
}

#[test]
fn those_on_that_take_something_are_the_usual_devices() {
    assert_eq!(usual_devices(&room().draw(&Medians).case), [0]);
}

#[test]
fn the_number_of_threads_shows_nowhere() {
    let job = job(20);
    assert_eq!(stressed(1, &job), stressed(3, &job));
}

#[test]
fn all_of_a_device_left_is_the_run_without_a_fault() {
    let found = stressed(2, &job(60));
    assert!(!found.responses && found.failed == 0);
    let [whole, ..] = &found.parts[..] else { panic!("parts") };
    assert_eq!(whole.looked.looks.len(), 1);
    assert!(whole.is_harmless());
    let runs = whole.runs.as_ref().expect("runs");
    assert_eq!(
        (runs.looks.len(), runs.margin.in_time.count, runs.gate_met),
        (60, 60, true)
    );
    assert_eq!(found.singles.len(), 1);
    assert!(found.singles[0].faults.is_empty() && !found.singles[0].medians.is_bad());
}

#[test]
fn too_few_runs_pass_no_gate() {
    assert!(!stressed(2, &job(58)).parts[0].runs.as_ref().expect("runs").gate_met);
    assert!(!stressed(2, &job(0)).gate_met());
}
