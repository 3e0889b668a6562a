//! Where people are, what they do, and the space they claim.
//!
//! `claimed(c) = sum of space(effort of p) over the people p in compartment c`, idle people included. A compartment is
//! crowded while `claimed > usable`; the time so spent is a sum of whole nanoseconds, and states that last no time
//! (between the end of one task and the start of the next at the same instant) leave no trace in it.
//!
//! Symbols: space and usable volume in m3. Left out: how people pass through hatches, and the time it takes.

use crate::air::Place;
use crate::crew::Person;
use crate::units::Time;

/// By which share of the usable volume claims may exceed it and still fit: decimal figures that add up on paper
/// (1.1 + 2.2 in 3.3) do not in binary, by a few parts in 1e16.
const ROUNDING: f64 = 1e-12;

/// One of the crew, as the schedule sees them.
#[derive(Clone, Copy, Debug)]
struct State {
    place: Place,
    effort: usize,
    /// The compartment they are in, or were in before they went outside.
    inside: Option<usize>,
    home: Option<usize>,
    idle: usize,
}

/// A compartment's space over the run.
#[derive(Clone, Copy, Debug)]
struct Room {
    usable_m3: f64,
    claimed_m3: f64,
    exceeded: Time,
    excess_m3: f64,
}

/// People in places, at one instant, and how crowded each compartment has been until then.
#[derive(Clone, Debug, Default)]
pub(super) struct Occupancy {
    people: Vec<State>,
    rooms: Vec<Room>,
    space_m3: Vec<f64>,
    now: Time,
}

impl Occupancy {
    /// Everyone idle at their start, at time zero.
    pub(super) fn reset(&mut self, space_m3: &[f64], people: &[Person], usable_m3: impl Iterator<Item = f64>) {
        self.now = Time::ZERO;
        self.space_m3.clear();
        self.space_m3.extend_from_slice(space_m3);
        self.people.clear();
        self.people.extend(people.iter().map(|person| State {
            place: person.start,
            effort: person.idle,
            inside: match person.start {
                Place::Compartment(c) => Some(c),
                Place::Outside => None,
            },
            home: person.home,
            idle: person.idle,
        }));
        self.rooms.clear();
        self.rooms.extend(usable_m3.map(|usable_m3| Room {
            usable_m3,
            claimed_m3: 0.0,
            exceeded: Time::ZERO,
            excess_m3: 0.0,
        }));
        for c in 0..self.rooms.len() {
            self.claim(Place::Compartment(c));
        }
    }

    /// Lets time pass: what is crowded now has been so since the last call.
    pub(super) fn advance(&mut self, now: Time) {
        if now <= self.now {
            return;
        }
        let passed = now - self.now;
        self.now = now;
        for room in &mut self.rooms {
            if !fits(room.claimed_m3, room.usable_m3) {
                room.exceeded = room.exceeded + passed;
                room.excess_m3 = room.excess_m3.max(room.claimed_m3 - room.usable_m3);
            }
        }
    }

    /// The instant up to which time has passed.
    pub(super) fn now(&self) -> Time {
        self.now
    }

    /// Puts a person to an effort in a place.
    pub(super) fn put(&mut self, person: usize, effort: usize, place: Place) {
        let state = &mut self.people[person];
        let left = state.place;
        state.place = place;
        state.effort = effort;
        if let Place::Compartment(c) = place {
            state.inside = Some(c);
        }
        self.claim(left);
        if left != place {
            self.claim(place);
        }
    }

    /// Takes a person off task: home, or where they came from if they were outside, else where they are; at their idle
    /// effort. Gives the effort and the place.
    pub(super) fn off_task(&mut self, person: usize) -> (usize, Place) {
        let state = self.people[person];
        let place = match (state.home, state.place, state.inside) {
            (Some(home), _, _) => Place::Compartment(home),
            (None, Place::Outside, Some(inside)) => Place::Compartment(inside),
            (None, place, _) => place,
        };
        self.put(person, state.idle, place);
        (state.idle, place)
    }

    /// Whether everyone's claims fit into `place` once `movers` are there at `effort`.
    pub(super) fn would_fit(&self, place: Place, movers: &[usize], effort: usize) -> bool {
        let Place::Compartment(c) = place else { return true };
        let mut claimed_m3 = 0.0;
        for (p, state) in self.people.iter().enumerate() {
            if movers.contains(&p) {
                claimed_m3 += self.space_m3[effort];
            } else if state.place == place {
                claimed_m3 += self.space_m3[state.effort];
            }
        }
        fits(claimed_m3, self.rooms[c].usable_m3)
    }

    pub(super) fn place(&self, person: usize) -> Place {
        self.people[person].place
    }

    pub(super) fn effort(&self, person: usize) -> usize {
        self.people[person].effort
    }

    pub(super) fn claimed_m3(&self, compartment: usize) -> f64 {
        self.rooms[compartment].claimed_m3
    }

    pub(super) fn exceeded(&self, compartment: usize) -> Time {
        self.rooms[compartment].exceeded
    }

    pub(super) fn excess_m3(&self, compartment: usize) -> f64 {
        self.rooms[compartment].excess_m3
    }

    /// Adds the claims in a place up anew, in the order of people: no drift, whatever the order of moves.
    fn claim(&mut self, place: Place) {
        let Place::Compartment(c) = place else { return };
        let mut claimed_m3 = 0.0;
        for state in &self.people {
            if state.place == place {
                claimed_m3 += self.space_m3[state.effort];
            }
        }
        self.rooms[c].claimed_m3 = claimed_m3;
    }
}

fn fits(claimed_m3: f64, usable_m3: f64) -> bool {
    claimed_m3 <= usable_m3 * (1.0 + ROUNDING)
}
