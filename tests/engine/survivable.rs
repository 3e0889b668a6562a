//! Runs that end because no one could live on: when, where, who, and never a negative amount.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use breathroom_sim::air::{Place, Species, Surface, SurfaceKind};
use breathroom_sim::engine::{Case, End, Engine, Event, Outcome, RunError, Trace};
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, hours, load, minutes, opening, pa_per_mol, person, room, steady, task,
};
use breathroom_tests::random;
use breathroom_tests::reference::integrate;

fn run(case: &Case) -> Outcome {
    Engine::new().run(case, None).expect("the case runs")
}

/// Runs a case with its trace in a thread of its own; `None` if it takes longer than any such case should.
fn in_time(case: &Case) -> Option<(Result<Outcome, RunError>, Trace)> {
    let case = case.clone();
    let (send, receive) = mpsc::channel();
    thread::spawn(move || {
        let mut trace = Trace::default();
        let outcome = Engine::new().run(&case, Some(&mut trace));
        // Nobody listens any more if it was too late.
        let _ = send.send((outcome, trace));
    });
    receive.recv_timeout(Duration::from_secs(20)).ok()
}

#[test]
fn oxygen_runs_down_to_the_floor() {
    let mut case = alone(hours(200.0), room(12.0, 295.0, CABIN_AIR_PA), load(6e-4, 5e-4, 0.0));
    case.people.push(case.people[0].clone());
    case.oxygen_floor_pa = 8000.0;
    let mut trace = Trace::default();
    let outcome = Engine::new().run(&case, Some(&mut trace)).unwrap();
    let when = (CABIN_AIR_PA[2] - 8000.0) / (1.2e-3 * pa_per_mol(&case.compartments[0]));
    let End::OxygenFloor {
        at,
        compartment: 0,
        person: 0,
    } = outcome.end
    else {
        panic!("{:?}", outcome.end)
    };
    assert!((at.seconds() - when).abs() < 1e-3, "{} instead of {when}", at.seconds());
    assert!((outcome.state_end[0].partial_pa[2] - 8000.0).abs() < 1e-4);
    assert_eq!(
        trace.log.last().map(|entry| (entry.at, entry.event)),
        Some((at, Event::NotSurvivable))
    );
    assert!(
        trace
            .samples
            .iter()
            .all(|s| s.at <= at && s.compartments[0].partial_pa[2] >= 8000.0 - 1e-4)
    );
}

/// Two people at 0.835 kg of oxygen a day each in 28 m3 at 18.8 kPa use it all up in about 2.4 d (derived with the
/// active day's 1 kg; here by its own arithmetic).
#[test]
fn without_make_up_two_people_have_some_days() {
    let use_mol_s = 0.82 / 86_400.0 / Species::Oxygen.molar_mass_kg_mol();
    let mut case = alone(
        hours(24.0 * 10.0),
        room(28.0, 295.0, CABIN_AIR_PA),
        load(use_mol_s, 0.9 * use_mol_s, 0.0),
    );
    case.people.push(case.people[0].clone());
    case.oxygen_floor_pa = 0.0;
    let days = CABIN_AIR_PA[2] / (2.0 * use_mol_s * pa_per_mol(&case.compartments[0])) / 86_400.0;
    let outcome = run(&case);
    let at = match outcome.end {
        End::OxygenFloor { at, .. }
        | End::Exhausted {
            at,
            species: Species::Oxygen,
            ..
        } => at,
        other => panic!("{other:?}"),
    };
    assert!(
        (at.seconds() / 86_400.0 - days).abs() < 1e-6,
        "{} d instead of {days} d",
        at.hours() / 24.0
    );
    assert!(outcome.state_end[0].partial_pa[2] >= 0.0);
}

#[test]
fn who_walks_into_a_room_without_oxygen_ends_the_run_there() {
    let mut case = alone(hours(5.0), room(12.0, 295.0, CABIN_AIR_PA), load(3e-4, 2.5e-4, 0.0));
    case.people.push(case.people[0].clone());
    case.compartments
        .push(room(6.0, 295.0, [60.0, 1200.0, 3000.0, 52_240.0]));
    case.oxygen_floor_pa = 8000.0;
    case.plan.tasks = vec![task(1, 0, Place::Compartment(1), minutes(90.0), minutes(10.0))];
    assert_eq!(
        run(&case).end,
        End::OxygenFloor {
            at: minutes(90.0),
            compartment: 1,
            person: 1
        }
    );
    // Left empty, that room ends nothing.
    case.plan.tasks.clear();
    assert_eq!(run(&case).end, End::Completed);
}

