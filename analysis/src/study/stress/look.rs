//! What two runs of one case, with and without responses, say of a fault that begins at an onset, beside the runs without it ([`Usual`]).

use breathroom_sim::engine::{Entry, Event, Outcome, ResponseOutcome, RunError};
use breathroom_sim::units::Time;

use super::times::{After, Censored, margin, to_limit};
use super::usual::{Crossings, Usual};
use super::worst::Rank;

/// The outcomes without responses and with them, and the log of the second.
pub type Seen<'a> = (&'a Outcome, &'a Outcome, &'a [Entry]);

/// Which rule a run has first broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// This rule.
    Rule(usize),
    /// None: the run could not be lived through.
    NotSurvivable,
}

/// The first limit that is crossed and would not be without the fault, or later.
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
    /// The first limit that the fault has crossed without any response.
    pub first: First,
    /// The same with responses.
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

    /// What two runs that were to have this length say.
    #[must_use]
    pub fn of(onset: Time, length: Time, groups: &Groups, usual: &Usual, (without, with, log): Seen<'_>) -> Self {
        let own = groups.of_rule.len();
        let mut limits = vec![After::Not; groups.groups];
        for (rule, group) in groups.of_rule.iter().enumerate() {
            limits[*group] = limits[*group].min(usual.without.rule(without, rule, onset));
        }
        let first_with = first(with, &usual.with, own, onset);
        let level = |level: usize| {
            [(without, &usual.without), (with, &usual.with)].map(|(outcome, usual)| {
                let of = |person| usual.rule(outcome, own + level * groups.people + person, onset);
                (0..groups.people).map(of).min().unwrap_or_default()
            })
        };
        let (alarm, already_on) = alarm(log, onset);
        Self {
            onset,
            rest: rest(onset, length),
            alarm,
            already_on,
            first: first(without, &usual.without, own, onset),
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

    /// Time from the first alarm after the onset to the first limit without any response: what there is to act in.
    #[must_use]
    pub fn notice(&self) -> Censored {
        if self.failed.is_some() {
            return Censored::NEVER;
        }
        let alarm = match &self.alarm {
            Some(alarm) => After::Came(alarm.after),
            None if self.already_on => After::Before,
            None => After::Not,
        };
        margin(self.first.after, alarm, self.rest)
    }

    /// The response was done before the limit that it is to keep, and one is crossed all the same.
    #[must_use]
    pub fn in_vain(&self) -> bool {
        self.done.came() && self.margin().in_time() && self.first_with.after.came()
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

/// The first of a scenario's own rules to be crossed, or the end of what can be lived through.
fn first(outcome: &Outcome, usual: &Crossings, own: usize, onset: Time) -> First {
    let rules = (0..own).map(|rule| (Cause::Rule(rule), usual.rule(outcome, rule, onset)));
    let end = (Cause::NotSurvivable, usual.not_survivable(outcome, onset));
    let mut first = First::default();
    for (cause, after) in rules.chain([end]) {
        if after < first.after {
            first = First {
                cause: Some(cause),
                after,
            };
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
    use breathroom_sim::engine::{End, RuleOutcome};

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
        let usual = Usual {
            with: Crossings::of(&outcome(&[0, 0, 0, 0, 125])),
            without: Crossings::of(&outcome(&[230, 220, 0, 120, 0])),
        };
        let look = Look::of(min(100), min(1000), &groups(), &usual, (&without, &with, &log));
        // Of the first rule's people one would have crossed it then anyhow, the other 5 min later; of the level's one would anyhow.
        assert_eq!(look.limits, [After::Came(min(125)), After::Not]);
        assert_eq!(look.first.cause, Some(Cause::Rule(0)));
        assert_eq!(look.effects, [[After::Came(min(20)), After::Not]]);
        assert_eq!(look.first_with, First::default());
        assert_eq!(look.done, After::Came(min(63)));
        let alarm = look.alarm.expect("an alarm");
        assert_eq!((alarm.after, alarm.is_false, look.already_on), (min(41), false, false));
        assert!((look.margin().seconds - 62.0 * 60.0).abs() < 1e-6 && !look.margin().more);
        assert!((look.notice().seconds - 84.0 * 60.0).abs() < 1e-6 && !look.in_vain());
        assert_eq!(look.rank(true)[1], look.to_limit().seconds);
        // Seen from 30 min, the alarm is on already and the response of before is done.
        let look = Look::of(min(30), min(1000), &groups(), &usual, (&without, &with, &log[..2]));
        assert!(look.already_on && look.alarm.is_none());
        assert_eq!(look.notice().seconds, 195.0 * 60.0);
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
        let look = Look::of(min(100), min(1000), &groups(), &Usual::default(), (&ended, &ended, &[]));
        assert_eq!(look.first.cause, Some(Cause::NotSurvivable));
        assert_eq!(look.rank(false)[0], 50.0 * 60.0);
        assert_eq!(look.margin(), Censored::NEVER);
        let failed = Look::failed(min(100), min(1000), RunError::Invalid("x"));
        assert_eq!(
            [failed.margin(), failed.to_limit(), failed.notice()],
            [Censored::NEVER; 3]
        );
    }

    #[test]
    fn done_in_time_and_a_limit_all_the_same_is_in_vain() {
        let without = outcome(&[225, 0, 0, 0, 0]);
        let with = Outcome {
            responses: vec![response(141, 163)],
            ..outcome(&[240, 0, 0, 0, 0])
        };
        let look = |without| Look::of(min(100), min(1000), &groups(), &Usual::default(), (without, &with, &[]));
        assert!(look(&without).in_vain());
        // Not in time: the limit is not crossed in spite of a timely response.
        assert!(!look(&outcome(&[150, 0, 0, 0, 0])).in_vain());
    }
}
