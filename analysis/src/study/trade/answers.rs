//! Rows side by side: what each gives, how it differs from the baseline, and whether that is more than chance.
//!
//! Every interval is at [`CONFIDENCE`] by itself. The verdict is of all comparisons together: with m of them (rows but the baseline, times
//! what is asked) each is judged at 1 - (1 - [`CONFIDENCE`]) / m (Bonferroni), so that a table in which nothing differs says so throughout with that
//! confidence. A difference below [`RESOLUTION`] of the values is what another order of the same arithmetic may leave, and counts as none.

use rayon::prelude::*;

use super::{CONFIDENCE, Known, RowRuns, Statistic};
use crate::stats::pairs::Difference;

/// The part of a value below which a difference is the arithmetic's, not the design's: the accuracy that the engine is tested to.
pub const RESOLUTION: f64 = 1e-6;

/// What is asked of every row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Index of the measure.
    pub measure: usize,
    /// What is told of it.
    pub statistic: Statistic,
}

/// What a row gives.
#[derive(Clone, Debug, PartialEq)]
pub struct RowAnswer {
    /// By what is asked.
    pub known: Vec<Known>,
    /// Its difference from the baseline, likewise; none of the baseline itself, and where it cannot be known.
    pub differences: Vec<Option<Told>>,
}

/// A difference and what it says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// Row minus baseline, with its own interval.
    pub difference: Difference,
    /// Judged with all others.
    pub verdict: Verdict,
}

/// Whether a difference is more than chance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// No difference is seen at this number of variations.
    NotSeen,
    /// The row has more.
    More,
    /// The row has less.
    Less,
}

/// What rows give, and how they differ from the baseline; `None` of a row that there are no variations of. On the threads of the pool
/// that this is called in.
#[must_use]
pub fn answers(rows: &[Option<RowRuns>], baseline: usize, asked: &[Asked], seed: u64) -> Vec<Option<RowAnswer>> {
    let base = rows.get(baseline).and_then(Option::as_ref);
    let others = rows.iter().filter(|row| row.is_some()).count().saturating_sub(1);
    let comparisons = (others * asked.len()).max(1) as f64;
    let together = 1.0 - (1.0 - CONFIDENCE) / comparisons;
    let told = |row: &RowRuns, base: &RowRuns, of: &Asked| {
        let pair = (&row.values[of.measure][..], &base.values[of.measure][..]);
        let difference = of.statistic.difference(pair, CONFIDENCE, seed)?;
        let judged = of.statistic.difference(pair, together, seed)?;
        let values = [&row.values, &base.values].map(|values| of.statistic.of(&values[of.measure]).value.abs());
        let of_note = judged.value.abs() > RESOLUTION * values[0].max(values[1]);
        let verdict = match judged.is_seen() && of_note {
            false => Verdict::NotSeen,
            true if judged.value > 0.0 => Verdict::More,
            true => Verdict::Less,
        };
        Some(Told { difference, verdict })
    };
    let answer = |(index, row): (usize, &Option<RowRuns>)| {
        let row = row.as_ref()?;
        let known = asked
            .iter()
            .map(|of| of.statistic.of(&row.values[of.measure]))
            .collect();
        let base = base.filter(|_| index != baseline);
        let differences = asked
            .iter()
            .map(|of| base.and_then(|base| told(row, base, of)))
            .collect();
        Some(RowAnswer { known, differences })
    };
    rows.par_iter().enumerate().map(answer).collect()
}

/// How a row stands among all, by objectives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// No row beats it.
    Front,
    /// On the front, and its knee.
    Knee,
    /// That row beats it, in at least one objective by more than chance.
    Beaten(usize),
    /// That row beats it, in nothing by more than chance.
    WithinChance(usize),
    /// An objective is not known.
    Unknown,
}

