//! Sensors and alarms against closed forms.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, Place};
use breathroom_sim::engine::{AlarmOutcome, Case, Engine, Event, Trace};
use breathroom_sim::limits::{Bound, Quantity, Statistic};
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;
use breathroom_sim::upset::{
    Alarm, Broken, By, Change, Ends, Fault, Grade, Onset, Sensor, SensorNumber, Shape, Target,
};
use breathroom_tests::cases::{
    CABIN_AIR_PA, alone, at_most, flow_through, hours, load, minutes, pa_per_mol, room, seconds, task,
};

use super::{near, on, run, run_with_log};

const CO2_MOL_S: f64 = 4e-4;

fn sealed() -> Case {
    alone(hours(4.0), room(8.0, 294.15, CABIN_AIR_PA), load(1e-5, CO2_MOL_S, 0.0))
}

/// Rise of CO2 in the sealed room, Pa/s.
fn slope(case: &Case) -> f64 {
    CO2_MOL_S * pa_per_mol(&case.compartments[0])
}

fn sensor(every: Time) -> Sensor {
    Sensor {
        quantity: Quantity::Co2,
        compartment: 0,
        gain: 1.0,
        bias: 0.0,
        drift_per_s: 0.0,
        noise: 0.0,
        noise_key: None,
        lag_s: 0.0,
        every,
        range: [0.0, f64::INFINITY],
    }
}

fn alarm(set: f64, lasts: Time) -> Alarm {
    Alarm {
        sensors: vec![0],
        votes: 1,
        bound: Bound::AtMost,
        set,
        lasts,
        clears: set,
        grade: Grade::Warning,
        response: None,
    }
}

fn watched(mut case: Case, sensor: Sensor, alarm: Alarm) -> Case {
    case.sensors = vec![sensor];
    case.alarms = vec![alarm];
    case
}

fn of(case: &Case) -> AlarmOutcome {
    run(case).alarms[0]
}

/// The first reading, of those every `every` s, at which a rising `signal` is above `level`, s.
fn first_reading(every: f64, level: f64, signal: impl Fn(f64) -> f64) -> f64 {
    let mut n = 1.0;
    while signal(n * every) <= level {
        n += 1.0;
    }
    n * every
}

#[test]
fn it_comes_on_at_the_reading_that_completes_its_persistence() {
    let rise = slope(&sealed());
    let truth = |t: f64| CABIN_AIR_PA[0] + rise * t;
    for (every, lasts) in [(30.0, 300.0), (30.0, 0.0), (45.0, 100.0), (7.0, 1000.0)] {
        let case = watched(sealed(), sensor(seconds(every)), alarm(600.0, seconds(lasts)));
        let first = first_reading(every, 600.0, truth);
        let should = first + (lasts / every).ceil() * every;
        let alarm = of(&case);
        assert_eq!(alarm.first_on, Some(seconds(should)), "{every} {lasts}");
        assert_eq!(
            (alarm.trips, alarm.false_trips, alarm.missed, alarm.occasions),
            (1, 0, 0, 1)
        );
        assert_eq!(alarm.first_occasion, Some(seconds(should)));
        near(alarm.on_s, 4.0 * 3600.0 - should, 1e-12);
    }
}

/// `s = p0 + r (t - tau (1 - e^(-t / tau)))` behind a ramp: late by slope times lag. A carbon dioxide sensor by diffusion has T63 of
/// 195 s (data sheets); in a sealed lunar cabin with two people that is 0.283 mmHg (derived: 5.22 mmHg/h x 195 s).
#[test]
fn a_lag_reads_a_ramp_late() {
    let rise = slope(&sealed());
    for lag in [20.0, 90.0, 195.0, 900.0] {
        let says = |t: f64| CABIN_AIR_PA[0] + rise * (t - lag * (1.0 - (-t / lag).exp()));
        for level in [75.0, 140.0, 600.0] {
            let lagging = Sensor {
                lag_s: lag,
                ..sensor(seconds(1.0))
            };
            let case = watched(sealed(), lagging, alarm(level, Time::ZERO));
            let should = first_reading(1.0, level, says);
            assert_eq!(of(&case).first_on, Some(seconds(should)), "lag {lag} s, {level} Pa");
        }
    }
    near(5.22 * 195.0 / 3600.0, 0.283, 2e-3);
}

