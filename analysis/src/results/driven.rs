//! What holds a margin, in a sentence for each limit.
//!
//! From sensitivity indices: the factors with the largest total indices, at most three, each with the share of the variance that it holds
//! alone, and beside it the share with others where that is clearly more. From rank correlations alone something weaker
//! can be said: what the margin goes with. What does not stand out of the noise is not named.

use breathroom_sim::units::figures;

/// At most so many are named.
const MOST_NAMED: usize = 3;
/// A total share below this holds nothing worth a word, however surely it is known.
const LEAST_SHARE: f64 = 0.01;
/// Total and first order further apart than this, and their intervals too, are both told.
const TOGETHER: f64 = 0.05;

/// A factor's indices, each with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share<'a> {
    /// Its name: see [`factor`].
    pub name: &'a str,
    /// The share of the variance it holds alone, and its interval.
    pub first: (f64, [f64; 2]),
    /// That with what it acts together with.
    pub total: (f64, [f64; 2]),
}

/// The name of inputs that are drawn together: "a", "a with b", "a with b and c".
#[must_use]
pub fn factor<S: AsRef<str>>(paths: &[S]) -> String {
    let paths: Vec<&str> = paths.iter().map(AsRef::as_ref).collect();
    match paths.split_first() {
        None => "?".to_owned(),
        Some((first, [])) => (*first).to_owned(),
        Some((first, others)) => format!("{first} with {}", listed(others)),
    }
}

