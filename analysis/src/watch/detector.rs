//! The detector: six statistics of the residuals, each of which more is worse.
//!
//! | method | of | statistic | limit of tables |
//! |---|---|---|---|
//! | cusum | residuals in their deviations | the largest cumulative sum of an instrument | h = 5 |
//! | ewma | the same | the largest moving average | L = 2.814 |
//! | cusum, whitened | innovations | as above | h = 5 |
//! | ewma, whitened | innovations | as above | L = 2.814 |
//! | innovation test | innovations | mean square over a window of at least 100 readings | 97.5 % of chi-square |
//! | bank | innovations | log likelihood ratio of any fault model (see [`super::bank`]) | none |
//!
//! Charts of several instruments are put on one scale: each over the mean of its highest values in the nominal runs that it was tuned on.
//! Source of the innovation test: Y. Bar-Shalom, X.-R. Li and T. Kirubarajan, Estimation with Applications to Tracking and Navigation (2001),
//! from memory: normalised innovations squared are chi-square. Valid as its parts are. Left out: the lower side of the innovation test, which
//! a sensor that sticks would show.

use super::bank::{Bank, Said};
use super::charts::{ALLOWANCE, Cusum, Ewma, TABLE_INTERVAL, TABLE_LIMIT, WEIGHT};
use super::operating::{alarms, threshold};
use super::whiten::{Rows, Whitener};
use crate::stats::chi_square::chi_square_quantile;

/// Readings of the innovation test's window, all instruments together, at the least.
const WINDOW: usize = 100;

/// A method.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Cumulative sums of residuals.
    Cusum,
    /// Moving averages of residuals.
    Ewma,
    /// Cumulative sums of innovations.
    WhiteCusum,
    /// Moving averages of innovations.
    WhiteEwma,
    /// Mean square of innovations.
    Innovation,
    /// Fault models.
    Bank,
}

impl Method {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Cusum,
        Self::Ewma,
        Self::WhiteCusum,
        Self::WhiteEwma,
        Self::Innovation,
        Self::Bank,
    ];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Cusum => "cusum",
            Self::Ewma => "ewma",
            Self::WhiteCusum => "cusum, whitened",
            Self::WhiteEwma => "ewma, whitened",
            Self::Innovation => "innovation test",
            Self::Bank => "bank of faults",
        }
    }
}

/// One statistic over a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// Row by row.
    pub statistic: Vec<f32>,
    /// The instrument that it comes from; empty where it comes from all together.
    pub instrument: Vec<u8>,
}

/// All that is said of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seen {
    /// By method.
    pub courses: Vec<Course>,
    /// What the bank names.
    pub said: Said,
}

/// The detector.
#[derive(Clone, Debug, PartialEq)]
pub struct Detector {
    /// What makes residuals white.
    pub whitener: Whitener,
    /// Fault models.
    pub bank: Bank,
    /// By chart and instrument, what one on the common scale is.
    pub scales: [Vec<f64>; 4],
    /// By method.
    pub thresholds: [f64; 6],
    /// Alarms of each method in the runs that it was tuned on.
    pub tuned_alarms: [usize; 6],
    step_s: f64,
}

impl Detector {
    /// Tunes one on residuals of nominal runs, so that each method has about `most` alarms in them all. `bank` makes the fault models from
    /// what whitens.
    #[must_use]
    pub fn tune(
        runs: &[Rows],
        (stride, floor): (&[usize], &[f64]),
        (most, step_s): (f64, f64),
        bank: impl FnOnce(&Whitener) -> Bank,
    ) -> Self {
        let whitener = Whitener::fit(runs, stride, floor);
        let bank = bank(&whitener);
        let mut detector = Self {
            scales: std::array::from_fn(|_| vec![1.0; stride.len()]),
            whitener,
            bank,
            thresholds: [0.0; 6],
            tuned_alarms: [0; 6],
            step_s,
        };
        let white: Vec<Rows> = runs
            .iter()
            .map(|run| detector.whitener.innovations(&detector.whitener.standard(run)))
            .collect();
        detector.bank.learn(&white);
        for chart in 0..4 {
            for i in 0..stride.len() {
                let top = |(run, white): (&Rows, &Rows)| {
                    let standard = detector.whitener.standard(run);
                    let series = if chart < 2 { &standard[i] } else { &white[i] };
                    path(chart, series).into_iter().fold(0.0, f64::max)
                };
                let mean = runs.iter().zip(&white).map(top).sum::<f64>() / runs.len().max(1) as f64;
                detector.scales[chart][i] = mean.max(1e-9);
            }
        }
        let seen: Vec<Seen> = runs.iter().map(|run| detector.see(run)).collect();
        // Of n peaks in as many nominal runs, the k-th is passed about k times in as many others.
        let allowed = (libm::floor(most) as usize).max(1) - 1;
        for method in 0..6 {
            let courses: Vec<&[f32]> = seen
                .iter()
                .map(|seen| seen.courses[method].statistic.as_slice())
                .collect();
            let found = threshold(&courses, allowed, step_s);
            detector.thresholds[method] = found;
            detector.tuned_alarms[method] = courses.iter().map(|course| alarms(course, found, step_s).len()).sum();
        }
        detector
    }

