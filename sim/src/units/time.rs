//! Time as the engine counts it: whole nanoseconds from the start of the run.

use std::fmt;
use std::ops::{Add, Sub};

/// An instant or a length of time, in whole nanoseconds.
///
/// Integers make simultaneity exact: two effects due "at 90 minutes" meet whatever way they were computed.
/// The range (± 292 years) is far beyond any scenario.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Time(pub i64);

impl Time {
    /// The start of the run.
    pub const ZERO: Self = Self(0);
    /// Later than anything.
    pub const NEVER: Self = Self(i64::MAX);

    /// The nearest nanosecond to `seconds`; saturates at the ends of the range, NaN becomes zero.
    #[must_use]
    pub fn from_seconds(seconds: f64) -> Self {
        Self(libm::round(seconds * 1e9) as i64)
    }

    /// The first nanosecond not before `seconds`: how a located crossing becomes an instant.
    #[must_use]
    pub fn from_seconds_up(seconds: f64) -> Self {
        Self(libm::ceil(seconds * 1e9) as i64)
    }

    /// Seconds.
    #[must_use]
    pub fn seconds(self) -> f64 {
        self.0 as f64 * 1e-9
    }

    /// Hours.
    #[must_use]
    pub fn hours(self) -> f64 {
        self.seconds() / 3600.0
    }
}

impl Add for Time {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Time {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl fmt::Display for Time {
    /// `3 h 05 min 12.5 s`, for messages and logs.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let total_s = self.seconds();
        let hours = libm::floor(total_s / 3600.0);
        let minutes = libm::floor((total_s - 3600.0 * hours) / 60.0);
        let seconds = total_s - 3600.0 * hours - 60.0 * minutes;
        write!(f, "{hours:.0} h {minutes:02.0} min {seconds:04.1} s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossing_is_rounded_up() {
        assert_eq!(Time::from_seconds_up(1.000_000_000_1e-9), Time(2));
        assert_eq!(Time::from_seconds(1.4e-9), Time(1));
    }

    #[test]
    fn it_reads_as_a_clock() {
        assert_eq!(Time::from_seconds(3912.5).to_string(), "1 h 05 min 12.5 s");
    }
}
