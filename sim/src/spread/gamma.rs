//! The gamma distribution, by its mean and coefficient of variation; and the chi-square on which the uncertainty of widths rests.
//!
//! `shape k = 1 / cv^2`, `scale = mean / k`, `F(x) = P(k, x / scale)`, with
//! `P(a, x) = x^a e^-x / Gamma(a + 1) (1 + x/(a+1) + x^2/((a+1)(a+2)) + ...)` below `a + 1` and
//! `Q(a, x) = x^a e^-x / Gamma(a) / (x+1-a - 1(1-a)/(x+3-a - 2(2-a)/(x+5-a - ...)))` above, the fraction by the modified Lentz method.
//! Mean in the unit of the quantity; cv, k without unit. Source: DLMF 8.11.4 and 8.9.2 (2010-), from memory. Inverses by Newton steps of the
//! logarithm of the tail over ln x, which is concave, so they converge from anywhere. Valid for coefficients of variation from
//! 0.1 % to 1000 %; about 1e-12 for shapes up to 1000, 1e-10 at the ends.

use super::error::SpreadError;

/// Coefficients of variation that are drawn from; narrower is as good as fixed, and not exact here.
const CV: std::ops::RangeInclusive<f64> = 1e-3..=10.0;
/// Most terms of series and fraction: some 7 sqrt(shape) are needed.
const MOST_TERMS: u32 = 20_000;
/// Most Newton steps; five to ten are usual.
const MOST_STEPS: u32 = 200;
/// Keeps Lentz's denominators from zero.
const TINY: f64 = 1e-300;

/// Shape and scale, both above 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gamma {
    shape: f64,
    scale: f64,
    ln_gamma: f64,
}

impl Gamma {
    pub(super) fn new(mean: f64, cv: f64) -> Result<Self, SpreadError> {
        if cv < 0.0 {
            return Err(SpreadError::NegativeVariation);
        }
        if mean <= 0.0 {
            return Err(SpreadError::MeanNotPositive);
        }
        if !CV.contains(&cv) {
            return Err(SpreadError::VariationOutOfRange);
        }
        let shape = 1.0 / (cv * cv);
        let made = Self::of(shape, mean / shape);
        if made.scale <= 0.0 || !made.at_upper(f64::MIN_POSITIVE).is_finite() {
            return Err(SpreadError::NotFinite);
        }
        Ok(made)
    }

    /// Chi-square with so many degrees of freedom, above 0.
    pub(super) fn chi_square(freedom: f64) -> Self {
        Self::of(0.5 * freedom, 2.0)
    }

    fn of(shape: f64, scale: f64) -> Self {
        Self {
            shape,
            scale,
            ln_gamma: libm::lgamma(shape),
        }
    }

    pub(super) fn point(&self) -> Option<f64> {
        None
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (0.0, f64::INFINITY)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        if x > 0.0 { self.tails(x / self.scale).0 } else { 0.0 }
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        if x > 0.0 { self.tails(x / self.scale).1 } else { 1.0 }
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        // The smaller tail has all its figures.
        if p > 0.5 {
            return self.at_upper(1.0 - p);
        }
        self.inverse(p, |tails| tails.0, 1.0)
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        if q > 0.5 {
            return self.at_lower(1.0 - q);
        }
        self.inverse(q, |tails| tails.1, -1.0)
    }

    /// Where a tail has a probability; `sign` says whether it grows with x.
    fn inverse(&self, probability: f64, tail: impl Fn((f64, f64)) -> f64, sign: f64) -> f64 {
        let a = self.shape;
        let wanted = libm::log(probability);
        let mut t = self.guess(probability, sign);
        for _ in 0..MOST_STEPS {
            let x = libm::exp(t);
            let held = tail(self.tails(x));
            if held < f64::MIN_POSITIVE {
                // The guess lies where the tail has no figures left.
                t += 0.25 * sign;
                continue;
            }
            // d ln(tail) / d ln x.
            let slope = sign * libm::exp(a * t - x - self.ln_gamma) / held;
            let step = (wanted - libm::log(held)) / slope;
            if !step.is_finite() {
                break;
            }
            // Far out a step may be large: it is concave, so a shorter one is safe.
            t += step.clamp(-3.0, 3.0);
            if step.abs() <= 4e-16 * t.abs().max(1.0) {
                break;
            }
        }
        self.scale * libm::exp(t)
    }

    /// ln x of Wilson and Hilferty (1931), or of the first term where that leaves the positive numbers.
    fn guess(&self, probability: f64, sign: f64) -> f64 {
        let a = self.shape;
        let z = sign * super::normal::standard_quantile(probability.min(1.0 - f64::EPSILON));
        let root = 1.0 - 1.0 / (9.0 * a) + z / (3.0 * libm::sqrt(a));
        if root > 0.1 {
            return libm::log(a) + 3.0 * libm::log(root);
        }
        let lower = if sign > 0.0 {
            libm::log(probability)
        } else {
            libm::log1p(-probability)
        };
        (lower + libm::lgamma(a + 1.0)) / a
    }