    /// What it says of the residuals of a run.
    #[must_use]
    pub fn see(&self, residuals: &[Vec<f64>]) -> Seen {
        let standard = self.whitener.standard(residuals);
        let white = self.whitener.innovations(&standard);
        let charts = (0..4).map(|chart| {
            let series = if chart < 2 { &standard } else { &white };
            let paths: Vec<Vec<f64>> = series.iter().map(|series| path(chart, series)).collect();
            fused(&paths, &self.scales[chart])
        });
        let mut courses: Vec<Course> = charts.collect();
        courses.push(self.innovation(&white));
        let said = self.bank.say(&white);
        courses.push(Course {
            statistic: said.statistic.clone(),
            instrument: Vec::new(),
        });
        Seen { courses, said }
    }

    /// White innovations of residuals.
    #[must_use]
    pub fn innovations(&self, residuals: &[Vec<f64>]) -> Rows {
        self.whitener.innovations(&self.whitener.standard(residuals))
    }

    /// The limit that a table would have for a method: on the statistic of one instrument, whatever its scale.
    #[must_use]
    pub fn table_limit(&self, method: Method) -> Option<f64> {
        match method {
            Method::Cusum | Method::WhiteCusum => Some(TABLE_INTERVAL),
            Method::Ewma | Method::WhiteEwma => Some(TABLE_LIMIT),
            Method::Innovation => {
                let n = (self.window() * self.instruments()) as f64;
                Some(chi_square_quantile(0.975, n) / n)
            }
            Method::Bank => None,
        }
    }

    /// Alarms of a method in a run at the limit of tables; charts begin anew after each, as those of tables do, and those of all instruments
    /// are counted.
    #[must_use]
    pub fn table_alarms(&self, method: Method, residuals: &[Vec<f64>]) -> usize {
        let Some(limit) = self.table_limit(method) else {
            return 0;
        };
        let standard = self.whitener.standard(residuals);
        let raw = matches!(method, Method::Cusum | Method::Ewma);
        let series = if raw {
            standard
        } else {
            self.whitener.innovations(&standard)
        };
        let count = |series: &Vec<f64>| match method {
            Method::Cusum | Method::WhiteCusum => {
                let new = || Cusum::new(ALLOWANCE);
                restarted(series, limit, new, Cusum::step)
            }
            _ => restarted(series, limit, || Ewma::new(WEIGHT), Ewma::step),
        };
        match method {
            Method::Bank => 0,
            Method::Innovation => alarms(&self.innovation(&series).statistic, limit, self.step_s).len(),
            _ => series.iter().map(count).sum(),
        }
    }

    fn instruments(&self) -> usize {
        self.whitener.mean.len()
    }

    /// Rows of the innovation test's window.
    #[must_use]
    pub fn window(&self) -> usize {
        window(self.instruments())
    }

    fn innovation(&self, white: &[Vec<f64>]) -> Course {
        let window = self.window();
        let rows = white.first().map_or(0, Vec::len);
        let mut statistic = Vec::with_capacity(rows);
        let mut squares: Vec<(f64, f64)> = Vec::with_capacity(rows);
        for row in 0..rows {
            let here = white.iter().map(|series| series[row]).filter(|z| z.is_finite());
            squares.push(here.fold((0.0, 0.0), |(sum, n), z| (sum + z * z, n + 1.0)));
            let from = (row + 1).saturating_sub(window);
            let (sum, n) = squares[from..]
                .iter()
                .fold((0.0, 0.0), |(sum, n), (square, count)| (sum + square, n + count));
            // A window that is half empty says nothing.
            statistic.push(if 2.0 * n >= WINDOW as f64 {
                (sum / n) as f32
            } else {
                0.0
            });
        }
        Course {
            statistic,
            instrument: Vec::new(),
        }
    }
}

