//! The beta distribution function and its inverse, slow and exact.
//!
//! `I_x(a, b) = x^a (1-x)^b / (a B(a, b)) / (1 + d1/(1 + d2/(1 + ...)))`, with `d(2m) = m (b-m) x / ((a+2m-1)(a+2m))` and
//! `d(2m+1) = -(a+m)(a+b+m) x / ((a+2m)(a+2m+1))`. x, a, b without unit.
//! Source: DLMF 8.17.22 (2010-), evaluated forward by the modified Lentz method (Thompson and Barnett 1986, J. Comput. Phys.
//! 64, 490-509). Inverse by Newton steps of ln I over ln x. Valid for 1 <= a, b <= 5, what PERT needs; about 1e-14.

/// Most terms of the continued fraction; below its switching point 60 are plenty for parameters up to 5.
const MOST_TERMS: u32 = 200;
/// Most Newton steps; five to eight are usual.
const MOST_STEPS: u32 = 100;
/// Keeps Lentz's denominators from zero.
const TINY: f64 = 1e-300;

/// Parameters and what follows from them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beta {
    a: f64,
    b: f64,
    /// ln B(a, b).
    ln_beta: f64,
}

impl Beta {
    pub(super) fn new(a: f64, b: f64) -> Self {
        Self {
            a,
            b,
            ln_beta: libm::log(libm::tgamma(a) * libm::tgamma(b) / libm::tgamma(a + b)),
        }
    }

    /// a and b.
    pub(super) fn parameters(&self) -> [f64; 2] {
        [self.a, self.b]
    }

    /// The probability below `x`.
    pub(super) fn lower(&self, x: f64) -> f64 {
        if x <= 0.0 {
            0.0
        } else if x >= 1.0 {
            1.0
        } else if x < (self.a + 1.0) / (self.a + self.b + 2.0) {
            self.fraction(x, 1.0 - x)
        } else {
            1.0 - Self {
                a: self.b,
                b: self.a,
                ..*self
            }
            .fraction(1.0 - x, x)
        }
    }

    /// The density at `x`, inside (0, 1).
    pub(super) fn density(&self, x: f64) -> f64 {
        libm::exp((self.a - 1.0) * libm::log(x) + (self.b - 1.0) * libm::log1p(-x) - self.ln_beta)
    }

    /// The derivative of the density over the density.
    pub(super) fn slope_over_density(&self, x: f64) -> f64 {
        (self.a - 1.0) / x - (self.b - 1.0) / (1.0 - x)
    }

    /// The continued fraction; `y = 1 - x`.
    fn fraction(&self, x: f64, y: f64) -> f64 {
        let front = libm::exp(self.a * libm::log(x) + self.b * libm::log(y) - self.ln_beta) / self.a;
        let mut c = 1.0;
        let mut d = 1.0 / away_from_zero(1.0 - (self.a + self.b) * x / (self.a + 1.0));
        let mut value = d;
        for term in 1..MOST_TERMS {
            let m = f64::from(term);
            let a2m = self.a + 2.0 * m;
            let even = m * (self.b - m) * x / ((a2m - 1.0) * a2m);
            d = 1.0 / away_from_zero(1.0 + even * d);
            c = away_from_zero(1.0 + even / c);
            value *= c * d;
            let odd = -(self.a + m) * (self.a + self.b + m) * x / (a2m * (a2m + 1.0));
            d = 1.0 / away_from_zero(1.0 + odd * d);
            c = away_from_zero(1.0 + odd / c);
            value *= c * d;
            if (c * d - 1.0).abs() < f64::EPSILON {
                break;
            }
        }
        front * value
    }

    /// Where the probability below is `p`, for p up to a little over a half, from the leading term of the series.
    pub(super) fn at_lower(&self, p: f64) -> f64 {
        let leading = (libm::log(p) + libm::log(self.a) + self.ln_beta) / self.a;
        self.at_lower_from(p, libm::exp(leading))
    }

    /// The same from a guess.
    ///
    /// ln I is concave in ln x, so from any guess the first step lands left of the root or on it and the others climb.
    pub(super) fn at_lower_from(&self, p: f64, guess: f64) -> f64 {
        let largest = 1.0 - f64::EPSILON;
        let mut x = guess.clamp(f64::MIN_POSITIVE, largest);
        for _ in 0..MOST_STEPS {
            let below = self.lower(x);
            let step = (libm::log(p) - libm::log(below)) * below / (x * self.density(x));
            let next = (x * libm::exp(step.clamp(-2.0, 2.0))).min(largest);
            // Below this the steps are the rounding of `lower`.
            let done = (next - x).abs() <= 4.0 * f64::EPSILON * x;
            x = next;
            if done {
                break;
            }
        }
        x
    }
}

fn away_from_zero(value: f64) -> f64 {
    if value.abs() < TINY { TINY } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_agrees_with_an_independent_incomplete_beta() {
        // statrs 0.19, `beta_reg`: other code, other method of the gamma function.
        for tenth in 10..=50 {
            let a = f64::from(tenth) / 10.0;
            let beta = Beta::new(a, 6.0 - a);
            for step in 1..200 {
                let x = f64::from(step) / 200.0;
                let theirs = statrs::function::beta::beta_reg(a, 6.0 - a, x);
                assert!(
                    (beta.lower(x) - theirs).abs() < 2e-14,
                    "{a} {x}: {} {theirs}",
                    beta.lower(x)
                );
            }
        }
    }

    #[test]
    fn whole_parameters_are_polynomials() {
        // I_x(2, 4) = 10 x^2 - 20 x^3 + 15 x^4 - 4 x^5 (the binomial sum of DLMF 8.17.5).
        let beta = Beta::new(2.0, 4.0);
        for step in 1..100 {
            let x = f64::from(step) / 100.0;
            let exact = x * x * (10.0 + x * (-20.0 + x * (15.0 - 4.0 * x)));
            assert!((beta.lower(x) / exact - 1.0).abs() < 1e-14, "{x}");
        }
    }

    #[test]
    fn the_inverse_meets_the_function_far_into_the_tail() {
        for a in [1.0, 1.3, 2.0, 3.0, 4.5, 5.0] {
            let beta = Beta::new(a, 6.0 - a);
            for step in 0..300 {
                let p = 0.5 * libm::pow(10.0, -f64::from(step) * 0.1);
                assert!((beta.lower(beta.at_lower(p)) / p - 1.0).abs() < 1e-13, "{a} {p}");
            }
        }
    }
}
