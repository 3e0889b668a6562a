//! Polynomials of degree five on the unit interval, with the hull of their Bernstein coefficients as rigorous bounds
//! (Farouki 2012, Computer Aided Geometric Design 29:379).

use super::range::Range;

/// Number of coefficients.
pub(crate) const COEFFICIENTS: usize = 6;

/// `sum_i c[i] theta^i`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Poly(pub [f64; COEFFICIENTS]);

/// `C(j, i)`: a monomial's share in the Bernstein coefficients of degree `n` is `C(j, i) / C(n, i)`.
const BINOMIAL: [[f64; COEFFICIENTS]; COEFFICIENTS] = [
    [1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [1.0, 1.0, 0.0, 0.0, 0.0, 0.0],
    [1.0, 2.0, 1.0, 0.0, 0.0, 0.0],
    [1.0, 3.0, 3.0, 1.0, 0.0, 0.0],
    [1.0, 4.0, 6.0, 4.0, 1.0, 0.0],
    [1.0, 5.0, 10.0, 10.0, 5.0, 1.0],
];

impl Poly {
    /// The value.
    pub fn at(&self, theta: f64) -> f64 {
        self.0.iter().rev().fold(0.0, |sum, c| sum * theta + c)
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
        hull(&self.0, COEFFICIENTS - 1)
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
        let slope = self.slope();
        let moved = |poly: &Self| moved(poly.0, lo, hi - lo);
        (
            hull(&moved(self), COEFFICIENTS - 1),
            hull(&moved(&slope), COEFFICIENTS - 2),
            hull(&moved(&slope.slope()), COEFFICIENTS - 3),
        )
    }
}

/// Coefficients in `s`, where `theta = from + length s`: a Taylor shift by Horner, then a scale.
fn moved(mut c: [f64; COEFFICIENTS], from: f64, length: f64) -> [f64; COEFFICIENTS] {
    for start in 0..COEFFICIENTS - 1 {
        for i in (start..COEFFICIENTS - 1).rev() {
            c[i] += from * c[i + 1];
        }
    }
    let mut power = 1.0;
    for c in &mut c {
        *c *= power;
        power *= length;
    }
    c
}

fn hull(c: &[f64; COEFFICIENTS], degree: usize) -> Range {
    let mut range = Range::point(c[0]);
    for j in 1..=degree {
        let mut bernstein = 0.0;
        for i in 0..=j {
            bernstein += BINOMIAL[j][i] / BINOMIAL[degree][i] * c[i];
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