/// How rows stand, by objectives of which less is better; `seen(a, b, objective)` says whether two rows differ there by more than chance.
#[must_use]
pub fn standings(objectives: &[Vec<f64>], seen: &(dyn Fn(usize, usize, usize) -> bool + Sync)) -> Vec<Standing> {
    use crate::stats::front::{beats, front, knee};
    let on = front(objectives);
    let knee = knee(objectives, &on);
    let known = |row: usize| objectives[row].iter().all(|value| value.is_finite());
    let stand = |row: usize| {
        if on.contains(&row) {
            return if knee == Some(row) {
                Standing::Knee
            } else {
                Standing::Front
            };
        }
        if !known(row) {
            return Standing::Unknown;
        }
        let beaten_by = |other: &usize| known(*other) && beats(&objectives[*other], &objectives[row]);
        let surely = |other: &usize| {
            let by = |of: usize| objectives[*other][of] < objectives[row][of] && seen(*other, row, of);
            (0..objectives[row].len()).any(by)
        };
        // Those on the front first: they are what one would take instead.
        let others: Vec<usize> = on
            .iter()
            .copied()
            .chain((0..objectives.len()).filter(|other| !on.contains(other)))
            .filter(beaten_by)
            .collect();
        match others.iter().copied().find(surely) {
            Some(other) => Standing::Beaten(other),
            None => others
                .first()
                .map_or(Standing::Unknown, |other| Standing::WithinChance(*other)),
        }
    };
    (0..objectives.len()).into_par_iter().map(stand).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Gate;

    fn row(shift: f64, noise: f64) -> Option<RowRuns> {
        let value =
            |i: u32| f64::from((i * 193) % 400) / 400.0 + shift + noise * (f64::from((i * 71) % 400) / 400.0 - 0.5);
        Some(RowRuns {
            values: vec![(0..400).map(value).collect()],
            ..RowRuns::default()
        })
    }

    #[test]
    fn a_table_says_what_differs_and_what_does_not() {
        let rows = [row(0.0, 0.0), row(0.2, 0.1), row(0.0005, 0.4), None, row(-0.3, 0.1)];
        let asked: Vec<Asked> = [Statistic::Kept(Gate::USUAL), Statistic::Mean, Statistic::Beyond]
            .into_iter()
            .map(|statistic| Asked { measure: 0, statistic })
            .collect();
        let all = answers(&rows, 0, &asked, 1);
        let verdicts = |row: usize| -> Vec<Option<Verdict>> {
            let answer = all[row].as_ref().expect("ran");
            answer
                .differences
                .iter()
                .map(|told| told.map(|told| told.verdict))
                .collect()
        };
        assert_eq!(verdicts(0), [None; 3]);
        assert_eq!(verdicts(1)[..2], [Some(Verdict::More); 2]);
        // The same mean, but more scatter: more are beyond.
        assert_eq!(verdicts(2)[1..], [Some(Verdict::NotSeen), Some(Verdict::More)]);
        assert_eq!(
            verdicts(4),
            [Some(Verdict::Less), Some(Verdict::Less), Some(Verdict::More)]
        );
        assert!(all[3].is_none());
        let told = all[1].as_ref().and_then(|answer| answer.differences[1]).expect("told");
        assert!((told.difference.value - 0.2).abs() < 1e-3);
    }

    /// The more comparisons, the more a difference must be to count.
    #[test]
    fn many_comparisons_are_judged_together() {
        let asked = [Asked {
            measure: 0,
            statistic: Statistic::Mean,
        }];
        // A difference of 2.4 standard errors: beyond chance alone, not among 100.
        let error = 0.4 / 12.0_f64.sqrt() / 20.0;
        let slight = row(2.4 * error, 0.4);
        let alone = answers(&[row(0.0, 0.0), slight.clone()], 0, &asked, 1);
        let many: Vec<Option<RowRuns>> = [row(0.0, 0.0)]
            .into_iter()
            .chain(std::iter::repeat_n(slight, 100))
            .collect();
        let among = answers(&many, 0, &asked, 1);
        let verdict = |all: &[Option<RowAnswer>]| {
            all[1]
                .as_ref()
                .and_then(|row| row.differences[0])
                .map(|told| told.verdict)
        };
        assert_eq!(
            (verdict(&alone), verdict(&among)),
            (Some(Verdict::More), Some(Verdict::NotSeen))
        );
    }

    /// What rounding leaves is the same in every pair, and no difference.
    #[test]
    fn what_rounding_leaves_is_no_difference() {
        let asked = [Asked {
            measure: 0,
            statistic: Statistic::Mean,
        }];
        let of = |shift: f64| {
            let all = answers(&[row(1.0, 0.0), row(1.0 + shift, 0.0)], 0, &asked, 1);
            all[1]
                .as_ref()
                .and_then(|row| row.differences[0])
                .map(|told| told.verdict)
        };
        assert_eq!(of(1e-9), Some(Verdict::NotSeen));
        assert_eq!(of(1e-5), Some(Verdict::More));
    }

    #[test]
    fn rows_stand_on_the_front_or_are_beaten_surely_or_not() {
        let objectives: Vec<Vec<f64>> = [
            [0.0, 10.0],
            [2.0, 3.0],
            [10.0, 0.0],
            [3.0, 4.0],
            [2.0, 3.1],
            [f64::NAN, 0.0],
        ]
        .iter()
        .map(|row| row.to_vec())
        .collect();
        let seen = |a: usize, b: usize, _: usize| (a, b) != (1, 4);
        assert_eq!(
            standings(&objectives, &seen),
            [
                Standing::Front,
                Standing::Knee,
                Standing::Front,
                Standing::Beaten(1),
                Standing::WithinChance(1),
                Standing::Unknown
            ]
        );
    }
}