/// Behind an exponential: `s = a + b (e^(-k t) - e^(-t / tau)) / (1 - k tau) + (p0 - a) e^(-t / tau)`, over many segments too.
#[test]
fn a_lag_reads_an_exponential_late() {
    let (flow, efficiency) = (0.01, 0.5);
    let mut case = sealed();
    case.devices = vec![flow_through(0, flow, efficiency, 0.0)];
    let k = efficiency * flow / 8.0;
    let steady = CO2_MOL_S * GAS_CONSTANT_J_MOL_K * 294.15 / (efficiency * flow);
    let (start, lag) = (CABIN_AIR_PA[0], 240.0);
    let says = |t: f64| {
        let fade = (-t / lag).exp();
        steady + (start - steady) * ((-k * t).exp() - k * lag * fade) / (1.0 - k * lag)
    };
    // Turns of equal factor end nothing; a device of another that is switched does.
    case.plan.tasks = (0..20)
        .map(|n| task(0, 0, Place::Compartment(0), minutes(7.0 * f64::from(n)), minutes(3.0)))
        .collect();
    for part in [0.2, 0.5, 0.9, 0.97] {
        let level = start + part * (steady - start);
        let lagging = Sensor {
            lag_s: lag,
            ..sensor(seconds(2.0))
        };
        let watched = watched(case.clone(), lagging, alarm(level, Time::ZERO));
        let should = first_reading(2.0, level, says);
        assert_eq!(of(&watched).first_on, Some(seconds(should)), "{part}");
    }
}

#[test]
fn gain_bias_drift_and_range_are_what_a_sensor_makes_of_it() {
    let rise = slope(&sealed());
    let truth = |t: f64| CABIN_AIR_PA[0] + rise * t;
    let reads = Sensor {
        gain: 0.9,
        bias: -20.0,
        drift_per_s: 0.004,
        ..sensor(seconds(10.0))
    };
    let should = first_reading(10.0, 500.0, |t| 0.9 * truth(t) - 20.0 + 0.004 * t);
    assert_eq!(
        of(&watched(sealed(), reads, alarm(500.0, Time::ZERO))).first_on,
        Some(seconds(should))
    );
    let short = Sensor {
        range: [0.0, 499.0],
        ..sensor(seconds(10.0))
    };
    let blind = of(&watched(sealed(), short, alarm(500.0, Time::ZERO)));
    assert_eq!((blind.first_on, blind.missed, blind.occasions), (None, 1, 1));
}

/// CO2 up for an hour and down again: above the level for so many readings.
fn up_and_down() -> (Case, f64, usize) {
    let mut case = sealed();
    case.devices = vec![flow_through(0, 0.03, 0.9, 0.0)];
    case.devices[0].on = false;
    let mut on = task(0, 0, Place::Compartment(0), hours(1.0), minutes(1.0));
    on.starts = vec![Effect::SwitchOn(0)];
    case.plan.tasks = vec![on];
    let level = 400.0;
    let mut trace = Trace::default();
    case.history_every = seconds(30.0);
    Engine::new().run(&case, Some(&mut trace)).unwrap();
    let above = trace
        .samples
        .iter()
        .filter(|s| s.compartments[0].partial_pa[0] > level)
        .count();
    (case, level, above)
}

#[test]
fn persistence_at_its_edges() {
    let (case, level, readings) = up_and_down();
    assert!(readings > 20);
    let lasts = |count: usize| Time(30_000_000_000 * count as i64);
    let just = of(&watched(
        case.clone(),
        sensor(seconds(30.0)),
        alarm(level, lasts(readings - 1)),
    ));
    assert_eq!((just.trips, just.occasions), (1, 1));
    let over = of(&watched(
        case.clone(),
        sensor(seconds(30.0)),
        alarm(level, lasts(readings - 1) + Time(1)),
    ));
    assert_eq!((over.trips, over.occasions), (0, 0));
}

