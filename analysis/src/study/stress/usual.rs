//! What the run of a case without any fault crosses: of a limit that is crossed at that time anyhow, a fault is not the cause.
//!
//! ```text
//! a crossing at t counts if the rule is not crossed without the fault, or at u > t + 1 s there
//! ```
//!
//! Runs with responses are held against the run without a fault with responses, those without against the one without. Nothing that came
//! before the onset counts, since up to there both runs are the same. The second is that to which crossings are known: a fault's onset
//! ends a segment, and so moves later crossings that it has nothing to do with by what rounding and the integrator's tolerance make of it.

use breathroom_sim::engine::{End, Outcome};
use breathroom_sim::units::Time;

use super::times::After;

/// By how much a crossing must come sooner to be another: what crossings are known to.
pub const SOONER: Time = Time(1_000_000_000);

/// What one run has crossed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Crossings {
    /// By rule, published levels included, when it was first crossed.
    pub rules: Vec<Option<Time>>,
    /// When it could no longer be lived through.
    pub end: Option<Time>,
}

/// What the runs without any fault have crossed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Usual {
    /// With the responses to alarms.
    pub with: Crossings,
    /// Without.
    pub without: Crossings,
}

impl Crossings {
    /// Of an outcome.
    #[must_use]
    pub fn of(outcome: &Outcome) -> Self {
        Self {
            rules: outcome.rules.iter().map(|rule| rule.first_crossing).collect(),
            end: end(outcome),
        }
    }

    /// When, seen from the onset, another run crosses a rule that this one does not, or later.
    #[must_use]
    pub fn rule(&self, other: &Outcome, rule: usize, onset: Time) -> After {
        let at = other.rules.get(rule).and_then(|rule| rule.first_crossing);
        sooner(at, self.rules.get(rule).copied().flatten(), onset)
    }

    /// When, seen from the onset, another run can no longer be lived through though this one can, or longer.
    #[must_use]
    pub fn not_survivable(&self, other: &Outcome, onset: Time) -> After {
        sooner(end(other), self.end, onset)
    }
}

fn end(outcome: &Outcome) -> Option<Time> {
    match outcome.end {
        End::Completed => None,
        End::OxygenFloor { at, .. } | End::Exhausted { at, .. } => Some(at),
    }
}

fn sooner(at: Option<Time>, usual: Option<Time>, onset: Time) -> After {
    let counts = |at: &Time| usual.is_none_or(|usual| *at + SOONER < usual);
    After::of(at.filter(counts), onset)
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::RuleOutcome;

    use super::*;

    fn seconds(s: i64) -> Time {
        Time(s * 1_000_000_000)
    }

    /// Crossings in s, 0 for never.
    fn outcome(crossings: &[i64]) -> Outcome {
        let rule = |at: &i64| RuleOutcome {
            first_crossing: (*at > 0).then_some(seconds(*at)),
            ..RuleOutcome::default()
        };
        Outcome {
            rules: crossings.iter().map(rule).collect(),
            ..Outcome::default()
        }
    }

    #[test]
    fn only_what_is_new_or_sooner_counts() {
        let usual = Crossings::of(&outcome(&[0, 500, 500, 500, 500]));
        let other = outcome(&[400, 400, 500, 499, 0]);
        let after: Vec<After> = (0..5).map(|rule| usual.rule(&other, rule, seconds(100))).collect();
        let came = |s| After::Came(seconds(s));
        assert_eq!(after, [came(300), came(300), After::Not, After::Not, After::Not]);
    }

    #[test]
    fn the_end_of_what_can_be_lived_through_counts_the_same_way() {
        let ends = |at: i64| Outcome {
            end: End::Exhausted {
                at: seconds(at),
                compartment: 0,
                species: breathroom_sim::air::Species::Oxygen,
            },
            ..Outcome::default()
        };
        let [never, late] = [outcome(&[]), ends(900)].map(|outcome| Crossings::of(&outcome));
        assert_eq!(
            never.not_survivable(&ends(900), seconds(100)),
            After::Came(seconds(800))
        );
        assert_eq!(late.not_survivable(&ends(900), seconds(100)), After::Not);
        assert_eq!(late.not_survivable(&ends(300), seconds(100)), After::Came(seconds(200)));
        assert_eq!(late.not_survivable(&outcome(&[]), seconds(100)), After::Not);
    }
}
