//! What the tests of intervals share: keyed draws, and the band that a coverage must lie in.

use crate::chance::Streams;

/// How often each interval is made.
pub(super) const REPETITIONS: u64 = 2_000;

/// Draws for the repetitions of one test.
pub(super) struct Draws(Streams);

impl Draws {
    pub(super) fn new(test: &str) -> Self {
        Self(Streams::new(4, &[test]))
    }

    /// The uniform `i` of group `group` in repetition `repetition`.
    pub(super) fn uniform(&self, repetition: u64, group: u64, i: u64) -> f64 {
        self.0.variation(repetition).uniform_at(0, i as u32, group as u32, 0)
    }
}

/// Share of the repetitions in which `covers` holds.
pub(super) fn share(mut covers: impl FnMut(u64) -> bool) -> f64 {
    (0..REPETITIONS).filter(|&repetition| covers(repetition)).count() as f64 / REPETITIONS as f64
}

/// Four standard deviations of a share whose chance is `nominal`: passed by chance once in 16,000.
pub(super) fn band(nominal: f64) -> f64 {
    4.0 * (nominal * (1.0 - nominal) / REPETITIONS as f64).sqrt()
}

/// For an interval whose coverage is known.
pub(super) fn assert_covers(share: f64, exact: f64, what: &str) {
    assert!(
        (share - exact).abs() <= band(exact),
        "{what}: covered {share}, should be {exact}"
    );
}

/// For one that covers with at least the stated confidence.
pub(super) fn assert_covers_at_least(share: f64, nominal: f64, what: &str) {
    assert!(
        share >= nominal - band(nominal),
        "{what}: covered {share}, should be at least {nominal}"
    );
}
