//! What two runs of one case, with and without responses, say of a fault that begins at an onset.

use breathroom_sim::engine::{End, Entry, Event, Outcome, ResponseOutcome, RunError};
use breathroom_sim::units::Time;

use super::times::{After, Censored, margin, to_limit};
use super::worst::Rank;

/// Which rule a run has first broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// This rule.
    Rule(usize),
    /// None: the run could not be lived through.
    NotSurvivable,
}

/// The first limit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct First {
    /// Which; none if it did not come.
    pub cause: Option<Cause>,
    /// When.
    pub after: After,
}

/// The first alarm that came on after the onset.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Alarm {
    /// Its index.
    pub alarm: usize,
    /// How long after the onset.
    pub after: Time,
    /// It was false: true or false where all or none of this alarm's trips in the run were; none where only some were.
    pub is_false: bool,
}

/// What was seen of an onset.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Look {
    /// The onset.
    pub onset: Time,
    /// From there to the end of the run as it was to be.
    pub rest: Time,
    /// The first alarm after it.
    pub alarm: Option<Alarm>,
    /// An alarm was on already at the onset.
    pub already_on: bool,
    /// The first limit without any response.
    pub first: First,
    /// The first limit with responses.
    pub first_with: First,
    /// The completed response.
    pub done: After,
    /// By group of rules (see [`Groups`]), the first crossing without any response.
    pub limits: Vec<After>,
    /// By published level, the first person to be beyond it: without any response, and with.
    pub effects: Vec<[After; 2]>,
    /// One of the two runs could not be finished: nothing good is known of it.
    pub failed: Option<RunError>,
}

/// Rules that are told together (those of one id, about several people), and the rules of published levels after them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Groups {
    /// By rule of the scenario, its group.
    pub of_rule: Vec<usize>,
    /// How many groups.
    pub groups: usize,
    /// How many published levels, each with a rule for each person.
    pub levels: usize,
    /// How many people.
    pub people: usize,
}

impl Look {
    /// A look of a run that could not be finished.
    #[must_use]
    pub fn failed(onset: Time, length: Time, error: RunError) -> Self {
        Self {
            onset,
            rest: rest(onset, length),
            failed: Some(error),
            ..Self::default()
        }
    }

    /// What `without` and `with` responses and the log of the second say, of a run that was to have this length.
    #[must_use]
    pub fn of(
        onset: Time,
        length: Time,
        groups: &Groups,
        without: &Outcome,
        (with, log): (&Outcome, &[Entry]),
    ) -> Self {
        let own = groups.of_rule.len();
        let mut limits = vec![After::Not; groups.groups];
        for (rule, group) in groups.of_rule.iter().enumerate() {
            limits[*group] = limits[*group].min(crossed(without, rule, onset));
        }
        let first_with = first(with, own, onset);
        let level = |level: usize| {
            [without, with].map(|outcome| {
                let of = |person| crossed(outcome, own + level * groups.people + person, onset);
                (0..groups.people).map(of).min().unwrap_or_default()
            })
        };
        let (alarm, already_on) = alarm(log, onset);
        Self {
            onset,
            rest: rest(onset, length),
            alarm,
            already_on,
            first: first(without, own, onset),
            first_with,
            done: done(&with.responses, onset, first_with.after),
            limits,
            effects: (0..groups.levels).map(level).collect(),
            failed: None,
        }
    }

    /// Time left when the response is completed.
    #[must_use]
    pub fn margin(&self) -> Censored {
        if self.failed.is_some() {
            return Censored::NEVER;
        }
        margin(self.first.after, self.done, self.rest)
    }

    /// Time to the first limit without any response.
    #[must_use]
    pub fn to_limit(&self) -> Censored {
        if self.failed.is_some() {
            return Censored::NEVER;
        }
        to_limit(self.first.after, self.rest)
    }

    /// How bad it is: by the time left, if there is anything that is to be done, else by the time to the first limit. An onset whose runs could
    /// not be finished is no moment of which times are known: it is counted, and not chosen.
    #[must_use]
    pub fn rank(&self, responses: bool) -> Rank {
        if self.failed.is_some() {
            return [f64::INFINITY; 2];
        }
        let number = |time: Censored| if time.more { f64::INFINITY } else { time.seconds };
        let to_limit = number(self.to_limit());
        [if responses { number(self.margin()) } else { to_limit }, to_limit]
    }
}

fn rest(onset: Time, length: Time) -> Time {
    (length - onset).max(Time::ZERO)
}

fn crossed(outcome: &Outcome, rule: usize, onset: Time) -> After {
    After::of(outcome.rules.get(rule).and_then(|rule| rule.first_crossing), onset)
}

/// The first of a scenario's own rules to be crossed, or the end of what can be lived through.
fn first(outcome: &Outcome, own: usize, onset: Time) -> First {
    let mut first = First::default();
    for rule in 0..own {
        let after = crossed(outcome, rule, onset);
        if after < first.after {
            let cause = Some(Cause::Rule(rule));
            first = First { cause, after };
        }
    }
    if let End::OxygenFloor { at, .. } | End::Exhausted { at, .. } = outcome.end {
        let after = After::of(Some(at), onset);
        if after < first.after {
            let cause = Some(Cause::NotSurvivable);
            first = First { cause, after };
        }
    }
    first
}

