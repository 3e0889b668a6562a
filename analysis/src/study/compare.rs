//! Two designs side by side: one number of each, their difference, and whether that is more than chance.
//!
//! | the runs | mean | share beyond | kept margin |
//! |---|---|---|---|
//! | on the same luck | by pairs | by pairs | of the quantile that it bounds, by pairs |
//! | independent | Welch | Clopper and Pearson | shown, not judged |
//! | of a design of draws other than plain | shown | shown | shown: no interval here holds |
//!
//! Intervals are at [`CONFIDENCE`] each. Verdicts hold together: of m comparisons each is judged at [`together`] = 1 - (1 - [`CONFIDENCE`]) / m
//! (Bonferroni), so that with that confidence none says a difference where there is none. A difference below [`RESOLUTION`] of the
//! values is what another order of the same arithmetic may leave, and counts as none.

use super::trade::{CONFIDENCE, Known, Statistic};
use crate::stats::independent;
use crate::stats::pairs::Difference;

pub use super::trade::RESOLUTION;

/// What two sets of runs share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Luck {
    /// Variation k of both draws the same uniforms.
    Same,
    /// Nothing.
    Independent,
    /// Draws are not plain, and intervals of independent runs do not hold.
    Unknown,
}

/// What a difference says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing: it cannot be judged.
    NotJudged,
    /// Every pair of runs gives the same.
    Same,
    /// No difference is seen at this number of variations.
    NotSeen,
    /// The second has more.
    More,
    /// The second has less.
    Less,
}

/// One number of both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compared {
    /// Of the first.
    pub a: Known,
    /// Of the second.
    pub b: Known,
    /// Second minus first; of a kept margin with an interval that of the quantile which it bounds.
    pub difference: Option<f64>,
    /// Its interval.
    pub interval: Option<[f64; 2]>,
    /// What it says.
    pub verdict: Verdict,
}

/// The confidence at which each of so many comparisons is judged.
#[must_use]
pub fn together(comparisons: usize) -> f64 {
    1.0 - (1.0 - CONFIDENCE) / comparisons.max(1) as f64
}

/// Whether something is judged at all of runs on such luck.
#[must_use]
pub fn is_judged(statistic: Statistic, luck: Luck) -> bool {
    match luck {
        Luck::Same => true,
        Luck::Independent => !matches!(statistic, Statistic::Kept(_) | Statistic::Quantile(_)),
        Luck::Unknown => false,
    }
}

/// A statistic of both, judged as one of so many comparisons.
#[must_use]
pub fn compared(statistic: Statistic, (a, b): (&[f64], &[f64]), luck: Luck, comparisons: usize, seed: u64) -> Compared {
    let known = |values: &[f64]| {
        let known = statistic.of(values);
        let interval = known.interval.filter(|_| luck != Luck::Unknown);
        Known { interval, ..known }
    };
    let (of_a, of_b) = (known(a), known(b));
    let at = |confidence: f64| match luck {
        Luck::Same => statistic.difference((b, a), confidence, seed),
        Luck::Independent => apart(statistic, (b, a), confidence),
        Luck::Unknown => None,
    };
    let told = at(CONFIDENCE);
    let plain = of_b.value - of_a.value;
    let verdict = if luck == Luck::Same && a.len() == b.len() && a.iter().zip(b).all(|(a, b)| is_same(*a, *b)) {
        Verdict::Same
    } else {
        told.and_then(|_| at(together(comparisons)))
            .map_or(Verdict::NotJudged, |judged| said(judged, (of_a.value, of_b.value)))
    };
    Compared {
        a: of_a,
        b: of_b,
        difference: told
            .map(|told| told.value)
            .or(Some(plain))
            .filter(|value| value.is_finite()),
        interval: told.map(|told| told.interval),
        verdict,
    }
}

/// Two numbers that no chance is in.
#[must_use]
pub fn exact(a: f64, b: f64) -> Compared {
    let known = |value: f64| Known { value, interval: None };
    let verdict = match b.partial_cmp(&a) {
        _ if is_same(a, b) => Verdict::Same,
        Some(std::cmp::Ordering::Greater) => Verdict::More,
        Some(std::cmp::Ordering::Less) => Verdict::Less,
        _ => Verdict::NotJudged,
    };
    Compared {
        a: known(a),
        b: known(b),
        difference: Some(b - a).filter(|difference| difference.is_finite()),
        interval: None,
        verdict,
    }
}

/// The same but for arithmetic; what is nowhere known is so in both.
fn is_same(a: f64, b: f64) -> bool {
    let near = || (a - b).abs() <= RESOLUTION * a.abs().max(b.abs());
    a == b || (a.is_nan() && b.is_nan()) || (a.is_finite() && b.is_finite() && near())
}

