//! Vents, fills and equalisations that are under way.
//!
//! At a pace over a time the pressure changes linearly: `P = P_0 + k t`. What is lost or let in is what that needs beside all other
//! flows. To 0 the ramp goes to [`LEFT`] of the pressure at its start, which is then lost at once: at 0 itself the gas has no
//! composition to be lost at. Through an orifice, or at a flow, the pressure goes as it goes, and the end is a crossing.

use crate::air::{Place, Species};
use crate::timeline::{Effect, Pace};
use crate::units::Time;

use super::Case;
use super::outcome::{Transfer, TransferKind};
use super::state::Stocks;

/// What a timed vent to 0 leaves to be lost at its end, as a fraction of the pressure at its start.
const LEFT: f64 = 1e-6;
/// A vent through an orifice to 0 ends here, Pa: a hatch of half a square metre then opens against 50 N; the rest is lost at once.
const NEARLY_VACUUM_PA: f64 = 100.0;
/// An equalisation through an orifice ends at this part of the difference against which the hatch opens.
const NEARLY_EQUAL: f64 = 0.1;

/// A transfer under way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Running {
    /// Place in the list of all transfers of the run.
    pub record: usize,
    /// The task whose effect it is.
    pub task: usize,
    /// The effect.
    pub effect: Effect,
    /// When it ends, if that is known.
    pub until: Option<Time>,
    /// A tank ran dry before it was done.
    pub short: bool,
    /// Rate of change of the pressure (of an equalisation, of the difference) at a pace over a time, Pa/s.
    pub ramp_pa_s: f64,
    /// Pressure at which it ends, Pa; of an equalisation, the difference.
    pub target_pa: f64,
}

/// Total pressure of a place, Pa.
pub(crate) fn pressure_of(case: &Case, stocks: &Stocks, place: Place) -> f64 {
    match place {
        Place::Compartment(a) => stocks.pressure(a),
        Place::Outside => case.outside.partial_pa.iter().sum(),
    }
}

impl Running {
    /// Begins a transfer at `now`; gives it with the entry of the list of transfers.
    pub fn begin(
        case: &Case,
        stocks: &Stocks,
        task: usize,
        effect: Effect,
        record: usize,
        now: Time,
    ) -> (Self, Transfer) {
        let (kind, subject, from_pa, to_pa, pace) = match effect {
            Effect::Fill {
                compartment,
                to_pa,
                pace,
                ..
            } => (
                TransferKind::Fill,
                compartment,
                stocks.pressure(compartment),
                to_pa,
                pace,
            ),
            Effect::Equalise { opening, pace } => {
                let [a, b] = case.openings[opening].between;
                let difference = pressure_of(case, stocks, a) - pressure_of(case, stocks, b);
                (TransferKind::Equalise, opening, difference, 0.0, pace)
            }
            Effect::Vent {
                compartment,
                to_pa,
                pace,
            } => (
                TransferKind::Vent,
                compartment,
                stocks.pressure(compartment),
                to_pa,
                pace,
            ),
            // Nothing else takes time.
            _ => (TransferKind::Vent, 0, 0.0, 0.0, Pace::Over(Time(1))),
        };
        let mut running = Self {
            record,
            task,
            effect,
            until: None,
            short: false,
            ramp_pa_s: 0.0,
            target_pa: to_pa,
        };
        let soon = Time(now.0 + 1);
        match (pace, kind) {
            (Pace::Over(time), _) => {
                let left = if kind == TransferKind::Vent && to_pa <= 0.0 {
                    LEFT * from_pa
                } else {
                    to_pa
                };
                // What is there already needs no time.
                let done = match kind {
                    TransferKind::Vent => from_pa <= to_pa,
                    TransferKind::Fill => from_pa >= to_pa,
                    // Exactly nothing is a chance of the last digit, and takes as long as next to nothing.
                    TransferKind::Equalise => false,
                };
                running.until = Some(if done { soon } else { (now + time).max(soon) });
                running.target_pa = left;
            }
            (_, TransferKind::Vent) => {
                running.target_pa = to_pa.max(NEARLY_VACUUM_PA);
                running.until = (from_pa <= running.target_pa).then_some(soon);
            }
            (_, TransferKind::Fill) => running.until = (from_pa >= to_pa).then_some(soon),
            (_, TransferKind::Equalise) => {
                running.target_pa = NEARLY_EQUAL * case.openings[subject].opens_within_pa;
                running.until = (from_pa.abs() <= running.target_pa).then_some(soon);
            }
        }
        let entry = Transfer {
            kind,
            task,
            subject,
            began: now,
            ended: None,
            from_pa,
            to_pa: f64::NAN,
            gas_kg: [0.0; 4],
            short: false,
        };
        (running, entry)
    }

    /// Aims the ramp from where the pressure is now: what an event takes or adds at once on the way must not move its end.
    pub fn aim(&mut self, case: &Case, stocks: &Stocks, now: Time) {
        let (Some(until), Some(is)) = (self.until.filter(|&until| until > now), self.pressure(case, stocks)) else {
            return;
        };
        self.ramp_pa_s = (self.target_pa - is) / (until - now).seconds();
    }

    /// The pressure that it moves; of an equalisation, the difference.
    fn pressure(&self, case: &Case, stocks: &Stocks) -> Option<f64> {
        match self.effect {
            Effect::Vent { compartment, .. } | Effect::Fill { compartment, .. } => Some(stocks.pressure(compartment)),
            Effect::Equalise { opening, .. } => {
                let [a, b] = case.openings[opening].between;
                Some(pressure_of(case, stocks, a) - pressure_of(case, stocks, b))
            }
            _ => None,
        }
    }

    /// The tank that a fill draws a species from.
    pub fn source(&self, species: usize) -> Option<usize> {
        match self.effect {
            Effect::Fill { oxygen_from, .. } if species == Species::Oxygen as usize => oxygen_from,
            Effect::Fill { diluent_from, .. } if species == Species::Diluent as usize => diluent_from,
            _ => None,
        }
    }

    /// The compartments that take part with all of their joined group: of an equalisation both.
    pub fn ends(&self, case: &Case) -> [Option<usize>; 2] {
        match self.effect {
            Effect::Vent { compartment, .. } | Effect::Fill { compartment, .. } => [Some(compartment), None],
            Effect::Equalise { opening, .. } => case.openings[opening].between.map(|place| match place {
                Place::Compartment(a) => Some(a),
                Place::Outside => None,
            }),
            _ => [None, None],
        }
    }
}