/// What holds a margin, from sensitivity indices: "The margin of co2-1h (cabin) is held by removal.scrubber.flow (61 % of its
/// variance), tasks.don.duration (20 %) and crew.second.mass (5 %)."
#[must_use]
pub fn held_by(limit: &str, shares: &[Share<'_>]) -> String {
    let mut named: Vec<&Share<'_>> = shares
        .iter()
        .filter(|share| share.total.0 >= LEAST_SHARE && share.total.1[0] > 0.0)
        .collect();
    // Stable: equals stay in the order given.
    named.sort_by(|a, b| b.total.0.total_cmp(&a.total.0));
    named.truncate(MOST_NAMED);
    // As they are read: the largest number first.
    named.sort_by(|a, b| shown(b).total_cmp(&shown(a)));
    if named.is_empty() {
        return format!("Nothing stands out of the noise as holding the margin of {limit}.");
    }
    let told: Vec<String> = named
        .iter()
        .enumerate()
        .map(|(place, share)| told(share, if place == 0 { " of its variance" } else { "" }))
        .collect();
    format!("The margin of {limit} is held by {}.", listed(&told))
}

/// Whether a factor holds clearly more with others than alone.
fn acts_together(share: &Share<'_>) -> bool {
    share.total.0 - share.first.0 > TOGETHER && share.total.1[0] > share.first.1[1]
}

/// The largest number told of a factor: with what it acts together with, or what it holds alone; where that is not surely above nothing
/// and there is no more than noise beside it, what it holds in all.
fn shown(share: &Share<'_>) -> f64 {
    if acts_together(share) || share.first.1[0] <= 0.0 {
        share.total.0
    } else {
        share.first.0
    }
}

fn told(share: &Share<'_>, of: &str) -> String {
    let (first, total) = (share.first, share.total);
    if acts_together(share) {
        format!(
            "{} ({}{of} alone, {} with what it acts together with)",
            share.name,
            percent(first.0),
            percent(total.0)
        )
    } else {
        format!("{} ({}{of})", share.name, percent(shown(share)))
    }
}

/// Whole per cent, from 0 to 100: what noise puts outside is not a share.
fn percent(share: f64) -> String {
    let percent = (100.0 * share).round().clamp(0.0, 100.0) as u32;
    format!("{percent} %")
}

/// Why there are no indices: the margin was the same in all of `rows` rows, or too few of them could be used.
#[must_use]
pub fn not_told(limit: &str, rows: usize, left_out: usize, least: usize) -> String {
    if rows >= least {
        format!("The margin of {limit} does not vary: nothing holds it.")
    } else {
        format!(
            "What holds the margin of {limit} is not known: only {rows} of {} rows could be used, {least} are needed (in the \
             others a run failed, or the limit never applied).",
            rows + left_out
        )
    }
}

/// What a margin goes with, from rank correlations; those within `noise` of 0 are not told from chance: "The margin of
/// co2-1h (cabin) goes most with removal.scrubber.flow (rank correlation 0.61) and tasks.don.duration (-0.33)."
#[must_use]
pub fn goes_with(limit: &str, correlations: &[(&str, f64)], noise: f64) -> String {
    let mut named: Vec<(&str, f64)> = correlations
        .iter()
        .copied()
        .filter(|(_, correlation)| correlation.abs() > noise)
        .collect();
    named.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    named.truncate(MOST_NAMED);
    if named.is_empty() {
        return format!(
            "The margin of {limit} goes with no input beyond the noise (rank correlations within {} of 0).",
            figures(noise, 2)
        );
    }
    let told: Vec<String> = named
        .iter()
        .enumerate()
        .map(|(place, (name, correlation))| {
            let what = if place == 0 { "rank correlation " } else { "" };
            format!("{name} ({what}{})", figures(*correlation, 2))
        })
        .collect();
    format!("The margin of {limit} goes most with {}.", listed(&told))
}

/// "a", "a and b", "a, b and c".
fn listed<S: AsRef<str>>(items: &[S]) -> String {
    let items: Vec<&str> = items.iter().map(AsRef::as_ref).collect();
    match items.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(name: &str, first: f64, total: f64) -> Share<'_> {
        let around = |value: f64| (value, [value - 0.02, value + 0.02]);
        Share {
            name,
            first: around(first),
            total: around(total),
        }
    }

    #[test]
    fn the_three_that_hold_it_are_named() {
        let shares = [
            share("crew.second.mass", 0.051, 0.05),
            share("removal.scrubber.flow", 0.61, 0.62),
            share("air.co2", 0.03, 0.031),
            share("tasks.don.duration", 0.2, 0.21),
        ];
        assert_eq!(
            held_by("co2-1h (cabin)", &shares),
            "The margin of co2-1h (cabin) is held by removal.scrubber.flow (61 % of its variance), tasks.don.duration (20 %) \
             and crew.second.mass (5 %)."
        );
        assert_eq!(
            held_by("x", &shares[2..3]),
            "The margin of x is held by air.co2 (3 % of its variance)."
        );
    }

    #[test]
    fn what_acts_together_is_told() {
        let shares = [share("a", 0.31, 0.56), share("b", -0.004, 0.24), share("c", 0.44, 0.44)];
        assert_eq!(
            held_by("x", &shares),
            "The margin of x is held by a (31 % of its variance alone, 56 % with what it acts together with), c (44 %) and b \
             (0 % alone, 24 % with what it acts together with)."
        );
    }

    #[test]
    fn noise_is_not_named() {
        assert_eq!(
            held_by("x", &[share("a", 0.01, 0.015), share("b", 0.0, 0.0)]),
            "Nothing stands out of the noise as holding the margin of x."
        );
        assert_eq!(held_by("x", &[]), held_by("x", &[share("a", 0.0, 0.01)]));
        // Surely known, but nothing worth a word.
        let tiny = Share {
            name: "a",
            first: (0.003, [0.002, 0.004]),
            total: (0.003, [0.002, 0.004]),
        };
        assert_eq!(held_by("x", &[tiny]), held_by("x", &[]));
    }

    #[test]
    fn no_indices_say_why() {
        assert_eq!(
            not_told("x", 100, 0, 32),
            "The margin of x does not vary: nothing holds it."
        );
        let text = not_told("x", 12, 88, 32);
        assert!(
            text.contains("only 12 of 100 rows could be used, 32 are needed"),
            "{text}"
        );
    }

    #[test]
    fn correlations_say_less() {
        let all = [
            ("crew.mass", 0.05),
            ("flow", -0.613),
            ("duration", 0.333),
            ("volume", 0.2),
            ("co2", 0.12),
        ];
        assert_eq!(
            goes_with("co2", &all, 0.09),
            "The margin of co2 goes most with flow (rank correlation -0.61), duration (0.33) and volume (0.2)."
        );
        assert_eq!(
            goes_with("co2", &all[..1], 0.0949),
            "The margin of co2 goes with no input beyond the noise (rank correlations within 0.095 of 0)."
        );
    }

    #[test]
    fn inputs_drawn_together_are_one_name() {
        assert_eq!(factor(&["a"]), "a");
        assert_eq!(factor(&["a", "b"]), "a with b");
        assert_eq!(factor(&["a", "b", "c"]), "a with b and c");
        assert_eq!(factor::<&str>(&[]), "?");
    }
}
