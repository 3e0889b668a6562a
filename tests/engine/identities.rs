//! What must hold of every case: property tests over random ones.

use breathroom_sim::air::Place;
use breathroom_sim::engine::{Case, End, Engine, Outcome, Trace};
use breathroom_sim::limits::Subject;
use breathroom_sim::timeline::Effect;
use breathroom_tests::cases::{flow_through, load, person, seconds, steady, task};
use breathroom_tests::random::{self, Dice};
use proptest::prelude::{ProptestConfig, any};
use proptest::test_runner::RngSeed;
use proptest::test_runner::TestCaseError;
use proptest::{prop_assert, prop_assert_eq, proptest};

fn run(case: &Case) -> Option<Outcome> {
    Engine::new().run(case, None).ok()
}

fn bits(outcome: &Outcome) -> String {
    // Shortest text that reads back to the same bits.
    format!("{outcome:?}")
}

/// The same case with a person outside who does nothing in many short tasks, and a device that they switch on and off: one
/// with an effect too small to be seen, which ends segments, or one without any, which does not.
fn split(case: &Case, dice: &mut Dice, efficiency: f64) -> Case {
    let mut out = case.clone();
    let idle = out.people.len();
    let nothing = vec![steady(load(0.0, 0.0, 0.0)); out.plan.effort_space_m3.len()];
    let mut who = person(0, nothing);
    (who.start, who.home) = (Place::Outside, None);
    out.people.push(who);
    let device = out.devices.len();
    out.devices.push(flow_through(0, 0.01, efficiency, efficiency));
    for k in 0..20 {
        let at = seconds(out.duration.seconds() * (f64::from(k) + dice.real(0.1, 0.9)) / 20.0);
        let mut nap = task(idle, 0, Place::Outside, at, seconds(20.0));
        nap.starts = vec![Effect::SwitchOff(device)];
        nap.ends = vec![Effect::SwitchOn(device)];
        out.plan.tasks.push(nap);
    }
    out
}

fn same_end(one: &Outcome, other: &Outcome) -> Result<(), TestCaseError> {
    for (a, (p, q)) in one.state_end.iter().zip(&other.state_end).enumerate() {
        for s in 0..4 {
            let tolerance = 1e-9 * p.partial_pa[s].abs().max(1e-3 * p.pressure_pa);
            prop_assert!(
                (p.partial_pa[s] - q.partial_pa[s]).abs() <= tolerance,
                "room {}, species {}: {} and {}",
                a,
                s,
                p.partial_pa[s],
                q.partial_pa[s]
            );
        }
        prop_assert!((p.liquid_water_kg - q.liquid_water_kg).abs() <= 1e-9 * (1.0 + p.liquid_water_kg));
    }
    Ok(())
}

/// The same case with its people, or its tasks, in reverse order.
fn reversed(case: &Case, people: bool) -> Case {
    let mut out = case.clone();
    if people {
        let last = case.people.len() - 1;
        out.people.reverse();
        for task in &mut out.plan.tasks {
            for p in &mut task.people {
                *p = last - *p;
            }
        }
        for rule in &mut out.rules {
            if let Subject::Person(p) = &mut rule.subject {
                *p = last - *p;
            }
        }
    } else {
        out.plan.tasks.reverse();
    }
    out
}

