//! A spread whose numbers are estimates: what a few trials leave unsure of it, drawn once in a variation.
//!
//! ```text
//! ln x' = d + b (ln x - d) + b s z / sqrt(n)          b = sqrt(median of chi2(v) / chi2(v))
//! ```
//!
//! `x` drawn from the spread as written, `x'` the value; `n` trials; `d` centre and `s` width of the logarithm; `z` standard normal and `b` the
//! width, both drawn once in a variation; `v` degrees of freedom. For `normal` the same without logarithms.
//!
//! | family | d | s | v |
//! |---|---|---|---|
//! | lognormal, normal | median | sigma | n - 1 |
//! | weibull | scale e^((1 - 0.5772) / shape) | 1 / shape | 0.8225 n - 0.67 |
//! | gamma | mean | cv | n (1 + cv^2 / 3) - 1 |
//! | pert | mean of ln x | deviation of ln x | n - 2 |
//!
//! Lognormal and normal: exact, for numbers that are estimates as likely too wide as too narrow (Student 1908; Fisher 1935, fiducial
//! argument; the same as the posterior under the usual prior 1 / sigma). Weibull: its logarithm has a location and a scale too;
//! at that centre both estimates are uncorrelated, the variances are s^2/n and 0.6079 s^2/n (Bain and Engelhardt 1991, Statistical Analysis of
//! Reliability and Life-Testing Models, from memory), and v was fitted to 100,000 simulated samples of 3 to 40 trials (97.5 % over 2.5 % of the
//! width: 2 %). Gamma: Fisher information of mean and shape, which is diagonal. Pert: an approximation, its ends known
//! no better than its width. Valid for 3 trials and more. Left out: that the family itself is chosen, and that people differ from each other.

use super::error::SpreadError;
use super::gamma::Gamma;
use super::{Shape, Spread};

/// Fewest trials that say anything of a width.
pub const LEAST_TRIALS: u32 = 3;
/// Most trials: more leave nothing unsure.
pub const MOST_TRIALS: u32 = 1_000_000;
/// 1 less Euler's constant.
const WEIBULL_CENTRE: f64 = 1.0 - 0.577_215_664_901_532_9;
/// Places of the distribution by which a mean of logarithms is taken.
const PLACES: u32 = 4000;

/// What is unsure of a spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trials {
    count: u32,
    /// Of the logarithm, or of the value itself.
    centre: f64,
    width: f64,
    logarithm: bool,
    freedom: f64,
}

impl Trials {
    /// What `count` trials leave unsure of a spread.
    ///
    /// # Errors
    /// If there are fewer than [`LEAST_TRIALS`], if the spread is truncated or a point, or of a family that is not fitted to trials.
    pub fn new(of: &Spread, count: u32) -> Result<Self, SpreadError> {
        if !(LEAST_TRIALS..=MOST_TRIALS).contains(&count) {
            return Err(SpreadError::TrialCount);
        }
        if of.within().is_some() {
            return Err(SpreadError::TrialsWithin);
        }
        if of.is_point() {
            return Err(SpreadError::NothingUnsure);
        }
        let n = f64::from(count);
        let (centre, width, logarithm, freedom) = match *of.shape() {
            Shape::Normal { mean, sd } => (mean, sd, false, n - 1.0),
            Shape::Lognormal { median, cv } => (libm::log(median), libm::sqrt(libm::log1p(cv * cv)), true, n - 1.0),
            Shape::Weibull { scale, shape } => (
                libm::log(scale) + WEIBULL_CENTRE / shape,
                1.0 / shape,
                true,
                0.8225 * n - 0.67,
            ),
            Shape::Gamma { mean, cv } => (libm::log(mean), cv, true, n * (1.0 + cv * cv / 3.0) - 1.0),
            Shape::Pert { .. } => {
                let (mean, deviation) = logarithms(of);
                (mean, deviation, true, n - 2.0)
            }
            _ => return Err(SpreadError::TrialsNotFitted),
        };
        Ok(Self {
            count,
            centre,
            width,
            logarithm,
            freedom,
        })
    }

    /// How many trials.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.count
    }

    /// Of the centre, in standard errors: standard normal.
    ///
    /// # Errors
    /// Never: the numbers are fixed.
    pub fn centre(&self) -> Result<Spread, SpreadError> {
        Spread::new(Shape::Normal { mean: 0.0, sd: 1.0 }, None)
    }

    /// Of the width, in widths as written: as likely above 1 as below.
    ///
    /// # Errors
    /// Never: the degrees of freedom are above 0.
    pub fn width(&self) -> Result<Spread, SpreadError> {
        Spread::new(Shape::Width { freedom: self.freedom }, None)
    }

    /// A value drawn from the spread as written, as it is with this centre and width.
    #[must_use]
    pub fn carried(&self, x: f64, centre: f64, width: f64) -> f64 {
        let moved = width * self.width * centre / libm::sqrt(f64::from(self.count));
        if self.logarithm {
            libm::exp(self.centre + width * (libm::log(x) - self.centre) + moved)
        } else {
            self.centre + width * (x - self.centre) + moved
        }
    }
}

