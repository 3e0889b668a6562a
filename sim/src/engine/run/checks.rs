//! What the engine relies on in a case, and when it gives up on changes of mode that never end.

use crate::air::{MOST, Place};
use crate::removal::{Device, Removal};
use crate::units::Time;
use crate::upset::{Broken, Change, Onset, Responder, Shape, Target};

use super::super::mode::SURFACES;
use super::super::upset::number;
use super::super::watch::Exit;
use super::super::{Case, RunError};

/// Changes of mode within one simulated second before the run is given up.
const MOST_EXITS: u32 = 100;

/// Counts changes of mode within a simulated second.
pub(super) fn count_exit(case: &Case, exits: &mut (Time, u32), exit: Exit, now: Time) -> Result<(), RunError> {
    if now - exits.0 > Time(1_000_000_000) {
        *exits = (now, 0);
    }
    exits.1 += 1;
    if exits.1 <= MOST_EXITS {
        return Ok(());
    }
    let compartment = match exit {
        Exit::OxygenHold(hold, _)
        | Exit::PressureHold(hold, _)
        | Exit::OxygenFull(hold)
        | Exit::PressureFull(hold)
        | Exit::Knee(hold, _, _) => case.holds[hold].compartment,
        Exit::Film(a, _, _) | Exit::Floor(a, _) | Exit::Relief(a, _) | Exit::Thin(a, _) => a,
        Exit::Transfer(_) | Exit::TankDry(_) => 0,
        Exit::Piece(device, _, _) => case.devices[device].serves,
        Exit::SuitRelief(suit, _) => case.suits[suit].compartment,
    };
    Err(RunError::Restless { at: now, compartment })
}

/// What the engine relies on in faults, sensors and alarms: indices, periods, shapes; and numbers that cannot drift do not.
fn validate_upsets(case: &Case) -> Result<(), RunError> {
    let check = |right: bool, words: &'static str| if right { Ok(()) } else { Err(RunError::Invalid(words)) };
    let tasks = case.plan.tasks.len();
    let devices = case.devices.len();
    for fault in &case.faults {
        let known = match fault.onset {
            Onset::Task { task, .. } => task < tasks,
            Onset::Ran { device, .. } | Onset::Turn { device, .. } => device < devices,
            Onset::Never | Onset::At(_) => true,
        };
        check(known, "onsets at tasks and devices that there are")?;
        let shape = match &fault.shape {
            Shape::Step | Shape::Ramp(_) => true,
            Shape::Decay(tau_s) => *tau_s > 0.0,
            Shape::Intermittent(spells) => !spells.is_empty(),
        };
        check(
            shape,
            "decays with a time constant, and faults that come and go in some spell",
        )?;
        let grows = matches!(fault.shape, Shape::Ramp(_) | Shape::Decay(_));
        for change in &fault.changes {
            match *change {
                Change::Number { target, .. } => {
                    check(number(case, target).is_some(), "faults of numbers that there are")?;
                    let still = matches!(
                        target,
                        Target::Hold { .. } | Target::TankAmount(_) | Target::TankResidue(_)
                    );
                    check(!(grows && still), "no ramps and decays of holds and tanks")?;
                }
                Change::Broken(broken) => check(breaks_what_is_there(case, broken), "faults of things that there are")?,
            }
        }
    }
    for sensor in &case.sensors {
        check(sensor.compartment < case.compartments.len(), "sensors in compartments")?;
        check(
            sensor.every > Time::ZERO && sensor.lag_s >= 0.0,
            "sensors with a period",
        )?;
    }
    for alarm in &case.alarms {
        let sensors = alarm.sensors.iter().all(|&sensor| sensor < case.sensors.len());
        check(
            sensors && !alarm.sensors.is_empty(),
            "alarms with sensors that there are",
        )?;
        let Some(response) = &alarm.response else { continue };
        let on_call = case.plan.tasks.get(response.task).is_some_and(|task| task.on_call);
        check(on_call, "responses whose task is on call")?;
        let lists = !response.reactions.is_empty() && !response.takes.is_empty();
        check(lists, "responses with times of reaction and of work")?;
        let people = match &response.by {
            Responder::People(people) => !people.is_empty() && people.iter().all(|&p| p < case.people.len()),
            Responder::Any | Responder::Free | Responder::Inside => true,
        };
        check(people, "responses by people that there are")?;
    }
    Ok(())
}

fn breaks_what_is_there(case: &Case, broken: Broken) -> bool {
    match broken {
        Broken::DeviceOff(device) => device < case.devices.len(),
        Broken::BedsStuck { device, bed } => {
            let beds = |device: &Device| matches!(device.removal, Removal::SwingBed(_));
            case.devices.get(device).is_some_and(beds) && bed.is_none_or(|bed| bed < 2)
        }
        Broken::OpeningStuck(opening) => opening < case.openings.len(),
        Broken::HoldShut { hold, .. } => hold < case.holds.len(),
        Broken::ReliefOpen(a) | Broken::ReliefShut(a) => a < case.compartments.len(),
        Broken::SensorStuck { sensor, .. } | Broken::SensorDead(sensor) => sensor < case.sensors.len(),
    }
}

/// What the engine relies on: sizes, indices, positive volumes.
pub(super) fn validate(case: &Case) -> Result<(), RunError> {
    let compartments = case.compartments.len();
    let inside = |place: &Place| !matches!(place, Place::Compartment(a) if *a >= compartments);
    let check = |right: bool, words: &'static str| if right { Ok(()) } else { Err(RunError::Invalid(words)) };
    check((1..=MOST).contains(&compartments), "from one to eight compartments")?;
    check(case.people.len() <= MOST, "at most eight people")?;
    check(case.duration > Time::ZERO, "a duration above zero")?;
    check(case.towel_drying_s > 0.0, "a drying time above zero")?;
    for compartment in &case.compartments {
        let positive = compartment.volume_m3 > 0.0 && compartment.temperature_k > 0.0;
        check(
            positive && compartment.volume_m3.is_finite(),
            "volumes and temperatures above zero",
        )?;
        check(
            compartment.surfaces.len() <= SURFACES,
            "at most three surfaces in a compartment",
        )?;
        check(
            compartment.partial_pa.iter().all(|p| p.is_finite() && *p >= 0.0),
            "partial pressures not below zero",
        )?;
    }
    for opening in &case.openings {
        check(
            opening.between.iter().all(inside),
            "openings between places that there are",
        )?;
        check(opening.between[0] != opening.between[1], "openings between two places")?;
    }
    for device in &case.devices {
        check(
            device.serves < compartments,
            "devices that serve a compartment that there is",
        )?;
        let turns = device
            .cycle
            .as_ref()
            .is_none_or(|c| c.every > Time::ZERO && !c.factors.is_empty());
        check(turns, "cycles with turns of some length")?;
    }
    check(
        case.holds.iter().all(|hold| hold.compartment < compartments),
        "holds in compartments that there are",
    )?;
    for person in &case.people {
        check(inside(&person.start), "people in places that there are")?;
        check(person.gas_lag_s > 0.0, "lags above zero")?;
        check(
            person.profiles.iter().all(|p| !p.stages.is_empty()),
            "efforts with at least one stage",
        )?;
        let idle = person.idle < person.profiles.len();
        check(idle, "an idle effort that there is")?;
    }
    validate_upsets(case)
}