#[test]
fn it_goes_off_where_it_clears_and_not_before() {
    let (case, level, _) = up_and_down();
    let mut with = watched(case, sensor(seconds(30.0)), alarm(level, Time::ZERO));
    with.alarms[0].clears = 250.0;
    let (_, log) = run_with_log(&with);
    let off = log
        .log
        .iter()
        .find(|entry| entry.event == Event::AlarmOff(0))
        .expect("it goes off")
        .at;
    let at = |wanted: Time| log.samples.iter().find(|s| s.at == wanted).unwrap().compartments[0].partial_pa[0];
    assert!(at(off) <= 250.0 && at(Time(off.0 - 30_000_000_000)) > 250.0);
    // The crossing itself, by the exponential from the top.
    let k = 0.9 * 0.03 / 8.0;
    let steady = CO2_MOL_S * GAS_CONSTANT_J_MOL_K * 294.15 / (0.9 * 0.03);
    let top = CABIN_AIR_PA[0] + slope(&sealed()) * 3600.0;
    let falls = 3600.0 + ((top - steady) / (250.0 - steady)).ln() / k;
    assert_eq!(off, seconds((falls / 30.0).ceil() * 30.0));
}

#[test]
fn two_of_three_decide() {
    let rise = slope(&sealed());
    let truth = |t: f64| CABIN_AIR_PA[0] + rise * t;
    let mut case = watched(sealed(), sensor(seconds(10.0)), alarm(500.0, Time::ZERO));
    case.sensors = [-150.0, 10.0, 60.0]
        .map(|bias| Sensor {
            bias,
            ..case.sensors[0]
        })
        .to_vec();
    case.alarms[0].sensors = vec![0, 1, 2];
    for (votes, bias) in [(1, 60.0), (2, 10.0), (3, -150.0)] {
        case.alarms[0].votes = votes;
        let should = first_reading(10.0, 500.0, |t| truth(t) + bias);
        assert_eq!(of(&case).first_on, Some(seconds(should)), "{votes} votes");
    }
    // One dead: the other two must agree.
    case.alarms[0].votes = 2;
    case.faults = vec![broken(Broken::SensorDead(2), Time::ZERO)];
    let should = first_reading(10.0, 500.0, |t| truth(t) - 150.0);
    assert_eq!(of(&case).first_on, Some(seconds(should)));
}

fn broken(what: Broken, onset: Time) -> Fault {
    Fault {
        changes: vec![Change::Broken(what)],
        onset: Onset::At(onset),
        shape: Shape::Step,
        ends: Ends::Never,
    }
}

/// The dangerous one: a sensor that stays low while CO2 climbs past its limit.
#[test]
fn a_sensor_stuck_low_while_co2_climbs_never_trips_and_is_counted_as_missed() {
    let limit = 700.0;
    for stuck in [
        Broken::SensorStuck { sensor: 0, at: None },
        Broken::SensorStuck {
            sensor: 0,
            at: Some(120.0),
        },
        Broken::SensorDead(0),
    ] {
        let mut case = watched(sealed(), sensor(seconds(30.0)), alarm(500.0, minutes(5.0)));
        case.rules = vec![at_most(0, Quantity::Co2, Statistic::Instant, limit)];
        assert_eq!(of(&case).trips, 1);
        case.faults = vec![broken(stuck, minutes(10.0))];
        let outcome = run(&case);
        let alarm = outcome.alarms[0];
        assert_eq!(
            (alarm.trips, alarm.false_trips, alarm.occasions, alarm.missed),
            (0, 0, 1, 1),
            "{stuck:?}"
        );
        let crossing = outcome.rules[0]
            .first_crossing
            .expect("the limit is crossed all the same");
        near(crossing.seconds(), (limit - CABIN_AIR_PA[0]) / slope(&case), 1e-9);
        // Stuck after it came on, it stays on.
        case.faults = vec![broken(Broken::SensorStuck { sensor: 0, at: None }, hours(2.0))];
        assert_eq!((of(&case).trips, of(&case).missed), (1, 0));
    }
}