fn totals(outcome: &Outcome) -> Vec<f64> {
    let t = &outcome.totals;
    let mut all = vec![
        t.co2_made_kg,
        t.co2_removed_kg,
        t.water_made_kg,
        t.runoff_kg,
        t.water_removed_kg,
        t.water_condensed_kg,
        t.oxygen_used_kg,
        t.oxygen_supplied_kg,
        t.diluent_supplied_kg,
        t.sensible_mj,
        t.latent_mj,
    ];
    all.extend(t.leaked_kg);
    all
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 60,
        failure_persistence: None,
        // The same cases every time: what passes here passes elsewhere. Change the number to look further.
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_forced_split_that_changes_nothing_leaves_the_end_state(seed in any::<u64>()) {
        let case = random::case(seed);
        let (one, other) = (run(&case), run(&split(&case, &mut Dice::new(seed), 1e-30)));
        prop_assert_eq!(one.is_some(), other.is_some());
        let (Some(one), Some(other)) = (one, other) else { return Ok(()) };
        prop_assert!(one.end != End::Completed || other.counters.segments >= one.counters.segments + 15);
        same_end(&one, &other)?;
    }

    #[test]
    fn an_event_that_changes_nothing_splits_nothing(seed in any::<u64>()) {
        let case = random::case(seed);
        let (one, other) = (run(&case), run(&split(&case, &mut Dice::new(seed), 0.0)));
        prop_assert_eq!(one.is_some(), other.is_some());
        let (Some(one), Some(other)) = (one, other) else { return Ok(()) };
        prop_assert_eq!(one.counters.segments, other.counters.segments);
        same_end(&one, &other)?;
    }

    #[test]
    fn the_order_of_crew_and_tasks_leaves_the_totals(seed in any::<u64>()) {
        let mut case = random::case(seed);
        let first = case.people[0].clone();
        for person in &mut case.people {
            (person.gas_lag_s, person.profiles) = (first.gas_lag_s, first.profiles.clone());
        }
        let Some(one) = run(&case) else { return Ok(()) };
        for people in [true, false] {
            let other = run(&reversed(&case, people));
            prop_assert!(other.is_some());
            let other = other.unwrap_or_default();
            for (k, (p, q)) in totals(&one).into_iter().zip(totals(&other)).enumerate() {
                prop_assert!((p - q).abs() <= 1e-12 * p.abs().max(1e-9), "total {}: {} and {}", k, p, q);
            }
        }
    }

    #[test]
    fn every_ledger_closes(seed in any::<u64>()) {
        let Some(outcome) = run(&random::case(seed)) else { return Ok(()) };
        let b = &outcome.balance;
        for value in [b.carbon, b.oxygen, b.water, b.diluent] {
            prop_assert!(value.abs() <= 1e-9, "{:?}", b);
        }
    }

    #[test]
    fn a_trace_changes_no_bit(seed in any::<u64>(), grid_s in 1.0..4000.0_f64) {
        let mut case = random::case(seed);
        case.history_every = seconds(grid_s);
        let mut trace = Trace::default();
        let with = Engine::new().run(&case, Some(&mut trace));
        prop_assert_eq!(with.as_ref().ok().map(bits), run(&case).as_ref().map(bits));
        case.history_every = seconds(300.0);
        prop_assert_eq!(with.as_ref().ok().map(bits), run(&case).as_ref().map(bits));
    }

    #[test]
    fn the_same_case_gives_the_same_bits(seed in any::<u64>(), other in any::<u64>()) {
        let case = random::case(seed);
        let mut engine = Engine::new();
        let first = engine.run(&case, None).ok().as_ref().map(bits);
        let second = engine.run(&case, None).ok().as_ref().map(bits);
        let _ = engine.run(&random::case(other), None);
        let third = engine.run(&case, None).ok().as_ref().map(bits);
        prop_assert_eq!(&first, &second);
        prop_assert_eq!(&first, &third);
        let elsewhere = std::thread::spawn(move || Engine::new().run(&case, None).ok().as_ref().map(bits));
        prop_assert_eq!(first, elsewhere.join().ok().flatten());
    }
}

/// Not only the end: cases in which holds of joined rooms, or flows that turn, once took another course after a split.
#[test]
fn a_forced_split_leaves_the_course() {
    for seed in [84, 142, 434, 832, 2_850_667_768_979_877_321] {
        let mut case = random::case(seed);
        case.history_every = seconds(20.0);
        let (mut one, mut other) = (Trace::default(), Trace::default());
        Engine::new().run(&case, Some(&mut one)).expect("it runs");
        let split = split(&case, &mut Dice::new(seed), 1e-30);
        Engine::new().run(&split, Some(&mut other)).expect("it runs");
        assert!(one.samples.len() > 100 && one.samples.len() == other.samples.len());
        for (x, y) in one.samples.iter().zip(&other.samples) {
            for (p, q) in x.compartments.iter().zip(&y.compartments) {
                for s in 0..4 {
                    let tolerance = 1e-7 * p.partial_pa[s].abs().max(1e-3 * p.pressure_pa);
                    let (p, q) = (p.partial_pa[s], q.partial_pa[s]);
                    assert!((p - q).abs() <= tolerance, "seed {seed}, {:?}: {p} and {q}", x.at);
                }
            }
        }
    }
}

/// Two oxygen holds and a pressure hold in joined rooms: each put on its own set point lifts the others off theirs by what
/// the integrator does not resolve. They must settle into one mode, not follow each other thousands of times.
#[test]
fn joined_holds_do_not_chase_each_other() {
    let mut case = random::case(5_595_518_320_170_952_130);
    let first = case.people[0].clone();
    for person in &mut case.people {
        (person.gas_lag_s, person.profiles) = (first.gas_lag_s, first.profiles.clone());
    }
    let counters = run(&case).map(|outcome| outcome.counters).unwrap_or_default();
    assert!(counters.crossings > 0, "{counters:?}");
    for seed in 0..300 {
        let counters = run(&random::case(seed))
            .map(|outcome| outcome.counters)
            .unwrap_or_default();
        assert!(counters.crossings <= 50, "seed {seed}: {counters:?}");
    }
    assert!(counters.crossings <= 50, "{counters:?}");
}

/// Guards the properties above against passing on cases that do not run.
#[test]
fn random_cases_run() {
    let finished = (0..100).filter(|&seed| run(&random::case(seed)).is_some()).count();
    assert!(finished > 90, "{finished} of 100");
}
