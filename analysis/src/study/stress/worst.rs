//! The worst onset: a grid over the run, then finer grids around the best few of what was found, until they are a minute apart.
//!
//! ```text
//! t_i = i T / N, i = 0 .. N - 1       h = T / N, then h / 4, h / 16 ... 1 min, each within h of the few least so far
//! ```
//!
//! `T` length of the run, `N` onsets of the first grid. Nothing assumes that there is one minimum or that time falls or rises with the onset;
//! what lies between two points of the first grid without showing at either is missed. The least is by [`Rank`], and of equals the
//! earliest.

use breathroom_sim::units::Time;

/// Finest spacing of onsets.
pub const FINEST: Time = Time(60_000_000_000);

/// Around how many of the least a finer grid is laid.
const FEW: usize = 3;

/// How much finer each grid is than the one before.
const FINER: i64 = 4;

/// How bad an onset is: the less, the worse; then the second number. Infinity: nothing happens.
pub type Rank = [f64; 2];

/// The onsets that were looked at, in order of time, and the worst of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Looked<L> {
    /// Each with what was seen.
    pub looks: Vec<(Time, L)>,
    /// Index of the worst.
    pub worst: usize,
}

/// Finds the worst onset of a run of this length. `look` looks at several onsets at once.
///
/// # Errors
/// What `look` says.
pub fn search<L, E>(
    length: Time,
    onsets: u32,
    rank: impl Fn(&L) -> Rank,
    mut look: impl FnMut(&[Time]) -> Result<Vec<L>, E>,
) -> Result<Looked<L>, E> {
    let n = i64::from(onsets.max(1));
    let mut step = (length.0 / n).max(1);
    let mut next: Vec<Time> = (0..n)
        .map(|i| Time((i128::from(length.0) * i128::from(i) / i128::from(n)) as i64))
        .collect();
    next.dedup();
    let mut looks: Vec<(Time, L)> = Vec::new();
    loop {
        let seen = look(&next)?;
        looks.extend(next.iter().copied().zip(seen));
        looks.sort_by_key(|(onset, _)| *onset);
        if step <= FINEST.0 {
            break;
        }
        let least = least(&looks, step, &rank);
        let finer = (step / FINER).max(FINEST.0);
        next = around(&least, step, finer, length);
        next.retain(|onset| looks.binary_search_by_key(onset, |(at, _)| *at).is_err());
        step = finer;
        if next.is_empty() {
            break;
        }
    }
    let mut worst = 0;
    for index in 1..looks.len() {
        if is_less(rank(&looks[index].1), rank(&looks[worst].1)) {
            worst = index;
        }
    }
    Ok(Looked { looks, worst })
}

fn is_less(a: Rank, b: Rank) -> bool {
    a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])).is_lt()
}

/// The few least, each at least a step from the others, so that one dip does not take all the looks.
fn least<L>(looks: &[(Time, L)], step: i64, rank: &impl Fn(&L) -> Rank) -> Vec<Time> {
    let mut by_rank: Vec<(Rank, Time)> = looks
        .iter()
        .map(|(onset, look)| (rank(look), *onset))
        .filter(|(rank, _)| rank[0] < f64::INFINITY)
        .collect();
    by_rank.sort_by(|(a, at), (b, bt)| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])).then(at.cmp(bt)));
    let mut found: Vec<Time> = Vec::new();
    for (_, onset) in by_rank {
        if found.iter().all(|other| (other.0 - onset.0).abs() >= step) {
            found.push(onset);
        }
        if found.len() == FEW {
            break;
        }
    }
    found
}

/// Onsets within a step of each of these, so far apart, inside the run.
fn around(centres: &[Time], step: i64, apart: i64, length: Time) -> Vec<Time> {
    let mut onsets = Vec::new();
    for centre in centres {
        let mut off = apart;
        while off < step {
            onsets.extend([Time(centre.0 - off), Time(centre.0 + off)]);
            off += apart;
        }
    }
    onsets.retain(|onset| (0..length.0).contains(&onset.0));
    onsets.sort_unstable();
    onsets.dedup();
    onsets
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINUTE: i64 = 60_000_000_000;

    fn minutes(onset: Time) -> f64 {
        onset.0 as f64 / MINUTE as f64
    }

    /// Of a course over the onset in minutes, in a run of so many minutes: the worst onset and its value.
    fn worst(run_min: i64, course: impl Fn(f64) -> f64) -> (f64, f64, usize) {
        let look = |onsets: &[Time]| -> Result<Vec<f64>, ()> {
            Ok(onsets.iter().map(|onset| course(minutes(*onset))).collect())
        };
        let looked = search(Time(run_min * MINUTE), 24, |value| [*value, 0.0], look).expect("looked");
        assert!(looked.looks.is_sorted_by(|a, b| a.0 < b.0), "each onset once, in order");
        let (onset, value) = looked.looks[looked.worst];
        (minutes(onset), value, looked.looks.len())
    }

    #[test]
    fn a_dip_is_found_to_a_minute() {
        let (onset, value, looks) = worst(24 * 60, |at| (at - 553.0).abs());
        assert!((onset - 553.0).abs() <= 1.0 && value <= 1.0, "{onset} {value}");
        assert!(looks < 120, "{looks}");
    }

    #[test]
    fn the_deeper_of_several_dips_is_found_though_the_grid_shows_another() {
        // At the hours the shallow dip at 180 shows as 10, the deep one at 931 as 22.
        let course = |at: f64| ((at - 180.0).abs() + 10.0).min(2.0 * (at - 931.0).abs());
        let (onset, value, _) = worst(24 * 60, course);
        assert!((onset - 931.0).abs() <= 1.0 && value <= 2.0, "{onset} {value}");
    }

    #[test]
    fn of_equals_the_earliest_and_where_nothing_happens_the_first() {
        assert_eq!(worst(24 * 60, |_| f64::NEG_INFINITY).0, 0.0);
        let (onset, value, looks) = worst(24 * 60, |_| f64::INFINITY);
        assert_eq!((onset, value, looks), (0.0, f64::INFINITY, 24));
    }

    #[test]
    fn a_short_run_is_not_refined_and_what_fails_is_told() {
        assert_eq!(worst(20, |at| -at).2, 24);
        let failed = search(Time(MINUTE), 4, |_: &f64| [0.0; 2], |_| Err("no"));
        assert_eq!(failed, Err("no"));
    }
}