#[test]
fn an_alarm_acts_on_what_the_sensor_says_and_false_ones_are_counted() {
    // A steady room below the set point; a fault walks the reading up by 0.02 Pa/s from 1 h on.
    let mut case = sealed();
    case.people[0].profiles[0].stages[0].load.co2_mol_s = 0.0;
    let mut case = watched(case, sensor(seconds(30.0)), alarm(100.0, minutes(2.0)));
    let drift = Target::Sensor {
        sensor: 0,
        number: SensorNumber::Drift,
    };
    case.faults = vec![on(drift, By::Add(0.02), hours(1.0), Shape::Step)];
    let alarm = of(&case);
    let first = first_reading(30.0, 100.0, |t| CABIN_AIR_PA[0] + 0.02 * (t - 3600.0).max(0.0));
    assert_eq!(alarm.first_on, Some(seconds(first + 120.0)));
    assert_eq!(
        (alarm.trips, alarm.false_trips, alarm.occasions, alarm.missed),
        (1, 1, 0, 0)
    );
    // A bias by a ramp: 60 Pa over an hour.
    let bias = Target::Sensor {
        sensor: 0,
        number: SensorNumber::Bias,
    };
    case.faults = vec![on(bias, By::Add(60.0), hours(1.0), Shape::Ramp(hours(1.0)))];
    case.alarms[0].set = 101.3;
    case.alarms[0].clears = 101.3;
    let first = first_reading(30.0, 101.3, |t| {
        CABIN_AIR_PA[0] + 60.0 * ((t - 3600.0) / 3600.0).clamp(0.0, 1.0)
    });
    assert_eq!(of(&case).first_on, Some(seconds(first + 120.0)));
}

/// Readings of a steady room scatter as they should: each is beyond a set point two standard deviations up with probability
/// 0.02275 (normal table); without persistence an alarm comes on as often as a reading beyond follows one that is not.
#[test]
fn noise_is_normal_and_independent() {
    let mut case = sealed();
    case.duration = hours(100.0);
    case.people[0].profiles[0].stages[0].load.co2_mol_s = 0.0;
    let (sd, every) = (5.0, 10.0);
    let readings = 100.0 * 3600.0 / every;
    let beyond = 0.022_750_13;
    let expected = readings * beyond * (1.0 - beyond);
    for key in [1_u64, 2, 0xdead_beef, u64::MAX] {
        let noisy = Sensor {
            noise: sd,
            noise_key: Some(key),
            ..sensor(seconds(every))
        };
        let alarm = of(&watched(
            case.clone(),
            noisy,
            alarm(CABIN_AIR_PA[0] + 2.0 * sd, Time::ZERO),
        ));
        let trips = f64::from(alarm.trips);
        // Five standard deviations of a binomial count.
        assert!((trips - expected).abs() < 5.0 * expected.sqrt(), "{trips} {expected}");
        assert_eq!(alarm.trips, alarm.false_trips);
        near(alarm.on_s, readings * beyond * every, 5.0 / (readings * beyond).sqrt());
    }
}

#[test]
fn readings_change_no_bit_of_the_air_and_a_trace_none_of_the_alarms() {
    let (plain, level, _) = up_and_down();
    let lagging = Sensor {
        lag_s: 200.0,
        noise: 3.0,
        noise_key: Some(5),
        ..sensor(seconds(7.0))
    };
    let with = watched(plain.clone(), lagging, alarm(level, minutes(1.0)));
    let (a, b) = (run(&plain), run(&with));
    assert!(b.alarms[0].trips > 0);
    for (a, b) in a.state_end.iter().zip(&b.state_end) {
        assert_eq!(a.partial_pa.map(f64::to_bits), b.partial_pa.map(f64::to_bits));
    }
    assert_eq!(a.extremes[0].co2_pa_max.to_bits(), b.extremes[0].co2_pa_max.to_bits());
    let (c, _) = run_with_log(&with);
    assert_eq!(b.alarms, c.alarms);
}

/// The same case gives the same bits whatever ran before it in the same engine: with alarms and without, with a trace and without.
#[test]
fn an_engine_remembers_no_alarm_of_the_run_before() {
    let (plain, level, _) = up_and_down();
    let mut three = watched(plain.clone(), sensor(seconds(30.0)), alarm(level, minutes(1.0)));
    three.alarms = vec![
        three.alarms[0].clone(),
        three.alarms[0].clone(),
        three.alarms[0].clone(),
    ];
    let one = watched(plain.clone(), sensor(seconds(45.0)), alarm(level, minutes(2.0)));
    let fresh = [&plain, &three, &one].map(run);
    let mut engine = Engine::new();
    for index in [1, 0, 2, 0, 1, 2, 2, 0] {
        let case = [&plain, &three, &one][index];
        let again = engine.run(case, None).expect("the case runs");
        assert_eq!(again.alarms, fresh[index].alarms);
        let bits = |outcome: &breathroom_sim::engine::Outcome| outcome.state_end[0].partial_pa.map(f64::to_bits);
        assert_eq!(bits(&again), bits(&fresh[index]));
    }
}