/// Rows of the innovation test's window, with so many instruments.
#[must_use]
pub fn window(instruments: usize) -> usize {
    WINDOW.div_ceil(instruments.max(1))
}

/// A chart over a series: 0 and 2 cumulative sums, 1 and 3 moving averages.
fn path(chart: usize, series: &[f64]) -> Vec<f64> {
    if chart.is_multiple_of(2) {
        let mut chart = Cusum::new(ALLOWANCE);
        series.iter().map(|&z| chart.step(z)).collect()
    } else {
        let mut chart = Ewma::new(WEIGHT);
        series.iter().map(|&z| chart.step(z)).collect()
    }
}

/// Alarms of a chart that begins anew after each.
fn restarted<C>(series: &[f64], limit: f64, new: impl Fn() -> C, step: impl Fn(&mut C, f64) -> f64) -> usize {
    let mut chart = new();
    let mut count = 0;
    for &z in series {
        if step(&mut chart, z) > limit {
            count += 1;
            chart = new();
        }
    }
    count
}

/// The largest of several charts, each on its scale.
fn fused(paths: &[Vec<f64>], scales: &[f64]) -> Course {
    let rows = paths.first().map_or(0, Vec::len);
    let mut course = Course::default();
    for row in 0..rows {
        let (mut most, mut which) = (f64::NEG_INFINITY, 0);
        for (i, path) in paths.iter().enumerate() {
            let value = path[row] / scales[i];
            if value > most {
                (most, which) = (value, i);
            }
        }
        course.statistic.push(most as f32);
        course.instrument.push(which as u8);
    }
    course
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::noise::Normals;

    fn nominal(runs: std::ops::Range<u64>, rows: usize) -> Vec<Rows> {
        runs.map(|run| {
            (0..3)
                .map(|i| {
                    let mut normals = Normals::new(6, &format!("instrument {i}"), run);
                    let mut x = 0.0;
                    (0..rows)
                        .map(|_| {
                            x = 0.7 * x + normals.draw();
                            10.0 * x
                        })
                        .collect()
                })
                .collect()
        })
        .collect()
    }

    /// Thresholds from 60 nominal runs keep their rate in 60 others: the count lies in the 99.9 % interval of its mean.
    #[test]
    fn thresholds_keep_their_rate_in_runs_that_they_were_not_tuned_on() {
        let tuning = nominal(0..60, 800);
        let detector = Detector::tune(&tuning, (&[1; 3], &[1e-6; 3]), (12.0, 60.0), |_| Bank::default());
        let held_out = nominal(100..160, 800);
        for method in 0..5 {
            let count: usize = held_out
                .iter()
                .map(|run| {
                    let seen = detector.see(run);
                    alarms(&seen.courses[method].statistic, detector.thresholds[method], 60.0).len()
                })
                .sum();
            // Both counts scatter: the difference of two Poisson counts of 12 has the deviation 4.9.
            assert!(
                (count as f64 - 12.0).abs() <= 3.3 * 24.0_f64.sqrt(),
                "{method}: {count}"
            );
            assert!(detector.tuned_alarms[method] <= 11);
        }
    }

    #[test]
    fn white_residuals_pass_the_innovation_test_and_a_louder_instrument_does_not() {
        let tuning = nominal(0..40, 500);
        let detector = Detector::tune(&tuning, (&[1; 3], &[1e-6; 3]), (1.0, 60.0), |_| Bank::default());
        let limit = detector.table_limit(Method::Innovation).expect("a limit");
        let mut run = nominal(200..201, 500).remove(0);
        let above = |run: &Rows| {
            let course = &detector.see(run).courses[4].statistic;
            course.iter().filter(|value| f64::from(**value) > limit).count() as f64 / 500.0
        };
        assert!(above(&run) < 0.15, "{}", above(&run));
        for x in &mut run[1][250..] {
            *x *= 3.0;
        }
        assert!(above(&run) > 0.3, "{}", above(&run));
    }
}