/// The first alarm that came on after the onset, and whether any was on then.
fn alarm(log: &[Entry], onset: Time) -> (Option<Alarm>, bool) {
    let before = log.iter().take_while(|entry| entry.at <= onset);
    let on = before.fold(0_usize, |on, entry| match entry.event {
        Event::AlarmOn { .. } => on + 1,
        Event::AlarmOff(_) => on.saturating_sub(1),
        _ => on,
    });
    let alarm = log.iter().find_map(|entry| match entry.event {
        Event::AlarmOn { alarm, is_false } if entry.at > onset => Some(Alarm {
            alarm,
            after: entry.at - onset,
            is_false,
        }),
        _ => None,
    });
    (alarm, on > 0)
}

/// The response that is completed first among those to alarms after the onset; else among those under way at the onset; else, if with it
/// no limit is crossed, one that was completed before.
fn done(responses: &[ResponseOutcome], onset: Time, with: After) -> After {
    let first = |called_after: bool| {
        let of = responses
            .iter()
            .filter(|response| !response.failed && (response.tripped > onset) == called_after);
        of.filter_map(|response| response.done)
            .filter(|done| *done > onset)
            .min()
    };
    match first(true).or_else(|| first(false)) {
        Some(done) => After::Came(done - onset),
        None if !with.came()
            && responses
                .iter()
                .any(|response| !response.failed && response.done.is_some()) =>
        {
            After::Before
        }
        None => After::Not,
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::RuleOutcome;

    use super::*;

    fn min(minutes: i64) -> Time {
        Time(minutes * 60_000_000_000)
    }

    /// Crossings in minutes, 0 for never.
    fn outcome(crossings: &[i64]) -> Outcome {
        let rule = |at: &i64| RuleOutcome {
            first_crossing: (*at > 0).then_some(min(*at)),
            ..RuleOutcome::default()
        };
        Outcome {
            rules: crossings.iter().map(rule).collect(),
            ..Outcome::default()
        }
    }

    fn groups() -> Groups {
        Groups {
            of_rule: vec![0, 0, 1],
            groups: 2,
            levels: 1,
            people: 2,
        }
    }

    fn response(tripped: i64, done: i64) -> ResponseOutcome {
        ResponseOutcome {
            tripped: min(tripped),
            done: (done > 0).then_some(min(done)),
            ..ResponseOutcome::default()
        }
    }

    #[test]
    fn rules_of_one_id_are_told_by_their_first_and_levels_are_no_limits() {
        // Two people of one rule, another rule, a level for both people; onset 100 min.
        let without = outcome(&[225, 220, 0, 130, 120]);
        let with = Outcome {
            responses: vec![response(20, 30), response(141, 163)],
            ..outcome(&[0, 0, 0, 0, 130])
        };
        let log = [(20, true), (40, false), (141, true)].map(|(at, on)| Entry {
            at: min(at),
            event: if on {
                Event::AlarmOn {
                    alarm: 0,
                    is_false: false,
                }
            } else {
                Event::AlarmOff(0)
            },
        });
        let look = Look::of(min(100), min(1000), &groups(), &without, (&with, &log));
        assert_eq!(look.limits, [After::Came(min(120)), After::Not]);
        assert_eq!(look.first.cause, Some(Cause::Rule(1)));
        assert_eq!(look.effects, [[After::Came(min(20)), After::Came(min(30))]]);
        assert_eq!(look.first_with, First::default());
        assert_eq!(look.done, After::Came(min(63)));
        let alarm = look.alarm.expect("an alarm");
        assert_eq!((alarm.after, alarm.is_false, look.already_on), (min(41), false, false));
        assert!((look.margin().seconds - 57.0 * 60.0).abs() < 1e-6 && !look.margin().more);
        assert_eq!(look.rank(true)[1], look.to_limit().seconds);
        // Seen from 30 min, the alarm is on already and the response of before is done.
        let look = Look::of(min(30), min(1000), &groups(), &without, (&with, &log[..2]));
        assert!(look.already_on && look.alarm.is_none());
    }

    #[test]
    fn a_response_of_before_counts_only_if_it_was_enough() {
        let enough = done(&[response(5, 10)], min(100), After::Not);
        let not_enough = done(&[response(5, 10)], min(100), After::Came(min(3)));
        let under_way = done(&[response(90, 110), response(120, 0)], min(100), After::Not);
        assert_eq!(
            [enough, not_enough, under_way],
            [After::Before, After::Not, After::Came(min(10))]
        );
        let failed = ResponseOutcome {
            failed: true,
            ..response(120, 130)
        };
        assert_eq!(done(&[failed], min(100), After::Not), After::Not);
    }

    #[test]
    fn what_cannot_be_lived_through_is_a_limit_and_a_failed_run_has_no_time() {
        let ended = Outcome {
            end: End::OxygenFloor {
                at: min(150),
                compartment: 0,
                person: 0,
            },
            ..outcome(&[0, 0, 0, 0, 0])
        };
        let look = Look::of(min(100), min(1000), &groups(), &ended, (&ended, &[]));
        assert_eq!(look.first.cause, Some(Cause::NotSurvivable));
        assert_eq!(look.rank(false)[0], 50.0 * 60.0);
        assert_eq!(look.margin(), Censored::NEVER);
        let failed = Look::failed(min(100), min(1000), RunError::Invalid("x"));
        assert_eq!((failed.margin(), failed.to_limit()), (Censored::NEVER, Censored::NEVER));
    }
}
