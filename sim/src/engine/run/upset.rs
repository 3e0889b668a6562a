//! What goes wrong while a case runs: faults are put into it, sensors are read, fresh canisters end what they end.

use crate::units::Time;

use super::super::whole::Plumbing;
use super::super::{Case, Entry, Event, RunError, Trace};
use super::Engine;

impl Engine {
    /// Puts what faults make of it into a case; whether anything changed.
    pub(super) fn put_faults(&mut self, case: Option<&mut Case>, now: Time) -> bool {
        let Some(case) = case.filter(|_| self.upsets.faults.is_due()) else {
            return false;
        };
        let applied = self.upsets.faults.apply(case, &mut self.mode, &mut self.stocks, now);
        if applied.exchange {
            for bases in &mut self.bases {
                bases.forget();
            }
        }
        applied.changed
    }

    /// Carries out what was worked out for `now`, and ends what fresh canisters end; whether gas moved at once.
    pub(super) fn bring_about(
        &mut self,
        case: &Case,
        now: Time,
        mut trace: Option<&mut Trace>,
    ) -> Result<bool, RunError> {
        let moved = self.carry_out(case, now, trace.as_deref_mut())?;
        for device in std::mem::take(&mut self.mode.fresh) {
            self.upsets.faults.freshen(case, device, now, |fault| {
                if let Some(trace) = trace.as_deref_mut() {
                    trace.log.push(Entry {
                        at: now,
                        event: Event::FaultEnded(fault),
                    });
                }
            });
        }
        Ok(moved)
    }

    /// Looks at what sensors say of the running segment up to `to`; when an alarm turns, if one does.
    pub(super) fn listen(&mut self, case: &Case, plumbing: Option<&Plumbing>, from: Time, to: Time) -> Option<Time> {
        let view = view!(self, case, plumbing);
        self.upsets.listener.look(&view, &self.upsets.faults, from, to)
    }

    /// The run has come to `at`, within the running segment or at its end: takes the readings up to there.
    pub(super) fn hear(&mut self, case: &Case, plumbing: Option<&Plumbing>, from: Time, at: Time) {
        let view = view!(self, case, plumbing);
        self.upsets.listener.come_to(&view, &self.upsets.faults, from, at);
    }
}