/// Mean and deviation of the logarithm, by the midpoint rule over the probability.
fn logarithms(of: &Spread) -> (f64, f64) {
    let at = |n: u32| libm::log(of.quantile((f64::from(n) + 0.5) / f64::from(PLACES)));
    let mean = (0..PLACES).map(at).sum::<f64>() / f64::from(PLACES);
    let square = |n| (at(n) - mean) * (at(n) - mean);
    (
        mean,
        libm::sqrt((0..PLACES).map(square).sum::<f64>() / f64::from(PLACES)),
    )
}

/// The width of a spread that was estimated, as a part of what is written: `b = sqrt(median of chi2(v) / chi2(v))`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Width {
    chi_square: Gamma,
    median: f64,
}

impl Width {
    pub(super) fn new(freedom: f64) -> Result<Self, SpreadError> {
        if freedom < 0.1 {
            return Err(SpreadError::TrialCount);
        }
        let chi_square = Gamma::chi_square(freedom);
        Ok(Self {
            median: chi_square.at_lower(0.5),
            chi_square,
        })
    }

    pub(super) fn point(&self) -> Option<f64> {
        None
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (0.0, f64::INFINITY)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        if x > 0.0 {
            self.chi_square.upper(self.median / (x * x))
        } else {
            0.0
        }
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        if x > 0.0 {
            self.chi_square.lower(self.median / (x * x))
        } else {
            1.0
        }
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        libm::sqrt(self.median / self.chi_square.at_upper(p))
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        // The smallest chi-square is above 0 in doubles for any freedom that is let in.
        libm::sqrt(self.median / self.chi_square.at_lower(q).max(f64::MIN_POSITIVE))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(shape: Shape, trials: u32) -> Trials {
        Trials::new(&Spread::new(shape, None).expect("a spread"), trials).expect("trials")
    }

    /// The share of pairs (z, b) on a grid with which a lognormal's median lies below a bound is Student's distribution.
    #[test]
    fn the_centre_of_a_lognormal_goes_by_students_t() {
        let trials = of(
            Shape::Lognormal {
                median: 3000.0,
                cv: 0.2,
            },
            5,
        );
        let width = trials.width().expect("a width");
        let centre = trials.centre().expect("a centre");
        let sigma = libm::sqrt(libm::log1p(0.04));
        // t with 4 degrees of freedom has 97.5 % below 2.776 (every table); s is sigma sqrt(median chi2 / 4): 3.3567.
        let error = sigma * libm::sqrt(3.356_694 / 4.0) / libm::sqrt(5.0);
        let bound = 3000.0 * libm::exp(2.776_445 * error);
        let places = 600;
        let at = |n: u32| (f64::from(n) + 0.5) / f64::from(places);
        let below = (0..places)
            .flat_map(|i| (0..places).map(move |j| (i, j)))
            .filter(|&(i, j)| trials.carried(3000.0, centre.quantile(at(i)), width.quantile(at(j))) <= bound);
        let share = below.count() as f64 / f64::from(places * places);
        assert!((share - 0.975).abs() < 5e-4, "{share}");
    }

    #[test]
    fn on_the_medians_nothing_moves() {
        let shapes = [
            Shape::Normal { mean: 10.0, sd: 1.0 },
            Shape::Lognormal { median: 10.0, cv: 0.3 },
            Shape::Weibull {
                scale: 10.0,
                shape: 3.0,
            },
            Shape::Gamma { mean: 10.0, cv: 0.3 },
            Shape::Pert {
                lo: 5.0,
                mode: 10.0,
                hi: 30.0,
            },
        ];
        for shape in shapes {
            let spread = Spread::new(shape, None).expect("a spread");
            let trials = Trials::new(&spread, 7).expect("trials");
            let (z, b) = (
                trials.centre().expect("z").median(),
                trials.width().expect("b").median(),
            );
            assert!(z.abs() < 1e-15 && (b - 1.0).abs() < 1e-14, "{z} {b}");
            assert!((trials.carried(spread.median(), z, b) / spread.median() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn many_trials_leave_little_unsure_and_few_much() {
        let reach = |n| {
            of(Shape::Gamma { mean: 1.0, cv: 0.3 }, n)
                .width()
                .expect("a width")
                .quantile(0.975)
        };
        assert!(reach(4) > 2.5 && reach(1000) < 1.06, "{} {}", reach(4), reach(1000));
        let wrong = |shape, within, n| Trials::new(&Spread::new(shape, within).expect("a spread"), n).unwrap_err();
        let normal = || Shape::Normal { mean: 1.0, sd: 0.1 };
        assert_eq!(wrong(normal(), None, 2), SpreadError::TrialCount);
        assert_eq!(wrong(normal(), Some((0.5, 2.0)), 5), SpreadError::TrialsWithin);
        assert_eq!(
            wrong(Shape::Normal { mean: 1.0, sd: 0.0 }, None, 5),
            SpreadError::NothingUnsure
        );
        assert_eq!(
            wrong(Shape::Uniform { lo: 1.0, hi: 2.0 }, None, 5),
            SpreadError::TrialsNotFitted
        );
    }
}
