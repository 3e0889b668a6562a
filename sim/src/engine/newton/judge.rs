//! How far a step that was tried errs, along it and at its end (see `newton`).

use super::super::decouple::DECOUPLING;
use super::super::radau::STAGES;
use super::super::stages::HOPELESS;
use super::{Equations, Newton};

/// Of the defect at the start times the length, at most this becomes error.
const DEFECT_SHARE: f64 = 0.03;
/// Of `(hJ)^5 (mu I - h J)^-6` times what the defect at the start becomes along the step, at most this is error at the end.
const END_SHARE: f64 = 69.0;
/// Where within the step it is judged, as a share of its length.
const JUDGED_AT: f64 = 0.734;

impl Newton {
    /// The error over what is allowed: the larger of what the defects at the start and within the step say.
    pub(super) fn judge<E: Equations>(&mut self, equations: &mut E) -> f64 {
        let (n, h) = (self.size, self.length_s);
        let decoupling = &*DECOUPLING;
        self.along(&decoupling.values_at(JUDGED_AT));
        for i in 0..n {
            self.point[i] += self.start.y[i];
        }
        let rates = &mut self.residual[..n];
        equations.rates(self.start.t_s + JUDGED_AT * h, &self.point, rates);
        self.work.evaluations += 1;
        self.along(&decoupling.slopes_at(JUDGED_AT));
        for i in 0..n {
            self.point[i] -= h * self.residual[i];
        }
        let within = self.damped();
        self.along(&decoupling.slopes_at(0.0));
        for i in 0..n {
            self.point[i] = DEFECT_SHARE * decoupling.real * (self.point[i] - h * self.start.rates[i]);
        }
        let along = f64::max(within, self.damped());
        f64::max(along, self.damped_to_end(along))
    }

    /// Sums the increments of the stages into `point`.
    fn along(&mut self, weights: &[f64; STAGES]) {
        let n = self.size;
        let values: [&[f64]; STAGES] = std::array::from_fn(|l| &self.increments[l * n..][..n]);
        let point = &mut self.point[..n];
        for i in 0..n {
            let mut sum = 0.0;
            for l in 0..STAGES {
                sum += weights[l] * values[l][i];
            }
            point[i] = sum;
        }
    }

    /// How large `(mu I - h J)^-1` makes `point`, over what is allowed along the step; that is kept in `damped`.
    fn damped(&mut self) -> f64 {
        let Some((factors, _)) = self.store.factors(self.length_s) else {
            return HOPELESS;
        };
        factors.real.of(&self.point, &mut self.damped);
        worst(&self.damped, &self.inverse_along)
    }

    /// How large `END_SHARE (hJ)^5 (mu I - h J)^-6` makes `damped`, over what is allowed at the end, to the power of `2/3`: errors
    /// there go with the ninth power of the length where those along the step go with the sixth. `hJ (mu I - h J)^-1` makes
    /// nothing larger, so that once it is below `enough` it stays there, and how far does not matter.
    fn damped_to_end(&mut self, enough: f64) -> f64 {
        let Some((factors, _)) = self.store.factors(self.length_s) else {
            return HOPELESS;
        };
        factors.real.of(&self.damped, &mut self.point);
        let mut error = f64::INFINITY;
        for _ in 0..STAGES {
            factors.real.of(&self.point, &mut self.damped);
            for (point, damped) in self.point.iter_mut().zip(&self.damped) {
                *point = DECOUPLING.real * damped - *point;
            }
            let most = END_SHARE * worst(&self.point, &self.inverse_at_end);
            error = libm::cbrt(most * most);
            if error <= enough {
                break;
            }
        }
        error
    }
}

/// The largest error over what is allowed.
fn worst(errors: &[f64], inverse_allowed: &[f64]) -> f64 {
    errors.iter().zip(inverse_allowed).fold(0.0, |worst, (e, inverse)| {
        let error = e.abs() * inverse;
        if error.is_finite() {
            f64::max(worst, error)
        } else {
            HOPELESS
        }
    })
}
