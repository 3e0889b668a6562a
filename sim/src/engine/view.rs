//! What a look at a segment sees: the case, the mode, the equations with their solution, and the state at its start.

use crate::air::{MOST, Place};

use super::Case;
use super::course::Course;
use super::mode::Mode;
use super::people::Crew;
use super::range::Range;
use super::ranges::Ranges;
use super::segment::{Segment, Sum};
use super::state::Stocks;
use super::system::System;
use super::valve::{diluent_flow, oxygen_flow};
use super::whole::{Maker, Plumbing};

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
    /// What is connected, and the flows, where the segment is integrated whole.
    pub whole: Option<(&'a Plumbing, &'a Maker)>,
}

impl View<'_> {
    /// Whether a compartment holds gas that anyone may ask about: it is not open to the vacuum, nor a suit that nobody wears.
    pub fn is_alive(&self, a: usize) -> bool {
        !self.mode.void[a] && !self.mode.inert[a]
    }

    /// Diluent in a person's tissue over the total pressure of what they breathe, where the segment begins and ends.
    pub fn tissue(&self, person: usize) -> Option<[f64; 2]> {
        let Place::Compartment(a) = self.crew.people[person].air else {
            return None;
        };
        let mut end = [[0.0; MOST]; 4];
        self.segment.at(self.segment.length_s, &mut end);
        let total: f64 = end.iter().map(|species| species[a]).sum();
        let at_end = self.crew.tissue_after(self.case, self.segment, person, a);
        let ratio = |tissue: f64, total: f64| if total > 0.0 { tissue / total } else { f64::INFINITY };
        Some([
            ratio(self.crew.people[person].tissue_pa, self.stocks.pressure(a)),
            ratio(at_end, total),
        ])
    }

    /// Holds that draw on a tank and flow now, with their flows: where the segment is not integrated whole.
    fn holds_on(&self, tank: usize) -> impl Iterator<Item = Sum> + '_ {
        let (case, mode, system) = (self.case, self.mode, self.system);
        case.holds.iter().enumerate().flat_map(move |(index, hold)| {
            let oxygen = (hold.oxygen_from == Some(tank) && mode.oxygen_flows[index])
                .then(|| oxygen_flow(system, hold.compartment));
            let pressure = (hold.pressure_from == Some(tank) && mode.pressure_flows[index])
                .then(|| diluent_flow(system, mode.group[hold.compartment]));
            oxygen.into_iter().chain(pressure)
        })
    }

    /// A bound of what is drawn from a tank, mol/s.
    pub fn most_drawn(&self, tank: usize) -> f64 {
        if let Some((plumbing, maker)) = self.whole {
            let draws = plumbing.draws(self.case, self.mode, self.crew);
            let on = draws.filter(|&(_, from)| from == tank);
            return on.map(|(tap, _)| maker.range(self.segment, tap).hi.max(0.0)).sum();
        }
        self.holds_on(tank).map(|flow| self.sum_range(&flow).hi.max(0.0)).sum()
    }

    /// Writes the course of the rate at which a tank's stock changes, mol/s.
    pub fn draw(&self, tank: usize, out: &mut Course) {
        if let Some((plumbing, maker)) = self.whole {
            out.clear();
            for (tap, from) in plumbing.draws(self.case, self.mode, self.crew) {
                if from == tank {
                    maker.add_course(self.segment, tap, -1.0, out);
                }
            }
            return;
        }
        let mut all = Sum::default();
        for flow in self.holds_on(tank) {
            all.add(-1.0, &flow);
        }
        self.segment.course(&all, out);
    }

    /// A true range of a sum over the segment, from the ranges of its parts.
    pub fn sum_range(&self, sum: &Sum) -> Range {
        let view = self;
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
