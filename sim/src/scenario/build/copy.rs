//! A case copied into the buffers of another, so that a draw allocates nothing that was there before.

use crate::air::Compartment;
use crate::crew::Person;
use crate::engine::Case;
use crate::removal::{Device, Removal};
use crate::timeline::Task;
use crate::upset::{Alarm, Fault, Shape};

/// Copies a case into the buffers of another.
pub(super) fn case(from: &Case, to: &mut Case) {
    to.duration = from.duration;
    to.history_every = from.history_every;
    to.outside = from.outside;
    to.oxygen_floor_pa = from.oxygen_floor_pa;
    to.towel_drying_s = from.towel_drying_s;
    to.tanks.clone_from(&from.tanks);
    to.suits.clone_from(&from.suits);
    to.openings.clone_from(&from.openings);
    to.holds.clone_from(&from.holds);
    to.rules.clone_from(&from.rules);
    to.plan.equipment.clone_from(&from.plan.equipment);
    to.plan.effort_space_m3.clone_from(&from.plan.effort_space_m3);
    list(&from.compartments, &mut to.compartments, |a, b| {
        let surfaces = std::mem::take(&mut b.surfaces);
        *b = Compartment { surfaces, ..*a };
        b.surfaces.clone_from(&a.surfaces);
    });
    list(&from.devices, &mut to.devices, device);
    list(&from.people, &mut to.people, |a, b| {
        let profiles = std::mem::take(&mut b.profiles);
        *b = Person { profiles, ..*a };
        list(&a.profiles, &mut b.profiles, |a, b| {
            b.stages.clone_from(&a.stages);
            b.sweat_lag = a.sweat_lag;
            b.towel = a.towel;
        });
    });
    list(&from.plan.tasks, &mut to.plan.tasks, task);
    to.sensors.clone_from(&from.sensors);
    list(&from.alarms, &mut to.alarms, alarm);
    list(&from.faults, &mut to.faults, fault);
}

/// Copies a list item by item, so that the items' own buffers are used again.
fn list<T: Clone>(from: &[T], to: &mut Vec<T>, copy: impl Fn(&T, &mut T)) {
    to.truncate(from.len());
    for (a, b) in from.iter().zip(to.iter_mut()) {
        copy(a, b);
    }
    to.extend_from_slice(&from[to.len()..]);
}

fn device(a: &Device, b: &mut Device) {
    b.serves = a.serves;
    b.on = a.on;
    b.power_w = a.power_w;
    b.capacity = a.capacity;
    match (&a.removal, &mut b.removal) {
        (
            Removal::Curve { co2, water },
            Removal::Curve {
                co2: co2_to,
                water: water_to,
            },
        ) => {
            co2_to.clone_from(co2);
            water_to.clone_from(water);
        }
        (from, to) => to.clone_from(from),
    }
    match (&a.cycle, &mut b.cycle) {
        (Some(from), Some(to)) => {
            to.every = from.every;
            to.factors.clone_from(&from.factors);
        }
        (from, to) => to.clone_from(from),
    }
}

fn task(a: &Task, b: &mut Task) {
    b.entry = a.entry;
    b.turn = a.turn;
    b.people.clone_from(&a.people);
    b.effort = a.effort;
    b.place = a.place;
    b.earliest = a.earliest;
    b.after.clone_from(&a.after);
    b.duration = a.duration;
    b.needs.clone_from(&a.needs);
    b.needs_space = a.needs_space;
    b.suit = a.suit;
    b.starts.clone_from(&a.starts);
    b.ends.clone_from(&a.ends);
    b.interrupted = a.interrupted;
    b.on_call = a.on_call;
}

fn alarm(a: &Alarm, b: &mut Alarm) {
    b.sensors.clone_from(&a.sensors);
    b.votes = a.votes;
    b.bound = a.bound;
    b.set = a.set;
    b.lasts = a.lasts;
    b.clears = a.clears;
    b.grade = a.grade;
    match (&a.response, &mut b.response) {
        (Some(from), Some(to)) => {
            to.by.clone_from(&from.by);
            to.reactions.clone_from(&from.reactions);
            to.takes.clone_from(&from.takes);
            to.task = from.task;
            to.in_place = from.in_place;
            to.interrupts = from.interrupts;
            to.succeeds.clone_from(&from.succeeds);
            to.tries = from.tries;
        }
        (from, to) => to.clone_from(from),
    }
}

fn fault(a: &Fault, b: &mut Fault) {
    b.changes.clone_from(&a.changes);
    b.onset = a.onset;
    b.ends = a.ends;
    match (&a.shape, &mut b.shape) {
        (Shape::Intermittent(from), Shape::Intermittent(to)) => to.clone_from(from),
        (from, to) => to.clone_from(from),
    }
}
