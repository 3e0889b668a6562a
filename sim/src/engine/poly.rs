//! Polynomials of degree five on the unit interval, with the hull of their Bernstein coefficients as rigorous bounds
//! (Farouki 2012, Computer Aided Geometric Design 29:379).

use super::range::Range;

/// Number of coefficients.
pub(crate) const COEFFICIENTS: usize = 6;

/// `sum_i c[i] theta^i`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Poly(pub [f64; COEFFICIENTS]);

const BINOMIAL: [[f64; COEFFICIENTS]; COEFFICIENTS] = [
    [1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [1.0, 1.0, 0.0, 0.0, 0.0, 0.0],
    [1.0, 2.0, 1.0, 0.0, 0.0, 0.0],
    [1.0, 3.0, 3.0, 1.0, 0.0, 0.0],
    [1.0, 4.0, 6.0, 4.0, 1.0, 0.0],
    [1.0, 5.0, 10.0, 10.0, 5.0, 1.0],
];

/// Shares of coefficients in the Bernstein coefficients of the `DERIVATIVE`th derivative of a polynomial of degree five. Of the
/// monomial of degree `i`, `C(j, i) / C(n, i)` is in the `j`th of degree `n`.
const fn shares<const DERIVATIVE: usize>() -> [[f64; COEFFICIENTS]; COEFFICIENTS] {
    let degree = COEFFICIENTS - 1 - DERIVATIVE;
    let mut out = [[0.0; COEFFICIENTS]; COEFFICIENTS];
    let mut j = 0;
    while j <= degree {
        let mut i = 0;
        while i <= j {
            let mut share = BINOMIAL[j][i] / BINOMIAL[degree][i];
            let mut factor = i + DERIVATIVE;
            while factor > i {
                share *= factor as f64;
                factor -= 1;
            }
            out[j][i] = share;
            i += 1;
        }
        j += 1;
    }
    out
}

impl Poly {
    /// The value.
    pub fn at(&self, theta: f64) -> f64 {
        self.0.iter().rev().fold(0.0, |sum, c| sum * theta + c)
    }

    /// The values at several places.
    pub fn at_all<const L: usize>(&self, theta: &[f64; L]) -> [f64; L] {
        let mut sum = [0.0; L];
        for c in self.0.iter().rev() {
            for l in 0..L {
                sum[l] = sum[l] * theta[l] + c;
            }
        }
        sum
    }

    /// The integral from 0.
    pub fn integral(&self, theta: f64) -> f64 {
        let mut sum = 0.0;
        for i in (0..COEFFICIENTS).rev() {
            sum = (sum + self.0[i] / (i + 1) as f64) * theta;
        }
        sum
    }

    /// Adds `weight` times another.
    pub fn add(&mut self, weight: f64, other: &Self) {
        for (c, other) in self.0.iter_mut().zip(&other.0) {
            *c += weight * other;
        }
    }

    /// A range that holds all values on `[0, 1]`.
    pub fn unit_hull(&self) -> Range {
        hull::<0>(&self.0, &[1.0; COEFFICIENTS])
    }

    /// The derivative.
    pub fn slope(&self) -> Self {
        let mut slope = [0.0; COEFFICIENTS];
        for i in 1..COEFFICIENTS {
            slope[i - 1] = i as f64 * self.0[i];
        }
        Self(slope)
    }

    /// Ranges that hold all values, derivatives and second derivatives on `[lo, hi]`.
    pub fn hulls(&self, lo: f64, hi: f64) -> (Range, Range, Range) {
        let shifted = shifted(self.0, lo);
        let mut power = [1.0; COEFFICIENTS];
        for i in 1..COEFFICIENTS {
            power[i] = power[i - 1] * (hi - lo);
        }
        (
            hull::<0>(&shifted, &power),
            hull::<1>(&shifted, &power),
            hull::<2>(&shifted, &power),
        )
    }
}

/// Coefficients in `theta - from`: a Taylor shift by Horner.
fn shifted(mut c: [f64; COEFFICIENTS], from: f64) -> [f64; COEFFICIENTS] {
    if from != 0.0 {
        for start in 0..COEFFICIENTS - 1 {
            for i in (start..COEFFICIENTS - 1).rev() {
                c[i] += from * c[i + 1];
            }
        }
    }
    c
}

/// The hull of the `DERIVATIVE`th derivative of `c` on `[0, length]`, of which the powers are given.
fn hull<const DERIVATIVE: usize>(c: &[f64; COEFFICIENTS], power: &[f64; COEFFICIENTS]) -> Range {
    let shares = const { shares::<DERIVATIVE>() };
    let mut scaled = [0.0; COEFFICIENTS];
    for i in 0..COEFFICIENTS - DERIVATIVE {
        scaled[i] = c[i + DERIVATIVE] * power[i];
    }
    let mut range = Range::point(shares[0][0] * scaled[0]);
    for row in &shares[1..COEFFICIENTS - DERIVATIVE] {
        let mut bernstein = 0.0;
        for i in 0..COEFFICIENTS - DERIVATIVE {
            bernstein += row[i] * scaled[i];
        }
        range = range.join(Range::point(bernstein));
    }
    range
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hulls_hold_and_tighten() {
        let poly = Poly([0.3, -2.0, 5.0, 1.0, -7.0, 3.0]);
        for (lo, hi) in [(0.0, 1.0), (0.2, 0.7), (0.5, 0.51)] {
            let (values, slopes, bends) = poly.hulls(lo, hi);
            for step in 0..=100 {
                let theta = lo + (hi - lo) * f64::from(step) / 100.0;
                let slope = (poly.at(theta + 1e-6) - poly.at(theta - 1e-6)) / 2e-6;
                assert!(values.lo - 1e-14 <= poly.at(theta) && poly.at(theta) <= values.hi + 1e-14);
                assert!(slopes.lo - 1e-8 <= slope && slope <= slopes.hi + 1e-8);
                let bend = poly.slope().slope().at(theta);
                assert!(bends.lo - 1e-12 <= bend && bend <= bends.hi + 1e-12);
            }
        }
        let narrow = poly.hulls(0.5, 0.51).0;
        assert!(narrow.hi - narrow.lo < 0.05);
        assert_eq!(poly.unit_hull(), poly.hulls(0.0, 1.0).0);
        assert!((poly.integral(1.0) - (0.3 - 1.0 + 5.0 / 3.0 + 0.25 - 1.4 + 0.5)).abs() < 1e-15);
    }
}
