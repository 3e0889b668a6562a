//! When does the present mode end? The first instant at which a multiplier, a film, an inlet pressure or a breathable air
//! runs out, certified by bounds.

use crate::air::Place;
use crate::removal::Line;

use super::Case;
use super::course::Course;
use super::indices::{OXYGEN, WATER};
use super::mode::{Mode, TAKEN};
use super::people::Crew;
use super::range::Range;
use super::ranges::Ranges;
use super::search::{Level, Stock, Work, first_above, first_below};
use super::segment::{Segment, Sum};
use super::state::Stocks;
use super::system::System;
use super::valve::{diluent_flow, oxygen_flow};

/// A valve's flow above minus this has not turned: what rounding leaves of sums of exchange flows, mol/s.
const VALVE_BAND_MOL_S: f64 = 1e-14;
/// A film thinner than this is gone, mol (2e-11 kg).
const FILM_BAND_MOL: f64 = 1e-9;

/// How a mode ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Exit {
    /// An oxygen hold (by index) starts or stops to flow.
    OxygenHold(usize, bool),
    /// A pressure hold (by index) starts or stops to flow.
    PressureHold(usize, bool),
    /// A surface gets wet or dry.
    Film(usize, usize, bool),
    /// A device's law for CO2 or water goes over to another piece.
    Piece(usize, usize, usize),
    /// The oxygen that a person breathes falls below the floor: compartment, person.
    Floor(usize, usize),
}

/// Everything that a look at a segment needs.
pub(crate) struct View<'a> {
    /// The case.
    pub case: &'a Case,
    /// Its mode.
    pub mode: &'a Mode,
    /// Its equations.
    pub system: &'a System,
    /// Their solution.
    pub segment: &'a Segment,
    /// Its ranges.
    pub ranges: &'a Ranges,
    /// The state at its start.
    pub stocks: &'a Stocks,
    /// The people.
    pub crew: &'a Crew,
}

/// Looks for the first exit.
pub(crate) struct Watch<'a> {
    view: View<'a>,
    course: &'a mut Course,
    work: &'a mut Work,
    first: Option<(f64, Exit)>,
}

/// The width within which a valve's flow counts as zero, mol/s: what noise in the pressures makes of it.
pub(crate) fn valve_band(sum: &Sum, system: &System, stocks: &Stocks) -> f64 {
    let mut band = VALVE_BAND_MOL_S;
    for i in 0..4 {
        for a in 0..system.n {
            if sum.p[i][a] != 0.0 {
                band += sum.p[i][a].abs() * system.noise_pa(stocks.p[i][a]);
            }
        }
    }
    band
}

/// The first exit in `(0, length]` of the segment, with its time in s.
pub(crate) fn first_exit<'a>(view: View<'a>, course: &'a mut Course, work: &'a mut Work) -> Option<(f64, Exit)> {
    let mut watch = Watch {
        view,
        course,
        work,
        first: None,
    };
    watch.floors();
    watch.oxygen_holds();
    watch.pressure_holds();
    watch.surfaces();
    watch.devices();
    watch.first
}

