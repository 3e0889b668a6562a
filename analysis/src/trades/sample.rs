//! `sample`: rows spread evenly over everything that the factors span.
//!
//! Point k takes of each factor a number u in (0, 1) from a scrambled Sobol sequence ([`crate::chance`]), one dimension to a factor, in
//! file order: the first 2^m points have one in each of 2^m equal parts of every factor. A range without steps is taken at u; of n
//! levels or options the one of index n u, rounded down. Points that fall on a row that is there are left out.

use breathroom_sim::scenario::Luck as _;
use breathroom_sim::text::Entry;

use crate::chance::{Design, Draws, FEWEST_RUNS, InputKey, REPLICATES};

use super::MOST_ROWS;
use super::apply::Reading;
use super::factor::{Factor, Kind};
use super::level::{self, Level};
use super::rows::{Draft, digits, name};
use super::sheet::{Sheet, wrong};

const KEYS: &[&str] = &["count", "seed"];
/// Seed of a sample that names none.
const SEED: u64 = 1;

/// Rows of the sample; none after a fault.
pub(super) fn read(reading: &mut Reading<'_>, factors: &[Factor], entry: &Entry) -> Option<Vec<Draft>> {
    let texts = &mut reading.texts;
    let Some(table) = entry.node.table() else {
        return wrong(texts, "sample", &entry.node, "a table", "{ count = 32, seed = 1 }");
    };
    let sheet = Sheet::new(texts, table, "sample", &entry.key_spot, KEYS);
    if sheet.get("count").is_none() {
        sheet.missing(texts, "count", "add e.g. count = 32");
    }
    let seed = match sheet.get("seed") {
        None => Some(SEED),
        Some(_) => sheet.whole(texts, "seed", 0..=i64::MAX),
    };
    let count = sheet.whole(texts, "count", 1..=MOST_ROWS as i64)? as usize;
    let points = points(factors, count, seed?);
    let mut drafts: Vec<Draft> = Vec::new();
    let digits = digits(count);
    for point in points {
        let levels: Vec<Option<Level>> = factors.iter().zip(point).map(|(f, u)| level(reading, f, u)).collect();
        let levels: Vec<Level> = levels.into_iter().collect::<Option<_>>()?;
        if !drafts
            .iter()
            .any(|d| d.levels.iter().zip(&levels).all(|(a, b)| a.is(b)))
        {
            let name = name(drafts.len(), digits);
            drafts.push(Draft { name, levels });
        }
    }
    let twice = count - drafts.len();
    if twice > 0 {
        let message = format!("{twice} of {count} points fall on rows that are there already and are left out");
        reading
            .texts
            .warn(&entry.node.spot, message, "a smaller `count` is enough");
    }
    Some(drafts)
}

/// One number in (0, 1) for each factor, of each point.
fn points(factors: &[Factor], count: usize, seed: u64) -> Vec<Vec<f64>> {
    let inputs: Vec<InputKey<'_>> = factors
        .iter()
        .map(|factor| InputKey {
            path: &factor.name,
            once: true,
        })
        .collect();
    let replicates = u64::from(REPLICATES);
    let runs = (replicates * count as u64).max(FEWEST_RUNS);
    let draws = Draws::new(seed, Design::Sobol, runs, &inputs, &[])
        .expect("points of a sample are few, and none goes with another");
    // One replicate is one sequence.
    let of = |k: usize| draws.variation(replicates * k as u64);
    (0..count)
        .map(|k| (0..factors.len()).map(|f| of(k).uniform(f, 0, 0)).collect())
        .collect()
}

/// The level of a factor at u.
fn level(reading: &mut Reading<'_>, factor: &Factor, u: f64) -> Option<Level> {
    if let Kind::Values(values) = &factor.kind
        && let Some(range) = values.range.as_ref().filter(|range| range.levels.is_none())
    {
        return level::between(reading, values, range, u);
    }
    let n = factor.levels.len();
    let at = (u * n as f64) as usize;
    factor.levels.get(at.min(n.saturating_sub(1))).cloned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factors(n: usize) -> Vec<Factor> {
        let of = |n: usize| Factor {
            name: format!("f{n}"),
            unit: None,
            meaning: String::new(),
            levels: Vec::new(),
            kind: Kind::Options,
            amount: None,
        };
        (0..n).map(of).collect()
    }

    /// Sixteen points: one in each sixteenth of each factor, and in each of the sixteen boxes of 4 x 4 of the first two.
    #[test]
    fn points_fill_the_space() {
        let points = points(&factors(5), 16, 3);
        for f in 0..5 {
            let mut parts: Vec<usize> = points.iter().map(|p| (p[f] * 16.0) as usize).collect();
            parts.sort_unstable();
            assert_eq!(parts, (0..16).collect::<Vec<_>>(), "factor {f}");
        }
        let mut boxes: Vec<(usize, usize)> = points
            .iter()
            .map(|p| ((p[0] * 4.0) as usize, (p[1] * 4.0) as usize))
            .collect();
        boxes.sort_unstable();
        boxes.dedup();
        assert_eq!(boxes.len(), 16);
    }

    #[test]
    fn points_follow_from_the_seed_and_more_of_them_begin_alike() {
        let factors = factors(3);
        assert_eq!(points(&factors, 8, 1), points(&factors, 8, 1));
        assert_ne!(points(&factors, 8, 1), points(&factors, 8, 2));
        assert_eq!(points(&factors, 20, 1)[..8], points(&factors, 8, 1));
    }
}
