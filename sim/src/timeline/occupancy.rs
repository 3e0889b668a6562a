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

use super::SuitUse;

/// By which share of the usable volume claims may exceed it and still fit: decimal figures that add up on paper
/// (1.1 + 2.2 in 3.3) do not in binary, by a few parts in 1e16.
const ROUNDING: f64 = 1e-12;

/// One of the crew, as the schedule sees them.
#[derive(Clone, Copy, Debug)]
struct State {
    place: Place,
    effort: usize,
    suit: SuitUse,
    /// The compartment they are in, or were in before they went outside.
    inside: Option<usize>,
    home: Option<usize>,
    idle: usize,
}

/// A compartment's space over the run.
#[derive(Clone, Debug, Default)]
struct Room {
    usable_m3: f64,
    claimed_m3: f64,
    exceeded: Time,
    excess_m3: f64,
    tightest: Vec<Tight>,
}

/// How many tight moments are kept of a compartment.
pub const TIGHTEST: usize = 3;

/// A stretch of time in which a compartment's people claim the same space.
#[derive(Clone, Debug, PartialEq)]
pub struct Tight {
    /// When it began.
    pub from: Time,
    /// When it ended.
    pub to: Time,
    /// Space claimed, m3.
    pub claimed_m3: f64,
    /// Who was there: indices of the person and of their effort.
    pub who: Vec<(usize, usize)>,
}

/// People in places, at one instant, and how crowded each compartment has been until then.
#[derive(Clone, Debug, Default)]
pub(super) struct Occupancy {
    people: Vec<State>,
    rooms: Vec<Room>,
    space_m3: Vec<f64>,
    now: Time,
    /// Lists of people that are free to be used again.
    spare: Vec<Vec<(usize, usize)>>,
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
            suit: SuitUse::Off,
            inside: match person.start {
                Place::Compartment(c) => Some(c),
                Place::Outside => None,
            },
            home: person.home,
            idle: person.idle,
        }));
        let mut count = 0;
        for usable_m3 in usable_m3 {
            if count == self.rooms.len() {
                self.rooms.push(Room::default());
            }
            let room = &mut self.rooms[count];
            self.spare.extend(room.tightest.drain(..).map(|tight| tight.who));
            let tightest = std::mem::take(&mut room.tightest);
            *room = Room {
                usable_m3,
                tightest,
                ..Room::default()
            };
            count += 1;
        }
        self.rooms.truncate(count);
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
        let from = self.now;
        self.now = now;
        for (c, room) in self.rooms.iter_mut().enumerate() {
            if room.claimed_m3 > 0.0 {
                keep_tightest(room, c, (from, now), &self.people, &mut self.spare);
            }
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
    pub(super) fn put(&mut self, person: usize, effort: usize, place: Place, suit: SuitUse) {
        let state = &mut self.people[person];
        let left = state.place;
        state.place = place;
        state.effort = effort;
        state.suit = suit;
        if let Place::Compartment(c) = place {
            state.inside = Some(c);
        }
        self.claim(left);
        if left != place {
            self.claim(place);
        }
    }

    /// Takes a person off task: home, or where they came from if they were outside, else where they are; at their idle
    /// effort, their suit as it was. Gives the effort, the place and the suit.
    pub(super) fn off_task(&mut self, person: usize) -> (usize, Place, SuitUse) {
        let state = self.people[person];
        let place = match (state.home, state.place, state.inside) {
            (Some(home), _, _) => Place::Compartment(home),
            (None, Place::Outside, Some(inside)) => Place::Compartment(inside),
            (None, place, _) => place,
        };
        self.put(person, state.idle, place, state.suit);
        (state.idle, place, state.suit)
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

    pub(super) fn suit(&self, person: usize) -> SuitUse {
        self.people[person].suit
    }

    pub(super) fn tightest(&self, compartment: usize) -> &[Tight] {
        &self.rooms[compartment].tightest
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

/// Keeps a stretch if it is among the tightest; one that goes on as the last did is made longer.
fn keep_tightest(
    room: &mut Room,
    c: usize,
    (from, to): (Time, Time),
    people: &[State],
    spare: &mut Vec<Vec<(usize, usize)>>,
) {
    let who = || {
        let here = people.iter().enumerate();
        here.filter(|(_, state)| state.place == Place::Compartment(c))
            .map(|(person, state)| (person, state.effort))
    };
    let goes_on = |tight: &&mut Tight| {
        tight.to == from && tight.claimed_m3.total_cmp(&room.claimed_m3).is_eq() && who().eq(tight.who.iter().copied())
    };
    if let Some(tight) = room.tightest.iter_mut().find(goes_on) {
        tight.to = to;
        return;
    }
    let place = room
        .tightest
        .partition_point(|tight| tight.claimed_m3 >= room.claimed_m3);
    if place < TIGHTEST {
        if room.tightest.len() == TIGHTEST {
            spare.extend(room.tightest.pop().map(|tight| tight.who));
        }
        let claimed_m3 = room.claimed_m3;
        let mut here = spare.pop().unwrap_or_default();
        here.clear();
        here.extend(who());
        room.tightest.insert(
            place,
            Tight {
                from,
                to,
                claimed_m3,
                who: here,
            },
        );
    }
}
