//! One of several values, by weight.
//!
//! The first value, in the order written, whose cumulative weight reaches u times the sum of all weights. Weights without
//! unit. The order matters only for which u picks which value (and so for the median); values need not be sorted.

use super::error::SpreadError;

/// Values, and the u up to which each is picked.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    values: Vec<f64>,
    /// Parts of the sum of weights.
    parts: Vec<f64>,
    reaches: Vec<f64>,
}

impl Choice {
    pub(super) fn new(values: &[f64], weights: &[f64]) -> Result<Self, SpreadError> {
        if values.is_empty() {
            return Err(SpreadError::NoValues);
        }
        if values.len() != weights.len() {
            return Err(SpreadError::WeightCount {
                values: values.len(),
                weights: weights.len(),
            });
        }
        if let Some(index) = weights.iter().position(|&weight| weight <= 0.0) {
            return Err(SpreadError::WeightNotPositive { index });
        }
        let sum: f64 = weights.iter().sum();
        if !sum.is_finite() {
            return Err(SpreadError::NotFinite);
        }
        // The rounding of the running sum, so that weights that add to a half on paper reach a half here.
        let slack = weights.len() as f64 * f64::EPSILON;
        let mut so_far = 0.0;
        let mut reaches = Vec::with_capacity(weights.len());
        for weight in weights {
            so_far += weight;
            reaches.push(so_far / sum + slack);
        }
        let parts = weights.iter().map(|weight| weight / sum).collect();
        Ok(Self {
            values: values.to_vec(),
            parts,
            reaches,
        })
    }

    pub(super) fn point(&self) -> Option<f64> {
        let first = self.values[0];
        self.values.iter().all(|&value| value == first).then_some(first)
    }

    pub(super) fn support(&self) -> (f64, f64) {
        self.values
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), &x| {
                (lo.min(x), hi.max(x))
            })
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        self.mass_where(|value| value <= x)
    }

    pub(super) fn outside(&self, lo: f64, hi: f64) -> f64 {
        self.mass_where(|value| value < lo || value > hi)
    }

    pub(super) fn at(&self, u: f64) -> f64 {
        let index = self.reaches.partition_point(|&reach| reach < u);
        self.values[index.min(self.values.len() - 1)]
    }

    fn mass_where(&self, counts: impl Fn(f64) -> bool) -> f64 {
        let of = self.values.iter().zip(&self.parts).filter(|(value, _)| counts(**value));
        of.map(|(_, part)| part).sum::<f64>().min(1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_the_first_that_reaches_a_half() {
        let pick = |weights: &[f64]| {
            let values: Vec<f64> = (0..weights.len()).map(|i| i as f64).collect();
            Choice::new(&values, weights).unwrap().at(0.5)
        };
        assert_eq!(pick(&[1.0, 1.0, 1.0]), 1.0);
        assert_eq!(pick(&[1.0, 1.0]), 0.0);
        assert_eq!(pick(&[0.1, 0.2, 0.2, 0.5]), 2.0);
        assert_eq!(pick(&[0.1; 10]), 4.0);
        assert_eq!(pick(&[0.7, 0.1, 0.1, 0.1]), 0.0);
        assert_eq!(pick(&[0.3, 0.3, 0.4]), 1.0);
    }

    #[test]
    fn each_value_comes_as_often_as_it_weighs() {
        let choice = Choice::new(&[5.0, 1.0, 3.0], &[2.0, 1.0, 1.0]).unwrap();
        let n = 4000;
        let draws = (0..n).map(|i| choice.at((f64::from(i) + 0.5) / f64::from(n)));
        let fives = draws.filter(|&x| x == 5.0).count();
        assert_eq!(fives, 2000);
        assert_eq!(choice.lower(3.0), 0.5);
        assert_eq!(choice.outside(2.0, 4.0), 0.75);
        assert_eq!(choice.support(), (1.0, 5.0));
        assert_eq!(choice.at(f64::MIN_POSITIVE), 5.0);
        assert_eq!(choice.at(1.0), 3.0);
    }
}