impl Watch<'_> {
    /// Looks no further than the first exit found so far.
    fn horizon(&self) -> f64 {
        self.first.map_or(self.view.segment.length_s, |(t, _)| t)
    }

    fn found(&mut self, t: Option<f64>, exit: Exit) {
        if let Some(t) = t
            && self.first.is_none_or(|(first, _)| t < first)
        {
            self.first = Some((t, exit));
        }
    }

    /// A pressure with the width of its noise.
    fn level(&self, pressure: f64) -> Level {
        Level {
            at: pressure,
            band: self.view.system.noise_pa(pressure),
        }
    }

    fn falls(&mut self, sum: &Sum, level: Level, exit: Exit) {
        let horizon = self.horizon();
        self.view.segment.course(sum, self.course);
        let t = first_below(&*self.course, level, 0.0, horizon, self.work);
        self.found(t, exit);
    }

    fn rises(&mut self, sum: &Sum, level: Level, exit: Exit) {
        let horizon = self.horizon();
        self.view.segment.course(sum, self.course);
        let t = first_above(&*self.course, level, 0.0, horizon, self.work);
        self.found(t, exit);
    }

    fn floors(&mut self) {
        for person in 0..self.view.crew.people.len() {
            let Place::Compartment(a) = self.view.crew.people[person].air else {
                continue;
            };
            // Who shares a room shares its end; the first of the file stands for all.
            if self.view.crew.people[..person]
                .iter()
                .any(|other| other.air == Place::Compartment(a))
            {
                continue;
            }
            if self.view.ranges.p[OXYGEN][a].lo < self.view.case.oxygen_floor_pa {
                let level = Level::new(self.view.case.oxygen_floor_pa);
                self.falls(&Sum::partial(OXYGEN, a), level, Exit::Floor(a, person));
            }
        }
    }

    fn oxygen_holds(&mut self) {
        for (index, hold) in self.view.case.holds.iter().enumerate() {
            let Some(oxygen) = hold.oxygen_pa else { continue };
            let c = hold.compartment;
            if self.view.mode.oxygen_flows[index] {
                let sum = oxygen_flow(self.view.system, c);
                let band = valve_band(&sum, self.view.system, self.view.stocks);
                if self.sum_range(&sum).lo < -band {
                    self.falls(&sum, Level { at: 0.0, band }, Exit::OxygenHold(index, false));
                }
            } else if self.view.ranges.p[OXYGEN][c].lo < oxygen {
                self.falls(
                    &Sum::partial(OXYGEN, c),
                    self.level(oxygen),
                    Exit::OxygenHold(index, true),
                );
            }
        }
    }

    fn pressure_holds(&mut self) {
        for group in 0..self.view.system.n {
            if self.view.system.group[group] != group {
                continue;
            }
            let Some(index) = self.view.mode.governing_hold(self.view.case, group) else {
                continue;
            };
            let hold = self.view.case.holds[index];
            let Some(pressure) = hold.pressure_pa else { continue };
            if self.view.mode.pressure_flows[index] {
                let sum = diluent_flow(self.view.system, group);
                let band = valve_band(&sum, self.view.system, self.view.stocks);
                if self.sum_range(&sum).lo < -band {
                    self.falls(&sum, Level { at: 0.0, band }, Exit::PressureHold(index, false));
                }
            } else if self.view.ranges.pressure[group].lo < pressure {
                self.falls(
                    &Sum::total(group),
                    self.level(pressure),
                    Exit::PressureHold(index, true),
                );
            }
        }
    }

    fn surfaces(&mut self) {
        for (a, compartment) in self.view.case.compartments.iter().enumerate() {
            let vapour = self.view.ranges.p[WATER][a];
            for (s, surface) in compartment.surfaces.iter().enumerate() {
                let saturation = surface.saturation_pa;
                if !self.view.mode.wet[a][s] {
                    if vapour.hi > saturation {
                        let level = self.level(saturation);
                        self.rises(&Sum::partial(WATER, a), level, Exit::Film(a, s, true));
                    }
                    continue;
                }
                let film = self.view.stocks.film_mol[a][s];
                let least = film
                    + surface.conductance_mol_s_pa * (vapour.lo - saturation).min(0.0) * self.view.segment.length_s;
                if least < -FILM_BAND_MOL {
                    let mut sum = Sum {
                        constant: -surface.conductance_mol_s_pa * saturation,
                        ..Sum::default()
                    };
                    sum.p[WATER][a] = surface.conductance_mol_s_pa;
                    let horizon = self.horizon();
                    self.view.segment.course(&sum, self.course);
                    let stock = Stock {
                        start: film,
                        rate: self.course,
                    };
                    let level = Level {
                        at: 0.0,
                        band: FILM_BAND_MOL,
                    };
                    let t = first_below(&stock, level, 0.0, horizon, self.work);
                    self.found(t, Exit::Film(a, s, false));
                }
            }
        }
    }

    fn devices(&mut self) {
        for (d, device) in self.view.case.devices.iter().enumerate() {
            let a = device.serves;
            for (taken, species) in TAKEN.into_iter().enumerate() {
                let pieces = device.pieces(species);
                if pieces < 2 {
                    continue;
                }
                let piece = self.view.mode.piece[d][taken];
                let range = self.view.ranges.p[species as usize][a];
                let temperature = self.view.case.compartments[a].temperature_k;
                let from = |piece: usize| -> Line { device.line(species, piece, temperature, 1.0) };
                let sum = Sum::partial(species as usize, a);
                if piece > 0 && range.lo < from(piece).from_pa {
                    let level = self.level(from(piece).from_pa);
                    self.falls(&sum, level, Exit::Piece(d, taken, piece - 1));
                }
                if piece + 1 < pieces && range.hi > from(piece + 1).from_pa {
                    self.rises(
                        &sum,
                        Level::new(from(piece + 1).from_pa),
                        Exit::Piece(d, taken, piece + 1),
                    );
                }
            }
        }
    }

    /// A true range of a sum over the segment, from the ranges of its parts.
    fn sum_range(&self, sum: &Sum) -> Range {
        let view = &self.view;
        let mut range = Range::point(sum.constant);
        for a in 0..view.system.n {
            for i in 0..4 {
                if sum.p[i][a] != 0.0 {
                    range = range.plus(view.ranges.p[i][a].times(sum.p[i][a]));
                }
            }
            if sum.oxygen_inflow[a] != 0.0 {
                range = range.plus(view.segment.inflow_range(a).times(sum.oxygen_inflow[a]));
            }
            for i in 0..3 {
                if sum.dying[i][a] == 0.0 {
                    continue;
                }
                let dying = &view.system.dying[i];
                for l in 0..dying.count {
                    range = range.plus(Range::span(0.0, sum.dying[i][a] * dying.amount[l][a]));
                }
            }
        }
        range
    }
}
