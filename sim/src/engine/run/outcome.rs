//! What a run leaves: its outcome, written into storage that is used again.

use crate::air::{Species, saturation_pa};
use crate::units::Time;

use super::super::{Case, CompartmentEnd, End, Outcome, ScheduleOutcome};
use super::Engine;

impl Engine {
    /// Writes the outcome of the run that has come to `now`.
    pub(super) fn finish(&mut self, case: &Case, now: Time, end: End, outcome: &mut Outcome) {
        outcome.end = end;
        self.judge.finish(case, now, &mut outcome.rules);
        self.peaks.finish(case, &mut outcome.extremes);
        outcome.totals = self.ledger.totals();
        outcome.balance = self.ledger.balance(&self.system, &self.stocks);
        outcome.state_end.clear();
        for (a, compartment) in case.compartments.iter().enumerate() {
            let partial_pa = [0, 1, 2, 3].map(|i| self.stocks.p[i][a]);
            let saturation = if compartment.heat.is_some() {
                saturation_pa(self.stocks.temperature_k[a])
            } else {
                compartment.saturation_pa
            };
            outcome.state_end.push(CompartmentEnd {
                partial_pa,
                pressure_pa: self.stocks.pressure(a),
                humidity: partial_pa[1] / saturation,
                temperature_k: self.stocks.temperature_k[a],
                liquid_water_kg: Species::Water.molar_mass_kg_mol() * self.stocks.liquid_mol(a).max(0.0),
            });
        }
        self.ledger
            .hardware
            .finish(case, &self.stocks, &self.transfers, outcome);
        self.finish_schedule(case, &mut outcome.schedule);
        self.counters.ruled_out = self.work.ruled_out;
        self.counters.looked_into = self.work.looked_into;
        self.counters.modes = self.bases.iter().map(|bases| bases.count).sum();
        self.upsets.faults.finish(&mut outcome.faults);
        self.upsets.listener.finish(now, &mut outcome.alarms);
        self.upsets.responses.finish(&mut outcome.responses);
        outcome.counters = self.counters;
    }

    fn finish_schedule(&self, case: &Case, out: &mut ScheduleOutcome) {
        let tasks = 0..case.plan.tasks.len();
        let compartments = 0..case.compartments.len();
        let schedule = &self.schedule;
        refill(&mut out.started, tasks.clone().map(|task| schedule.started(task)));
        refill(&mut out.ended, tasks.clone().map(|task| schedule.ended(task)));
        refill(&mut out.waited_s, tasks.clone().map(|task| schedule.waited_s(task)));
        refill(
            &mut out.waited_for_space_s,
            tasks.clone().map(|task| schedule.waited_for_space_s(task)),
        );
        let interruptions = tasks.clone().map(|task| schedule.interruptions(task));
        refill(&mut out.interruptions, interruptions);
        refill(&mut out.dropped, tasks.map(|task| schedule.was_dropped(task)));
        let exceeded = compartments.clone().map(|a| schedule.space_exceeded(a).seconds());
        refill(&mut out.space_exceeded_s, exceeded);
        refill(
            &mut out.space_excess_m3,
            compartments.clone().map(|a| schedule.space_excess_m3(a)),
        );
        out.tightest.resize_with(compartments.len(), Vec::new);
        for (a, tightest) in out.tightest.iter_mut().enumerate() {
            // Each moment in place, for it has a list of its own.
            let of = schedule.tightest(a);
            tightest.truncate(of.len());
            for (known, moment) in tightest.iter_mut().zip(of) {
                (known.from, known.to, known.claimed_m3) = (moment.from, moment.to, moment.claimed_m3);
                known.who.clone_from(&moment.who);
            }
            tightest.extend_from_slice(&of[tightest.len()..]);
        }
    }
}

/// Replaces what a list holds.
fn refill<T>(list: &mut Vec<T>, with: impl Iterator<Item = T>) {
    list.clear();
    list.extend(with);
}