fn said(judged: Difference, (a, b): (f64, f64)) -> Verdict {
    let scale = if a.is_finite() && b.is_finite() {
        a.abs().max(b.abs())
    } else {
        0.0
    };
    match judged.is_seen() && judged.value.abs() > RESOLUTION * scale {
        false => Verdict::NotSeen,
        true if judged.value > 0.0 => Verdict::More,
        true => Verdict::Less,
    }
}

/// First minus second, of runs that share nothing.
fn apart(statistic: Statistic, (x, y): (&[f64], &[f64]), confidence: f64) -> Option<Difference> {
    let count = |values: &[f64], counts: &dyn Fn(f64) -> bool| {
        (
            values.iter().filter(|value| counts(**value)).count() as u64,
            values.len() as u64,
        )
    };
    let share = |counts: &dyn Fn(f64) -> bool| independent::share(count(x, counts), count(y, counts), confidence);
    match statistic {
        Statistic::Kept(_) | Statistic::Quantile(_) => None,
        Statistic::Mean => independent::mean(x, y, confidence),
        Statistic::Beyond => share(&|value| value < 0.0),
        Statistic::Share => share(&|value| value > 0.5),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Gate;

    fn values(shift: f64) -> Vec<f64> {
        (0..400)
            .map(|i| f64::from((i * 193) % 400) / 400.0 - 0.1 + shift)
            .collect()
    }

    #[test]
    fn a_shift_shows_on_the_same_luck_and_hides_in_the_scatter_without() {
        let (a, b) = (values(0.0), values(0.01));
        for statistic in [Statistic::Kept(Gate::USUAL), Statistic::Mean] {
            let on = compared(statistic, (&a, &b), Luck::Same, 30, 1);
            assert_eq!(on.verdict, Verdict::More, "{statistic:?}");
            assert!((on.difference.expect("told") - 0.01).abs() < 1e-12);
        }
        let apart = compared(Statistic::Mean, (&a, &b), Luck::Independent, 30, 1);
        assert_eq!(apart.verdict, Verdict::NotSeen);
        // 2 * 1.966 * sqrt(2 / 12 / 400) wide: the scatter of both.
        let [low, high] = apart.interval.expect("told");
        assert!((high - low - 2.0 * 1.963 * (2.0_f64 / 12.0 / 400.0).sqrt()).abs() < 1e-3);
    }

    #[test]
    fn what_is_not_judged_is_shown() {
        let (a, b) = (values(0.0), values(0.3));
        let kept = compared(Statistic::Kept(Gate::USUAL), (&a, &b), Luck::Independent, 2, 1);
        assert_eq!((kept.verdict, kept.interval), (Verdict::NotJudged, None));
        assert!((kept.difference.expect("shown") - 0.3).abs() < 1e-12);
        let other = compared(Statistic::Mean, (&a, &b), Luck::Unknown, 2, 1);
        assert_eq!(
            (other.verdict, other.interval, other.a.interval),
            (Verdict::NotJudged, None, None)
        );
        assert!((other.difference.expect("shown") - 0.3).abs() < 1e-12);
    }

    #[test]
    fn what_another_order_of_arithmetic_leaves_is_no_difference() {
        let a = values(1.0);
        let b: Vec<f64> = a.iter().map(|a| a * (1.0 + 1e-9)).collect();
        assert_eq!(
            compared(Statistic::Mean, (&a, &b), Luck::Same, 1, 1).verdict,
            Verdict::Same
        );
        // The same, but for one variation in which it is a little more.
        let mut c = b.clone();
        c[7] *= 1.0 + 3e-6;
        assert_eq!(
            compared(Statistic::Mean, (&a, &c), Luck::Same, 1, 1).verdict,
            Verdict::NotSeen
        );
        assert_eq!(exact(2.0, 2.0 + 1e-9).verdict, Verdict::Same);
        assert_eq!(exact(2.0, 1.0).verdict, Verdict::Less);
        assert_eq!(exact(f64::INFINITY, f64::INFINITY).verdict, Verdict::Same);
        assert_eq!(exact(1.0, f64::NEG_INFINITY).verdict, Verdict::Less);
        assert_eq!(exact(f64::NAN, 1.0).verdict, Verdict::NotJudged);
    }

    #[test]
    fn failures_leave_the_share_and_the_kept_margin_to_be_judged() {
        let (a, mut b) = (values(0.5), values(0.5));
        b[..60].fill(f64::NEG_INFINITY);
        let of = |statistic| compared(statistic, (&a, &b), Luck::Same, 3, 1);
        assert_eq!(of(Statistic::Mean).verdict, Verdict::NotJudged);
        assert_eq!(of(Statistic::Beyond).verdict, Verdict::More);
        assert_eq!(of(Statistic::Kept(Gate::USUAL)).b.value, f64::NEG_INFINITY);
    }
}
