//! Rows that no other row beats (Pareto), and the knee among them.
//!
//! Equations: with objectives of which less is better, row a beats row b if it is nowhere worse and somewhere better. The front is
//! the rows that none beats. Objectives scaled over the front to 0 (best) .. 1 (worst), the knee is the row with the least sum: of two
//! objectives the one furthest from the line between the two ends of the front.
//! Symbols: objectives in any units; the sum has none.
//! Source: Pareto 1906; the knee: Das, "On characterizing the knee of the Pareto curve based on normal-boundary intersection",
//! Structural Optimization 18 (1999) 107-115 (from memory).
//! Valid for finite objectives; a row with one that is not a number is on no front and beats none.
//! Left out: how much an objective weighs (that is for whoever decides).

/// Whether `a` beats `b`: objectives of which less is better.
#[must_use]
pub fn beats(a: &[f64], b: &[f64]) -> bool {
    let nowhere_worse = a.iter().zip(b).all(|(a, b)| a <= b);
    nowhere_worse && a.iter().zip(b).any(|(a, b)| a < b)
}

/// The rows that none beats, in order.
#[must_use]
pub fn front(rows: &[Vec<f64>]) -> Vec<usize> {
    let known = |row: &Vec<f64>| row.iter().all(|value| value.is_finite());
    let stands =
        |index: &usize| known(&rows[*index]) && !rows.iter().any(|other| known(other) && beats(other, &rows[*index]));
    (0..rows.len()).filter(stands).collect()
}

/// The knee of a front: its index among all rows. `None` with fewer than three different points, or where none is nearer than the
/// line between the ends.
#[must_use]
pub fn knee(rows: &[Vec<f64>], front: &[usize]) -> Option<usize> {
    let objectives = rows.get(*front.first()?)?.len();
    let range = |objective: usize| {
        let values = front.iter().map(|&row| rows[row][objective]);
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        })
    };
    let ranges: Vec<(f64, f64)> = (0..objectives).map(range).collect();
    if objectives < 2 || ranges.iter().any(|(low, high)| low >= high) {
        return None;
    }
    let sum = |row: usize| {
        let scaled = ranges
            .iter()
            .zip(&rows[row])
            .map(|((low, high), value)| (value - low) / (high - low));
        scaled.sum::<f64>()
    };
    let sums: Vec<f64> = front.iter().map(|&row| sum(row)).collect();
    let least = sums.iter().copied().fold(f64::INFINITY, f64::min);
    let at = sums.iter().position(|sum| *sum <= least)?;
    // Two objectives: the ends have the sum 1, and so has all of a straight line.
    (least < 1.0 - 1e-9).then_some(front[at])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(list: &[[f64; 2]]) -> Vec<Vec<f64>> {
        list.iter().map(|row| row.to_vec()).collect()
    }

    #[test]
    fn a_row_is_beaten_by_one_that_is_nowhere_worse() {
        let all = rows(&[[1.0, 5.0], [2.0, 3.0], [3.0, 3.0], [4.0, 1.0], [4.0, 1.0], [5.0, 5.0]]);
        // Equal rows do not beat each other.
        assert_eq!(front(&all), [0, 1, 3, 4]);
        assert!(!beats(&all[3], &all[4]) && beats(&all[1], &all[2]));
    }

    /// Distances from the line from (0, 10) to (10, 0): (x + y - 10) / sqrt 2, so (2, 3) is the furthest.
    #[test]
    fn the_knee_is_furthest_from_the_line_between_the_ends() {
        let all = rows(&[[0.0, 10.0], [1.0, 6.0], [2.0, 3.0], [5.0, 1.5], [10.0, 0.0]]);
        let on = front(&all);
        assert_eq!(on.len(), 5);
        assert_eq!(knee(&all, &on), Some(2));
        // In other units it is the same row.
        let scaled: Vec<Vec<f64>> = all.iter().map(|row| vec![1e3 * row[0], 1e-3 * row[1] + 7.0]).collect();
        assert_eq!(knee(&scaled, &on), Some(2));
    }

    #[test]
    fn a_straight_or_bulging_front_has_none() {
        let line = rows(&[[0.0, 2.0], [1.0, 1.0], [2.0, 0.0]]);
        assert_eq!(knee(&line, &front(&line)), None);
        let bulge = rows(&[[0.0, 2.0], [1.5, 1.5], [2.0, 0.0]]);
        assert_eq!(knee(&bulge, &front(&bulge)), None);
        assert_eq!(knee(&bulge, &[0]), None);
        assert_eq!(knee(&[], &[]), None);
    }

    #[test]
    fn what_is_not_known_is_on_no_front() {
        let all = rows(&[[f64::NAN, 0.0], [1.0, 1.0], [0.0, f64::NEG_INFINITY]]);
        assert_eq!(front(&all), [1]);
    }
}
