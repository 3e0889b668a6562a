//! Times from the onset of a fault, and what is left of them.
//!
//! ```text
//! margin = L - D      L  to the first limit without any response      D  to the completed response
//! no limit within the run:          more than R - D                   R  from the onset to the end of the run
//! a limit, and never a completed response:   minus infinity (not in time)
//! ```
//!
//! Times in s. A limit that was crossed before the onset has L = 0. A margin that is only known to be more than a value (the run ends first) is
//! kept as that value with a mark: *censored*.

use std::cmp::Ordering;

use breathroom_sim::units::Time;

/// When something came, seen from the onset.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum After {
    /// It was so before the onset.
    Before,
    /// So long after it.
    Came(Time),
    /// Not within the run.
    #[default]
    Not,
}

impl After {
    /// Of something that came at this time, or never.
    #[must_use]
    pub fn of(at: Option<Time>, onset: Time) -> Self {
        match at {
            None => Self::Not,
            Some(at) if at <= onset => Self::Before,
            Some(at) => Self::Came(at - onset),
        }
    }

    /// How long after the onset; nothing for before, none if it did not come.
    #[must_use]
    pub fn time(self) -> Option<Time> {
        match self {
            Self::Before => Some(Time::ZERO),
            Self::Came(after) => Some(after),
            Self::Not => None,
        }
    }

    /// Whether it came, before or after.
    #[must_use]
    pub fn came(self) -> bool {
        self != Self::Not
    }
}

/// A time, or that it is more than that.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Censored {
    /// s; minus infinity: not in time.
    pub seconds: f64,
    /// It is only known to be more.
    pub more: bool,
}

impl Censored {
    /// Not in time, whatever is done; also of a run that could not be finished.
    pub const NEVER: Self = Self {
        seconds: f64::NEG_INFINITY,
        more: false,
    };

    /// In time.
    #[must_use]
    pub fn in_time(self) -> bool {
        self.seconds >= 0.0
    }

    /// Order for statistics: by value; of equals what is exact first.
    #[must_use]
    pub fn order(self, other: Self) -> Ordering {
        self.seconds.total_cmp(&other.seconds).then(self.more.cmp(&other.more))
    }
}

/// Time to the first limit: what is only known to be longer than the rest of the run is marked.
#[must_use]
pub fn to_limit(first: After, rest: Time) -> Censored {
    Censored {
        seconds: first.time().unwrap_or(rest).seconds(),
        more: !first.came(),
    }
}

/// Time left when the response is completed.
#[must_use]
pub fn margin(first: After, done: After, rest: Time) -> Censored {
    match (done.time(), first.time()) {
        // Of whole nanoseconds, so that equal times leave nothing.
        (Some(done), limit) => Censored {
            seconds: (limit.unwrap_or(rest) - done).seconds(),
            more: limit.is_none(),
        },
        // Nothing was crossed, so nothing had to be done.
        (None, None) => to_limit(first, rest),
        (None, Some(_)) => Censored::NEVER,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn min(minutes: f64) -> Time {
        Time::from_seconds(60.0 * minutes)
    }

    fn exact(minutes: f64) -> Censored {
        Censored {
            seconds: min(minutes).seconds(),
            more: false,
        }
    }

    fn more(minutes: f64) -> Censored {
        Censored {
            more: true,
            ..exact(minutes)
        }
    }

    #[test]
    fn what_came_at_the_onset_was_there_before() {
        assert_eq!(After::of(None, min(5.0)), After::Not);
        assert_eq!(After::of(Some(min(5.0)), min(5.0)), After::Before);
        assert_eq!(After::of(Some(min(7.0)), min(5.0)), After::Came(min(2.0)));
        assert!(After::Before < After::Came(Time::ZERO) && After::Came(min(1e6)) < After::Not);
    }

    #[test]
    fn the_margin_is_from_the_completed_response_to_the_limit() {
        let rest = min(600.0);
        let (limit, done) = (After::Came(min(125.0)), After::Came(min(63.0)));
        assert_eq!(margin(limit, done, rest), exact(62.0));
        assert_eq!(margin(done, limit, rest), exact(-62.0));
        assert!(!margin(done, limit, rest).in_time());
        // A limit that was crossed before leaves no time, though the response comes.
        assert_eq!(margin(After::Before, done, rest), exact(-63.0));
        // All was done before the fault.
        assert_eq!(margin(limit, After::Before, rest), exact(125.0));
    }

    #[test]
    fn without_a_limit_it_is_more_and_without_a_response_there_is_none() {
        let rest = min(600.0);
        assert_eq!(margin(After::Not, After::Came(min(63.0)), rest), more(537.0));
        assert_eq!(margin(After::Not, After::Not, rest), more(600.0));
        assert_eq!(margin(After::Came(min(10.0)), After::Not, rest), Censored::NEVER);
        assert_eq!(to_limit(After::Not, rest), more(600.0));
    }
}