    /// `P` and `Q` at x above 0: one of them without loss of figures, the other its complement.
    fn tails(&self, x: f64) -> (f64, f64) {
        let a = self.shape;
        if x == f64::INFINITY {
            return (1.0, 0.0);
        }
        let front = libm::exp(a * libm::log(x) - x - self.ln_gamma);
        if x < a + 1.0 {
            let (mut term, mut sum) = (1.0, 1.0);
            for n in 1..MOST_TERMS {
                term *= x / (a + f64::from(n));
                sum += term;
                if term < sum * 1e-17 {
                    break;
                }
            }
            let p = (front / a * sum).min(1.0);
            (p, 1.0 - p)
        } else {
            let q = (front * fraction(a, x)).min(1.0);
            (1.0 - q, q)
        }
    }
}

/// The continued fraction of `Q`.
fn fraction(a: f64, x: f64) -> f64 {
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / if b.abs() < TINY { TINY } else { b };
    let mut value = d;
    for n in 1..MOST_TERMS {
        let n = f64::from(n);
        let top = -n * (n - a);
        b += 2.0;
        d = top * d + b;
        d = 1.0 / if d.abs() < TINY { TINY } else { d };
        c = b + top / c;
        c = if c.abs() < TINY { TINY } else { c };
        let factor = c * d;
        value *= factor;
        if (factor - 1.0).abs() < 1e-16 {
            break;
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn with_shape_one_it_is_the_exponential() {
        let of = Gamma::new(40.0, 1.0).unwrap();
        for p in [1e-12, 0.01, 0.3, 0.5, 0.9, 0.999_999] {
            let exact = -40.0 * libm::log1p(-p);
            assert!((of.at_lower(p) / exact - 1.0).abs() < 1e-13, "{p}: {}", of.at_lower(p));
            assert!((of.lower(exact) / p - 1.0).abs() < 1e-13);
        }
        let far = 40.0 * 200.0 * std::f64::consts::LN_10;
        assert!(
            (of.at_upper(1e-200) / far - 1.0).abs() < 1e-13,
            "{}",
            of.at_upper(1e-200)
        );
    }

    /// Whole shapes are sums of Poisson probabilities: Q(n, x) = e^-x sum of x^k / k! below n.
    #[test]
    fn whole_shapes_agree_with_the_poisson_sum() {
        for n in [2_u32, 5, 25, 100] {
            let of = Gamma::new(f64::from(n), libm::sqrt(1.0 / f64::from(n))).unwrap();
            for x in [0.4, 0.8, 1.0, 1.3, 1.9].map(|part| part * f64::from(n)) {
                let (mut term, mut sum) = (libm::exp(-x), 0.0);
                for k in 0..n {
                    sum += term;
                    term *= x / f64::from(k + 1);
                }
                assert!(
                    (of.upper(x) / sum - 1.0).abs() < 1e-11,
                    "{n} {x}: {} {sum}",
                    of.upper(x)
                );
                // Where nearly all lies above, the tail above no longer says where.
                let back = of.at_upper(sum);
                assert!(sum > 0.999 || (back / x - 1.0).abs() < 1e-12, "{n} {x} {back}");
            }
        }
    }

    /// Abramowitz and Stegun (1964), table 26.8, as every textbook has it (from memory): chi-square beyond which 5 % and 97.5 % lie.
    #[test]
    fn chi_square_is_as_tabulated() {
        for (freedom, five, most) in [
            (1.0, 3.841, 0.000_982),
            (5.0, 11.070, 0.831),
            (10.0, 18.307, 3.247),
            (30.0, 43.773, 16.791),
        ] {
            let of = Gamma::chi_square(freedom);
            assert!((of.at_upper(0.05) - five).abs() < 6e-4);
            assert!((of.at_upper(0.975) - most).abs() < 6e-4);
        }
    }

    #[test]
    fn the_ends_of_the_range_go_there_and_back() {
        for cv in [1e-3, 0.05, 3.0, 10.0] {
            let of = Gamma::new(1.0, cv).unwrap();
            for p in [0.02, 0.5, 0.98] {
                let x = of.at_lower(p);
                assert!(
                    x == 0.0 || (of.lower(x) / p - 1.0).abs() < 1e-8,
                    "{cv} {p} {x} {}",
                    of.lower(x)
                );
                let x = of.at_upper(p);
                assert!(
                    x == 0.0 || (of.upper(x) / p - 1.0).abs() < 1e-8,
                    "{cv} {p} {x} {}",
                    of.upper(x)
                );
            }
        }
        assert_eq!(Gamma::new(1.0, 1e-5).unwrap_err(), SpreadError::VariationOutOfRange);
        assert_eq!(Gamma::new(0.0, 0.1).unwrap_err(), SpreadError::MeanNotPositive);
    }
}
