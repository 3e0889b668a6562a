//! Vents, fills and equalisations: how they begin and end.

use breathroom_sim::air::Place;
use breathroom_sim::engine::TransferKind;
use breathroom_sim::timeline::{Effect, Pace, SuitUse};
use breathroom_sim::units::Time;

use super::guards::{rooms_of, watched};
use super::instant::empty;
use super::mode::{Active, How, What};
use super::run::Run;
use super::told::{Failure, Moved};

/// A ramp to a vacuum is cut at this part of its start: there the fractions lose their meaning.
const NOTHING: f64 = 1e-8;
/// A vent to a vacuum through an orifice ends below this, Pa.
const VENTED: f64 = 100.0;

impl Run<'_> {
    /// Begins a transfer; its number if it takes time.
    pub(super) fn begin(&mut self, effect: Effect, now: Time) -> Result<Option<usize>, Failure> {
        let (what, kind, subject, to_pa, pace) = match effect {
            Effect::Vent {
                compartment: room,
                to_pa,
                pace,
            } => (What::Vent { room }, TransferKind::Vent, room, to_pa, pace),
            Effect::Fill {
                compartment: room,
                to_pa,
                pace,
                oxygen,
                oxygen_from,
                diluent_from,
            } => {
                let parts = [(2, oxygen, oxygen_from), (3, 1.0 - oxygen, diluent_from)];
                (What::Fill { room, parts }, TransferKind::Fill, room, to_pa, pace)
            }
            Effect::Equalise { opening, pace } => {
                let between = self.plant.case.openings[opening].between;
                (What::Equalise { between }, TransferKind::Equalise, opening, 0.0, pace)
            }
            _ => panic!("{effect:?} takes no time"),
        };
        match what {
            What::Vent { room } => {
                let members = self.mode.members(room);
                for (p, stint) in self.clock.stints.iter().enumerate() {
                    let inside = matches!(stint.place, Place::Compartment(b) if members.contains(&b));
                    let suited = self.plant.case.suits.iter().any(|s| s.wearer == p);
                    if inside && !(suited && stint.suit == SuitUse::Pressurised) {
                        return Err(Failure::Unsuited {
                            compartment: room,
                            at: now,
                        });
                    }
                }
                members.into_iter().for_each(|b| self.mode.resting[b] = true);
            }
            What::Fill { .. } | What::Equalise { .. } => {
                for b in self.sides(&what) {
                    self.mode.vacuum[b] = false;
                }
            }
        }
        let from_pa = watched(&self.plant, &what, &self.x);
        let slot = self.transfers.len();
        self.transfers.push(Moved {
            kind,
            subject,
            began: now,
            ended: None,
            from_pa,
            to_pa: f64::NAN,
            short: false,
            mol: [0.0; 4],
        });
        let falls = from_pa > to_pa;
        let empties = kind == TransferKind::Vent && to_pa <= 0.0;
        let (how, until_pa) = match pace {
            Pace::Over(long) => {
                let how = How::Ramp {
                    rate_pa_s: (to_pa - from_pa) / long.seconds(),
                    to_pa,
                    until: now + long,
                };
                (how, empties.then_some((NOTHING * from_pa, true)))
            }
            Pace::Through(area_m2) => {
                let ends = match kind {
                    TransferKind::Equalise => 0.1 * self.plant.case.openings[subject].opens_within_pa,
                    _ if empties => VENTED,
                    _ => to_pa,
                };
                let ends = if falls { ends } else { -ends };
                (How::Hole { area_m2 }, Some((ends, falls)))
            }
            Pace::At(mol_s) => (How::Flow { mol_s }, Some((to_pa, false))),
        };
        self.mode.transfers.push(Active {
            slot,
            what,
            how,
            until_pa,
            empties,
        });
        let k = self.mode.transfers.len() - 1;
        let there = match kind {
            TransferKind::Vent => from_pa <= to_pa,
            TransferKind::Fill => from_pa >= to_pa,
            // Exactly nothing is a chance of the last digit, and takes as long as next to nothing.
            TransferKind::Equalise => false,
        } || (matches!(how, How::Hole { .. }) && until_pa.is_some_and(|(p, f)| (from_pa <= p) == f));
        if there || self.lacks_gas(&what) {
            self.end_transfer(k, now, !there);
            return Ok(None);
        }
        Ok(Some(slot))
    }

    /// Aims ramps anew at their ends: gas that went at once (a turn of a bed, say) has put them off.
    pub(super) fn aim(&mut self, now: Time) {
        for transfer in &mut self.mode.transfers {
            let left = watched(&self.plant, &transfer.what, &self.x);
            if let How::Ramp {
                rate_pa_s,
                to_pa,
                until,
            } = &mut transfer.how
            {
                *rate_pa_s = (*to_pa - left) / (*until - now).seconds();
            }
        }
    }

    /// The compartments that a transfer is about, with those that are joined to them.
    pub(super) fn sides(&self, what: &What) -> Vec<usize> {
        match *what {
            What::Vent { room } | What::Fill { room, .. } => self.mode.members(room),
            What::Equalise { between } => rooms_of(between).flat_map(|a| self.mode.members(a)).collect(),
        }
    }

    /// Whether a fill has nothing to be filled from.
    pub(super) fn lacks_gas(&self, what: &What) -> bool {
        let What::Fill { parts, .. } = what else { return false };
        parts
            .iter()
            .any(|&(_, part, tank)| part > 0.0 && tank.is_some_and(|t| self.mode.dry[t]))
    }

    pub(super) fn end_transfer(&mut self, k: usize, now: Time, short: bool) {
        let transfer = self.mode.transfers.remove(k);
        let slot = transfer.slot;
        if let (What::Vent { room }, true) = (transfer.what, transfer.empties) {
            self.let_go(room, slot);
        }
        let moved = &mut self.transfers[slot];
        moved.ended = Some(now);
        moved.short = short;
        moved.to_pa = watched(&self.plant, &transfer.what, &self.x);
        if !matches!(transfer.what, What::Vent { .. }) {
            for b in self.sides(&transfer.what) {
                self.mode.resting[b] = false;
            }
        }
        for runner in &mut self.clock.runners {
            if runner.waits_for == Some(slot) {
                runner.waits_for = None;
            }
        }
    }

    /// What is left in a compartment and those joined to it leaves at once, and it stays open to the vacuum.
    pub(super) fn let_go(&mut self, room: usize, slot: usize) {
        for b in self.mode.members(room) {
            self.mode.vacuum[b] = true;
            for s in 0..4 {
                self.x[self.plant.transfer + 4 * slot + s] += self.x[4 * b + s];
            }
        }
        empty(&self.plant, &mut self.mode, &mut self.x);
    }
}