#[test]
fn one_who_is_outside_breathes_from_the_suit() {
    let mut case = alone(
        hours(5.0),
        room(12.0, 295.0, [60.0, 1200.0, 3000.0, 52_240.0]),
        load(3e-4, 2.5e-4, 0.0),
    );
    (case.people[0].start, case.people[0].home) = (Place::Outside, None);
    case.oxygen_floor_pa = 8000.0;
    assert_eq!(run(&case).end, End::Completed);
}

/// Nothing is due for sixty hours after the oxygen is gone: what the equations would do there must not matter.
#[test]
fn what_would_come_after_the_end_does_not_matter() {
    let mut rooms = vec![
        room(
            4.017_914_719_211_171,
            292.292_595_906_590_07,
            [
                524.266_418_687_525_6,
                800.413_544_066_360_3,
                19_108.247_321_967_414,
                36_067.072_715_278_7,
            ],
        ),
        room(
            4.564_879_957_212_238,
            295.718_136_277_569_44,
            [
                263.289_212_515_153_96,
                1_256.442_555_496_576,
                20_684.774_771_400_94,
                34_295.493_460_587_33,
            ],
        ),
    ];
    (rooms[0].leak_m3_s, rooms[1].leak_m3_s) = (2.979_534_307_833_511_5e-5, 1.760_268_119_752_444_6e-5);
    rooms[1].surfaces = vec![Surface {
        kind: SurfaceKind::Wall,
        temperature_k: 293.984_669_590_109_9,
        saturation_pa: 2_455.828_364_336_268,
        conductance_mol_s_pa: 2.451_726_206_920_356e-5,
    }];
    let mut case = alone(hours(60.0), rooms.remove(0), load(2e-3, 1.5e-3, 1e-3));
    case.compartments.push(rooms.remove(0));
    case.people.push(person(0, vec![steady(load(3e-4, 2e-4, 0.0))]));
    case.openings = vec![opening(1, 0, 0.022_294_670_116_479_152)];
    case.oxygen_floor_pa = 1.0;
    let reference = integrate(&case).unwrap();
    let (outcome, _) = in_time(&case).expect("it ends");
    let end = outcome.expect("the case runs").end;
    let End::OxygenFloor {
        at,
        compartment: 0,
        person: 0,
    } = end
    else {
        panic!("{end:?}")
    };
    assert!(
        (at.seconds() - reference.end_s).abs() < 1e-3,
        "{} instead of {}",
        at.seconds(),
        reference.end_s
    );
}

#[test]
fn statistics_stop_with_the_run() {
    let mut case = alone(hours(200.0), room(12.0, 295.0, CABIN_AIR_PA), load(1e-3, 9e-4, 0.0));
    case.oxygen_floor_pa = 10_000.0;
    let outcome = run(&case);
    let End::OxygenFloor { at, .. } = outcome.end else {
        panic!("{:?}", outcome.end)
    };
    let made = 9e-4 * at.seconds() * Species::Co2.molar_mass_kg_mol();
    assert!((outcome.totals.co2_made_kg / made - 1.0).abs() < 1e-9);
    assert_eq!(outcome.extremes[0].oxygen_pa_min_at, at);
}

#[test]
fn no_amount_is_ever_negative() {
    for seed in 0..40 {
        let mut case = random::case(seed);
        // Small rooms without make-up, and a floor so low that they run nearly empty.
        case.holds.clear();
        case.oxygen_floor_pa = 1.0;
        case.duration = hours(60.0);
        for room in &mut case.compartments {
            room.volume_m3 *= 0.3;
        }
        case.people[0].profiles = vec![steady(load(2e-3, 1.5e-3, 1e-3)); 3];
        case.people.push(person(0, vec![steady(load(3e-4, 2e-4, 0.0)); 3]));
        let (outcome, trace) = in_time(&case).unwrap_or_else(|| panic!("seed {seed} does not end"));
        let Ok(outcome) = outcome else { continue };
        for sample in &trace.samples {
            for room in &sample.compartments {
                assert!(room.partial_pa.iter().all(|p| *p >= 0.0), "seed {seed}: {room:?}");
                assert!(room.liquid_water_kg >= 0.0, "seed {seed}: {room:?}");
            }
        }
        for room in &outcome.state_end {
            assert!(room.partial_pa.iter().all(|p| *p >= 0.0), "seed {seed}: {room:?}");
        }
    }
}
