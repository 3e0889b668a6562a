//! Measured values, resampled with replacement.
//!
//! The k-th smallest of n with `k = ceil(n u)`: the inverse of the empirical distribution function (Hyndman and Fan 1996,
//! The American Statistician 50, 361-365, definition 1). Left out: smoothing between values and beyond the extremes.

use super::error::SpreadError;

/// Values from the smallest up.
#[derive(Clone, Debug)]
pub(super) struct Data {
    values: Vec<f64>,
}

impl Data {
    pub(super) fn new(values: &[f64]) -> Result<Self, SpreadError> {
        if values.is_empty() {
            return Err(SpreadError::NoValues);
        }
        let mut values = values.to_vec();
        values.sort_by(f64::total_cmp);
        Ok(Self { values })
    }

    pub(super) fn values(&self) -> &[f64] {
        &self.values
    }

    pub(super) fn point(&self) -> Option<f64> {
        let (lo, hi) = self.support();
        (lo == hi).then_some(lo)
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (self.values[0], self.values[self.values.len() - 1])
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        self.values.partition_point(|&value| value <= x) as f64 / self.values.len() as f64
    }

    pub(super) fn outside(&self, lo: f64, hi: f64) -> f64 {
        let out = self.values.iter().filter(|&&value| value < lo || value > hi).count();
        out as f64 / self.values.len() as f64
    }

    pub(super) fn at(&self, u: f64) -> f64 {
        let rank = libm::ceil(u * self.values.len() as f64) as usize;
        self.values[rank.clamp(1, self.values.len()) - 1]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_value_comes_equally_often() {
        let data = Data::new(&[3.0, 1.0, 2.0, 2.0]).unwrap();
        let n = 1000;
        let draws: Vec<f64> = (0..n).map(|i| data.at((f64::from(i) + 0.5) / f64::from(n))).collect();
        for (value, count) in [(1.0, 250), (2.0, 500), (3.0, 250)] {
            assert_eq!(draws.iter().filter(|&&x| x == value).count(), count);
        }
        assert_eq!(data.at(0.5), 2.0);
        assert_eq!((data.at(f64::MIN_POSITIVE), data.at(1.0)), (1.0, 3.0));
        assert_eq!(data.lower(2.0), 0.75);
        assert_eq!(data.outside(2.0, 2.5), 0.5);
    }
}
